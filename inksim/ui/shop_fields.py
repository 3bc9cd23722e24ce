"""What each kind of entry of a shop asks for, and what was typed as the fields of an entry."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import streamlit as st

from inksim.errors import InputError
from inksim.shop import Shop
from inksim.shop_edit import open_draft
from inksim.shop_entries import colour_from_hex, colour_from_lab, parse_fibres
from inksim.target import D50, parse_target

LOOK = ("reflectance", "lab", "hex", "data", "source")
KINDS = ("colour", "white-base", "discharge-base", "clear-base")
Fields = dict[str, Any]

# --- What each kind asks for ---------------------------------------------------------------------


def _color_text(old: Fields) -> str:
    """An entry's color as it may be typed; '' for a reading, which is kept unless one is typed."""
    if "hex" in old:
        return str(old["hex"])
    return ", ".join(f"{value:g}" for value in old["lab"]) if "lab" in old else ""


def _ask_color(old: Fields, key: str) -> None:
    kept = " (empty keeps the reading)" if "reflectance" in old or "K" in old else ""
    st.text_input(
        f"Color: #rrggbb, or L, a, b under D50{kept}", _color_text(old), key=f"{key} color"
    )


def _ask_garment(shop: Shop, old: Fields, key: str) -> tuple[str, ...]:
    st.text_input("Name", str(old.get("name", "")), key=f"{key} name")
    _ask_color(old, key)
    fibers = ", ".join(f"{n}={s:g}" for n, s in old.get("fibres", {"cotton": 1.0}).items())
    st.text_input("Fibers and their shares", fibers, key=f"{key} fibers")
    grades = ["not known", "1 does not discharge", "2", "3", "4", "5 fully"]
    st.selectbox("Discharge grade", grades, old.get("discharge_grade", 0), key=f"{key} grade")
    cloths = tomllib.loads(open_draft(shop.folder, "cloth").text).get("cloth", [])
    names = ["not known", *(str(each["name"]) for each in cloths)]
    at = names.index(old["undyed"]) if old.get("undyed") in names else 0
    st.selectbox("The same cloth undyed", names, at, key=f"{key} undyed")
    st.text_input("Note", str(old.get("note", "")), key=f"{key} note")
    return ("name", "color", "fibers", "grade", "undyed", "note")


def _ask_ink(shop: Shop, old: Fields, key: str) -> tuple[str, ...]:
    st.text_input("Name", str(old.get("name", "")), key=f"{key} name")
    at = KINDS.index(old.get("kind", "colour"))
    st.selectbox("Kind", KINDS, at, key=f"{key} kind", format_func=_kind_words)
    _ask_color(old, key)
    number = st.number_input
    number("Solids by volume, %", 0.5, 100.0, 100.0 * old.get("solids_by_volume", 0.35), 1.0,
           key=f"{key} solids")  # fmt: skip
    number("Coarsest mesh, threads/in", 20.0, 500.0,
           float(old.get("coarsest_threads_per_inch", 80)), 5.0, key=f"{key} coarsest")  # fmt: skip
    number("Finest mesh, threads/in", 20.0, 500.0,
           float(old.get("finest_threads_per_inch", 330)), 5.0, key=f"{key} finest")  # fmt: skip
    number(f"Price, {shop.costs.currency}/kg (empty: not known)", 0.0, None,
           old.get("price_per_kg"), key=f"{key} price")  # fmt: skip
    st.text_input("Note", str(old.get("note", "")), key=f"{key} note")
    return ("name", "kind", "color", "solids", "coarsest", "finest", "price", "note")


def _kind_words(kind: str) -> str:
    return kind.replace("colour", "color").replace("-", " ")


def _ask_screen(shop: Shop, old: Fields, key: str) -> tuple[str, ...]:
    st.text_input("Name", str(old.get("name", "")), key=f"{key} name")
    per_inch = old.get("threads_per_inch") or 2.54 * old.get("threads_per_cm", 230 / 2.54)
    st.number_input("Threads/in", 10.0, 500.0, float(per_inch), 1.0, key=f"{key} count")
    st.number_input("Thread, µm", 10.0, 500.0, float(old.get("thread_um", 48)), 1.0,
                    key=f"{key} thread")  # fmt: skip
    st.text_input("Note", str(old.get("note", "")), key=f"{key} note")
    return ("name", "count", "thread", "note")


def _ask_target(shop: Shop, old: Fields, key: str) -> tuple[str, ...]:
    st.text_input("Name", str(old.get("name", "")), key=f"{key} name")
    _ask_color(old, key)
    st.text_input("Note", str(old.get("note", "")), key=f"{key} note")
    return ("name", "color", "note")


ASK: Mapping[str, Callable[[Shop, Fields, str], tuple[str, ...]]] = {
    "ink": _ask_ink,
    "garment": _ask_garment,
    "screen": _ask_screen,
    "target": _ask_target,
}


# --- What was typed, as the fields of an entry ----------------------------------------------------


def _entered(text: str) -> Fields:
    """Fields of a typed color, with where it comes from and when."""
    target = parse_target(text)
    if target is None:
        raise InputError(f"'{text}' is no color; write #rrggbb, or L, a, b such as 62, 48, 50.")
    source = f"entered as {text.strip()}; {date.today().isoformat()}"
    if not text.strip().lower().startswith("lab") and len(text.split()) == 1 and "," not in text:
        return colour_from_hex(text, source=source).fields()
    return colour_from_lab(target.lab_d50.tolist(), viewing=D50, source=source).fields()


def _colored(old: Fields, given: Fields) -> Fields:
    """The old entry with the typed color, or with its own where nothing new was typed."""
    text = str(given["color"]).strip()
    if text == _color_text(old) and old:
        return dict(old)
    bare = {f: v for f, v in old.items() if f not in (*LOOK, "K", "S")}
    if not text:
        raise InputError("give the color as #rrggbb, or as L, a, b under D50.")
    return {**bare, **_entered(text)}


def _made_garment(old: Fields, given: Fields) -> Fields:
    grade = str(given["grade"])[0]
    return {
        **_colored(old, given),
        "name": given["name"].strip(),
        "fibres": parse_fibres([given["fibers"]]),
        "discharge_grade": int(grade) if grade.isdigit() else None,
        "undyed": None if given["undyed"] == "not known" else given["undyed"],
        "note": given["note"].strip() or None,
    }


def _made_ink(old: Fields, given: Fields) -> Fields:
    return {
        **_colored(old, given),
        "name": given["name"].strip(),
        "kind": given["kind"],
        "solids_by_volume": given["solids"] / 100.0,
        "coarsest_threads_per_inch": given["coarsest"],
        "finest_threads_per_inch": given["finest"],
        "price_per_kg": given["price"],
        "note": given["note"].strip() or None,
    }


def _made_screen(old: Fields, given: Fields) -> Fields:
    kept = {f: v for f, v in old.items() if f != "threads_per_cm"}
    return {
        **kept,
        "name": given["name"].strip(),
        "threads_per_inch": given["count"],
        "thread_um": given["thread"],
        "note": given["note"].strip() or None,
    }


def _made_target(old: Fields, given: Fields) -> Fields:
    return {
        **_colored(old, given),
        "name": given["name"].strip(),
        "note": given["note"].strip() or None,
    }


MADE: Mapping[str, Callable[[Fields, Fields], Fields]] = {
    "ink": _made_ink,
    "garment": _made_garment,
    "screen": _made_screen,
    "target": _made_target,
}
