"""Heavy work of many visitors in turn: so much at once, first come first served, one each."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from threading import Condition

LOOK_UP_S = 0.2
"""How often who waits is asked whether he still does."""


class Turns:
    """At most `at_once` works in the whole server; a visitor has one of them at a time."""

    def __init__(self, at_once: int) -> None:
        self._at_once = at_once
        self._waiting: list[tuple[object, Hashable]] = []
        self._working: list[Hashable] = []
        self._changed = Condition()

    @contextmanager
    def taken(self, who: Hashable, *, waits: Callable[[int], None]) -> Iterator[None]:
        """Wait for a turn, and hold it while the block runs.

        waits: told how many are before `who`, again and again while that is so; what it raises
        (he has left, or asks for something else) gives his place to the next.
        """
        ticket = (object(), who)
        with self._changed:
            self._waiting.append(ticket)
        try:
            while not self._mine(ticket):
                waits(self._before(ticket))
        except BaseException:
            with self._changed:
                self._waiting.remove(ticket)
                self._changed.notify_all()
            raise
        try:
            yield
        finally:
            with self._changed:
                self._working.remove(who)
                self._changed.notify_all()

    def _mine(self, ticket: tuple[object, Hashable]) -> bool:
        """Take the turn if it is this one's, after waiting a moment if it is not."""
        with self._changed:
            if not self._next(ticket):
                self._changed.wait(LOOK_UP_S)
                if not self._next(ticket):
                    return False
            self._waiting.remove(ticket)
            self._working.append(ticket[1])
            return True

    def _next(self, ticket: tuple[object, Hashable]) -> bool:
        if len(self._working) >= self._at_once:
            return False
        free = (each for each in self._waiting if each[1] not in self._working)
        return next(free, None) is ticket

    def _before(self, ticket: tuple[object, Hashable]) -> int:
        with self._changed:
            return len(self._working) + self._waiting.index(ticket)
