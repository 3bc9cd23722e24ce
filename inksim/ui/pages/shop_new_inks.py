"""What no drawdown says of an ink: its kind, price and density; and leave to replace one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import streamlit as st

from inksim.common import KIND_WORDS, InputError
from inksim.shop import Shop
from inksim.stock import INK_KINDS
from inksim.ui.pages.shop_colour import optional_number
from inksim.ui.style import note, plain

DENSITY = "density of the wet ink, g/cm³"


def known_inks(shop: Shop, inks: Sequence[str]) -> list[str]:
    """The inks of a sheet that the shop has, whatever their capitals."""
    owned = {name.lower() for name in shop.inks}
    return [ink for ink in inks if ink.lower() in owned]


def ask_of_inks(shop: Shop, inks: Sequence[str]) -> Mapping[str, dict[str, Any]]:
    """Ask of each ink that the shop has not: what is stated, by field and ink.

    Raises
    ------
    InputError : what is no number.
    """
    fresh = [ink for ink in inks if ink not in known_inks(shop, inks)]
    stated: dict[str, dict[str, Any]] = {"kind": {}, "price_per_kg": {}, "density_g_cm3": {}}
    for ink in fresh:
        kind, price, density = st.columns(3)
        stated["kind"][ink] = kind.selectbox(
            f"{plain(ink)}: kind", INK_KINDS, key=f"dd {ink} kind",
            format_func=KIND_WORDS.__getitem__,
        )  # fmt: skip
        typed = {
            "price_per_kg": price.text_input(
                f"{plain(ink)}: price, {plain(shop.costs.currency)}/kg",
                placeholder="not known, left out",
                key=f"dd {ink} price",
            ),
            "density_g_cm3": density.text_input(
                f"{plain(ink)}: {DENSITY}", placeholder="not known, taken as usual",
                key=f"dd {ink} density",
            ),
        }  # fmt: skip
        for field, text in typed.items():
            what = f"the {field.partition('_')[0]} of {ink}"
            value = optional_number(text, what=what)
            if value == 0 and field == "density_g_cm3":
                raise InputError(f"{what} is 0; give a number above 0, or leave it empty.")
            if value is not None:
                stated[field][ink] = value
    return stated


def may_replace(known: Sequence[str]) -> bool:
    """Ask for leave to give inks that the shop has the color and the opacity of a new fit."""
    if not known:
        return True
    listed = ", ".join(known)
    note(f"The shop has {listed} already; kind, price and density stay as they are there.")
    return bool(
        st.checkbox(
            plain(f"Replace the color and the opacity of {listed}"), key=f"dd replace {listed}"
        )
    )
