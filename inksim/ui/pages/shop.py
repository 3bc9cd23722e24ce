"""Shop page: inks, garments, screens, targets and press, each with its provenance."""

from __future__ import annotations

from typing import Any

import streamlit as st

from inksim.common import KIND_WORDS
from inksim.shop import Shop, catalogue
from inksim.stock import Screen
from inksim.ui.charts import ink_chart
from inksim.ui.page_frame import with_any_shop
from inksim.ui.pages import shop_numbers
from inksim.ui.pages.shop_drawdowns import from_drawdowns
from inksim.ui.pages.shop_forms import change, undo_button
from inksim.ui.pages.shop_press import press_tab
from inksim.ui.pages.shop_record import record_tab
from inksim.ui.style import note, pads, plain, table

PROVENANCE = {
    "measured": "◆ measured",
    "recovered": "◈ recovered from Lab or hex",
    "invented": "◇ invented",
}
"""Where numbers come from, as a shape and words: the fuller, the surer."""


@with_any_shop
def page(shop: Shop) -> None:
    """The page."""
    st.title("The shop", width="content")
    listed = catalogue(shop)
    st.markdown(plain(f"{shop.name}. {listed['scenario']}"))
    note(f"Files: {shop.folder}")
    for words in shop.changes:
        note(f"{words[:1].upper()}{words[1:]}")
    with st.container():  # always one place: what is said must not move the tabs under it
        undo_button(shop)
    inks, garments, screens, targets, press, costs, rules, record = st.tabs(
        ["Inks", "Garments", "Screens", "Targets", "Press", "Costs and habits", "Rules", "Record"]
    )
    with inks:
        _inks(shop, listed["inks"])
        change(shop, "ink")
        from_drawdowns(shop)
    with garments:
        _garments(shop, listed["garments"])
        change(shop, "garment")
    with screens:
        _screens(shop, listed["screens"])
        change(shop, "screen")
    with targets:
        _targets(shop)
        change(shop, "target")
    with press:
        press_tab(shop)
    with costs:
        shop_numbers.costs(shop)
        shop_numbers.habits(shop)
        shop_numbers.stations(shop)
    with rules:
        shop_numbers.rules(shop)
    with record:
        record_tab(shop)


def _swatch(code: str) -> str:
    return pads([(code, "")], label=code)


def _inks(shop: Shop, listed: list[dict[str, Any]]) -> None:
    note("Each ink as its usual film looks on a white card.")
    rows = []
    for each in listed:
        ink = shop.inks[each["name"]]
        price = f"{ink.price_per_kg:.2f}" if ink.price_per_kg is not None else "not known"
        rows.append(
            [
                _swatch(each["hex"]),
                ink.name,
                KIND_WORDS[ink.kind] + (", blocks dye" if ink.blocks_dye else ""),
                f"{ink.solids_by_volume:.0%}",
                f"{ink.coarsest_threads_per_inch:.0f} to {ink.finest_threads_per_inch:.0f}",
                price,
                "; ".join([PROVENANCE[ink.data], *ink.assumed]),
                ink.source or ink.note,
            ]
        )
    head = ("Look", "Ink", "Kind", "Solids", "Threads/in", f"{shop.costs.currency}/kg", "Data",
            "Where from")  # fmt: skip
    table(head, rows, label="Inks")
    if not shop.inks:
        return
    name = st.selectbox("Absorption and scattering of", list(shop.inks), key="ink-spectra")
    ink = shop.inks[str(name)]
    st.altair_chart(
        ink_chart(ink.K, ink.S), width="stretch", theme=None,
        alt=f"Absorption and scattering of {ink.name} by wavelength, per µm of dry film",
    )  # fmt: skip


def _garments(shop: Shop, listed: list[dict[str, Any]]) -> None:
    rows = []
    for each in listed:
        garment = shop.garments[each["name"]]
        fibers = ", ".join(f"{share:.0%} {name}" for name, share in garment.fibres.items() if share)
        grade = f"{garment.discharge_grade} of 5" if garment.discharge_grade else "not known"
        if garment.discharged is not None:
            grade += ", discharged cloth read"
        lab = " ".join(f"{value:.0f}" for value in each["lab"])
        rows.append(
            [_swatch(each["hex"]), garment.name, fibers, grade, lab, PROVENANCE[garment.data],
             garment.source or garment.note]
        )  # fmt: skip
    head = (
        "Cloth",
        "Garment",
        "Fibers",
        "Discharge grade",
        "L* a* b* (D50/2°)",
        "Data",
        "Where from",
    )
    table(head, rows, label="Garments")


def _screens(shop: Shop, listed: list[dict[str, Any]]) -> None:
    rows = [
        [
            each["name"], f"{each['threads_per_inch']:.0f}", f"{each['threads_per_cm']:.0f}",
            f"{each['thread_um']:.0f}", f"{each['opening_um']:.0f}", f"{each['open_area']:.0%}",
            f"{each['ink_volume_cm3_m2']:.0f}", _screen_from(shop.screens[each["name"]]),
        ]
        for each in listed
    ]  # fmt: skip
    head = ("Screen", "Threads/in", "Threads/cm", "Thread, µm", "Opening, µm", "Open area",
            "Ink volume, cm³/m²", "Where from")  # fmt: skip
    table(head, rows, label="Screens")


def _screen_from(screen: Screen) -> str:
    """Provenance of a screen's numbers; opening and ink volume may be derived."""
    stated = screen.opening_um is not None and screen.ink_volume_cm3_m2 is not None
    how = "as stated by its maker" if stated else "count and thread stated, the rest worked out"
    return "; ".join(each for each in (screen.source or screen.note, how) if each)


def _targets(shop: Shop) -> None:
    rows = [
        [
            _swatch(target.hex_d50),
            target.name,
            " ".join(f"{value:.0f}" for value in target.lab_d50),
            PROVENANCE[target.data],
            "" if target.hex()[1] else "more vivid than a screen shows",
            target.source or target.note,
        ]
        for target in shop.targets.values()
    ]
    head = ("Color", "Target", "L* a* b* (D50/2°)", "Data", "On a screen", "Where from")
    table(head, rows, label="Targets")
