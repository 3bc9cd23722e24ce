"""Further pictures of a print: on a shirt, and what is out of the screen's gamut."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from inksim.artwork import Artwork, save_png, shrink_to
from inksim.common import MM_PER_INCH, BoolArray, Uint8Array
from inksim.picture import hatched, on_shirt
from inksim.preview.flat_routes import build_look
from inksim.preview.preview_request import SHEET_DPI, PrintRequest
from inksim.separation import Misfit
from inksim.stock import MOST_MM, USUAL_TOP_MM, Place, Provenance, check_fit

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
    order: PrintRequest,
    drawn: Uint8Array | None,
    *,
    beyond: BoolArray | None,
    path: Path,
    data: Provenance,
) -> tuple[tuple[str, Path], ...]:
    """Write the pictures asked for beside the print's own (`path`): what each is, and where.

    drawn: the print, reduced; None where neither a place nor a map asks for it. beyond: where
    (H, W) a screen cannot show the print, or None for no map of it. data: the least sure of its
    numbers. What `check_views` refuses cannot be drawn.
    """
    made: list[tuple[str, Path]] = []
    if drawn is None:
        return ()
    if views.places:
        press = order.shop.press.values
        look = build_look([], garment=order.garment, press=press, viewing=order.viewing)
    for place in views.places:
        width = _width_mm(views, place, artwork=order.artwork, dpi=order.dpi)
        shirt = on_shirt(
            drawn,
            look=look,
            tile=order.tile,
            tile_px_per_mm=order.px_per_mm,
            print_width_mm=width,
            print_top_mm=views.top_mm,
            height_px=SHIRT_PX,
            place=place,
        )
        file = path.with_name(f"{path.stem}--{place}.png")
        words = f"on the {place}, {width:.0f} mm wide"
        about = order.about(words, data=data)
        made.append((words, save_png(file, shirt, dpi=SHEET_DPI, about=about)))
    if beyond is not None:
        picture = hatched(shrink_to(drawn[..., :3], width=MAP_PX, height=MAP_PX), beyond)
        file = path.with_name(f"{path.stem}--beyond-screen.png")
        words = "hatched where no screen shows its color"
        about = order.about(words, data=data)
        made.append((words, save_png(file, picture, dpi=SHEET_DPI, about=about)))
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
