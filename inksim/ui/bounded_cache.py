"""A cache shared by all sessions: bounded in number and in bytes, the least recently used first."""

from __future__ import annotations

from collections import Counter, OrderedDict
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence, Set as AbstractSet
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from threading import Lock
from typing import Any, Generic, TypeVar

import numpy as np

V = TypeVar("V")
MB = 1 << 20
LARGE = 1 << 16
"""Bytes from which on it is known whether two values hold the same array, picture or text."""


class BoundedCache(Generic[V]):
    """At most `most` values by key, and of those at most `most_mb`; the newest always stays.

    What several values hold, as the pixels of an artwork, counts once.
    """

    def __init__(self, most: int, *, most_mb: float) -> None:
        self._most, self._most_bytes = most, most_mb * MB
        self._values: OrderedDict[Hashable, tuple[V, int, dict[int, int]]] = OrderedDict()
        self._bytes, self._held = 0, Counter[int]()
        self._lock = Lock()
        self._making: dict[Hashable, tuple[Lock, int]] = {}

    def take(self, wanted: Sequence[tuple[Hashable, Callable[[], V]]]) -> list[V]:
        """The values of (key, how to make it), in order; what is missing is made in parallel."""
        found = {key: value for key, _ in wanted for value in self.found(key)}
        missing = {key: make for key, make in wanted if key not in found}
        if len(missing) == 1:
            ((key, make),) = missing.items()
            found[key] = self.once(key, make)
        elif missing:
            with ThreadPoolExecutor(max_workers=len(missing)) as beside:
                made = {key: beside.submit(self.once, key, make) for key, make in missing.items()}
                found |= {key: future.result() for key, future in made.items()}
        return [found[key] for key, _ in wanted]

    def once(self, key: Hashable, make: Callable[[], V]) -> V:
        """The value of a key, made now if it is not kept; who asks meanwhile waits for it."""
        with self.alone(key):
            for kept in self.found(key):
                return kept
            made = make()
            self.put(key, made)
            return made

    def found(self, key: Hashable) -> tuple[V, ...]:
        """The value that is kept, alone; nothing if none is."""
        with self._lock:
            if key not in self._values:
                return ()
            self._values.move_to_end(key)
            return (self._values[key][0],)

    def get(self, key: Hashable) -> V | None:
        """A value that is kept; None if it is not."""
        return next(iter(self.found(key)), None)

    def put(self, key: Hashable, value: V) -> None:
        """Keep a value; what was used longest ago goes, until the rest is in bounds."""
        small, large = _parts(value)
        with self._lock:
            if key in self._values:
                self._let_go(key)
            self._values[key] = (value, small, large)
            self._bytes += small + sum(large[one] for one in large if not self._held[one])
            self._held.update(large.keys())
            while len(self._values) > 1 and (
                len(self._values) > self._most or self._bytes > self._most_bytes
            ):
                self._let_go(next(iter(self._values)))

    def _let_go(self, key: Hashable) -> None:
        _, small, large = self._values.pop(key)
        self._held.subtract(large.keys())
        self._held = +self._held  # none of what nobody holds
        self._bytes -= small + sum(large[one] for one in large if not self._held[one])

    @contextmanager
    def alone(self, key: Hashable) -> Iterator[None]:
        """Be the only one who makes the value of this key."""
        with self._lock:
            lock, users = self._making.get(key, (Lock(), 0))
            self._making[key] = (lock, users + 1)
        try:
            with lock:
                yield
        finally:
            with self._lock:
                lock, users = self._making.pop(key)
                if users > 1:
                    self._making[key] = (lock, users - 1)

    def __len__(self) -> int:
        """How many values are kept."""
        return len(self._values)


def weight(value: Any) -> int:
    """Bytes of the arrays, packed pictures and texts that a value holds, each counted once."""
    small, large = _parts(value)
    return small + sum(large.values())


def _parts(value: Any) -> tuple[int, dict[int, int]]:
    """Bytes of all the small ones together, and of each large one by its identity."""
    seen, todo, small, large = set[int](), [value], 0, dict[int, int]()
    while todo:
        one = todo.pop()
        if id(one) in seen:
            continue
        seen.add(id(one))
        if isinstance(one, np.ndarray | bytes | str):
            size = one.nbytes if isinstance(one, np.ndarray) else len(one)
            if size < LARGE:
                small += size
            else:
                large[id(one)] = size
        elif isinstance(one, Mapping):
            todo += [*one.keys(), *one.values()]
        elif isinstance(one, (Sequence, AbstractSet)):
            todo += one
        elif hasattr(one, "__dict__") and not isinstance(one, type):
            todo += vars(one).values()
    return small, large
