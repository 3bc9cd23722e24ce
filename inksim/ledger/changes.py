"""The last change of a job's file: whose it is, and what of the file it changed, in words."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

_MARK = "# before the change of "
_AT = ", at "
SHOWN = 60
"""Characters of a value that are shown."""


@dataclass(frozen=True, kw_only=True)
class Change:
    """by: the user's name on this machine; at: ISO date and time; what: each field, old and new."""

    by: str
    at: str
    what: tuple[str, ...]

    @property
    def words(self) -> str:
        """'ann's of 2026-03-04 10:15 (quantity: 40 → 60)'."""
        return f"{self.by}'s of {self.at} ({'; '.join(self.what) or 'comments only'})"


def marked(before: bytes, *, by: str) -> bytes:
    """The version before a change, with whose change it is in its first line."""
    at = datetime.now().astimezone().strftime("%Y-%m-%d %H:%M")
    return f"{_MARK}{' '.join(by.split())}{_AT}{at}\n".encode() + before


def unmarked(kept: bytes) -> tuple[bytes, tuple[str, str]]:
    """The version as it was, and by whom and when it was changed; '' where that is not known."""
    first, _, rest = kept.partition(b"\n")
    line = first.decode("utf-8", "replace")
    if not line.startswith(_MARK):
        return kept, ("", "")
    by, _, at = line.removeprefix(_MARK).rpartition(_AT)
    return rest, (by, at)


def change_of(kept: bytes, now: bytes) -> Change | None:
    """The change from a version kept by `marked` to the one there is; None if they are alike."""
    before, (by, at) = unmarked(kept)
    if before == now:
        return None
    return Change(by=by, at=at, what=differences(before, now))


def differences(before: bytes, now: bytes) -> tuple[str, ...]:
    """'artwork.width_mm: 250 → 280', one for each field that is not alike."""
    old, new = (dict(_flat(tomllib.loads(each.decode("utf-8-sig")))) for each in (before, now))
    return tuple(
        f"{field}: {_short(old.get(field))} → {_short(new.get(field))}"
        for field in {**old, **new}
        if old.get(field) != new.get(field)
    )


def _flat(table: Mapping[str, Any], head: str = "") -> list[tuple[str, Any]]:
    """Values by dotted name."""
    made: list[tuple[str, Any]] = []
    for field, value in table.items():
        name = f"{head}{field}"
        made += _flat(value, f"{name}.") if isinstance(value, Mapping) else [(name, value)]
    return made


def _short(value: Any) -> str:
    if value is None:
        return "nothing"
    values = value if isinstance(value, list) else [value]
    text = ", ".join(f"{each:g}" if isinstance(each, float) else str(each) for each in values)
    return text if len(text) <= SHOWN else f"{text[:SHOWN]}…"
