"""Ways to print a job as columns of numbers, joined ink by ink; what is beaten is dropped at once.

Used by `job_search`: it says what a way costs, this only compares. What is dropped could not have
won, but in a job of more than `EXACT_COLOURS` colors, where the best of each kind are carried on.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from inksim.common import BoolArray, FloatArray, IndexArray

COST, FILM, RISK, MISSED, SCREENS = range(5)
"""Columns by which ways are compared; small is good. MISSED counts the colors that do not land."""

EXACT_COLOURS = 8
_MOST_OF_MANY = 100
"""Ways carried on from one ink to the next: up to `EXACT_COLOURS` colors all that could win, a few
hundred in practice; in a job of more the least risky, the cheapest, the softest and those that land
most."""


class Ways(NamedTuple):
    """Ways so far as columns: objectives (n, 5), bases used (n,), options taken (n, colors)."""

    values: FloatArray
    used: IndexArray
    taken: IndexArray


def most_ways(colours: int) -> int | None:
    """Most ways to carry on in a job of so many colors; None: all that could win."""
    return None if colours <= EXACT_COLOURS else _MOST_OF_MANY


def nothing(colours: int) -> Ways:
    """Return the one way to print no color yet."""
    return Ways(
        values=np.zeros((1, 5)),
        used=np.zeros(1, dtype=np.intp),
        taken=np.full((1, colours), -1, dtype=np.intp),
    )


def joined(one: Ways, two: Ways, *, most_screens: int) -> Ways:
    """Every way of one with every way of two that could still win."""
    n, m = len(one.used), len(two.used)
    left, right = np.repeat(np.arange(n), m), np.tile(np.arange(m), n)
    values, used = one.values[left] + two.values[right], one.used[left] | two.used[right]
    most = most_ways(one.taken.shape[1])
    kept = unbeaten(values, used[:, None], most_screens=most_screens, most=most)
    return Ways(
        values=values[kept],
        used=used[kept],
        taken=np.maximum(one.taken[left[kept]], two.taken[right[kept]]),
    )


def unbeaten(
    values: FloatArray, rivals: IndexArray, *, most_screens: int, most: int | None
) -> IndexArray:
    """Drop what needs too many screens and what is beaten by a way with the same `rivals` row."""
    fits = np.flatnonzero(values[:, SCREENS] <= most_screens)
    if not fits.size:
        return fits
    _, kind = np.unique(rivals[fits], axis=0, return_inverse=True)
    order = np.argsort(kind, kind="stable")
    parts = np.split(fits[order], np.flatnonzero(np.diff(kind[order])) + 1)
    kept = np.sort(np.concatenate([part[not_beaten(values[part])] for part in parts]))
    if most is None or len(kept) <= most:
        return kept
    return np.asarray(kept[_extreme(values[kept], most=most)])


def _extreme(values: FloatArray, *, most: int) -> IndexArray:
    """Rows to carry on in a job of very many colors: the least risky first, then each extreme."""
    rank = np.full(len(values), np.inf)
    shares = ((RISK, 2.0), (MISSED, 1.0), (COST, 1.0), (FILM, 1.0), (SCREENS, 1.0))
    for column, share in shares:
        order = np.lexsort((values[:, RISK], values[:, column]))
        place = np.empty(len(values))
        place[order] = np.arange(len(values)) / share
        rank = np.minimum(rank, place)
    return np.sort(np.argsort(rank, kind="stable")[:most])


def not_beaten(values: FloatArray) -> BoolArray:
    """Which rows (n, k) no other row beats: none is as good in all columns and better in one.

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
