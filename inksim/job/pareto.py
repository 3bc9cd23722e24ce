"""Pareto fronts of the ways to print a job, as columns of objectives, joined ink by ink.

`search` computes the objectives; this only compares. Dominated ways are dropped at once: they could
not have won. Beyond `EXACT_COLOURS` colors only the extremes of the front are carried on.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from inksim.common import BoolArray, FloatArray, IndexArray

COST, FILM, RISK, MISSED, SCREENS = range(5)
"""Columns of the objectives, all minimized. MISSED counts the colors that are not nominal."""

EXACT_COLOURS = 8
_MOST_OF_MANY = 100
"""Ways carried on from one ink to the next: up to `EXACT_COLOURS` colors all that could win, a few
hundred in practice; in a job of more the least risky, the cheapest, the softest and those with most
colors nominal."""


class Ways(NamedTuple):
    """Partial ways as columns: objectives (n, 5), bases used (n,), options taken (n, colors)."""

    values: FloatArray
    used: IndexArray
    taken: IndexArray


def most_ways(colours: int) -> int | None:
    """Most ways to carry on in a job of so many colors; None: the whole front."""
    return None if colours <= EXACT_COLOURS else _MOST_OF_MANY


def empty_ways(colours: int) -> Ways:
    """The empty way, with no color printed yet."""
    return Ways(
        values=np.zeros((1, 5)),
        used=np.zeros(1, dtype=np.intp),
        taken=np.full((1, colours), -1, dtype=np.intp),
    )


def combined(one: Ways, two: Ways, *, most_screens: int) -> Ways:
    """Combine every way of one with every way of two, and keep the front."""
    n, m = len(one.used), len(two.used)
    left, right = np.repeat(np.arange(n), m), np.tile(np.arange(m), n)
    values, used = one.values[left] + two.values[right], one.used[left] | two.used[right]
    most = most_ways(one.taken.shape[1])
    kept = undominated(values, used[:, None], most_screens=most_screens, most=most)
    return Ways(
        values=values[kept],
        used=used[kept],
        taken=np.maximum(one.taken[left[kept]], two.taken[right[kept]]),
    )


def undominated(
    values: FloatArray, rivals: IndexArray, *, most_screens: int, most: int | None
) -> IndexArray:
    """Indices of the ways with few enough screens, not dominated within their row of `rivals`."""
    fits = np.flatnonzero(values[:, SCREENS] <= most_screens)
    if not fits.size:
        return fits
    _, kind = np.unique(rivals[fits], axis=0, return_inverse=True)
    order = np.argsort(kind, kind="stable")
    parts = np.split(fits[order], np.flatnonzero(np.diff(kind[order])) + 1)
    kept = np.sort(np.concatenate([part[pareto_mask(values[part])] for part in parts]))
    if most is None or len(kept) <= most:
        return kept
    return np.asarray(kept[_extreme(values[kept], most=most)])


def _extreme(values: FloatArray, *, most: int) -> IndexArray:
    """Indices of the rows to carry on in a job of very many colors: the extremes, risk first."""
    rank = np.full(len(values), np.inf)
    shares = ((RISK, 2.0), (MISSED, 1.0), (COST, 1.0), (FILM, 1.0), (SCREENS, 1.0))
    for column, share in shares:
        order = np.lexsort((values[:, RISK], values[:, column]))
        place = np.empty(len(values))
        place[order] = np.arange(len(values)) / share
        rank = np.minimum(rank, place)
    return np.sort(np.argsort(rank, kind="stable")[:most])


def pareto_mask(values: FloatArray) -> BoolArray:
    """Pareto front: mask of the rows (n, k) that no other row dominates.

    Small is good. Of equal rows the first stays.
    """
    order = np.lexsort(values.T[::-1])
    left = order
    kept = np.zeros(len(values), dtype=np.bool_)
    while left.size:
        best = left[0]
        kept[best] = True
        better_somewhere = np.any(values[left] < values[best], axis=1)
        left = left[better_somewhere]
    return kept
