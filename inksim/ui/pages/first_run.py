"""A shop's first run: my press, my inks, my shirts, and what they print, each seen at once.

What is not typed is assumed, and said to be; all of it can be changed on the shop's page.
"""

from __future__ import annotations

import streamlit as st

from inksim.colour import D50
from inksim.common import InputError, counted
from inksim.decision import advise, route_headline
from inksim.printing import honest_words
from inksim.shop import (
    COMMON_BLENDS,
    PRESSES,
    SCREENS,
    USUAL_PRESS,
    Draft,
    NameTaken,
    Shop,
    StartPress,
    catalogue,
    fibre_words,
    ink_assumptions,
    next_step,
    open_draft,
    parse_fibres,
    save,
    save_start_press,
    with_usual_white,
)
from inksim.ui import demo_look
from inksim.ui.changes import Done, FieldFaults, beside, say_what_was_done
from inksim.ui.page_frame import GOING_ON
from inksim.ui.pages.shop_colour import Fields, entered
from inksim.ui.pages.shop_forms import do, said_here
from inksim.ui.pages.shop_list import STYLE, Row, show_entry
from inksim.ui.parts.route_cards import route_cards
from inksim.ui.style import note, pads, points, show, table, verdict

ASSUMED = "◌ assumed"
PRESS, INK, SHIRT = "first press", "first ink", "first shirt"
"""Places of the page, and beginnings of the keys of their fields."""


def guide(shop: Shop) -> None:
    """The three steps, those done folded to what came of them; then the first prediction."""
    st.session_state[GOING_ON] = True
    st.title("Your shop in three steps")
    missing = next_step(shop)
    if missing:
        with st.container(horizontal=True, vertical_alignment="center"):
            note(f"What you do not know yet is {ASSUMED}, said so, and changed any time.")
            demo_look.offer()
    show(STYLE)
    _press(shop)
    _inks(shop)
    _shirts(shop)
    if missing:
        note(f"By command: {missing}")
    else:
        _prediction(shop)


def _prediction(shop: Shop) -> None:
    """An ink of the shop on a shirt of it, by each route: to be the color that was typed."""
    inks, shirts = [ink.name for ink in shop.colour_inks], list(shop.garments)
    if not inks:
        st.info("This shop has no color to print yet: add an ink that is one.")
        return
    ink, shirt = inks[-1], shirts[-1]
    st.header("What they print")
    said = st.container()
    if len(inks) + len(shirts) > 2:
        left, right = st.columns(2)
        ink = str(left.selectbox("Ink", inks, len(inks) - 1, key=f"{INK} {inks}"))
        shirt = str(right.selectbox("Shirt", shirts, len(shirts) - 1, key=f"{SHIRT} {shirts}"))
    seen = next(each for each in catalogue(shop)["inks"] if each["name"] == ink)
    asked = seen.get("entered") or seen["hex"]
    advice = advise(
        shop,
        garment=shop.garment(shirt),
        ink=shop.ink(ink),
        target=shop.target(asked),
        tolerance=shop.habits.tolerance_de00,
    )
    with said:
        headline = route_headline(advice.route, advice.verdict, tolerance=advice.tolerance)
        verdict(headline, f"Your first prediction: {ink} on {shirt}, to look as over white.")
    route_cards(advice, shop=shop, garment=shirt, viewing=D50)
    note(honest_words(advice.best.data, calibrated=shop.press.calibrated))
    if advice.best.assumed:
        note(f"◌ {advice.best.assumed}.")
    note(
        "What makes it surer, the most first: readings of six prints of your press (The shop, "
        "Press), drawdowns of your inks read over black and white, readings of your shirts."
    )
    st.button(
        "Go on with this shop", type="primary", key="first-run-done",
        on_click=st.session_state.pop, args=(GOING_ON, None),
    )  # fmt: skip


def _press(shop: Shop) -> None:
    st.header("1. My press")
    said_here(shop, PRESS)
    if shop.screens:
        from_where = f" ◌ {shop.stations.source}." if shop.stations.source else ""
        note(f"{shop.press.name}; screens {', '.join(shop.screens)}.{from_where}")
        return
    asked, beside_it = st.columns(2)
    with asked:
        chosen: StartPress = st.radio(
            "The press nearest to yours",
            PRESSES,
            PRESSES.index(USUAL_PRESS),
            key=PRESS,
            format_func=lambda one: one.words,
        )
        st.button(
            "This is my press", type="primary", key=f"save {PRESS}", on_click=do,
            args=(lambda: _press_saved(shop), "", None, PRESS),
        )  # fmt: skip
        say_what_was_done(PRESS)
    with beside_it:
        unit = counted(chosen.flashes, "flash unit")
        rows = [
            ["Stations", f"{chosen.stations}; {unit}, each on a station of its own"],
            *([f"Screen {name}", f"{count:g} threads/in, thread {thread:g} µm"]
              for name, (count, thread) in SCREENS.items()),
            ["Ink laid down", "a generic press, until it has read prints of yours"],
        ]  # fmt: skip
        table(("With it", ASSUMED), rows, label="What is assumed of the press")


def _press_saved(shop: Shop) -> Done:
    chosen: StartPress = st.session_state[PRESS]
    save_start_press(shop.folder, chosen)
    return Done(f"{chosen.words}, with {counted(len(SCREENS), 'usual screen')}, assumed.", PRESS)


def _inks(shop: Shop) -> None:
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
    inks = _added(open_draft(shop.folder, "ink"), "ink", {"name": name, "kind": "color", **fields},
                  key=INK)  # fmt: skip
    if white and st.session_state[f"{INK} white"]:
        inks = with_usual_white(inks)
    save(inks)
    _clear(INK)
    assumed = ink_assumptions(inks.entry("ink", name))
    return Done(f"{'; '.join([f'{name} is saved', *assumed])}.", INK)


def _shirts(shop: Shop) -> None:
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
