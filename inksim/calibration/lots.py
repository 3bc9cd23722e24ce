"""Strength of each lot that was read, about that of its ink or cloth: told, and not kept."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inksim.calibration.fit import PressFit
from inksim.calibration.unknowns import K, Part, S
from inksim.colour import delta_e_2000
from inksim.printing import NORMAL_HIGH

NARROWED = 0.9
"""A posterior sd above this share of the prior sd counts as not told by the readings
[assumption]."""


@dataclass(frozen=True, kw_only=True)
class LotResult:
    """One lot of an ink or a cloth.

    of, lot: whose, and its name. strength: times that of its ink or cloth, of a white its
    scattering, else its absorption; low, high: 90 % interval; low_before, high_before: that of the
    prior. told: whether it narrowed. moves_de00: what the lot moves its prints by, mean ΔE00 of
    those read. readings: of it. newest: whether no other lot of the same was read later.
    """

    of: str
    lot: str
    strength: float
    low: float
    high: float
    low_before: float
    high_before: float
    told: bool
    moves_de00: float
    readings: int
    newest: bool


def lot_results(found: PressFit) -> tuple[LotResult, ...]:
    """The lots of a fit, those of one ink or cloth together, in order of their days."""
    parts = [part for part in found.model.unknowns.parts if part.kind in ("ink lot", "cloth lot")]
    if not parts:
        return ()
    u = np.repeat(found.u[None], len(parts) + 1, axis=0)
    for at, part in enumerate(parts, start=1):
        u[at, part.columns] = 0.0  # as the ink or cloth itself
    lab = found.model.lab(u)
    moved = delta_e_2000(lab[1:], lab[:1])
    of = [_whose(found, part) for part in parts]
    last = {
        each: max(found.model.readings[row].date for row in _rows(part))
        for each, part in zip(of, parts, strict=True)
    }
    made = [
        _lot(found, part, each, float(np.mean(moves[_rows(part)])), last)
        for part, each, moves in zip(parts, of, moved, strict=True)
    ]
    return tuple(sorted(made, key=lambda lot: (lot.of, last[lot.of, lot.lot], lot.lot)))


def _rows(part: Part) -> list[int]:
    """The readings that a part moves."""
    rows: list[int] = np.flatnonzero(part.at.any(axis=1)).tolist()
    return rows


def _whose(found: PressFit, part: Part) -> tuple[str, str]:
    """Ink or cloth, and lot, of the first reading that a part moves."""
    row, film = np.argwhere(part.at)[0].tolist()
    reading = found.model.readings[row]
    if part.kind == "cloth lot":
        return reading.build.garment.name, reading.garment_lot
    return reading.build.layers[film].ink.name, reading.lots[film]


def _lot(
    found: PressFit, part: Part, of: tuple[str, str], moves: float, last: dict[tuple[str, str], str]
) -> LotResult:
    which = K
    if part.kind == "ink lot":
        row, film = np.argwhere(part.at)[0].tolist()
        which = S if found.model.readings[row].build.layers[film].ink.kind == "white-base" else K
    at, before = part.start + which, float(part.scale[which])
    ln = float(found.u[at]) * before
    sd = float(np.sqrt(found.covariance[at, at])) * before
    low, high = np.exp([ln - NORMAL_HIGH * sd, ln + NORMAL_HIGH * sd]).tolist()
    newest = max(day for (whose, _), day in last.items() if whose == of[0])
    return LotResult(
        of=of[0],
        lot=of[1],
        strength=float(np.exp(ln)),
        low=low,
        high=high,
        low_before=float(np.exp(-NORMAL_HIGH * before)),
        high_before=float(np.exp(NORMAL_HIGH * before)),
        told=sd <= NARROWED * before,
        moves_de00=moves,
        readings=len(_rows(part)),
        newest=bool(newest) and last[of] == newest,
    )
