"""Color of a shop's entry: typed as hex or Lab, taken from a reading, or kept."""

from __future__ import annotations

from datetime import date
from typing import Any

import streamlit as st

from inksim.colour import D50
from inksim.common import InputError, file_name, temporary_folder
from inksim.readings import format_names, number, reading_suffixes
from inksim.shop import (
    NOISE,
    OPACITIES,
    KnownColour,
    colour_from_hex,
    colour_from_lab,
    colour_from_readings,
)
from inksim.stock import parse_target

SCALES = ("as the file says", "percent", "factor")
LOOK = ("reflectance", "lab", "hex", "data", "source", *NOISE)
Fields = dict[str, Any]


def colour_text(old: Fields) -> str:
    """An entry's color as it may be typed; '' for a reading, which is kept unless one is typed."""
    if "hex" in old:
        return str(old["hex"])
    return ", ".join(f"{value:g}" for value in old["lab"]) if "lab" in old else ""


def ask_colour(old: Fields, key: str) -> None:
    """Ask for a color: typed, or as a reading in a file."""
    kept = " (empty keeps the reading)" if "reflectance" in old or "K" in old else ""
    typed, read = st.columns(2)
    typed.text_input(f"Color: #rrggbb, or L, a, b under D50{kept}", colour_text(old), key=key)
    read.file_uploader(
        f"Or a reading: {format_names()}", type=reading_suffixes(), key=f"{key} reading"
    )
    read.text_input(
        "Sample in that file (its name or number; empty if it has one)", key=f"{key} sample"
    )
    ask_scale(f"{key} scale", place=read)


def ask_scale(key: str, *, place: Any = st) -> None:
    """Ask for the scale of a file of readings that could be either; see `stated_scale`."""
    place.selectbox("Values of the readings", SCALES, key=key)


def stated_scale(key: str) -> str | None:
    """What was said of the scale: 'percent', 'factor', or None where the file says it."""
    said = st.session_state.get(key, SCALES[0])
    return None if said == SCALES[0] else str(said)


def entered(text: str) -> Fields:
    """Fields of a typed color, with source and date."""
    target = parse_target(text)
    if target is None:
        raise InputError(f"'{text}' is no color; write #rrggbb, or L, a, b such as 62, 48, 50.")
    source = f"entered as {text.strip()}; {date.today().isoformat()}"
    if not text.strip().lower().startswith("lab") and len(text.split()) == 1 and "," not in text:
        return colour_from_hex(text, source=source).fields()
    return colour_from_lab(target.lab_d50.tolist(), viewing=D50, source=source).fields()


def colour_in(name: str, data: bytes, sample: str, scale: str | None = None) -> KnownColour:
    """A color of a file of readings, with file, sample and day."""
    with temporary_folder() as folder:
        path = folder / file_name(name)
        path.write_bytes(data)
        reference = f"{path}#{sample}" if sample else str(path)
        return colour_from_readings([reference], date=date.today().isoformat(), scale=scale)


def coloured(old: Fields, key: str) -> Fields:
    """The old entry with the color that `ask_color` asked for, or its own where none was typed."""
    given = st.session_state
    text, file = str(given[key]).strip(), given[f"{key} reading"]
    gone = (*LOOK, *OPACITIES, "K", "S", "error", "directness")
    bare = {f: v for f, v in old.items() if f not in gone}
    if file is not None:
        sample = str(given[f"{key} sample"]).strip()
        scale = stated_scale(f"{key} scale")
        return {**bare, **colour_in(file.name, file.getvalue(), sample, scale).fields()}
    if text == colour_text(old) and old:
        return dict(old)
    if not text:
        raise InputError("give the color as #rrggbb, or as L, a, b under D50.")
    return {**bare, **entered(text)}


def optional_number(text: str, *, what: str) -> float | None:
    """A number as typed, None for an empty field; a decimal comma is understood."""
    if not text.strip():
        return None
    found = number(text, decimal_comma=True)
    if found is None or found < 0:
        raise InputError(f"{what} is '{text}'; give a number of 0 or more, or leave it empty.")
    return found
