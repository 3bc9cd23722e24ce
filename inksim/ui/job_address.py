"""What the address says of a run in memory: numbers and a preference, nothing of any artwork."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

import streamlit as st

from inksim.job import Preference

PREFERENCES: dict[str, Preference] = {
    "Least work": "work",
    "Least cost": "cost",
    "Softest hand": "softness",
    "Best chance": "chance",
}


class Number(NamedTuple):
    """A number of a job: its field, and the least and most that a page takes."""

    field: str
    least: float
    most: float
    whole: bool = False


NUMBERS = {
    "job-quantity": Number("quantity", 1, 1_000_000, whole=True),
    "job-stations": Number("press.stations", 1, 24, whole=True),
    "job-flashes": Number("press.flashes", 0, 8, whole=True),
    "job-choke": Number("base_choke_mm", 0, 20),
    "job-tolerance": Number("tolerance_de00", 0.1, 100),
}
PREFER = "job-prefer"


def from_address() -> dict[str, Any]:
    """Fields by dotted name; what makes no sense is left out."""
    found: dict[str, Any] = {}
    for name, number in NUMBERS.items():
        try:
            value = float(st.query_params.get(name, ""))
        except ValueError:
            continue
        if number.least <= value <= number.most:
            found[number.field] = int(value) if number.whole else value
    if (words := st.query_params.get(PREFER, "")) in PREFERENCES:
        found["prefer"] = PREFERENCES[words]
    return found


def to_address(fields: Mapping[str, Any]) -> None:
    """Make the address say these fields, and no others."""
    said = {
        name: f"{fields[number.field]:g}"
        for name, number in NUMBERS.items()
        if number.field in fields
    }
    words = {preference: words for words, preference in PREFERENCES.items()}
    if "prefer" in fields:
        said[PREFER] = words[fields["prefer"]]
    for name in (*NUMBERS, PREFER):
        if name in said and st.query_params.get(name) != said[name]:
            st.query_params[name] = said[name]
        elif name not in said and name in st.query_params:
            del st.query_params[name]
