"""What a form asks of an ink's opacity and solids; what is left empty is assumed by its kind."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import streamlit as st

from inksim.common import InputError
from inksim.shop import LOOKS, OPACITIES, SOLIDS
from inksim.ui.pages.shop_colour import Fields, colour_text, entered, optional_number

BY_KIND = "not known: by kind and color"
COVERS: Mapping[str, str] = {
    "": BY_KIND,
    "black": "covers black",
    "half": "half covers",
    "clear": "clear",
}
NUMBERS: Mapping[str, tuple[str, float]] = {
    "contrast_ratio": ("Or its contrast ratio, 0 to 1", 1.0),
    "contrast_film_um": ("Dry film of that ratio, µm (empty: that of the color)", 1.0),
    "film_um": ("Dry film that shows the color, µm", 1.0),
    "solids_by_volume": ("Solids by volume, %", 100.0),
    "solids_by_weight": ("Or solids by weight, %", 100.0),
    "density_g_cm3": ("Density of the wet ink, g/cm³", 1.0),
}
"""Label of each number that may be left empty, and what is shown over what is filed."""


def ask_opacity_and_solids(old: Fields, key: str) -> None:
    """Ask how an ink covers, by one of three ways, and for its solids, by one of two."""
    words, ratio, film = st.columns(3)
    words.selectbox(
        "How a film of it covers black", COVERS, list(COVERS).index(old.get("covers", "")),
        key=f"{key} covers", format_func=COVERS.__getitem__,
    )  # fmt: skip
    over = old.get("over_black", {})
    words.text_input(
        "Or the color of the film over black: #rrggbb, or L, a, b"
        + (" (empty keeps the reading)" if "reflectance" in over else ""),
        colour_text(over),
        key=f"{key} over_black",
    )
    for column, field in zip((ratio, ratio, film, film, words, ratio), NUMBERS, strict=True):
        label, times = NUMBERS[field]
        shown = f"{times * old[field]:g}" if field in old else ""
        column.text_input(label, shown, placeholder="not known", key=f"{key} {field}")


def opacity_and_solids(start: Fields, old: Fields, key: str) -> Fields:
    """Fields of an entry with the opacity and solids that were typed.

    start: the entry with its color. An opacity belongs to a color: K and S say it themselves.

    Raises
    ------
    InputError : two opacities or two solids, or what is no number or color.
    """
    given = st.session_state
    typed: Fields = {"covers": given[f"{key} covers"] or None}
    for field, (label, times) in NUMBERS.items():
        value = optional_number(str(given[f"{key} {field}"]), what=f"'{label}'")
        typed[field] = None if value is None else value / times
    black, before = str(given[f"{key} over_black"]).strip(), old.get("over_black", {})
    if black == colour_text(before):
        typed["over_black"] = before or None
    else:
        typed["over_black"] = {k: v for k, v in entered(black).items() if k in LOOKS} or None
    for one in (OPACITIES, SOLIDS):
        if sum(typed[field] is not None for field in one) > 1:
            raise InputError(f"give one of {', '.join(one)}; leave the others empty.")
    if "K" in start:
        stated = [f for f in (*OPACITIES, "contrast_film_um", "film_um") if typed[f] is not None]
        if stated:
            raise InputError(
                "the K and S of this ink say how it covers; leave its opacity and film empty."
            )
    kept: dict[str, Any] = {f: v for f, v in start.items() if f not in typed}
    return {**kept, **{f: v for f, v in typed.items() if v is not None}}
