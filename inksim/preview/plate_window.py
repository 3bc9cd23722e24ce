"""The films of a flat print in a window, pixel for pixel.

Choke and trap reach no further than `MOST_EDGE_MM`, so a window with that much round it
gives the same pixels as the whole plates.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.common import MM_PER_INCH, Uint8Array
from inksim.job import PressScreen
from inksim.preview.prepare import PreparedArtwork, window_at
from inksim.separation import MOST_EDGE_MM, flat_plates
from inksim.shop import Shop
from inksim.stock import Garment

FILM_CLEAR, FILM_BLACK, GAP = 236, 20, 150


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateWindow:
    """One plate in a window: its ink, and its film as a picture (h, w, 3), black where it prints.

    title: the ink, with the mesh where two plates have one ink. On a base's film, what a color
    that goes over it prints without base under it is gray.
    """

    ink: str
    title: str
    is_base: bool
    film: Uint8Array


def plates_in_window(
    ready: PreparedArtwork,
    screens: Sequence[PressScreen],
    colours: Sequence[int | None],
    *,
    garment: Garment,
    shop: Shop,
    centre: tuple[float, float],
    size_px: tuple[int, int],
    choke_mm: float,
    trap_mm: float = 0.0,
) -> list[PlateWindow]:
    """Make the plates of a window, in print order; the window as `window_at` has it.

    screens, colours: see `flat_plates`.

    Raises
    ------
    InputError : nothing is printed, or a choke or trap out of reason.
    """
    labels = ready.flats.labels
    rows, columns = window_at(labels.shape, centre=centre, size_px=size_px)
    margin = int(np.ceil(MOST_EDGE_MM * ready.dpi / MM_PER_INCH)) + 2
    top, left = max(0, rows.start - margin), max(0, columns.start - margin)
    around = labels[top : rows.stop + margin, left : columns.stop + margin]
    plates = flat_plates(
        around,
        screens,
        colours,
        garment=garment,
        shop=shop,
        dpi=ready.dpi,
        choke_mm=choke_mm,
        trap_mm=trap_mm,
    ).plates
    inside = (
        slice(rows.start - top, rows.stop - top),
        slice(columns.start - left, columns.stop - left),
    )
    names = [plate.ink.name for plate in plates]
    shown = []
    for screen, plate in zip(screens, plates, strict=True):
        film = plate.film[inside]
        grey = np.where(film > 127, FILM_BLACK, FILM_CLEAR).astype(np.uint8)
        if plate.is_base:
            over = [n for n, colour in enumerate(colours, start=1) if colour in screen.over]
            bare = (film <= 127) & np.isin(labels[rows, columns], over)
            grey = np.where(bare, np.uint8(GAP), grey)
        name = plate.ink.name
        mesh = f", {screen.screen.threads_per_inch:.0f} threads/in"
        shown.append(
            PlateWindow(
                ink=name,
                title=f"{name}{mesh if names.count(name) > 1 else ''}",
                is_base=plate.is_base,
                film=np.repeat(grey[..., None], 3, axis=-1),
            )
        )
    return shown
