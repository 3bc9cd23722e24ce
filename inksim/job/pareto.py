"""Pareto fronts of the ways to print a job, as columns of objectives, joined color by color.

`search` computes the objectives; this only compares. Dominated ways are dropped at once: they could
not have won. Beyond `EXACT_COLOURS` colors, or `MOST_EXACT` ways, only the extremes of the front
are carried on.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from inksim.common import BoolArray, FloatArray, IndexArray


class _Columns(NamedTuple):
    """Columns of the objectives, all minimized. MISSED counts the colors that are not nominal."""

    COST: int = 0
    FILM: int = 1
    RISK: int = 2
    MISSED: int = 3
    WORK: int = 4
    SCREENS: int = 5


COLUMNS = _Columns()
EXACT_COLOURS = 8
MOST_PAIRED = 400
MOST_EXACT, MOST_OF_MANY = 3000, 200
"""Ways carried on from one color to the next: up to `EXACT_COLOURS` colors all that could win, a
few hundred in practice; in a job of more the least risky of each number of screens, the cheapest,
the softest and those with most colors nominal."""


class Ways(NamedTuple):
    """Partial ways as columns.

    values (n, 6): objectives. used (n,): bases used, as bits. made (n, k): screens made that more
    colors can use. taken (n, groups): the choice of each group.
    """

    values: FloatArray
    used: IndexArray
    made: BoolArray
    taken: IndexArray


class Front:
    """The front of partial ways, joined group by group."""

    def __init__(self, *, colours: int, groups: int, start: FloatArray, keys: int) -> None:
        """Begin with nothing printed; start (6,): objectives of what every way has.

        keys: number of screens that several groups can share.
        """
        self.ways = Ways(
            values=start[None].astype(np.float64),
            used=np.zeros(1, dtype=np.intp),
            made=np.zeros((1, keys), dtype=np.bool_),
            taken=np.full((1, groups), -1, dtype=np.intp),
        )
        self.exact = colours <= EXACT_COLOURS
        self.most = MOST_EXACT if self.exact else MOST_OF_MANY

    def join(
        self,
        group: int,
        *,
        values: FloatArray,
        added: FloatArray,
        needs: BoolArray,
        bits: IndexArray,
        alive: BoolArray,
        most_screens: int,
    ) -> None:
        """Give every way every choice of one more group, and keep the front.

        Parameters
        ----------
        values (m, 6) : of each choice by itself; added (m, 6): of the screen it needs, not paid
            where that is made already. needs (m, k): that screen among those shared.
        bits (m,) : the base it stands on. alive (k,): screens that a later group can use.
        """
        worth = _worth_joining(values + added, needs=needs, bits=bits)
        ways, n, m = self.ways, len(self.ways.used), len(worth)
        left, right = np.repeat(np.arange(n), m), np.tile(worth, n)
        there = np.any(ways.made[left] & needs[right], axis=1)
        total = ways.values[left] + values[right] + np.where(there[:, None], 0.0, added[right])
        used, made = ways.used[left] | bits[right], ways.made[left] | needs[right]
        kept = self._undominated(total, used=used, made=made[:, alive], most_screens=most_screens)
        taken = ways.taken[left[kept]]
        taken[:, group] = right[kept]
        self.ways = Ways(values=total[kept], used=used[kept], made=made[kept], taken=taken)

    def _undominated(
        self, values: FloatArray, *, used: IndexArray, made: BoolArray, most_screens: int
    ) -> IndexArray:
        """Indices of the ways with few enough screens that no rival dominates.

        Ways compete only where a later color finds the same bases and screens.
        """
        fits = np.flatnonzero(values[:, COLUMNS.SCREENS] <= most_screens)
        kinds = used[fits]
        if made.size:
            same = np.column_stack([made[fits], kinds])
            kinds = np.unique(same, axis=0, return_inverse=True)[1].reshape(-1)
        kept = fits[pareto_mask(values[fits], kinds)]
        if len(kept) <= self.most:
            return np.asarray(kept)
        self.exact = False
        return np.asarray(kept[_extreme(values[kept], most=MOST_OF_MANY)])


def _worth_joining(values: FloatArray, *, needs: BoolArray, bits: IndexArray) -> IndexArray:
    """Indices of the choices that could win: not beaten by one on the same base, or shared.

    values (m, 6): with the screen paid. One whose screen another group can use is kept, for it may
    come for nothing.
    """
    return np.flatnonzero(needs.any(axis=1) | pareto_mask(values, bits))


def _extreme(values: FloatArray, *, most: int) -> IndexArray:
    """Indices of the rows to carry on in a job of very many colors: the extremes, risk first.

    Of each number of screens the least risky, for it is not known yet how many the others need.
    """
    rank = np.full(len(values), np.inf)
    c = COLUMNS
    shares = ((c.RISK, 2.0), (c.MISSED, 1.0), (c.WORK, 1.0), (c.COST, 1.0), (c.FILM, 1.0))
    for column, share in shares:
        order = np.lexsort((values[:, c.RISK], values[:, column]))
        place = np.empty(len(values))
        place[order] = np.arange(len(values)) / share
        rank = np.minimum(rank, place)
    for count in np.unique(values[:, c.SCREENS]):
        own = np.flatnonzero(values[:, c.SCREENS] == count)
        order = own[np.argsort(values[own, c.RISK], kind="stable")]
        rank[order] = np.minimum(rank[order], np.arange(len(own)) / 2.0)
    return np.sort(np.argsort(rank, kind="stable")[:most])


def pareto_mask(values: FloatArray, kinds: IndexArray | None = None) -> BoolArray:
    """Pareto front: mask of the rows (n, k) that no other row, of the same kind (n,), dominates.

    Small is good. Of equal rows the first stays.
    """
    kinds = np.zeros(len(values), dtype=np.intp) if kinds is None else kinds
    if len(values) <= MOST_PAIRED:
        return _front_by_pairs(values, kinds)
    kept = np.zeros(len(values), dtype=np.bool_)
    for kind in np.unique(kinds).tolist():
        own = np.flatnonzero(kinds == kind)
        kept[own[_front_by_turns(values[own])]] = True
    return kept


def _front_by_pairs(values: FloatArray, kinds: IndexArray) -> BoolArray:
    """Hold every row against every other: quicker for some hundreds."""
    as_good = kinds[:, None] == kinds
    for column in values.T:
        as_good &= column[:, None] <= column
    before = np.tri(len(values), k=-1, dtype=np.bool_).T
    return np.asarray(~np.any(as_good & (~as_good.T | before), axis=0))


def _front_by_turns(values: FloatArray) -> BoolArray:
    """Take the least row of those left, and drop what it dominates, till none is left."""
    order = np.lexsort(values.T[::-1])
    left = order
    kept = np.zeros(len(values), dtype=np.bool_)
    while left.size:
        best = left[0]
        kept[best] = True
        better_somewhere = np.any(values[left] < values[best], axis=1)
        left = left[better_somewhere]
    return kept
