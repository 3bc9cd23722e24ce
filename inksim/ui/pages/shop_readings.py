"""Readings of prints as the page is given them: files or pasted lines, and how sure they are."""

from __future__ import annotations

import streamlit as st

from inksim.calibration import READ_BY
from inksim.readings import format_names, reading_suffixes


def given_readings() -> list[tuple[str, bytes]]:
    """Files and pasted lines, by name."""
    left, right = st.columns(2)
    files = left.file_uploader(
        f"Readings: {format_names()}",
        type=reading_suffixes(),
        accept_multiple_files=True,
        key="calibrate-files",
    )
    pasted = right.text_area(
        "Or paste them, with the line of column names",
        placeholder="name,garment,ink,route,L,a,b",
        key="calibrate-pasted",
    )
    given = [(file.name, file.getvalue()) for file in files or ()]
    return [*given, ("pasted.csv", pasted.encode())] if pasted.strip() else given


def sureness() -> tuple[str, float | None]:
    """What the readings were read with, and how far off that is."""
    with st.container(horizontal=True):
        read_by = st.selectbox("Read with", list(READ_BY), key="calibrate-read-by", width=220)
        sd_de00 = st.number_input(
            "Off by, on average (ΔE00)",
            min_value=0.05,
            max_value=30.0,
            value=None,
            placeholder=f"{READ_BY[read_by].of_mean(1):.1f}",
            key="calibrate-sd",
            width=220,
            help="Of rows that have no column read_by or sd_de00. Less sure readings count less.",
        )
    return read_by, sd_de00
