"""The films of a flat print in a window, pixel for pixel.

Choke and trap reach no further than `MOST_EDGE_MM`, so a window with that much round it
gives the same pixels as the whole plates.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.artwork import Assignment
from inksim.common import MM_PER_INCH, Uint8Array
from inksim.preview.prepare import PreparedArtwork, window_at
from inksim.printing import Route
from inksim.separation import MOST_EDGE_MM, flat_plates
from inksim.shop import Shop
from inksim.stock import Garment

FILM_CLEAR, FILM_BLACK, GAP = 236, 20, 150


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateWindow:
    """One plate in a window: its ink, and its film as a picture (h, w, 3), black where it prints.

    On the base's film, what a color prints without base under it is gray.
    """

    ink: str
    is_base: bool
    film: Uint8Array


def plates_in_window(
    ready: PreparedArtwork,
    assignments: Sequence[Assignment],
    *,
    shop: Shop,
    garment: Garment,
    route: Route,
    center: tuple[float, float],
    size_px: tuple[int, int],
    choke_mm: float,
    trap_mm: float = 0.0,
) -> list[PlateWindow]:
    """Make the plates of a window, base first; the window as `window_at` has it.

    Raises
    ------
    InputError : nothing is printed, or a choke or trap out of reason.
    """
    labels = ready.flats.labels
    rows, columns = window_at(labels.shape, center=center, size_px=size_px)
    margin = int(np.ceil(MOST_EDGE_MM * ready.dpi / MM_PER_INCH)) + 2
    top, left = max(0, rows.start - margin), max(0, columns.start - margin)
    around = labels[top : rows.stop + margin, left : columns.stop + margin]
    plates = flat_plates(
        around,
        assignments,
        shop=shop,
        garment=garment,
        route=route,
        dpi=ready.dpi,
        choke_mm=choke_mm,
        trap_mm=trap_mm,
    ).plates
    inside = (
        slice(rows.start - top, rows.stop - top),
        slice(columns.start - left, columns.stop - left),
    )
    films = [plate.film[inside] for plate in plates]
    over = np.maximum.reduce([f for f, p in zip(films, plates, strict=True) if not p.is_base])
    shown = []
    for film, plate in zip(films, plates, strict=True):
        gray = np.where(film > 127, FILM_BLACK, FILM_CLEAR).astype(np.uint8)
        if plate.is_base:
            gray = np.where((film <= 127) & (over > 127), np.uint8(GAP), gray)
        shown.append(
            PlateWindow(
                ink=plate.ink.name,
                is_base=plate.is_base,
                film=np.repeat(gray[..., None], 3, axis=-1),
            )
        )
    return shown
