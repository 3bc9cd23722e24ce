"""What a fit of drawdowns shows: the worst film first, and why it is or is not good."""

from __future__ import annotations

import streamlit as st

from inksim.common import counted, sentence
from inksim.drawdowns import Characterisation, Drawdowns, panels_of
from inksim.ui.parts.films import films
from inksim.ui.style import note, plain, points, table

FIRST = 12  # films shown at once, the worst; the others are one tap deeper


def show_fit(sheet: Drawdowns, fitted: Characterisation) -> None:
    """How far off the fit is, each film's picture with the worst first, warnings, numbers."""
    panels = panels_of(fitted, sheet.inks)
    st.markdown(
        plain(
            f"{', '.join(sheet.inks)}: the fit lies {fitted.mean_delta_e:.2f} ΔE00 from the "
            f"{len(fitted.drawdowns)} drawdowns on average, at worst {panels[0].apart():.2f} from "
            f"{panels[0].title}."
        )
    )
    check = fitted.check
    if check and not check.is_good:
        st.error(plain(check.verdict))
    note("The worst film first. Reflectance in %, each film on a scale of its own.")
    films(panels[:FIRST])
    if panels[FIRST:]:
        with st.expander(f"The other {counted(len(panels) - FIRST, 'film')}"):
            films(panels[FIRST:])
    if check:
        points(
            [
                check.words,
                *check.causes,
                *(f"{k} is not left out: {v}." for k, v in check.kept.items()),
            ]
        )
    points([*sheet.warnings, *fitted.warnings])
    for said in sheet.notes:
        note(sentence(said))
    unit = "µm" if fitted.unit == "µm" else "shared films"
    rows = [
        [
            each.name,
            f"{each.delta_e:.2f}",
            "not known" if each.contrast_error is None else f"{each.contrast_error:+.3f}",
            f"{each.thickness:.1f} {unit}",
        ]
        for each in sorted(fitted.drawdowns, key=lambda each: -each.delta_e)
    ]
    head = ("Drawdown", "ΔE00", "Contrast ratio off by", "Film")
    with st.expander("The same in numbers"):
        table(head, rows, label="Drawdowns, measured against fitted")
