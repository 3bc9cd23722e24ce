"""How well a recipe is known: standard errors of its shares, and inks that can stand for others."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inksim.common import FloatArray, IndexArray
from inksim.mixing.films import Films
from inksim.mixing.inversion import Sets, StockArrays, slopes

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
        made[own[:, None], np.arange(size)] = np.where(apart[:, None], sd, np.inf)
    return made


def differing_shares(alike: Sets, chosen: Sets, stock: StockArrays) -> FloatArray:
    """Most (P, m) that a dry share of the chosen sets differs in sets alike on the same film."""

    def whole(sets: Sets) -> FloatArray:
        dry = np.where(sets.ink >= 0, sets.wet * stock.solids[sets.ink], 0.0)
        made = np.zeros((len(sets), len(stock.solids)))
        row, column = np.nonzero(sets.ink >= 0)
        made[row, sets.ink[row, column]] = (dry / dry.sum(axis=1, keepdims=True))[row, column]
        return made

    apart = np.abs(whole(chosen)[:, None] - whole(alike))
    apart *= (chosen.film[:, None] == alike.film)[..., None]
    most = apart.max(axis=1, initial=0.0)
    return np.asarray(most[np.arange(len(chosen))[:, None], chosen.ink])


def swapped(
    looked: Sets,
    chosen: Sets,
    *,
    route: IndexArray,
    chosen_route: IndexArray,
    names: Sequence[str],
) -> list[tuple[tuple[str, str], ...]]:
    """Of each chosen set the inks that can stand for one of its own, by the same route.

    One can where the set with it in place of the other lies as near, within `SAME_DE00`.

    Parameters
    ----------
    looked : all sets that were worked out; route: of each. names: of the inks.
    """
    best: dict[tuple[frozenset[int], int], float] = {}
    for ink, by, square in zip(looked.ink, route, looked.square, strict=True):
        key = (frozenset(ink[ink >= 0].tolist()), int(by))
        best[key] = min(best.get(key, np.inf), float(np.sqrt(square)))
    made = []
    for ink, by, square in zip(chosen.ink, chosen_route, chosen.square, strict=True):
        own, most = frozenset(ink[ink >= 0].tolist()), float(np.sqrt(square)) + SAME_DE00
        pairs = [
            (names[min(own - other)], names[min(other - own)])
            for (other, other_by), away in best.items()
            if other_by == by and away <= most and len(other) == len(own) == len(own & other) + 1
        ]
        made.append(tuple(sorted(pairs)))
    return made
