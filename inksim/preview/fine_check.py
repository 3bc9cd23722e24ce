"""What of flat art is finer than its print holds: lines too thin, gaps that fill in, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from inksim.artwork import Flats
from inksim.colour import Viewing
from inksim.common import BoolArray, Uint8Array
from inksim.job import GarmentAnswer, PressScreen
from inksim.picture import marked
from inksim.preview.flat_routes import job_colours
from inksim.preview.prepare import LARGE_PX, PreparedArtwork, artwork_on
from inksim.separation import FineParts, fine_parts, least_gap_mm, least_line_mm
from inksim.shop import Shop
from inksim.stock import Garment, Screen

LINE_TIMES = 3.0
"""Length of what is told of, in least widths: shorter tips and specks are not missed [assumption].
"""
MARK_PX = 5
"""Least width of a mark in the picture: a hairline is seen from where the whole print is."""


def _percent(share: float) -> str:
    return "under 0.1%" if share < 0.001 else f"{share:.1%}"


@dataclass(frozen=True, kw_only=True)
class FinePart:
    """Lines of one screen that are too thin, or gaps that fill in.

    colours: codes of the flats whose lines they are; of gaps none. base: whether it is a base under
    them that does not hold, or that its choke takes away. screen: the mesh. choke_mm: where the
    choke asks for more than the mesh, else 0. share: of the area of those flats, of gaps of all
    that is printed. narrowest_mm: as drawn; least_mm: that would hold.
    """

    what: Literal["line", "base", "gap"]
    colours: tuple[str, ...]
    screen: Screen
    share: float
    narrowest_mm: float
    least_mm: float
    choke_mm: float = 0.0

    @property
    def words(self) -> str:
        """'0.085 mm lines of #e8622c print nowhere through 230 threads/inch: at least 0.3 mm …'."""
        through = f"through {self.screen.threads_per_inch:.0f} threads/inch"
        held = f"at least {self.least_mm:.2g} mm is needed"
        named = ", ".join(self.colours)
        if self.what == "gap":
            return f"{self.narrowest_mm:.2g} mm gaps between prints fill in {through}: {held}"
        if self.what == "base":
            return (
                f"{self.narrowest_mm:.2g} mm lines of {named} lose the base under them "
                f"{f'to its choke of {self.choke_mm:g} mm' if self.choke_mm else through}: {held}"
            )
        # Narrower than the mesh is from thread to thread it bridges no opening wherever it falls.
        nowhere = self.narrowest_mm * 1000.0 < self.screen.pitch_um
        return (
            f"{self.narrowest_mm:.2g} mm lines of {named} "
            f"{'print nowhere' if nowhere else 'do not hold'} {through}: {held} "
            f"({_percent(self.share)} of its area)"
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class FineArt:
    """Everything of flat art that its print does not hold, and where (H, W)."""

    parts: tuple[FinePart, ...]
    places: BoolArray

    def __bool__(self) -> bool:
        """Whether there is anything."""
        return bool(self.parts)

    @property
    def words(self) -> tuple[str, ...]:
        """A sentence a screen."""
        return tuple(f"{part.words}." for part in self.parts)

    def picture(self, rgba: Uint8Array, *, cloth: tuple[int, int, int], most_px: int) -> Uint8Array:
        """The artwork (h, w, 4) pale gray on its cloth, those places black: (h, w, 3)."""
        return marked(rgba, self.places, cloth=cloth, most_px=most_px, least_px=MARK_PX)

    def picture_of(self, ready: PreparedArtwork, garment: Garment, viewing: Viewing) -> Uint8Array:
        """Draw `picture` of a prepared artwork on a garment, at most `LARGE_PX` wide and high."""
        drawn = artwork_on(ready.large, garment, viewing)
        opaque = np.dstack([drawn, np.full(drawn.shape[:2], 255, dtype=np.uint8)])
        return self.picture(opaque, cloth=(0, 0, 0), most_px=LARGE_PX)


def fine_art(found: GarmentAnswer, flats: Flats, *, dpi: float, shop: Shop) -> FineArt:
    """Check the flats of an artwork against the cloth and the meshes of the way that prints it.

    Colors that share a screen are one print. A base is checked as the art asks for it, before its
    choke, and for what the choke takes away from both sides; what a color loses by itself is not
    told of its base again.

    Parameters
    ----------
    found : the way chosen of a job that was made of the flats; nothing is lost where there is none.
    dpi : of the labels, as wide as they are printed.
    shop : whose rules say what the cloth holds, and whose press how far a print's edge spreads.
    """
    colours = job_colours(found.job, flats)
    screens = found.best.screens if found.best else ()
    tops = [screen for screen in screens if screen.shows]
    checks = [tops, *([screen] for screen in screens if screen.over)] if tops else []
    lines = np.zeros(flats.labels.shape, dtype=bool)
    gaps = np.zeros(flats.labels.shape, dtype=bool)
    bare = _area(flats.labels, colours, [[c for screen in tops for c in screen.shows]]) == 0
    parts = []
    for checked in checks:
        base = checked is not tops
        area = _area(flats.labels, colours, [s.colours if base else s.shows for s in checked])
        if base:  # what is told of already, or other ink: neither line of it nor gap
            area[lines | gaps | ((area == 0) & ~bare)] = len(checked) + 1
        narrow = _narrow(area, checked, dpi=dpi, shop=shop)
        for at, screen in enumerate(checked, start=1):
            lost = narrow.lines == at
            parts += _lines(screen, narrow, at, lost, flats=flats, base=base, shop=shop)
            lines |= lost
        if narrow.narrowest_mm is not None:
            parts.append(
                FinePart(
                    what="gap",
                    colours=(),
                    screen=max((s.screen for s in checked), key=lambda s: s.pitch_um),
                    share=int(np.count_nonzero(narrow.gaps)) / int(np.count_nonzero(~bare)),
                    narrowest_mm=narrow.narrowest_mm,
                    least_mm=_least_gap_mm(checked, shop),
                )
            )
            gaps |= narrow.gaps
        del area, narrow, lost  # each as large as the picture, beside those of the next check
    return FineArt(parts=tuple(parts), places=lines | gaps)


def _area(
    labels: Uint8Array, colours: Sequence[int | None], plates: Sequence[Iterable[int]]
) -> Uint8Array:
    """Labels (H, W) of plates, n where the n-th prints one of its colors of the job."""
    of_colour = {colour: n for n, plate in enumerate(plates, start=1) for colour in plate}
    table = np.zeros(256, dtype=np.uint8)
    for flat, colour in enumerate(colours, start=1):
        if colour is not None:
            table[flat] = of_colour.get(colour, 0)
    return table[labels]


def _narrow(
    labels: Uint8Array, screens: Sequence[PressScreen], *, dpi: float, shop: Shop
) -> FineParts:
    return fine_parts(
        labels,
        flats=len(screens) + 1,
        dpi=dpi,
        line_mm=[*(_least_line_mm(screen, shop) for screen in screens), 0.0],
        gap_mm=_least_gap_mm(screens, shop),
        least_times=LINE_TIMES,
    )


def _least_line_mm(screen: PressScreen, shop: Shop) -> float:
    """Least width that the mesh and the cloth hold, and that leaves something of a choked base."""
    held = least_line_mm(screen.screen, cloth_mm=shop.rules.least_line_on_knit_mm)
    return max(held, _choked_away_mm(screen))


def _choked_away_mm(screen: PressScreen) -> float:
    """What a choke takes of the width of a base; none of a screen that is a color too."""
    return 0.0 if screen.shows else 2.0 * (screen.choke_mm or 0.0)


def _least_gap_mm(screens: Sequence[PressScreen], shop: Shop) -> float:
    """What stays open between prints of any of these screens."""
    return max(
        least_gap_mm(
            screen.screen,
            cloth_mm=shop.rules.least_line_on_knit_mm,
            spread_um=float(shop.press.values.dot_growth_um),
        )
        for screen in screens
    )


def _lines(
    screen: PressScreen,
    found: FineParts,
    at: int,
    lost: BoolArray,
    *,
    flats: Flats,
    base: bool,
    shop: Shop,
) -> list[FinePart]:
    """The lines that one screen does not hold, if there are any: lost, (H, W)."""
    thinnest = found.thinnest_mm[at - 1]
    counts = np.bincount(flats.labels[lost], minlength=len(flats.colours) + 1)[1:]
    if thinnest is None or not counts.any():
        return []
    own = [n for n, count in enumerate(counts) if count]
    drawn = sum(int(np.count_nonzero(flats.labels == n + 1)) for n in own)
    return [
        FinePart(
            what="base" if base else "line",
            colours=tuple(flats.colours[n].hex for n in own),
            screen=screen.screen,
            share=int(counts.sum()) / drawn,
            narrowest_mm=thinnest,
            least_mm=_least_line_mm(screen, shop),
            choke_mm=(screen.choke_mm or 0.0)
            if _choked_away_mm(screen) >= _least_line_mm(screen, shop)
            else 0.0,
        )
    ]
