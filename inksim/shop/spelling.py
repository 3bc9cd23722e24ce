"""A shop's words in their other spelling: read as these, and written as these once changed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

FIELDS = {"fibres": "fibers"}
KINDS = {"colour": "color"}


def spelled(entry: Any) -> Any:
    """The same entry with its fields and its kind as they are spelled here.

    A field that stands there in both spellings is left, so that it is told as unknown; so is what
    is no table.
    """
    if not isinstance(entry, Mapping):
        return entry
    found: dict[str, Any] = {}
    for field, value in entry.items():
        name = FIELDS.get(str(field), str(field))
        found[str(field) if name in entry else name] = value
    if isinstance(kind := found.get("kind"), str):
        found["kind"] = KINDS.get(kind, kind)
    return found
