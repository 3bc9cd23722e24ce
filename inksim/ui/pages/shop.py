"""Shop page: inks, garments, screens, colors and press, each with its provenance, and changed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import streamlit as st

from inksim.common import KIND_WORDS, capital
from inksim.shop import Shop, catalogue, fibre_words
from inksim.stock import Screen, Target
from inksim.ui import demo_look, job_bar
from inksim.ui.charts import ink_chart
from inksim.ui.page_frame import with_any_shop
from inksim.ui.pages import shop_numbers
from inksim.ui.pages.shop_drawdowns import from_drawdowns
from inksim.ui.pages.shop_list import STYLE, Row, entries
from inksim.ui.pages.shop_photo import from_photo
from inksim.ui.pages.shop_press import press_tab
from inksim.ui.pages.shop_record import record_tab
from inksim.ui.pages.shop_undo import undo_button, undo_place
from inksim.ui.style import note, plain, show

PROVENANCE = {
    "measured": "◆ measured",
    "photo": "❖ read from a photo",
    "recovered": "◈ recovered from Lab or hex",
    "invented": "◇ invented",
}
"""Where numbers come from, as a shape and words: the fuller, the surer."""
TABS = [
    "Inks",
    "Garments",
    "Screens",
    "Colors",
    "From a photo",
    "Press",
    "Costs and habits",
    "Rules",
    "Record",
]


@with_any_shop
def page(shop: Shop) -> None:
    """Draw the page of the shop: its entries, press and record."""
    job_bar.top(shop, "The shop", undo=False)
    show(STYLE)
    listed = catalogue(shop)
    st.markdown(f"**{plain(shop.name)}**")
    with st.expander("About this shop"):
        st.markdown(plain(listed["scenario"]))
        note(f"Files: {shop.folder}")
    demo_look.offer()
    for words in shop.changes:
        note(capital(words))
    undo = undo_place()
    inks, garments, screens, colours, photo, press, costs, rules, record = st.tabs(TABS)
    with inks:
        note("Each ink as its usual film looks on a white card.")
        entries(shop, "ink", [_ink(shop, each) for each in listed["inks"]])
        _spectra(shop)
        from_drawdowns(shop)
    with garments:
        entries(shop, "garment", [_garment(shop, each) for each in listed["garments"]])
        st.header("Cloths without dye")
        note(
            "What a discharge base leaves of a garment is told from the same cloth before dyeing, "
            "or after a full discharge. Garments refer to these by name."
        )
        entries(shop, "cloth", _colours(shop.cloths))
    with screens:
        entries(shop, "screen", [_screen(shop, each) for each in listed["screens"]])
    with colours:
        st.header("Targets")
        note("Colors that clients ask for.")
        entries(shop, "target", _colours(shop.targets))
        st.header("Palette")
        note("The colors that 'Check a palette' begins with.")
        entries(shop, "palette", _colours(shop.palette))
    with photo:
        from_photo(shop)
    with press:
        press_tab(shop)
    with costs:
        shop_numbers.costs(shop)
        shop_numbers.habits(shop)
    with rules:
        shop_numbers.rules(shop)
    with record:
        record_tab(shop)
    with undo:
        undo_button(shop)


def _ink(shop: Shop, each: Mapping[str, Any]) -> Row:
    ink = shop.inks[each["name"]]
    price = "price not known"
    if ink.price_per_kg is not None:
        price = f"{ink.price_per_kg:.2f} {shop.costs.currency}/kg"
    of = KIND_WORDS[ink.kind] + (", blocks dye" if ink.blocks_dye else "")
    mesh = f"mesh {ink.coarsest_threads_per_inch:.0f} to {ink.finest_threads_per_inch:.0f}"
    return Row(
        ink.name,
        each["hex"],
        (
            f"{of} · {ink.solids_by_volume:.0%} solids · {mesh} threads/in · {price}",
            _known("; ".join([PROVENANCE[ink.data], *ink.assumed]), ink.source or ink.note),
        ),
    )


def _garment(shop: Shop, each: Mapping[str, Any]) -> Row:
    garment = shop.garments[each["name"]]
    grade = f"discharge grade {garment.discharge_grade} of 5"
    if garment.discharge_grade is None:
        grade = "discharge grade not known"
    if garment.discharged is not None:
        grade += ", discharged cloth read"
    return Row(
        garment.name,
        each["hex"],
        (
            f"{fibre_words(garment.fibers)} · {grade} · {_lab(each['lab'])}",
            _known(PROVENANCE[garment.data], garment.source or garment.note),
        ),
    )


def _screen(shop: Shop, each: Mapping[str, Any]) -> Row:
    mesh = f"{each['threads_per_inch']:.0f} threads/in ({each['threads_per_cm']:.0f}/cm)"
    holds = f"{each['ink_volume_cm3_m2']:.0f} cm³/m² of ink at most"
    return Row(
        each["name"],
        "",
        (
            f"{mesh} · thread {each['thread_um']:.0f} µm · opening {each['opening_um']:.0f} µm · "
            f"{each['open_area']:.0%} open · {holds}",
            _screen_from(shop.screens[each["name"]]),
        ),
    )


def _screen_from(screen: Screen) -> str:
    """Provenance of a screen's numbers; opening and ink volume may be derived."""
    stated = screen.opening_um is not None and screen.ink_volume_cm3_m2 is not None
    how = "as stated by its maker" if stated else "count and thread stated, the rest worked out"
    return _known(how, screen.source or screen.note)


def _colours(named: Mapping[str, Target]) -> list[Row]:
    return [
        Row(
            each.name,
            each.hex_d50,
            (
                _lab(each.lab_d50) + ("" if each.hex()[1] else " · more vivid than a screen shows"),
                _known(PROVENANCE[each.data], each.source or each.note),
            ),
        )
        for each in named.values()
    ]


def _lab(lab: Any) -> str:
    lightness, a, b = (round(float(value)) for value in lab)  # a whole 0 has no sign
    return f"L* {lightness}, a* {a}, b* {b} (D50/2°)"


def _known(data: str, source: str) -> str:
    return f"{data}: {source}" if source else data


def _spectra(shop: Shop) -> None:
    """What an ink does to the light, by wavelength: one tap deeper."""
    if not shop.inks:
        return
    with st.expander("How an ink absorbs and scatters light"):
        name = st.selectbox("Ink", list(shop.inks), key="ink-spectra")
        ink = shop.inks[str(name)]
        st.altair_chart(
            ink_chart(ink.K, ink.S), width="stretch", theme=None,
            alt=f"Absorption and scattering of {ink.name} by wavelength, per µm of dry film",
        )  # fmt: skip
