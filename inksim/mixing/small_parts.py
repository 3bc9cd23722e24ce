"""Parts of a mixture that are not worth their weighing."""

from __future__ import annotations

import numpy as np

from inksim.common import BoolArray, IndexArray
from inksim.mixing.inversion import Sets

SMALL_PART, WORTH_DE00 = 0.05, 0.05
"""A part of less than this wet share that brings the print nearer by less than this is left out
[assumption]."""
HELD = 0.002
"""Of what is shared out above the least: an ink with less of it is held up at the least."""


def set_keys(ink: IndexArray) -> IndexArray:
    """A number of each set, whatever the order of its inks."""
    return np.asarray(np.sum(np.where(ink >= 0, 1 << np.maximum(ink, 0), 0), axis=1))


def idle(sets: Sets, *, route: IndexArray) -> BoolArray:
    """Mask (P,) of the sets with a small part that brings the print no nearer: see `SMALL_PART`.

    It does not where the set without it, or without all its small parts, is as near by the same
    route (P,); or where it is held up at the least that can be weighed, and others are as near.
    """
    distance, routes = np.sqrt(sets.square), int(route.max(initial=0)) + 1
    groups = set_keys(sets.ink) * routes + route
    order = np.lexsort((distance, groups))
    known, first = np.unique(groups[order], return_index=True)
    nearest = distance[order][first]

    def as_near(without: IndexArray) -> BoolArray:
        found = np.minimum(np.searchsorted(known, without), known.size - 1)
        return np.asarray(
            (without != groups)
            & (known[found] == without)
            & (nearest[found] <= distance + WORTH_DE00)
        )

    bits = np.where(sets.ink >= 0, 1 << np.maximum(sets.ink, 0), 0) * routes
    small = bits * (sets.wet < SMALL_PART)
    idle = as_near(groups - small.sum(axis=1))
    for at in range(sets.ink.shape[1]):
        idle |= as_near(groups - small[:, at])
    held = ((sets.free < HELD) & (sets.ink >= 0)).any(axis=1)
    least = np.full(routes, np.inf)
    np.minimum.at(least, route[~held], distance[~held])
    return idle | (held & (least[route] <= distance + WORTH_DE00))
