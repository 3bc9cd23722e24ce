"""Show a client: the numbers of each color, for those who want them."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from inksim.colour import Viewing
from inksim.common import ROUTE_SHORT
from inksim.job import Plan
from inksim.preview import against_drawn
from inksim.printing import honest_words
from inksim.stock import Provenance
from inksim.ui import pickers
from inksim.ui.style import band, note, pads, table


def numbers(plans: Sequence[Plan], viewing: Viewing, *, data: Provenance, calibrated: bool) -> None:
    """Each color as decided: asked for, predicted, and how far it may stray."""
    st.header("Color by color")
    table(
        ("Artwork, print", "May come out as", "Ink", "Printed", "Verdict", "Expect",
         "Chance to land", "Against the artwork", "Data"),
        [_colour_row(plan, viewing) for plan in plans],
        label="Color by color",
    )  # fmt: skip
    note(
        f"Compared under {viewing}, ΔE00. The band shows 9 prints in 10: nearest, middle and "
        f"furthest from the artwork. {honest_words(data, calibrated=calibrated)}"
    )
    pickers.light_note(viewing)


def _colour_row(plan: Plan, viewing: Viewing) -> list[str]:
    prediction, ink = plan.prediction, plan.build.ink
    asked, _ = plan.colour.target.hex(viewing)
    where = ROUTE_SHORT[plan.build.lies]
    printed = f"{where}, as {plan.merged}" if plan.merged else where
    return [
        pads(
            [(asked, ""), (prediction.hex, "")],
            label=f"asked for {asked}, predicted {prediction.hex}",
        ),
        band(plan.interval.hexes),
        ink.name if ink else "none",
        printed,
        plan.verdict.mark if ink else "the cloth itself",
        plan.verdict.expected,
        plan.verdict.percent if ink else "–",
        against_drawn(plan),
        prediction.data,
    ]
