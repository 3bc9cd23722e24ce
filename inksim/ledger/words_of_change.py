"""What a change of a job's file is, in the words of the pages: what was, is, or comes back."""

from __future__ import annotations

from typing import Any

from inksim.artwork import KEEP, NOT_PRINTED
from inksim.common import ROUTE_WORDS
from inksim.ledger.changes import changed_fields, short

FIELDS = {
    "name": "name",
    "client": "client",
    "reference": "reference",
    "note": "note",
    "garments": "garments",
    "quantity": "shirts",
    "tolerance_de00": "tolerance, ΔE00",
    "press.stations": "stations",
    "press.flashes": "flash units",
    "base_choke_mm": "choke of the base, mm",
    "prefer": "what is preferred",
    "merge": "merging of colors",
    "keep_apart": "colors kept apart",
    "artwork.width_mm": "width of the print, mm",
    "artwork.top_mm": "height on the shirt, mm",
    "artwork.place": "place",
    "artwork.background": "background",
    "artwork.halftone_inks": "inks of the picture",
}
TABLES = {
    "quantity.": "shirts, ",
    "artwork.inks.": "ink of ",
    "artwork.routes.": "route of ",
    "artwork.tolerances.": "tolerance of ",
}
MOST_SAID = 2


def change_words(before: bytes, now: bytes) -> tuple[str, ...]:
    """'background: printed → left out (#ffffff)', one for each field that is not alike."""
    return tuple(
        f"{_field(field)}: {_value(field, old)} → {_value(field, new)}"
        for field, old, new in changed_fields(before, now)
    )


def back_words(now: bytes, before: bytes) -> str:
    """What comes back where a change is undone: 'width of the print, mm, back to 80'."""
    found = [
        f"{_field(field)} back to {_value(field, new)}"
        for field, _, new in changed_fields(now, before)
    ]
    more = len(found) - MOST_SAID
    said = "; ".join(found[:MOST_SAID]) or "comments as they were"
    return f"{said}; {more} more" if more > 0 else said


def _field(field: str) -> str:
    if field in FIELDS:
        return FIELDS[field]
    for table, words in TABLES.items():
        if field.startswith(table):
            return f"{words}{field.removeprefix(table)}"
    return field.replace(".", " ").replace("_", " ")


def _value(field: str, value: Any) -> str:
    if field == "artwork.background":
        return "printed" if value in (None, KEEP) else f"left out ({value})"
    if field.startswith("artwork.inks.") and value == NOT_PRINTED:
        return "none, left bare"
    if field.startswith(("artwork.inks.", "artwork.routes.", "artwork.halftone_inks")):
        return "as decided" if not value else ROUTE_WORDS.get(str(value), short(value))
    return "not stated" if value in (None, "", []) else short(value)
