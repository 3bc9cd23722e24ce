"""What else can be shown of a print: on a shirt, off register, where a screen fails (level 6)."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from inksim.artwork import Artwork, save_png
from inksim.colour import Viewing, srgb8, xyz
from inksim.common import MM_PER_INCH, BoolArray, Uint8Array
from inksim.optics import LEVELS
from inksim.picture import MOST_MM, USUAL_TOP_MM, Place, check_fit, colour_table, marked, on_shirt
from inksim.separation import Misfit
from inksim.stock import Garment

SHIRT_PX = 1600
MAP_PX = 2000
WORTH_SAYING = 0.001
"""Share of a print beyond the screen from which it is said."""


@dataclass(frozen=True, kw_only=True)
class Views:
    """What else is to be shown of a print.

    misfit: how its plates lie. beyond_screen: a map of where a screen cannot show its colors.
    places: parts of a shirt to draw it on, width_mm wide (its own width, or what fits, if None)
    and top_mm from the collar or from the hem of the sleeve (the usual distance if None).
    """

    misfit: Misfit = Misfit()
    beyond_screen: bool = False
    places: tuple[Place, ...] = ()
    width_mm: float | None = None
    top_mm: float | None = None


def check_views(views: Views, *, artwork: Artwork, dpi: float) -> None:
    """Refuse a print that does not fit its place on the shirt, before anything is written.

    Raises
    ------
    InputError : too wide, too narrow, too long, or too far down.
    """
    for place in views.places:
        width = _width_mm(views, place, artwork=artwork, dpi=dpi)
        high = width * artwork.height_px / artwork.width_px
        check_fit(place, width_mm=width, height_mm=high, top_mm=views.top_mm)


def _width_mm(views: Views, place: Place, *, artwork: Artwork, dpi: float) -> float:
    if views.width_mm is not None:
        return views.width_mm
    return fitting_width(artwork, place, dpi=dpi, top_mm=views.top_mm)


def write_views(
    views: Views,
    *,
    artwork: Artwork,
    garment: Garment,
    viewing: Viewing,
    drawn: Uint8Array,
    tile: Uint8Array,
    dpi: float,
    beyond: BoolArray | None,
    path: Path,
) -> tuple[tuple[str, Path], ...]:
    """Write the pictures asked for beside the print's own (`path`): what each is, and where.

    drawn: the print, reduced. tile: the cloth at the artwork's dpi. beyond: where (H, W) a screen
    cannot show the print, or None for no map of it. What `check_views` refuses cannot be drawn.
    """
    made = []
    if views.places:
        bare = np.broadcast_to(garment.reflectance, (1, LEVELS, garment.reflectance.size))
        look = colour_table(bare, viewing)
    for place in views.places:
        width = _width_mm(views, place, artwork=artwork, dpi=dpi)
        shirt = on_shirt(
            drawn,
            look=look,
            tile=tile,
            tile_px_per_mm=dpi / MM_PER_INCH,
            print_width_mm=width,
            print_top_mm=views.top_mm,
            height_px=SHIRT_PX,
            place=place,
        )
        file = path.with_name(f"{path.stem}--{place}.png")
        made.append((f"on the {place}, {width:.0f} mm wide", save_png(file, shirt, dpi=150)))
    if beyond is not None:
        cloth, _ = srgb8(xyz(garment.reflectance, viewing), viewing)
        ground = (int(cloth[0]), int(cloth[1]), int(cloth[2]))
        picture = marked(artwork.rgba, beyond, cloth=ground, most_px=MAP_PX)
        file = path.with_name(f"{path.stem}--beyond-screen.png")
        made.append(("in black what no screen shows", save_png(file, picture, dpi=150)))
    return tuple(made)


def fitting_width(
    artwork: Artwork, place: Place, *, dpi: float, top_mm: float | None = None
) -> float:
    """The artwork's own width in mm, or the widest that fits there."""
    widest, longest = MOST_MM[place]
    own = artwork.width_px / dpi * MM_PER_INCH
    free = longest - (USUAL_TOP_MM[place] if top_mm is None else top_mm)
    return float(min(own, widest, free * artwork.width_px / artwork.height_px))


def share_beyond(beyond: BoolArray, printed: BoolArray) -> float:
    """Share of what is printed that a screen cannot show."""
    return int(np.count_nonzero(beyond & printed)) / max(1, int(np.count_nonzero(printed)))


def beyond_words(share: float) -> tuple[str, ...]:
    """One line where a screen fails on some of the print, else none."""
    if share < WORTH_SAYING:
        return ()
    return (f"{share:.1%} of it has colors that no sRGB screen shows",)
