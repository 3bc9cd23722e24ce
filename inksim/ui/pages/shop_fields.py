"""The form of each kind of entry: one row for a field, its widget and what was typed as a value."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, NamedTuple

import streamlit as st

from inksim.common import CM_PER_INCH, KIND_WORDS, InputError, toml_of
from inksim.shop import Shop, open_draft, parse_fibres
from inksim.stock import INK_KINDS
from inksim.ui.pages.shop_colour import Fields, ask_color, colored, optional_number
from inksim.ui.pages.shop_ink import ask_opacity_and_solids, opacity_and_solids

UNKNOWN = "not known"
MESHES = (20.0, 500.0)
GRADES = (UNKNOWN, "1 does not discharge", "2", "3", "4", "5 fully")


class Row(NamedTuple):
    """A field of an entry. draw: its widget, of shop, old entry and key; read: typed to value."""

    field: str
    draw: Callable[[Shop, Fields, str], object]
    read: Callable[[Any], Any]


def ask(shop: Shop, kind: str, old: Fields, key: str) -> None:
    """Draw the form of a kind of entry, filled with the old one."""
    for row in FORMS[kind]:
        row.draw(shop, old, f"{key} {row.field}")


def made(kind: str, old: Fields, key: str) -> Fields:
    """Return what was typed as the fields of an entry.

    Raises
    ------
    InputError : a field that cannot be what was typed.
    """
    given = st.session_state
    if kind == "screen":
        start = {field: value for field, value in old.items() if field != "threads_per_cm"}
        start["source"] = f"entered by hand; {date.today().isoformat()}"
    elif kind == "ink" and given[f"{key} color reading"] is not None:
        raise InputError(
            "an ink is more than one reading: read drawdowns of it over black and over white, and "
            "use 'inksim characterise'; or type the color of its film over white."
        )
    else:
        start = colored(old, f"{key} color")
    if kind == "ink":
        start = opacity_and_solids(start, old, f"{key} opacity")
    rows = [row for row in FORMS[kind] if row not in (COLOR, OPACITY)]
    return {**start, **{row.field: row.read(given[f"{key} {row.field}"]) for row in rows}}


def _number(
    field: str, label: str, span: tuple[float, float], usual: float, *, step: float = 1.0
) -> Row:
    """A number; span: least and most shown."""
    return Row(
        field,
        lambda _, old, key: st.number_input(
            label, *span, float(old.get(field, usual)), step, key=key
        ),
        _same,
    )


def _ask_fibres(_: Shop, old: Fields, key: str) -> None:
    shares = old.get("fibres", {"cotton": 1.0})
    shown = ", ".join(f"{fibre}={share:g}" for fibre, share in shares.items())
    st.text_input("Fibers and their shares", shown, key=key)


def _ask_undyed(shop: Shop, old: Fields, key: str) -> None:
    cloths = toml_of(open_draft(shop.folder, "cloth").text).get("cloth", [])
    names = [UNKNOWN, *(str(each["name"]) for each in cloths)]
    at = names.index(old["undyed"]) if old.get("undyed") in names else 0
    st.selectbox("The same cloth undyed", names, at, key=key)


def _optional(field: str, label: str, *, times: float = 1.0) -> Row:
    """A number that may be left empty; times: what is shown over what is filed."""

    def draw(shop: Shop, old: Fields, key: str) -> None:
        shown = f"{times * old[field]:g}" if field in old else ""
        words = label.replace("money", shop.costs.currency)
        st.text_input(words, shown, placeholder=UNKNOWN, key=key)

    def read(typed: str) -> float | None:
        value = optional_number(typed, what=f"'{label}'".replace(", money/kg", ""))
        return None if value is None else value / times

    return Row(field, draw, read)


def _ask_kind(_: Shop, old: Fields, key: str) -> None:
    at = INK_KINDS.index(old.get("kind", "colour"))
    st.selectbox("Kind", INK_KINDS, at, key=key, format_func=KIND_WORDS.__getitem__)


def _ask_count(_: Shop, old: Fields, key: str) -> None:
    per_cm = old.get("threads_per_cm", 230 / CM_PER_INCH)
    per_inch = old.get("threads_per_inch") or CM_PER_INCH * per_cm
    st.number_input("Threads/in", 10.0, 500.0, float(per_inch), 1.0, key=key)


def _same(typed: Any) -> Any:
    return typed


NAME = Row(
    "name", lambda _, old, key: st.text_input("Name", str(old.get("name", "")), key=key), str.strip
)
COLOR = Row("color", lambda _, old, key: ask_color(old, key), _same)
OPACITY = Row("opacity", lambda _, old, key: ask_opacity_and_solids(old, key), _same)
"""These fill several fields: see `colored` and `opacity_and_solids`."""
NOTE = Row(
    "note",
    lambda _, old, key: st.text_input("Note", str(old.get("note", "")), key=key),
    lambda typed: typed.strip() or None,
)
FORMS: Mapping[str, tuple[Row, ...]] = {
    "ink": (
        NAME,
        Row("kind", _ask_kind, _same),
        COLOR,
        OPACITY,
        _number("coarsest_threads_per_inch", "Coarsest mesh, threads/in", MESHES, 80, step=5.0),
        _number("finest_threads_per_inch", "Finest mesh, threads/in", MESHES, 330, step=5.0),
        _optional("price_per_kg", "Price, money/kg"),
        Row(
            "blocks_dye",
            lambda _, old, key: st.checkbox(
                "A white that blocks the dye of polyester", old.get("blocks_dye", False), key=key
            ),
            lambda typed: typed or None,
        ),
        _optional("cure_celsius", "Cure of the film, °C (empty: as usual)"),
        _optional("cure_seconds", "Time at the cure, s (empty: as usual)"),
        _optional("additive_share", "Activator or additive, % of its weight", times=100.0),
        _optional("additive_price_per_kg", "Price of the activator or additive, money/kg"),
        _optional("pot_life_hours", "Hours that the mixture keeps"),
        _optional("most_in_mix", "Concentrate: its most in a mix, % by weight", times=100.0),
        NOTE,
    ),
    "garment": (
        NAME,
        COLOR,
        Row("fibres", _ask_fibres, lambda typed: parse_fibres([typed])),
        Row(
            "discharge_grade",
            lambda _, old, key: st.selectbox(
                "Discharge grade", GRADES, old.get("discharge_grade", 0), key=key
            ),
            lambda typed: None if typed == UNKNOWN else int(typed[0]),
        ),
        Row("undyed", _ask_undyed, lambda typed: None if typed == UNKNOWN else typed),
        NOTE,
    ),
    "screen": (
        NAME,
        Row("threads_per_inch", _ask_count, _same),
        _number("thread_um", "Thread, µm", (10.0, 500.0), 48),
        NOTE,
    ),
    "target": (NAME, COLOR, NOTE),
}
