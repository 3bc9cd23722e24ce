"""Memory that is used again: arrays which the engine fills, reads and forgets (level 0).

The C library gives freed memory back to the system page by page, and to get it back costs as much
as the films that are worked out in it: a quarter of the time of a decision.
"""

from __future__ import annotations

import math
import threading

import numpy as np

from inksim.common.arrays import FloatArray


class _Kept(threading.local):
    def __init__(self) -> None:
        self.arrays: dict[str, FloatArray] = {}


_KEPT = _Kept()
MOST = 1_000_000
"""Numbers (8 MB) of one name that are kept; a larger array is made anew each time."""


def scratch(name: str, shape: tuple[int, ...]) -> FloatArray:
    """Return an array of this shape with anything in it, in memory this thread keeps by the name.

    It is the caller's until this thread asks for the name again: never hand it out.
    """
    size = math.prod(shape)
    if size > MOST:
        return np.empty(shape)
    kept = _KEPT.arrays.get(name)
    if kept is None or kept.size < size:
        kept = _KEPT.arrays[name] = np.empty(size)
    return kept[:size].reshape(shape)
