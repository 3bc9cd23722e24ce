"""The choices that pages share: a garment by its swatch, a light, an ink. Kept in the address."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from inksim.appearance import Viewing, hex_code, xyz
from inksim.shop import Shop
from inksim.ui.look import readable_on

LIGHTS = {
    "Print booth": Viewing("D50", 2),
    "Daylight": Viewing("D65", 10),
    "Store LED": Viewing("LED-B3", 10),
    "Store tubes": Viewing("F11", 10),
    "Home lamp": Viewing("A", 10),
}
"""Lights by the words of whoever stands in them."""


def cloth_hex(shop: Shop, garment: str, viewing: Viewing) -> str:
    """A garment's color on the screen."""
    code, _ = hex_code(xyz(shop.garment(garment).reflectance, viewing), viewing)
    return code


def garment(shop: Shop, *, default: str, viewing: Viewing) -> str:
    """Choose a garment from true swatches of the stock."""
    names = list(shop.garments)
    st.html(_swatch_style("garment", names, shop, viewing))
    chosen = st.pills(
        "Garment",
        names,
        default=default if default in names else names[0],
        required=True,
        key="garment",
        bind="query-params",
        persist_state="session",
    )
    return str(chosen)


def garments(shop: Shop, *, default: Sequence[str], viewing: Viewing) -> list[str]:
    """Choose several garments from true swatches of the stock."""
    names = list(shop.garments)
    st.html(_swatch_style("garments", names, shop, viewing))
    chosen = st.pills(
        "Garments",
        names,
        selection_mode="multi",
        default=[name for name in default if name in names] or names[:1],
        key="garments",
        bind="query-params",
        persist_state="session",
    )
    return [name for name in names if name in chosen]


def light() -> Viewing:
    """Choose the light the print is seen in."""
    words = st.segmented_control(
        "Light",
        list(LIGHTS),
        default="Print booth",
        required=True,
        key="light",
        bind="query-params",
        persist_state="session",
        help="The color of the light in which the print and the target are compared.",
    )
    return LIGHTS[str(words)]


def _swatch_style(key: str, names: Sequence[str], shop: Shop, viewing: Viewing) -> str:
    """Give each choice the color of its cloth; the chosen one wears a thick frame."""
    frame = f".st-key-{key} [data-testid^='stBaseButton-pills']"
    rules = [
        f"{frame} {{ border: 2px solid #6a6a6a; border-radius: 3px; padding: .8rem .7rem; }}",
        f"{frame}[data-testid$='Active'] {{ outline: 4px solid #111; outline-offset: 2px; }}",
    ]
    for at, name in enumerate(names, start=1):
        code = cloth_hex(shop, name, viewing)
        ink = readable_on(code)
        rules.append(
            f".st-key-{key} button:nth-of-type({at}) {{ background: {code} !important; }}"
            f".st-key-{key} button:nth-of-type({at}) p {{ color: {ink} !important; }}"
        )
    return f"<style>{''.join(rules)}</style>"
