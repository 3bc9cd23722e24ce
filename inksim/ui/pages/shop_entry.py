"""An entry's form, drawn and read: what was typed as fields, and each fault at its own."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import partial
from typing import Any

import streamlit as st

from inksim.common import InputError
from inksim.shop import Shop
from inksim.ui.changes import FieldFaults, beside
from inksim.ui.pages.shop_colour import LOOK, Fields, coloured
from inksim.ui.pages.shop_fields import COLOUR, FORMS, OPACITY
from inksim.ui.pages.shop_ink import NUMBERS, opacity_and_solids


def ask(shop: Shop, kind: str, old: Fields, key: str) -> None:
    """Draw the form of a kind of entry, filled with the old one; faults stand at their fields."""
    for row in FORMS[kind]:
        row.draw(shop, old, f"{key} {row.field}")
        beside(f"{key} {row.field}")


def made(kind: str, old: Fields, key: str) -> Fields:
    """Return what was typed as the fields of an entry.

    Raises
    ------
    FieldFaults : fields that cannot be what was typed.
    """
    given, faults = st.session_state, dict[str, str]()

    def attempt(field: str, read: Callable[[], Any], otherwise: Any = None) -> Any:
        try:
            return read()
        except InputError as error:
            faults[f"{key} {field}"] = str(error)
            return otherwise

    if kind == "screen":
        start = {field: value for field, value in old.items() if field != "threads_per_cm"}
        start["source"] = f"entered by hand; {date.today().isoformat()}"
    else:
        start = attempt("color", lambda: _colour(kind, old, f"{key} color"), {})
    if kind == "ink":
        seen = start
        start = attempt("opacity", lambda: opacity_and_solids(seen, old, f"{key} opacity"), {})
    typed = {
        row.field: attempt(row.field, partial(row.read, given[f"{key} {row.field}"]))
        for row in FORMS[kind]
        if row not in (COLOUR, OPACITY)
    }
    if faults:
        raise FieldFaults(faults)
    return {**start, **typed}


def _colour(kind: str, old: Fields, key: str) -> Fields:
    if kind == "ink" and st.session_state[f"{key} reading"] is not None:
        raise InputError(
            "an ink is more than one reading: read drawdowns of it over black and over white, and "
            "give them under 'Find inks from drawdowns'; or type the color of its film over white."
        )
    return coloured(old, key)


def field_of(kind: str, where: str, words: str) -> str:
    """The field of a form that a fault of the shop's file is about; '' if none is.

    where: the field in the file, such as 'lab value 1'; words: the fault.
    """
    first = "fibers" if "fiber" in words else where.partition(" ")[0]
    if first in LOOK:
        first = "color"
    elif first in NUMBERS:
        first = "opacity"
    fields = [row.field for row in FORMS[kind]]
    return first if first in fields else next((f for f in fields if f in words.split()), "")
