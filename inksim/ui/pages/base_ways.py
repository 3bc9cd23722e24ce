"""Pareto front of ways to print a design: cost against chance, and a table."""

from __future__ import annotations

from typing import Any

import streamlit as st

from inksim.common import counted, counted_routes, visible
from inksim.decision import whole_percent
from inksim.job import GarmentAnswer, JobAnswer
from inksim.reports import cost_axis, headline
from inksim.ui.charts import cost_chart, frame


def show_ways(answer: JobAnswer, found: GarmentAnswer) -> None:
    """Chart of cost against chance, and a table of the ways."""
    rows = _rows(answer, found)
    count = len(found.alternatives) - 1
    if not count:
        return
    with st.expander(f"{counted(count, 'other way')}: cost against chance"):
        _drawn(rows, found)


def _drawn(rows: Any, found: GarmentAnswer) -> None:
    priced = bool(found.alternatives[0].bill.items)
    unit = f"{found.alternatives[0].bill.currency} a print" if priced else "work of a print"
    st.altair_chart(
        cost_chart(rows, unit=unit), width="stretch", theme=None,
        alt=visible(
            "Cost of a print against the chance that all colors land, one point for each way; "
            f"proposed: {headline(found)}"
        ),
    )  # fmt: skip
    _numbers(rows, unit)


def _numbers(rows: Any, unit: str) -> None:
    st.dataframe(
        rows.style.format({"Work": "{:.1f}", "Cost": "{:.2f}", "Dry film": "{:.1f}"}),
        hide_index=True,
        column_config={
            "Chance": st.column_config.ProgressColumn(
                "Chance all land, %", format="%.0f", min_value=0, max_value=100, color="#3d3d3d"
            ),
            "Way": st.column_config.TextColumn(width=130),
            "Cost": st.column_config.NumberColumn(unit),
            "Dry film": st.column_config.NumberColumn("Dry film, g/m²"),
        },
        alt="Ways to print the design; click a head to sort",
    )


def _rows(answer: JobAnswer, found: GarmentAnswer) -> Any:
    return frame(
        [
            {
                "Way": f"{at + 1}{' ◀ proposed' if at == found.chosen else ''}",
                "Verdict": way.verdict.mark,
                "Chance": float(whole_percent(way.verdict.chance)),
                "Work": way.way.work,
                "Cost": cost_axis(answer, way),
                "Dry film": way.film_g_m2,
                "Screens": way.way.screens,
                "Runs": way.way.runs,
                "Stations": way.stations,
                "Bases": counted_routes([plan.build.lies for plan in way.plans]),
                "Nominal": f"{way.nominal} of {len(way.plans)}",
                "Data": way.data,
                "Merged": ", ".join(p.colour.name for p in way.plans if p.merged),
                "Best at": ", ".join(way.marks),
            }
            for at, way in enumerate(found.alternatives)
        ]
    )
