"""Screening: gray plates to black-and-white plates at the film's resolution, by threshold cells.

A pixel prints where the plate's tint is above the threshold at its position in the halftone cell.
The thresholds are ranks, so every tint prints exactly its share of the cell. Round dots stay round
until they touch and then leave round-cornered holes, as the model of dot growth assumes; elliptical
ones first join into chains, which softens the jump in tone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, get_args

import numpy as np

from inksim.common import BoolArray, InputError, Uint8Array

Shape = Literal["round", "elliptical"]
SHAPES: tuple[str, ...] = get_args(Shape)

CELL = 256
ELONGATION = 1.35
"""Length over width of an elliptical dot, a usual value (common practice, no source)."""
LEAST_CELL_PX = 4.0
MOST_PIXELS = 900_000_000
ANGLES = (22.5, 52.5, 82.5, 7.5, 37.5, 67.5)
"""Degrees, most visible ink first: 30° apart for three, 15° between all [assumption: common
practice]. Equal angles would cause moiré, and Demichel's weights would not hold."""
_STRIP_PIXELS = 1 << 20


@dataclass(frozen=True, kw_only=True)
class Screening:
    """Screening parameters: lines/inch, output dots/inch, dot shape, degrees of each plate."""

    lines_per_inch: float
    dpi: float
    shape: Shape = "round"
    angles: Sequence[float] = ANGLES

    def __post_init__(self) -> None:
        """Refuse an unknown dot, too few pixels per dot, and missing angles."""
        if self.shape not in SHAPES:
            raise InputError(f"there is no dot '{self.shape}'; choose {' or '.join(SHAPES)}.")
        sound = self.lines_per_inch > 0 and np.isfinite(self.dpi)
        if not (sound and self.dpi >= LEAST_CELL_PX * self.lines_per_inch):
            raise InputError(
                f"{self.lines_per_inch:g} lines/inch at {self.dpi:g} dpi leaves too few pixels "
                f"for a dot; give at least {LEAST_CELL_PX:g} dpi per line, usually 20."
            )
        if not self.angles or not all(np.isfinite(angle) for angle in self.angles):
            raise InputError("screening needs an angle in degrees for every plate.")

    def angles_of(self, plates: Sequence[str]) -> tuple[float, ...]:
        """Angle of each plate, by their names in print order.

        Raises
        ------
        InputError : plates without an angle; two at one angle would beat with each other.
        """
        if lacking := plates[len(self.angles) :]:
            raise InputError(
                f"there is no angle for {' and '.join(lacking)}: {len(plates)} plates need as many "
                f"angles, in this order: {', '.join(plates)}; "
                f"{', '.join(f'{each:g}' for each in self.angles)} are given."
            )
        return tuple(self.angles[: len(plates)])


@lru_cache(maxsize=len(SHAPES))
def cell_thresholds(shape: Shape) -> Uint8Array:
    """Thresholds (256, 256) of one cell, 0..254: ranks of the distance from the dot's center."""
    place = (np.arange(CELL) + 0.5) / CELL - 0.5
    u, v = place[None, :], place[:, None]
    stretch = 1.0 if shape == "round" else np.sqrt(ELONGATION)
    # Distance to the nearest center; for an elliptical dot that may be a neighbor's.
    distance = np.min(
        [np.hypot((u - i) / stretch, (v - j) * stretch) for i in (-1, 0, 1) for j in (-1, 0, 1)],
        axis=0,
    )
    order = np.argsort(distance, axis=None, kind="stable")
    ranks = np.empty(order.size, dtype=np.int64)
    ranks[order] = np.arange(order.size)
    table = (ranks * 255 // order.size).astype(np.uint8).reshape(CELL, CELL)
    table.setflags(write=False)
    return table


def screened_size(plate: Uint8Array, *, plate_dpi: float, dpi: float) -> tuple[int, int]:
    """Rows and columns of the plate at the film's resolution; refuses more than memory holds."""
    rows, columns = (max(1, round(side * dpi / plate_dpi)) for side in plate.shape)
    if rows * columns > MOST_PIXELS:
        raise InputError(
            f"the plate would be {columns} × {rows} pixels at {dpi:g} dpi, and at most "
            f"{MOST_PIXELS / 1e6:.0f} megapixels are screened; give fewer dpi."
        )
    return rows, columns


def screened(
    plate: Uint8Array, *, plate_dpi: float, screening: Screening, angle_deg: float
) -> Iterator[BoolArray]:
    """Screen a plate: strips (h, W), top to bottom, True where ink prints.

    Positions in the cell are 32-bit fixed-point phases, so that no rounding accumulates over the
    plate.
    """
    rows, columns = screened_size(plate, plate_dpi=plate_dpi, dpi=screening.dpi)
    table = cell_thresholds(screening.shape).ravel()
    cells = screening.lines_per_inch / screening.dpi
    angle = np.deg2rad(angle_deg)
    across, down, back = (
        np.uint32(round(turn * cells * 2**32) % 2**32)
        for turn in (np.cos(angle), np.sin(angle), -np.sin(angle))
    )
    x, y = (np.arange(n, dtype=np.uint32) for n in (columns, rows))
    source_x = (np.arange(columns) * plate.shape[1]) // columns
    source_y = (np.arange(rows) * plate.shape[0]) // rows
    u_x, v_x = x * across, x * back
    u_y, v_y = y * down, y * across
    high = max(1, _STRIP_PIXELS // columns)
    for top in range(0, rows, high):
        part = slice(top, top + high)
        u = (u_x + u_y[part, None]) >> np.uint32(24)
        v = (v_x + v_y[part, None]) >> np.uint32(24)
        v <<= np.uint32(8)
        v |= u
        tint = plate[source_y[part]][:, source_x]
        yield tint > np.take(table, v)
