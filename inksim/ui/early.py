"""What is worked out before anybody has asked for it; whoever asks meanwhile waits for it."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from concurrent.futures import Future
from typing import Any, TypeVar

T = TypeVar("T")
_begun: dict[Hashable, Future[Any]] = {}


def found_or(key: Hashable, make: Callable[[], T]) -> T:
    """What was begun under a key, once; else it is made now."""
    begun = _begun.pop(key, None)
    if begun is None:
        return make()
    found: T = begun.result()
    return found


def begin(*keys: Hashable) -> tuple[Future[Any], ...]:
    """Promise what will be found under some keys."""
    promised = tuple(Future[Any]() for _ in keys)
    _begun.update(zip(keys, promised, strict=True))
    return promised
