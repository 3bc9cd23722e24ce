"""The routes of one ink on one garment: target and print of each on the cloth, with its verdict."""

from __future__ import annotations

import streamlit as st

from inksim.colour import Viewing
from inksim.common import ROUTE_TITLES, Markup, sentence
from inksim.decision import Advice, RouteResult
from inksim.shop import Shop
from inksim.ui import pickers
from inksim.ui.style import note, on_cloth, pads, print_on_cloth, show


def route_cards(advice: Advice, *, shop: Shop, garment: str, viewing: Viewing) -> None:
    """The three routes as swatches on the cloth, the target beside each."""
    cloth = pickers.cloth_hex(shop, garment, viewing)
    asked, _ = advice.target.hex(viewing)
    for column, result in zip(st.columns(len(advice.routes)), advice.routes, strict=True):
        with column:
            st.header(ROUTE_TITLES[result.route])
            show(_card(result, cloth=cloth, asked=asked))
            if result.best is None or result.verdict is None:
                note(f"Not possible: {result.why_not}.")
                continue
            note(
                f"Nominally ΔE00 {result.best.delta_e_2000:.1f}. {result.best.words}. "
                f"{sentence(f'{result.best.data} data')}"
            )


def _card(result: RouteResult, *, cloth: str, asked: str) -> Markup:
    """Target and print touching, on the cloth, with the band of what may come out."""
    best = result.best
    if best is None:
        return on_cloth(pads([(asked, "target")], label=f"target {asked}"), cloth=cloth)
    return print_on_cloth(best.hex, best.interval, asked=asked, cloth=cloth, said=result.verdict)
