"""The bounded cache of pictures: least recently used first out, each made once."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace

import numpy as np
import pytest

from inksim.ui.bounded_cache import BoundedCache, weight


def making(made: list[str], value: str) -> Callable[[], str]:
    def make() -> str:
        made.append(value)
        return value

    return make


def test_each_is_made_once_and_comes_back_in_order() -> None:
    made: list[str] = []
    shelf = BoundedCache[str](4, most_mb=1)
    wanted = [(word, making(made, word)) for word in "abc"]
    assert shelf.take(wanted) == ["a", "b", "c"]
    assert shelf.take(wanted[::-1]) == ["c", "b", "a"]
    assert sorted(made) == ["a", "b", "c"]


def test_the_least_recently_used_goes_first() -> None:
    made: list[str] = []
    shelf = BoundedCache[str](2, most_mb=1)
    for word in "abac":  # a was used again, so b leaves
        shelf.take([(word, making(made, word))])
    assert len(shelf) == 2
    shelf.take([("a", making(made, "a"))])
    assert made == ["a", "b", "c"]
    shelf.take([("b", making(made, "b"))])
    assert made == ["a", "b", "c", "b"]


def test_what_is_missing_is_made_side_by_side() -> None:
    together = threading.Barrier(2, timeout=10)  # breaks if one waits for the other
    shelf = BoundedCache[int](4, most_mb=1)
    assert shelf.take([("x", together.wait), ("y", together.wait)]) in ([0, 1], [1, 0])


def test_a_fault_of_making_is_told_and_nothing_of_it_is_kept() -> None:
    shelf = BoundedCache[int](4, most_mb=1)

    def broken() -> int:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        shelf.take([("x", broken), ("y", lambda: 1)])
    assert (shelf.found("x"), shelf.found("y")) == ((), (1,))


def test_it_is_bounded_in_bytes_and_the_newest_stays() -> None:
    shelf = BoundedCache[bytes](100, most_mb=1)
    for at in range(40):
        shelf.put(at, bytes(100_000))
    assert len(shelf) == 10
    shelf.put("large", bytes(3_000_000))
    assert len(shelf) == 1
    assert shelf.found("large")
    shelf.put("small", b"")
    assert len(shelf) == 1


def test_what_a_value_weighs_is_what_its_arrays_and_pictures_take() -> None:
    large = np.zeros((100, 100))
    nested = {"one": (large, large), "other": SimpleNamespace(png=bytes(500), again=large)}
    assert weight(nested) == large.nbytes + 500 + len("oneother")


def test_what_two_values_hold_counts_once_until_both_are_gone() -> None:
    pixels = np.zeros(700_000, dtype=np.uint8)
    shelf = BoundedCache[tuple[object, bytes]](3, most_mb=1)
    for at in range(4):
        shelf.put(at, (pixels, bytes(70_000)))
    assert [bool(shelf.found(at)) for at in range(4)] == [False, True, True, True]
    other = np.ones(700_000, dtype=np.uint8)
    shelf.put("other", (other, b""))  # 1.4 MB with any of the old ones
    assert len(shelf) == 1
    shelf.put("again", (other, bytes(300_000)))
    assert len(shelf) == 2
    shelf.put("again", (other, b""))
    shelf.put("small", (None, bytes(300_000)))
    assert len(shelf) == 3


def test_what_two_ask_for_at_once_is_made_once() -> None:
    shelf, made = BoundedCache[str](4, most_mb=1), list[str]()

    def ask() -> None:
        with shelf.alone("x"):
            if not shelf.found("x"):
                shelf.put("x", making(made, "x")())

    with ThreadPoolExecutor(4) as beside:
        list(beside.map(lambda _: ask(), range(16)))
    assert made == ["x"]
