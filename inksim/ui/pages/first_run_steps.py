"""Steps of a shop's first run that ask for a color: inks and shirts, an example beside each."""

from __future__ import annotations

import streamlit as st

from inksim.common import InputError
from inksim.shop import (
    COMMON_BLENDS,
    Draft,
    NameTaken,
    Shop,
    catalogue,
    fibre_words,
    ink_assumptions,
    open_draft,
    parse_fibres,
    save,
    with_usual_white,
)
from inksim.ui.changes import Done, FieldFaults, beside, say_what_was_done
from inksim.ui.pages.shop_colour import Fields, entered
from inksim.ui.pages.shop_forms import do
from inksim.ui.pages.shop_list import Row, show_entry
from inksim.ui.pages.shop_undo import said_here
from inksim.ui.style import note, pads, points, show

ASSUMED = "◌ assumed"
INK, SHIRT = "first ink", "first shirt"
"""Places of the page, and beginnings of the keys of their fields."""


def inks(shop: Shop) -> None:
    st.header("2. My inks")
    said_here(shop, INK)
    for each in catalogue(shop)["inks"] if shop.screens else ():
        assumed = f"◌ {'; '.join(each['assumed'])}" if each["assumed"] else ""
        show_entry(Row(each["name"], each["hex"], ("as its usual film looks on white", assumed)))
    if not shop.screens:
        note("Next: the color of one ink over white is enough.")
    elif shop.inks:
        with st.expander("Add another ink"):
            _ink_form(shop)
    else:
        _ink_form(shop)


def _ink_form(shop: Shop) -> None:
    asked, beside_it = st.columns(2)
    white = not any(ink.kind == "white-base" for ink in shop.inks.values())
    with asked, st.form(f"form {INK}", border=False):
        _name_and_colour(INK, "Its color printed over white")
        if white:
            st.checkbox(f"And a usual white under it ({ASSUMED})", True, key=f"{INK} white")
        st.form_submit_button(
            "Save my ink", type="primary", key=f"save {INK}", on_click=do,
            args=(lambda: _ink_saved(shop, white=white), "", None, INK),
        )  # fmt: skip
        say_what_was_done(INK)
    with beside_it:
        _example("#e8622c", "Lantern, #e8622c", (
            "a color picker on the ink's swatch, or a photo of a solid print over white, says it",
            f"{ASSUMED}: how it covers, its solids, and that it prints through 80 to 330 "
            "threads/in; drawdowns that were read say them",
        ))  # fmt: skip


def _ink_saved(shop: Shop, *, white: bool) -> Done:
    name, fields = _typed(INK, "Ink")
    made = {"name": name, "kind": "color", **fields}
    entries = _added(open_draft(shop.folder, "ink"), "ink", made, key=INK)
    if white and st.session_state[f"{INK} white"]:
        entries = with_usual_white(entries)
    save(entries)
    _clear(INK)
    assumed = ink_assumptions(entries.entry("ink", name))
    return Done(f"{'; '.join([f'{name} is saved', *assumed])}.", INK)


def shirts(shop: Shop) -> None:
    st.header("3. My shirts")
    said_here(shop, SHIRT)
    for each in catalogue(shop)["garments"] if shop.screens else ():
        facts = (fibre_words(each["fibers"]), shop.garments[each["name"]].source)
        show_entry(Row(each["name"], each["hex"], facts))
    if not shop.inks:
        note("Next: the color of one shirt is enough.")
    elif shop.garments:
        with st.expander("Add another shirt"):
            _shirt_form(shop)
    else:
        _shirt_form(shop)


def _shirt_form(shop: Shop) -> None:
    asked, beside_it = st.columns(2)
    usual = COMMON_BLENDS[0]
    with asked, st.form(f"form {SHIRT}", border=False):
        _name_and_colour(SHIRT, "The color of its cloth")
        st.selectbox(
            "Fibers: pick, or type as on the label", COMMON_BLENDS, key=f"{SHIRT} fibers",
            accept_new_options=True,
            format_func=lambda one: f"{one} ({ASSUMED})" if one == usual else one,
        )  # fmt: skip
        st.form_submit_button(
            "Save my shirt and predict", type="primary", key=f"save {SHIRT}", on_click=do,
            args=(lambda: _shirt_saved(shop), "", None, SHIRT),
        )  # fmt: skip
        say_what_was_done(SHIRT)
    with beside_it:
        _example("#1f4d52", "Tarn, #1f4d52, 100 % cotton", (
            "a color picker on a photo by daylight is a start; a reading of the cloth is better",
            f"{ASSUMED}: that nothing is known of a discharge; its grade goes in later",
        ))  # fmt: skip


def _shirt_saved(shop: Shop) -> Done:
    name, fields = _typed(SHIRT, "Shirt")
    fibres = str(st.session_state[f"{SHIRT} fibers"])
    if fibres == COMMON_BLENDS[0]:
        fields["source"] = f"{fields['source']}; fibers assumed"
    made = {"name": name, "fibers": parse_fibres([fibres]), **fields}
    save(_added(open_draft(shop.folder, "garment"), "garment", made, key=SHIRT))
    _clear(SHIRT)
    return Done(f"{name} is saved.", SHIRT)


def _name_and_colour(key: str, label: str) -> None:
    st.text_input(f"{label}: #rrggbb, or L, a, b (D50)", placeholder="#rrggbb", key=f"{key} color")
    beside(f"{key} color")
    st.text_input("Name", placeholder="by its color", key=f"{key} name")
    beside(f"{key} name")


def _typed(key: str, noun: str) -> tuple[str, Fields]:
    """Name and color as typed."""
    colour = str(st.session_state[f"{key} color"]).strip()
    try:
        fields = entered(colour)
    except InputError as error:
        raise FieldFaults({f"{key} color": str(error)}) from None
    by_colour = " ".join([noun, *colour.replace("#", "").replace(",", " ").split()])
    return str(st.session_state[f"{key} name"]).strip() or by_colour, fields


def _added(draft: Draft, kind: str, entry: Fields, *, key: str) -> Draft:
    try:
        return draft.add(kind, entry)
    except NameTaken as taken:
        raise FieldFaults({f"{key} name": f"{taken.there}; give another name."}) from None


def _clear(key: str) -> None:
    for field in ("color", "name"):
        st.session_state[f"{key} {field}"] = ""


def _example(code: str, words: str, lines: tuple[str, ...]) -> None:
    note("For example")
    show(pads([(code, words)], label=f"example: {words}"))
    points(lines)
