"""The fields of each kind of entry: a row each, with its widget and what is typed as a value."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

import streamlit as st

from inksim.common import CM_PER_INCH, KIND_WORDS, InputError, toml_of
from inksim.shop import COMMON_BLENDS, Shop, fibre_words, open_draft, parse_fibres
from inksim.stock import INK_KINDS
from inksim.ui.pages.shop_colour import Fields, ask_colour, optional_number
from inksim.ui.pages.shop_ink import ask_opacity_and_solids

UNKNOWN = "not known"
MESHES = (5.0, 2000.0)
GRADES = (UNKNOWN, "1 does not discharge", "2", "3", "4", "5 fully")


class Row(NamedTuple):
    """A field of an entry. draw: its widget, of shop, old entry and key; read: typed to value."""

    field: str
    draw: Callable[[Shop, Fields, str], object]
    read: Callable[[Any], Any]


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
    """Picked from the blends that labels say most, or typed as people write them."""
    now = fibre_words(old.get("fibers", {"cotton": 1.0}))
    same = [each for each in COMMON_BLENDS if fibre_words(parse_fibres([each])) == now]
    st.selectbox(
        "Fibers: pick, or type as on the label",
        [*(() if same else (now,)), *COMMON_BLENDS],
        COMMON_BLENDS.index(same[0]) if same else 0,
        key=key,
        accept_new_options=True,
        placeholder="60 % cotton, 40 % polyester",
    )


def _cloth(use: str, label: str) -> Row:
    """A cloth of the shop that a garment refers to, or none."""

    def draw(shop: Shop, old: Fields, key: str) -> None:
        cloths = toml_of(open_draft(shop.folder, "cloth").text).get("cloth", [])
        names = [UNKNOWN, *(str(each["name"]) for each in cloths)]
        at = names.index(old[use]) if old.get(use) in names else 0
        st.selectbox(label, names, at, key=key)

    return Row(use, draw, lambda typed: None if typed == UNKNOWN else typed)


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
    at = INK_KINDS.index(old.get("kind", "color"))
    st.selectbox("Kind", INK_KINDS, at, key=key, format_func=KIND_WORDS.__getitem__)


def _ask_count(_: Shop, old: Fields, key: str) -> None:
    per_cm = old.get("threads_per_cm", 230 / CM_PER_INCH)
    per_inch = old.get("threads_per_inch") or CM_PER_INCH * per_cm
    st.number_input("Threads/in", *MESHES, float(per_inch), 1.0, key=key)


def _same(typed: Any) -> Any:
    return typed


def _name(typed: str) -> str:
    if not typed.strip():
        raise InputError("give it a name.")
    return typed.strip()


NAME = Row(
    "name", lambda _, old, key: st.text_input("Name", str(old.get("name", "")), key=key), _name
)
COLOUR = Row("color", lambda _, old, key: ask_colour(old, key), _same)
OPACITY = Row("opacity", lambda _, old, key: ask_opacity_and_solids(old, key), _same)
"""These fill several fields: see `shop_colour.colored` and `shop_ink.opacity_and_solids`."""
NOTE = Row(
    "note",
    lambda _, old, key: st.text_input("Note", str(old.get("note", "")), key=key),
    lambda typed: typed.strip() or None,
)
FORMS: Mapping[str, tuple[Row, ...]] = {
    "ink": (
        NAME,
        Row("kind", _ask_kind, _same),
        COLOUR,
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
        COLOUR,
        Row("fibers", _ask_fibres, lambda typed: parse_fibres([typed])),
        Row(
            "discharge_grade",
            lambda _, old, key: st.selectbox(
                "Discharge grade", GRADES, old.get("discharge_grade", 0), key=key
            ),
            lambda typed: None if typed == UNKNOWN else int(typed[0]),
        ),
        _cloth("undyed", "The same cloth undyed"),
        _cloth("discharged", "The same cloth after a full discharge"),
        NOTE,
    ),
    "screen": (
        NAME,
        Row("threads_per_inch", _ask_count, _same),
        _number("thread_um", "Thread, µm", (5.0, 2000.0), 48),
        NOTE,
    ),
    "target": (NAME, COLOUR, NOTE),
    "palette": (NAME, COLOUR, NOTE),
    "cloth": (NAME, COLOUR, NOTE),
}
