"""How the time of a call grows with its input: by ratios in one run, never by seconds."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TypeVar

Made = TypeVar("Made")

STEP = 4
WORSE = 12.0  # of four times the input: linear work takes 4 times as long, quadratic 16
NOISE_S = 0.5e-3  # what is faster tells nothing
SIZES = (5, 20, 80, 320, 1280)


def _seconds(call: Callable[[], object], times: int) -> float:
    """The shortest of so many runs, in processor time of this thread."""
    shortest = float("inf")
    for _ in range(times):
        start = time.thread_time()
        call()
        shortest = min(shortest, time.thread_time() - start)
    return max(shortest, 1e-7)


def worse_than_linear(
    work: Callable[[Made], object], made: Callable[[int], Made], sizes: tuple[int, ...] = SIZES
) -> float:
    """0.0 for work at most linear in a made input of so many parts, else the ratio that tells.

    Sizes rise by `STEP`, so that what explodes is told while it is small. A ratio above `WORSE` is
    measured anew, and counts where it stays.
    """
    before = _seconds(lambda: work(made(sizes[0])), 1)
    for size in sizes[1:]:
        large = made(size)
        now = _seconds(lambda: work(large), 1)  # noqa: B023
        if now > NOISE_S and now > WORSE * before:
            small = made(size // STEP)
            now = _seconds(lambda: work(large), 3)  # noqa: B023
            ratio = now / _seconds(lambda: work(small), 9)  # noqa: B023
            if ratio > WORSE and now > NOISE_S:
                return ratio
        before = now
    return 0.0
