"""What a change of a job's file changed, field by field, in words."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

SHOWN = 60
"""Characters of a value that are shown."""


def differences(before: bytes, now: bytes) -> tuple[str, ...]:
    """'artwork.width_mm: 250 → 280', one for each field that is not alike."""
    return tuple(
        f"{field}: {short(old)} → {short(new)}" for field, old, new in changed_fields(before, now)
    )


def changed_fields(before: bytes, now: bytes) -> tuple[tuple[str, Any, Any], ...]:
    """Dotted name, old and new value of each field that is not alike; None where not said."""
    old, new = (dict(_flat(tomllib.loads(each.decode("utf-8-sig")))) for each in (before, now))
    return tuple(
        (field, old.get(field), new.get(field))
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


def short(value: Any) -> str:
    """A value in at most `SHOWN` characters."""
    if value is None:
        return "nothing"
    values = value if isinstance(value, list) else [value]
    text = ", ".join(f"{each:g}" if isinstance(each, float) else str(each) for each in values)
    return text if len(text) <= SHOWN else f"{text[:SHOWN]}…"
