"""Which of the ways to print a job to take, and which to report beside it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.decision import ROUTE_ROOM_DE00, SHOULD_LAND, work_class
from inksim.job.search import Way

SECOND_RUN_DE00 = 3.0
"""What a color may be farther beyond its tolerance before every shirt is put on the press twice for
it [assumption: what anybody sees]."""
SHOWN = 10
"""Most ways reported for a garment: the chosen, the cheapest, softest and surest, and others."""


def told_ways(ways: Sequence[Way], *, gain: float) -> list[int]:
    """Indices of the ways to report: the extremes and an even selection of the rest."""
    nominal, risk, work, cost, film = (
        np.array([getattr(w, f) for w in ways])
        for f in ("nominal", "risk", "work", "cost", "film_g")
    )
    each = (risk, work, cost, film)
    orders = [*((values, -nominal) for values in each), *((values,) for values in each)]
    picked = [int(np.lexsort(keys)[0]) for keys in orders]
    least = (work_class(work), risk, cost, film)
    picked += [way_to_take(ways, values, gain=gain) for values in least]
    rest = [at for at in range(len(ways)) if at not in picked]
    free = max(0, SHOWN - len(set(picked)))
    picked += [rest[round(n)] for n in np.linspace(0, len(rest) - 1, min(free, len(rest)))]
    return sorted(set(picked))


def way_to_take(ways: Sequence[Way], least: FloatArray | IndexArray, *, gain: float) -> int:
    """Index of the way to take: the least of some value among those about as sure as the surest.

    Of ways alike in that value the surest, and then the cheapest.

    The rule for one color (`choose_build`), with the chance of a color in the mean of a way: as
    sure is what is at most `gain` below; to one below an even chance again from there, as long
    as that saves a screen. Ways do not count on which some color is far beyond what it could be,
    nor of the others those that leave more colors outside the tolerance than they have to, straight
    or over a base; nor a second run, unless in one some color is left much farther off
    (`SECOND_RUN_DE00`).
    """
    chance, cost, screens, beaten = (
        np.array([getattr(way, f) for way in ways])
        for f in ("chance_a_colour", "cost", "screens", "beaten")
    )
    chance = np.round(chance, 9)  # alike but for the last digit of a sum
    missed = np.array([[option.missed for option in way.options] for way in ways])
    beyond = (missed - missed.min(axis=0)).max(axis=1)
    able = np.array([way.runs for way in ways]) == 1
    if not able.any() or beyond[able].min() > SECOND_RUN_DE00:
        able[:] = True
    able &= beyond <= beyond[able].min() + ROUTE_ROOM_DE00
    able &= beaten == beaten[able].min()
    at = _least(able & (chance >= chance[able].max() - gain), least, -chance, cost)
    while True:
        easier = able & (screens < screens[at]) & (chance < SHOULD_LAND)
        easier &= (chance > chance[at] - gain) & (least < least[at])
        if not easier.any():
            return at
        at = _least(easier, least, -chance, cost)


def _least(among: BoolArray, *keys: FloatArray | IndexArray) -> int:
    """Index of the least of those in a mask, by the first key, then the next."""
    at = np.flatnonzero(among)
    return int(at[np.lexsort([key[at] for key in reversed(keys)])[0]])
