"""Preview an artwork file: the print that is decided, each route beside it, a contact sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from inksim.artwork import FlatColour, read_mapping, too_small_note
from inksim.colour import Viewing
from inksim.common import MM_PER_INCH, ROUTE_TITLES, InputError, Uint8Array, hex_key
from inksim.decision import Answer, Verdict
from inksim.job import DrawnJob, Plan, job_in_memory, told
from inksim.picture import SheetPanel, Window, window_on_edges
from inksim.preview.fine_check import FineArt, FinePart, fine_art
from inksim.preview.flat_routes import DECIDED, ArtworkResult, Key, RouteAnswer
from inksim.preview.preview_request import PrintRequest, print_request
from inksim.preview.route_drawings import (
    PANEL_PX,
    RouteDrawing,
    artwork_panel,
    decided_print,
    flat_drawings,
    tonal_drawings,
)
from inksim.preview.tonal_print import TonalReach
from inksim.preview.views import MAP_PX, Views, beyond_words, check_views, write_views
from inksim.printing import Prediction
from inksim.shop import Shop
from inksim.stock import Garment, Ink, Provenance, least_sure


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteFile:
    """The full-size picture of the decided print ('decided') or of one route.

    answer: None of a tonal print, which has a reach instead. beyond: share of the print whose color
    a screen cannot show. views: other pictures, by what.
    """

    route: Key
    path: Path
    answer: RouteAnswer | None = None
    reach: TonalReach | None = None
    beyond: float = 0.0
    views: tuple[tuple[str, Path], ...] = ()

    @property
    def verdict(self) -> Verdict | None:
        """Verdict on all printed colors; None of a tonal print, and where nothing is printed."""
        return self.answer.verdict if self.answer else None

    @property
    def predictions(self) -> tuple[Prediction | None, ...]:
        """Predictions, one per flat in order; None where it is left bare."""
        plans = self.answer.plans if self.answer else ()
        return tuple(None if p is None or p.build.bare else p.prediction for p in plans)


@dataclass(frozen=True, kw_only=True, eq=False)
class FlatPrint:
    """How one flat of the artwork is printed.

    plan: None where it is left out by hand. chosen_by: 'mapping' or 'decision'.
    """

    flat: FlatColour
    plan: Plan | None
    chosen_by: str

    @property
    def ink(self) -> Ink | None:
        """Its ink; None where nothing is printed."""
        return self.plan.build.ink if self.plan else None

    @property
    def merged(self) -> str:
        """The color that it is printed as, where the press has no screen for it."""
        return self.plan.merged if self.plan else ""


@dataclass(frozen=True, kw_only=True, eq=False)
class PreviewResult:
    """What a preview wrote. found: the decision; None of tonal artwork.

    too_fine: what of flat art mesh and cloth do not hold; its picture, None where all holds.
    """

    artwork: str
    garment: Garment
    found: ArtworkResult | None
    colours: tuple[FlatPrint, ...]
    routes: tuple[RouteFile, ...]
    sheet: Path
    notes: tuple[str, ...]
    too_fine: tuple[FinePart, ...] = ()
    too_fine_picture: Path | None = None

    @property
    def answers(self) -> tuple[Answer, ...]:
        """Answers, one per color that is not left out by hand; none of tonal artwork."""
        return self.found.decided.found.answers if self.found else ()


def write_previews(
    artwork_file: Path,
    *,
    shop: Shop,
    garment: Garment,
    out: Path,
    mapping: Path | None = None,
    background: str = "keep",
    viewing: Viewing | None = None,
    views: Views | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> PreviewResult:
    """Preview an artwork that no job says more of: see `preview_job`.

    background : 'keep', 'auto' or '#rrggbb', see `artwork.without_background`.

    Raises
    ------
    InputError : an artwork that cannot be read, a mapping that does not fit it, and what
        `preview_job` refuses.
    """
    views = views or Views()
    names = read_mapping(mapping) if mapping else {}
    progress(f"reading {artwork_file.name}")
    drawn = job_in_memory(
        artwork_file,
        shop=shop,
        garments=[garment],
        background=background,
        inks=names,
        choke_mm=views.misfit.choke_mm or None,
    )
    return preview_job(
        drawn,
        shop=shop,
        garment=garment,
        out=out,
        solids=mapping is not None,
        viewing=viewing,
        views=views,
        progress=progress,
    )


def preview_job(
    drawn: DrawnJob,
    *,
    shop: Shop,
    garment: Garment,
    out: Path,
    solids: bool = False,
    viewing: Viewing | None = None,
    views: Views | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> PreviewResult:
    """Write PNGs of the decided print and of each route at full size, what else, and a sheet.

    Every file appears whole or not at all. All input is read and checked before the first write.

    Parameters
    ----------
    drawn : a job that prints an artwork; garment : one of its garments.
    solids : print a tonal picture in flat colors all the same, as one is whose inks are by hand.

    Raises
    ------
    InputError : a job of a list of colors, a print that does not fit its place, or an artwork that
        this press cannot print on the garment.
    """
    views = views or Views()
    if drawn.artwork is None:
        raise InputError(
            f"job '{drawn.job.name}' is a list of colors; a job with an artwork is drawn."
        )
    order = print_request(
        drawn.artwork,
        title=drawn.job.name,
        shop=shop,
        garment=garment,
        out=out,
        viewing=viewing or Viewing(),
        progress=progress,
    )
    flats, by_hand = drawn.flats, drawn.entry.artwork.inks if drawn.entry.artwork else {}
    assert flats is not None  # there is an artwork
    check_views(views, artwork=order.artwork, dpi=order.dpi)
    if flats.tonal and not (solids or by_hand):
        draw, able, said = tonal_drawings(
            order, views, press=drawn.job.press, by_hand=drawn.job.halftone_inks
        )
        return _write_routes(
            order,
            views,
            draw,  # type: ignore[arg-type]
            keys=able,
            notes=(*order.notes, said),
        )
    progress("deciding")
    found, way = decided_print(order, drawn.job, flats)
    on_shirt = views.width_mm or order.artwork.width_mm
    small = too_small_note(order.artwork, width_mm=on_shirt) if on_shirt else None
    fine = fine_art(found.decided.found, flats, dpi=order.dpi, shop=shop)
    named = {hex_key(code) for code in by_hand}
    return _write_routes(
        order,
        views,
        flat_drawings(order, views, found),
        keys=(DECIDED, *(answer.key for answer in found.routes)),
        notes=(
            *dict.fromkeys((*order.notes, *((small,) if small else ()))),
            *flats.notes,
            *told(found.decided.found, way),
            *fine.words,
        ),
        fine=fine,
        found=found,
        colours=tuple(
            FlatPrint(
                flat=flat, plan=plan, chosen_by="mapping" if flat.hex in named else "decision"
            )
            for flat, plan in zip(flats.colours, found.plans, strict=True)
        ),
        window=window_on_edges(flats.labels, size_px=PANEL_PX) if views.misfit else None,
        patches=" Patches: left asked for, right predicted.",
    )


def _write_routes(
    order: PrintRequest,
    views: Views,
    draw: Callable[[Key], RouteDrawing],
    *,
    keys: Sequence[Key],
    notes: tuple[str, ...],
    found: ArtworkResult | None = None,
    colours: tuple[FlatPrint, ...] = (),
    window: Window | None = None,
    fine: FineArt | None = None,
    patches: str = "",
) -> PreviewResult:
    """Write every print as soon as it is drawn, and the sheet of them all.

    On the sheet a route that the decided print takes anyway is not shown again. window: part of the
    artwork to show pixel for pixel as well. fine: what is too fine to print. patches: what patches
    of color on the sheet mean.
    """
    artwork, garment = order.artwork, order.garment
    files, said, sure = [], list(notes), []
    panels, close = [artwork_panel(artwork.rgba, order.cloth)], []
    if window is not None:
        close.append(
            artwork_panel(
                artwork.rgba[window],
                order.cloth,
                heading="The artwork, pixel for pixel",
                line="Where most edges meet.",
            )
        )
    for key in keys:
        title = ROUTE_TITLES[key]
        order.progress(f"drawing {title.lower()} at {artwork.width_px}×{artwork.height_px}")
        drawn = draw(key)
        again = key != DECIDED and found is not None and found.by(key).found is found.decided.found
        if drawn.note and not again:
            said.append(f"{title}: {drawn.note}")
        path = order.save(drawn.full, key, data=drawn.data)
        files.append(
            RouteFile(
                route=key,
                path=path,
                answer=drawn.answer,
                reach=drawn.reach,
                beyond=drawn.share,
                views=write_views(
                    views, order, drawn.small, beyond=drawn.beyond, path=path, data=drawn.data
                ),
            )
        )
        if again:
            continue
        sure.append(drawn.data)
        lines = (*drawn.panel.lines, *beyond_words(drawn.share))
        panels.append(replace(drawn.panel, lines=lines))
        if window is not None:
            screens = drawn.answer.way.screens if drawn.answer and drawn.answer.way else ()
            lie = views.misfit.words(has_base=any(screen.base for screen in screens))
            close.append(_close_panel(drawn, window, lie, dpi=order.dpi))
        del drawn  # at full size, beside the next
    lost = _save_fine(order, fine, data=least_sure(*sure))
    return PreviewResult(
        artwork=artwork.name,
        garment=garment,
        found=found,
        colours=colours,
        routes=tuple(files),
        sheet=order.save_sheet(
            [*panels, *close, *_fine_panel(order, fine)],
            "sheet",
            title=f"{order.title} on {garment.name}",
            predicted="Predicted prints",
            data=least_sure(*sure),
            remark=patches,
            columns=len(panels),
        ),
        notes=tuple(said),
        too_fine=fine.parts if fine else (),
        too_fine_picture=lost,
    )


def _fine_panel(order: PrintRequest, fine: FineArt | None) -> list[SheetPanel]:
    """What is too fine on the sheet, if anything is."""
    if not fine:
        return []
    return [
        SheetPanel(
            picture=_fine_picture(order, fine, most_px=PANEL_PX),
            heading="Too fine to print",
            lines=("In black; wider than drawn, to be seen.", *fine.words),
        )
    ]


def _save_fine(order: PrintRequest, fine: FineArt | None, *, data: Provenance) -> Path | None:
    """Save the picture of what is too fine as a file."""
    if not fine:
        return None
    picture = _fine_picture(order, fine, most_px=MAP_PX)
    dpi = order.dpi * picture.shape[1] / order.artwork.width_px
    return order.save(picture, "too-fine", data=data, dpi=dpi)


def _fine_picture(order: PrintRequest, fine: FineArt, *, most_px: int) -> Uint8Array:
    red, green, blue = order.cloth.tolist()
    return fine.picture(order.artwork.rgba, cloth=(red, green, blue), most_px=most_px)


def _close_panel(drawn: RouteDrawing, window: Window, lie: str, *, dpi: float) -> SheetPanel:
    """A window of the print at 1:1, with how its plates lie, in words."""
    picture = np.ascontiguousarray(drawn.full[window][..., :3])
    size_mm = picture.shape[1] / dpi * MM_PER_INCH
    return SheetPanel(
        picture=picture,
        heading="Pixel for pixel",
        lines=(lie, f"The window is {size_mm:.0f} mm wide on the shirt."),
    )
