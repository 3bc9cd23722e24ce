"""How well a recipe is known: standard errors of its shares, and inks that can stand for others."""

from __future__ import annotations

import numpy as np

from inksim.common import FloatArray
from inksim.mixing.films import Films
from inksim.mixing.inversion import Sets, StockArrays, slopes
from inksim.mixing.search import Question
from inksim.stock import Ink

READING_SD = 0.002
"""Of a reading, as the fits of drawdowns have it (`drawdowns`)."""
SAME_DE00 = 0.3
"""Two recipes are told apart by no eye where they lie no farther [assumption: below the 0.5 of an
instrument's own place and pressure]."""


def share_errors(
    sets: Sets, stock: StockArrays, films: Films, *, noise: float = READING_SD
) -> FloatArray:
    """Standard error (P, m) of the dry volume shares, from the noise of a reading in each band.

    cov = noise² · (J'J)⁻¹ over shares that sum to 1, J of the reflectance by the wet shares. Inks
    that nothing tells apart have none: inf. NaN where a set pads.
    """
    _, dR = slopes(sets, stock, films)
    wet, solids = sets.wet, np.where(sets.ink >= 0, stock.solids[sets.ink], 0.0)
    total = np.sum(wet * solids, axis=1, keepdims=True)
    made = np.full(sets.ink.shape, np.nan)
    for size in np.unique(sets.count):
        own = np.flatnonzero(sets.count == size)
        if size == 1:
            made[own, 0] = 0.0
            continue
        J = dR[own][:, :size] - dR[own][:, size - 1 : size]
        J = J[:, : size - 1]
        information = J @ J.mT
        scale = np.sqrt(np.maximum(np.einsum("pii->pi", information), 1e-30))
        unit = information / (scale[:, :, None] * scale[:, None])
        apart = np.linalg.eigvalsh(unit)[:, 0] > 1e-10
        unit[~apart] = np.eye(size - 1)
        free = noise**2 * np.linalg.inv(unit) / (scale[:, :, None] * scale[:, None])
        # wet shares of all inks from those that are free, then dry ones
        spread = np.concatenate([np.eye(size - 1), -np.ones((1, size - 1))])
        s, w = solids[own][:, :size], wet[own][:, :size]
        to_dry = (s / total[own])[..., None] * np.eye(size) - (
            (w * s / total[own] ** 2)[..., None] * s[:, None]
        )
        along = to_dry @ spread
        sd = np.sqrt(np.einsum("pis,pst,pit->pi", along, free, along))
        made[np.ix_(own, range(size))] = np.where(apart[:, None], sd, np.inf)
    return made


def swaps_of(
    question: Question, looked: Sets, chosen: Sets, *, stock: tuple[Ink, ...]
) -> list[tuple[tuple[str, str], ...]]:
    """Of each recipe the inks of the stock that can stand for one of its own, by the same route.

    One can where the set with it in place of the other lies as near, within `SAME_DE00`.
    """
    best: dict[tuple[frozenset[int], int], float] = {}
    for ink, film, square in zip(looked.ink, looked.film, looked.square, strict=True):
        key = (frozenset(ink[ink >= 0].tolist()), int(question.route[film]))
        best[key] = min(best.get(key, np.inf), float(np.sqrt(square)))
    made = []
    for ink, film, square in zip(chosen.ink, chosen.film, chosen.square, strict=True):
        own, route = frozenset(ink[ink >= 0].tolist()), int(question.route[film])
        most = float(np.sqrt(square)) + SAME_DE00
        pairs = [
            (stock[min(own - other)].name, stock[min(other - own)].name)
            for (other, by), away in best.items()
            if by == route and away <= most and len(other) == len(own) == len(own & other) + 1
        ]
        made.append(tuple(sorted(pairs)))
    return made
