"""Form fields for each kind of entry of a shop, and the entry they make."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from datetime import date

import streamlit as st

from inksim.common import CM_PER_INCH, KIND_WORDS, InputError
from inksim.shop import Shop, open_draft, parse_fibres
from inksim.stock import INK_KINDS
from inksim.ui.pages.shop_colour import COLOR, Fields, ask_color, colored, optional_number

# --- What each kind asks for ---------------------------------------------------------------------


def _ask_garment(shop: Shop, old: Fields, key: str) -> tuple[str, ...]:
    st.text_input("Name", str(old.get("name", "")), key=f"{key} name")
    ask_color(old, key)
    fibers = ", ".join(f"{n}={s:g}" for n, s in old.get("fibres", {"cotton": 1.0}).items())
    st.text_input("Fibers and their shares", fibers, key=f"{key} fibers")
    grades = ["not known", "1 does not discharge", "2", "3", "4", "5 fully"]
    st.selectbox("Discharge grade", grades, old.get("discharge_grade", 0), key=f"{key} grade")
    cloths = tomllib.loads(open_draft(shop.folder, "cloth").text).get("cloth", [])
    names = ["not known", *(str(each["name"]) for each in cloths)]
    at = names.index(old["undyed"]) if old.get("undyed") in names else 0
    st.selectbox("The same cloth undyed", names, at, key=f"{key} undyed")
    st.text_input("Note", str(old.get("note", "")), key=f"{key} note")
    return ("name", *COLOR, "fibers", "grade", "undyed", "note")


def _ask_ink(shop: Shop, old: Fields, key: str) -> tuple[str, ...]:
    st.text_input("Name", str(old.get("name", "")), key=f"{key} name")
    at = INK_KINDS.index(old.get("kind", "colour"))
    st.selectbox("Kind", INK_KINDS, at, key=f"{key} kind", format_func=KIND_WORDS.__getitem__)
    ask_color(old, key)
    number = st.number_input
    number("Solids by volume, %", 0.5, 100.0, 100.0 * old.get("solids_by_volume", 0.35), 1.0,
           key=f"{key} solids")  # fmt: skip
    number("Coarsest mesh, threads/in", 20.0, 500.0,
           float(old.get("coarsest_threads_per_inch", 80)), 5.0, key=f"{key} coarsest")  # fmt: skip
    number("Finest mesh, threads/in", 20.0, 500.0,
           float(old.get("finest_threads_per_inch", 330)), 5.0, key=f"{key} finest")  # fmt: skip
    price = old.get("price_per_kg")
    st.text_input(f"Price, {shop.costs.currency}/kg", "" if price is None else f"{price:g}",
                  placeholder="not known", key=f"{key} price")  # fmt: skip
    st.text_input("Note", str(old.get("note", "")), key=f"{key} note")
    return (
        "name",
        "kind",
        "color",
        "reading",
        "sample",
        "solids",
        "coarsest",
        "finest",
        "price",
        "note",
    )


def _ask_screen(shop: Shop, old: Fields, key: str) -> tuple[str, ...]:
    st.text_input("Name", str(old.get("name", "")), key=f"{key} name")
    per_inch = old.get("threads_per_inch") or CM_PER_INCH * old.get(
        "threads_per_cm", 230 / CM_PER_INCH
    )
    st.number_input("Threads/in", 10.0, 500.0, float(per_inch), 1.0, key=f"{key} count")
    st.number_input("Thread, µm", 10.0, 500.0, float(old.get("thread_um", 48)), 1.0,
                    key=f"{key} thread")  # fmt: skip
    st.text_input("Note", str(old.get("note", "")), key=f"{key} note")
    return ("name", "count", "thread", "note")


def _ask_target(shop: Shop, old: Fields, key: str) -> tuple[str, ...]:
    st.text_input("Name", str(old.get("name", "")), key=f"{key} name")
    ask_color(old, key)
    st.text_input("Note", str(old.get("note", "")), key=f"{key} note")
    return ("name", *COLOR, "note")


ASK: Mapping[str, Callable[[Shop, Fields, str], tuple[str, ...]]] = {
    "ink": _ask_ink,
    "garment": _ask_garment,
    "screen": _ask_screen,
    "target": _ask_target,
}


# --- What was typed, as the fields of an entry ----------------------------------------------------


def _made_garment(old: Fields, given: Fields) -> Fields:
    grade = str(given["grade"])[0]
    return {
        **colored(old, given),
        "name": given["name"].strip(),
        "fibres": parse_fibres([given["fibers"]]),
        "discharge_grade": int(grade) if grade.isdigit() else None,
        "undyed": None if given["undyed"] == "not known" else given["undyed"],
        "note": given["note"].strip() or None,
    }


def _made_ink(old: Fields, given: Fields) -> Fields:
    if given["reading"] is not None:
        raise InputError(
            "an ink is more than one reading: read drawdowns of it over black and over white, and "
            "use 'inksim characterise'; or type the color of its film over white."
        )
    return {
        **colored(old, given),
        "name": given["name"].strip(),
        "kind": given["kind"],
        "solids_by_volume": given["solids"] / 100.0,
        "coarsest_threads_per_inch": given["coarsest"],
        "finest_threads_per_inch": given["finest"],
        "price_per_kg": optional_number(given["price"], what="the price"),
        "note": given["note"].strip() or None,
    }


def _made_screen(old: Fields, given: Fields) -> Fields:
    kept = {f: v for f, v in old.items() if f != "threads_per_cm"}
    return {
        **kept,
        "name": given["name"].strip(),
        "threads_per_inch": given["count"],
        "thread_um": given["thread"],
        "source": f"entered by hand; {date.today().isoformat()}",
        "note": given["note"].strip() or None,
    }


def _made_target(old: Fields, given: Fields) -> Fields:
    return {
        **colored(old, given),
        "name": given["name"].strip(),
        "note": given["note"].strip() or None,
    }


MADE: Mapping[str, Callable[[Fields, Fields], Fields]] = {
    "ink": _made_ink,
    "garment": _made_garment,
    "screen": _made_screen,
    "target": _made_target,
}
