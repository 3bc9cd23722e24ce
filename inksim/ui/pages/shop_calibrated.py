"""What a calibration tells of the press and of the lots, as pictures and in numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import streamlit as st

from inksim.calibration import (
    NOT_SHOWN,
    Calibration,
    LotResult,
    interval_words,
    lot_words,
    plus_minus,
    told_strengths,
)
from inksim.common import visible
from inksim.printing import NORMAL_HIGH
from inksim.stock import MEANINGS
from inksim.ui.charts import TOLD, frame, interval_chart
from inksim.ui.style import note, table

STRENGTH = {"K": "absorption", "S": "scattering"}
SHOWN = {True: "● read", False: f"◇ {NOT_SHOWN}"}
SHARES = "Standard deviations from the starting value"
HOW = "Light bar: 9 in 10 before these prints; dark bar: 9 in 10 after; the mark: most likely."


def parameters(made: Calibration) -> None:
    """Each parameter with its interval, before and after, and whether the prints tell it."""
    told, untold = TOLD
    rows = []
    for each in made.parameters:
        value, sd = each.before
        unit = MEANINGS[each.name].unit
        rows.append(
            {
                "Row": MEANINGS[each.name].words,
                "Said": f"{interval_words(each)} {unit}".strip()
                + f", was {value:.3g}; {told if each.told else untold}",
                "Before low": -NORMAL_HIGH,
                "Before high": NORMAL_HIGH,
                "Low": (each.low - value) / sd,
                "High": (each.high - value) / sd,
                "Value": (each.after.value - value) / sd,
                "Told": told if each.told else untold,
            }
        )
    note(HOW)
    st.altair_chart(
        interval_chart(frame(rows), title=SHARES, middle=0.0), width="stretch", theme=None,
        alt="Each parameter of the press with its interval: " + _said(rows),
    )  # fmt: skip
    with st.expander("The same in numbers"):
        _numbers(made)


def _numbers(made: Calibration) -> None:
    rows = [
        [
            MEANINGS[each.name].words,
            plus_minus(each.before),
            plus_minus(each.after),
            f"{interval_words(each)} {MEANINGS[each.name].unit}".strip(),
            SHOWN[each.told],
        ]
        for each in made.parameters
    ]
    rows += [
        [f"{STRENGTH[field]} of {ink}, times its entry's", "1", plus_minus(value), "", SHOWN[True]]
        for ink, field, value in told_strengths(made.press)
    ]
    head = ("Parameter", "Before", "After, ± 1 sd", "9 in 10 between", "Do the prints show it?")
    table(head, rows, label="Parameters, before and after")


def lots(made: Calibration) -> None:
    """Strength of each lot about its own ink's or cloth's, and what it moves a print by."""
    if not made.lots:
        return
    st.header("Lots")
    told, untold = TOLD
    rows = [
        {
            "Row": _called(each),
            "Said": lot_words(each),
            "Before low": each.low_before,
            "Before high": each.high_before,
            "Low": each.low,
            "High": each.high,
            "Value": each.strength,
            "Told": told if each.told else untold,
        }
        for each in made.lots
    ]
    note(f"{HOW} ▶ marks the newest lot. Lots are told, and not kept with the press.")
    title = "Strength, times its ink's or cloth's own"
    st.altair_chart(
        interval_chart(frame(rows), title=title, middle=1.0), width="stretch", theme=None,
        alt="Strength of each lot with its interval: " + _said(rows),
    )  # fmt: skip


def _said(rows: Sequence[Mapping[str, Any]]) -> str:
    return visible("; ".join(f"{row['Row']}: {row['Said']}" for row in rows))


def _called(each: LotResult) -> str:
    return f"{'▶ ' if each.newest else ''}{each.of}, lot {each.lot}" + (
        " (newest)" if each.newest else ""
    )
