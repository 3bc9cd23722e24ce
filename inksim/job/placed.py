"""The artwork of a job as it is printed: its background as the job says, at its width."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from inksim.artwork import (
    KEEP,
    Artwork,
    Flats,
    at_width,
    find_flats,
    printed_at,
    sized_notes,
    too_small_note,
    without_background,
)
from inksim.common import InputError, sentence
from inksim.stock import Place, check_fit


@dataclass(frozen=True, kw_only=True, eq=False)
class PlacedArtwork:
    """What a job's colors are made of; it holds nothing of any shop.

    width_mm, height_mm: of the print; assumed: where nobody said its width. told: what reading the
    file and placing it has to say. too_small: one sentence where it has too few pixels, else ''.
    offer: one where its background could be left out, else ''. artwork: None where its pixels are
    not kept.
    """

    width_px: int
    width_mm: float
    height_mm: float
    assumed: bool
    flats: Flats
    told: tuple[str, ...]
    too_small: str
    offer: str
    artwork: Artwork | None

    @property
    def notes(self) -> tuple[str, ...]:
        """All there is to be said of it but its flats."""
        offer = f"{self.offer[:-1]} with background 'auto'." if self.offer else ""
        return (*self.told, *(each for each in (self.too_small, offer) if each))


def placed_artwork(
    read: Artwork,
    *,
    width_mm: float | None,
    background: str,
    assume: bool = False,
    find: Callable[[Artwork], Flats] = find_flats,
) -> PlacedArtwork:
    """Leave out the background if asked to, size the print, and find its flats.

    Parameters
    ----------
    read : the artwork as it came.
    width_mm, background : see `JobArtworkEntry`. assume: a width where neither job nor file say it.
    find : its flats; what is found with them may be kept.

    Raises
    ------
    InputError : no width, a background that it does not have, too many flats, or nothing to print.
    """
    assumed = width_mm is None and read.dpi is None
    if assumed:
        if not assume:
            raise InputError(
                f"'{read.name}' does not say its resolution; give width_mm, the width of the print."
            )
        dpi, notes = printed_at(read)
        read = replace(read, dpi=dpi, notes=notes)
    art = without_background(read, background=background)
    if width_mm is not None:
        notes = sized_notes(art, instead=f"the job's width of {width_mm:g} mm is taken")
        art = replace(at_width(art, width_mm), notes=notes)
    wide = art.width_mm
    assert wide is not None  # its own, or the one it was given
    flats = find(art)
    if not flats.colours:
        raise InputError("the artwork prints nothing: every pixel of it is transparent.")
    ground = flats.background
    placed = PlacedArtwork(
        width_px=art.width_px,
        width_mm=wide,
        height_mm=wide * art.height_px / art.width_px,
        assumed=assumed,
        flats=flats,
        told=art.notes,
        too_small="" if flats.tonal else too_small_note(art, width_mm=wide) or "",
        offer=ground.offer if ground and background.strip() == KEEP else "",
        artwork=art,
    )
    return replace(placed, artwork=replace(art, notes=placed.notes))


def misfit_note(placed: PlacedArtwork, *, place: Place, top_mm: float | None) -> str:
    """One sentence where the print does not fit its place on the shirt, else ''."""
    try:
        check_fit(place, width_mm=placed.width_mm, height_mm=placed.height_mm, top_mm=top_mm)
    except InputError as error:
        return sentence(str(error).removesuffix("."))
    return ""
