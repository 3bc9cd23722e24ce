"""A bounded shelf of what was drawn: the least recently used goes first; missing ones are drawn
side by side."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from concurrent.futures import ThreadPoolExecutor
from threading import Lock
from typing import Generic, TypeVar

V = TypeVar("V")


class Shelf(Generic[V]):
    """At most `most` values by key, shared by all sessions."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._values: OrderedDict[Hashable, V] = OrderedDict()
        self._lock = Lock()

    def take(self, wanted: Sequence[tuple[Hashable, Callable[[], V]]]) -> list[V]:
        """The values of (key, how to make it), in order; what is missing is made in parallel."""
        with self._lock:
            found = {key: self._values[key] for key, _ in wanted if key in self._values}
        missing = {key: make for key, make in wanted if key not in found}
        if len(missing) == 1:
            ((key, make),) = missing.items()
            found[key] = make()
        elif missing:
            with ThreadPoolExecutor(max_workers=len(missing)) as beside:
                made = {key: beside.submit(make) for key, make in missing.items()}
                found |= {key: future.result() for key, future in made.items()}
        with self._lock:
            for key, _ in wanted:
                self._values[key] = found[key]
                self._values.move_to_end(key)
            while len(self._values) > self._most:
                self._values.popitem(last=False)
        return [found[key] for key, _ in wanted]

    def __len__(self) -> int:
        """How many values are kept."""
        return len(self._values)
