"""Register error, choke of the base and trap of the colors.

To show a register error of a given size, every plate after the first is shifted by it, each in a
direction of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.common import InputError, Uint8Array
from inksim.separation.trap import choked, trapped

MOST_EDGE_MM = 2.0
MOST_REGISTER_MM = 2.0
DIRECTIONS = (
    22.5, 142.5, 262.5, 82.5, 202.5, 322.5, 52.5, 172.5, 292.5, 112.5, 232.5, 352.5,
)  # fmt: skip
"""Directions of the shifts of plates after the first, degrees: right 0, down 90."""


@dataclass(frozen=True, kw_only=True)
class Misfit:
    """Register error, choke of the base and trap of the colors, in mm."""

    register_mm: float = 0.0
    choke_mm: float = 0.0
    trap_mm: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a register error, choke or trap out of range."""
        if not 0.0 <= self.register_mm <= MOST_REGISTER_MM:
            raise InputError(
                f"the register error to show is {self.register_mm:g} mm; give 0 to "
                f"{MOST_REGISTER_MM:g}, on a good day 0.2."
            )
        check_edges(choke_mm=self.choke_mm, trap_mm=self.trap_mm)

    def __bool__(self) -> bool:
        """Whether the print differs from one in perfect register."""
        return bool(self.register_mm or self.choke_mm or self.trap_mm)

    def moves_mm(self, plates: int) -> tuple[tuple[float, float], ...]:
        """Shift (right, down) of each plate; (0, 0) for the first."""
        turns = np.deg2rad([DIRECTIONS[at % len(DIRECTIONS)] for at in range(plates - 1)])
        return (
            (0.0, 0.0),
            *(
                (float(self.register_mm * np.cos(t)), float(self.register_mm * np.sin(t)))
                for t in turns
            ),
        )[:plates]

    def words(self, *, has_base: bool) -> str:
        """'Base choked 0.3 mm, colors trapped 0.2 mm, register off by 0.2 mm.'"""
        said: tuple[str, ...] = (
            f"colors trapped {self.trap_mm:g} mm",
            f"register off by {self.register_mm:g} mm",
        )
        if has_base:
            said = (f"base choked {self.choke_mm:g} mm", *said)
        return f"{', '.join(said)}.".capitalize()


def check_edges(*, choke_mm: float, trap_mm: float) -> None:
    """Refuse a choke or trap out of range."""
    for what, value in (("choke", choke_mm), ("trap", trap_mm)):
        if not 0.0 <= value <= MOST_EDGE_MM:
            raise InputError(
                f"the {what} is {value:g} mm; give 0 to {MOST_EDGE_MM:g}, usually 0.1 to 0.5."
            )


def fitted(
    shirts: Sequence[Uint8Array],
    *,
    has_base: bool,
    px_per_mm: float,
    choke_mm: float,
    trap_mm: float,
) -> list[Uint8Array]:
    """Trap the colors of plates (base first), and choke the base under them."""
    colours = list(shirts[1:] if has_base else shirts)
    reach = trap_mm * px_per_mm
    fit = [
        trapped(plate, [*colours[:at], *colours[at + 1 :]], radius_px=reach)
        for at, plate in enumerate(colours)
    ]
    if not has_base:
        return fit
    return [choked(shirts[0], fit, radius_px=choke_mm * px_per_mm), *fit]
