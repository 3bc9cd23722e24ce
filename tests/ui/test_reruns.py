"""Reruns leave nothing behind: the small fixed part of ``python -m tests.benchmarks reruns``."""

from __future__ import annotations

import ctypes
import gc

from tests.benchmarks.bench_reruns import resident_mb
from tests.ui.conftest import open_page

WARM, MANY, MOST_MB = 6, 40, 10.0


def held_mb() -> float:
    """Memory in use: without garbage, and without what is free but not given back."""
    gc.collect()
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)
    if trim is not None:
        trim(0)
    return resident_mb()


def test_choosing_to_and_fro_holds_no_memory() -> None:
    page = open_page("base")
    grown = 0.0
    for at in range(WARM + MANY):
        if at == WARM:
            grown = -held_mb()
        page = page.pills[0].set_value(("Coal Black", "Slate Gray")[at % 2]).run()
        assert not page.exception
    assert grown + held_mb() <= MOST_MB
