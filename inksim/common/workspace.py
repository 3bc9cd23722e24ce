"""Scratch arrays, reused by name within a thread.

Freed memory goes back to the system page by page, and getting it again costs as much as the films
worked out in it: a quarter of the time of a decision.
"""

from __future__ import annotations

import math
import threading

import numpy as np

from inksim.common.arrays import FloatArray


class _Pool(threading.local):
    def __init__(self) -> None:
        self.arrays: dict[str, FloatArray] = {}


_POOL = _Pool()
MOST = 1_000_000
"""Largest array kept under a name, in numbers (8 MB); a larger one is allocated each time."""


def scratch(name: str, shape: tuple[int, ...]) -> FloatArray:
    """Return an uninitialized array from this thread's pool, by name.

    It is the caller's until this thread asks for the name again: never return it to others.
    """
    size = math.prod(shape)
    if size > MOST:
        return np.empty(shape)
    kept = _POOL.arrays.get(name)
    if kept is None or kept.size < size:
        kept = _POOL.arrays[name] = np.empty(size)
    return kept[:size].reshape(shape)
