"""A shop's first run: my press, my inks, my shirts, and what they print, each seen at once.

What is not typed is assumed, and said to be; all of it can be changed on the shop's page.
"""

from __future__ import annotations

import streamlit as st

from inksim.colour import D50
from inksim.common import counted
from inksim.decision import advise, route_headline
from inksim.printing import honest_words
from inksim.shop import (
    PRESSES,
    SCREENS,
    USUAL_PRESS,
    Shop,
    StartPress,
    catalogue,
    next_step,
    save_start_press,
)
from inksim.ui import demo_look
from inksim.ui.changes import Done, say_what_was_done
from inksim.ui.page_frame import GOING_ON
from inksim.ui.pages.first_run_steps import ASSUMED, INK, SHIRT, inks, shirts
from inksim.ui.pages.shop_forms import do
from inksim.ui.pages.shop_list import STYLE
from inksim.ui.pages.shop_undo import said_here
from inksim.ui.parts.route_cards import route_cards
from inksim.ui.style import note, show, table, verdict

PRESS = "first press"


def guide(shop: Shop) -> None:
    """The three steps, those done folded to what came of them; then the first prediction."""
    st.session_state[GOING_ON] = True
    st.title("Your shop in three steps")
    say_what_was_done("")
    missing = next_step(shop)
    if missing:
        with st.container(horizontal=True, vertical_alignment="center"):
            note(f"What you do not know yet is {ASSUMED}; you can change it at any time.")
            demo_look.offer()
    show(STYLE)
    _press(shop)
    inks(shop)
    shirts(shop)
    if missing:
        with st.expander("The next step by command"):
            note(missing)
    else:
        _prediction(shop)


def _prediction(shop: Shop) -> None:
    """An ink of the shop on a shirt of it, by each route: to be the color that was typed."""
    colours, cloths = [ink.name for ink in shop.colour_inks], list(shop.garments)
    if not colours:
        st.info("This shop has no color to print yet: add an ink that is one.")
        return
    ink, shirt = colours[-1], cloths[-1]
    st.header("What they print")
    said = st.container()
    if len(colours) + len(cloths) > 2:
        left, right = st.columns(2)
        ink = str(left.selectbox("Ink", colours, len(colours) - 1, key=f"{INK} {colours}"))
        shirt = str(right.selectbox("Shirt", cloths, len(cloths) - 1, key=f"{SHIRT} {cloths}"))
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
            args=(lambda: _press_saved(shop), "", None, f"{PRESS} save"),
        )  # fmt: skip
        say_what_was_done(f"{PRESS} save")
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
