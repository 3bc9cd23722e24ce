"""The bounded cache of pictures: least recently used first out, each made once."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest

from inksim.ui.cache import BoundedCache


def making(made: list[str], value: str) -> Callable[[], str]:
    def make() -> str:
        made.append(value)
        return value

    return make


def test_each_is_made_once_and_comes_back_in_order() -> None:
    made: list[str] = []
    shelf = BoundedCache[str](4)
    wanted = [(word, making(made, word)) for word in "abc"]
    assert shelf.take(wanted) == ["a", "b", "c"]
    assert shelf.take(wanted[::-1]) == ["c", "b", "a"]
    assert sorted(made) == ["a", "b", "c"]


def test_the_least_recently_used_goes_first() -> None:
    made: list[str] = []
    shelf = BoundedCache[str](2)
    for word in "abac":  # a was used again, so b leaves
        shelf.take([(word, making(made, word))])
    assert len(shelf) == 2
    shelf.take([("a", making(made, "a"))])
    assert made == ["a", "b", "c"]
    shelf.take([("b", making(made, "b"))])
    assert made == ["a", "b", "c", "b"]


def test_what_is_missing_is_made_side_by_side() -> None:
    together = threading.Barrier(2, timeout=10)  # breaks if one waits for the other
    shelf = BoundedCache[int](4)
    assert shelf.take([("x", together.wait), ("y", together.wait)]) in ([0, 1], [1, 0])


def test_a_fault_of_making_is_told_and_nothing_is_kept() -> None:
    shelf = BoundedCache[int](4)

    def broken() -> int:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        shelf.take([("x", broken), ("y", lambda: 1)])
    assert len(shelf) == 0
