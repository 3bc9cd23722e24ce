"""The press: its parameters, its calibration to readings of prints, its versions and readings."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import streamlit as st

from inksim.errors import InksimError
from inksim.history import remove_row, rows_kept, to_csv
from inksim.press import MEANINGS
from inksim.press_file import go_back, versions
from inksim.shop import Shop
from inksim.ui.calibration import calibrate_here
from inksim.ui.look import note, plain, table
from inksim.ui.shop_forms import do, locked_reason
from inksim.ui.shop_numbers import press_form


def press_tab(shop: Shop) -> None:
    """Everything about the press."""
    _parameters(shop)
    press_form(shop)
    _told(lambda: calibrate_here(shop))
    _told(lambda: _versions(shop))
    _told(lambda: _readings(shop))


def _told(body: Callable[[], None]) -> None:
    """One part's fault does not take the other parts away."""
    try:
        body()
    except InksimError as error:
        st.error(plain(str(error)))


def _parameters(shop: Shop) -> None:
    press = shop.press
    state = "calibrated to its own prints" if press.calibrated else "not calibrated yet"
    note(f"{press.name}, {state}. Where its values come from: {press.source or 'not said'}.")
    rows = [
        [
            meaning.words,
            f"{getattr(press, name).value:.4g} {meaning.unit}".strip(),
            f"± {getattr(press, name).sd:.2g}",
            name,
        ]
        for name, meaning in MEANINGS.items()
    ]
    table(("Parameter", "Value", "How unsure (1 sd)", "In press.toml"), rows, label="Press")


def _versions(shop: Shop) -> None:
    """Every press there was, and the way back to one."""
    found = versions(shop.folder)
    st.header("Versions of the press")
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

        st.button(f"Go back to version {number}", on_click=do, args=(back,))


def _readings(shop: Shop) -> None:
    """The readings of prints that calibrations have used."""
    kept = rows_kept(shop.folder)
    st.header("Readings of prints that are kept")
    if not kept:
        note("None yet. Readings that a stored calibration used are kept, and used again.")
        return
    with st.expander(f"{len(kept)} readings"):
        rows = [
            [str(each.number), each.row.date, each.row.name, each.row.ink, each.row.garment,
             each.row.route, each.row.note]
            for each in kept
        ]  # fmt: skip
        head = ("No.", "Day", "Name", "Ink", "Garment", "Route", "Note")
        table(head, rows, label="Readings of prints")
    with st.container(horizontal=True, vertical_alignment="bottom"):
        st.download_button(
            "All readings (CSV)",
            lambda: to_csv([each.row for each in kept]),
            file_name="readings.csv",
            mime="text/csv",
            on_click="ignore",
        )
        if locked_reason(shop):
            return
        number = int(st.selectbox("No.", [each.number for each in kept], width=120))

        def take_out() -> str:
            gone = remove_row(shop.folder, number)
            return f"Reading {number}, {gone.name}, is taken out. The press stays as it is."

        st.button(f"Take reading {number} out", on_click=do, args=(take_out,))
