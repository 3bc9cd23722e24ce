"""Press tab: parameters, calibration, versions and kept readings."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import streamlit as st

from inksim.calibration import remove_row, rows_kept, to_csv
from inksim.common import InksimError, capital, counted
from inksim.shop import Draft, Shop, calibrated_without, go_back, open_draft, versions
from inksim.stock import MEANINGS
from inksim.ui import changes
from inksim.ui.changes import Done, locked_reason
from inksim.ui.download import offer
from inksim.ui.pages import shop_numbers
from inksim.ui.pages.shop_calibration import calibrate_here
from inksim.ui.pages.shop_colour import Fields
from inksim.ui.pages.shop_forms import do
from inksim.ui.pages.shop_numbers import ask_source, origin, written
from inksim.ui.pages.shop_typed import as_drawn, form_key
from inksim.ui.pages.shop_undo import said_here
from inksim.ui.style import note, plain, table


def press_tab(shop: Shop) -> None:
    """Draw the press tab."""
    shop_numbers.stations(shop)
    _parameters(shop)
    _by_hand(shop)
    _told(lambda: calibrate_here(shop))
    _told(lambda: _versions(shop))
    _told(lambda: _readings(shop))


def _told(body: Callable[[], None]) -> None:
    """Show a part's fault without losing the other parts."""
    try:
        body()
    except InksimError as error:
        st.error(plain(str(error)))


def _parameters(shop: Shop) -> None:
    st.header("How the press prints")
    press = shop.press
    state = "calibrated to its own prints" if press.calibrated else "not calibrated yet"
    note(f"{press.name}, {state}. Where its values come from: {press.source or 'not said'}.")
    if shop.press_lacks:
        note(calibrated_without(shop.press_lacks))
    rows = [
        [
            capital(meaning.words),
            f"{getattr(press, name).value:.4g} {meaning.unit}".strip(),
            f"± {getattr(press, name).sd:.2g}",
            name,
        ]
        for name, meaning in MEANINGS.items()
    ]
    with st.expander(f"Its {counted(len(rows), 'value')}, and how sure each is"):
        table(("Parameter", "Value", "Standard deviation", "In press.toml"), rows, label="Press")


def _by_hand(shop: Shop) -> None:
    """Form for the parameters of an uncalibrated press, with their standard deviations."""
    if locked_reason(shop):
        return
    said_here(shop, "press")
    with st.expander("Change the press by hand"):
        if shop.press.calibrated:
            note(
                "These values come from readings of prints and hang together, so they are not "
                "changed one by one. Go back to version 0 first, change that, and calibrate again."
            )
            return
        draft = open_draft(shop.folder, "press.toml")
        key = form_key("press", draft)
        with st.form(f"form {key}", border=False):
            st.text_input("Name of the press", shop.press.name, key=f"{key} name")
            for name, meaning in MEANINGS.items():
                value, sd = getattr(shop.press, name)
                left, right = st.columns(2)
                title = capital(meaning.words)
                unit = f", {meaning.unit}" if meaning.unit else ""
                left.number_input(
                    f"{title}{unit}", meaning.least, meaning.most, float(value),
                    step=None, format="%g", key=f"{key} {name}",
                )  # fmt: skip
                right.number_input("Standard deviation", 0.0, None, float(sd),
                                   step=None, format="%g", key=f"{key} {name} sd")  # fmt: skip
            ask_source(shop.press.source, key)
            st.form_submit_button(
                "Save the press",
                on_click=do,
                args=(
                    lambda: Done(_press_saved(shop, draft, key), "press"), "press", draft,
                    "form press",
                ),
            )  # fmt: skip
            changes.say_what_was_done("form press")
        as_drawn(key)


def _press_saved(shop: Shop, draft: Draft, key: str) -> str:
    given = st.session_state
    values: Fields = {}
    for name in MEANINGS:
        old, new = getattr(shop.press, name), (given[f"{key} {name}"], given[f"{key} {name} sd"])
        if tuple(new) != tuple(old):
            values[f"parameters.{name}"] = {"value": float(new[0]), "sd": float(new[1])}
    title = str(given[f"{key} name"]).strip()
    if title != shop.press.name:
        values["name"] = title
    said = origin(str(given[f"{key} source"]), old=shop.press.source)
    return written(draft, values, source="source", said=said)


def _versions(shop: Shop) -> None:
    """Versions of the press, and going back to one."""
    found = versions(shop.folder)
    st.header("Versions of the press")
    said_here(shop, "versions")
    rows = [
        [
            f"{each.number}{', in use' if each.current else ''}",
            each.day or "not said",
            str(each.readings) if each.readings else "none",
            each.source or "not said",
        ]
        for each in found
    ]
    table(("Version", "Day", "Readings", "Where from"), rows, label="Versions of the press")
    others = [each.number for each in found if not each.current]
    if not others or locked_reason(shop):
        note("Every press that is stored here keeps the one before, and you can go back to it.")
        return
    with st.container(horizontal=True, vertical_alignment="bottom"):
        number = int(st.selectbox("Version", others, index=len(others) - 1, width=160))

        def back() -> str:
            now = go_back(shop.folder, day=date.today().isoformat(), number=number)
            return f"The press is version {now.number} again; the other versions are kept."

        st.button(f"Go back to version {number}", on_click=do,
                  args=(back, "", None, "versions"))  # fmt: skip


def _readings(shop: Shop) -> None:
    """The readings of prints that calibrations have used."""
    kept = rows_kept(shop.folder, faulty=True)
    sound = [each.row for each in kept if not each.fault]
    st.header("Readings of prints that are kept")
    changes.say_what_was_done("readings")
    if not kept:
        note("None yet. Readings that a stored calibration used are kept, and used again.")
        return
    with st.expander(counted(len(kept), "reading")):
        rows = [
            [str(each.number), each.row.date, each.row.name, each.row.ink, each.row.garment,
             each.row.route, each.row.read_words, each.noted]
            for each in kept
        ]  # fmt: skip
        head = ("No.", "Day", "Name", "Ink", "Garment", "Route", "Read by", "Note")
        table(head, rows, label="Readings of prints")
    with st.container(horizontal=True, vertical_alignment="bottom"):
        offer("All readings (CSV)", lambda: to_csv(sound), file="readings.csv")
        if locked_reason(shop):
            return
        number = int(st.selectbox("No.", [each.number for each in kept], width=120))

        def take_out() -> str:
            gone = remove_row(shop.folder, number)
            return f"Reading {number}, {gone.name}, is taken out. The press stays as it is."

        st.button(f"Take reading {number} out", on_click=do,
                  args=(take_out, "", None, "readings"))  # fmt: skip
