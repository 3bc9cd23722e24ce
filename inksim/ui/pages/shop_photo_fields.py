"""What is asked of a photo: each a field, which what is marked on the picture is written into."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Hashable, Mapping
from typing import NamedTuple, TypeVar

import streamlit as st

from inksim.common import InputError, file_name, temporary_folder
from inksim.photo import (
    Chart,
    Point,
    Region,
    Row,
    chart_of,
    outline_of,
    point_of,
    sheet_places,
    wanted_of,
)
from inksim.readings import format_names, reading_suffixes
from inksim.ui.pages.shop_colour import optional_number
from inksim.ui.parts.marked_picture import Share
from inksim.ui.style import plain

FROM_FILE = "file"
CHARTS: Mapping[str, str] = {
    "iso17321": "the 24 patches of ISO 17321-1",
    "gray": "one gray card, 18 %",
    "white": "one white card",
    FROM_FILE: "another chart, from a file of its readings",
}
CORNERS = [f"photo corner {at}" for at in range(4)]
REGIONS, SHEET, NAME, SIZE = "photo regions", "photo sheet", "photo name", "photo size"
TOOLS: Mapping[str, tuple[str, ...]] = {
    "An area to read": ("one corner of what to read", "its opposite corner"),
    "A row of patches": ("the middle of its first patch", "the middle of its last patch"),
    "The chart's corners": (
        "the outer corner of the chart's first patch",
        "the outer corner at the end of the first row",
        "the outer corner of the last patch",
        "the outer corner that is left",
    ),
    "The sheet below": ("one corner of a bare place of the sheet", "its opposite corner"),
}
AREA, ROW, CHART, PLACE_OF_SHEET = TOOLS
T = TypeVar("T")


class Fault(NamedTuple):
    """What is wrong, and the field it is about: corners, regions or surround."""

    words: str
    field: str


class Asked(NamedTuple):
    """What to read, and how: as `read_photo` takes it."""

    corners: list[Point] | None
    regions: list[Region]
    rows: list[Row]
    surround: list[Region]


def ask_chart() -> tuple[Chart | None, Hashable]:
    """The chart that lies in the picture, and what it is known by; its fault at its field."""
    word = st.selectbox(
        "Chart in the picture", CHARTS, key="photo chart", format_func=CHARTS.__getitem__
    )
    try:
        if word != FROM_FILE:
            return chart_of(word), word
        left, right = st.columns(2)
        file = left.file_uploader(
            f"Readings of its patches ({format_names()})", type=reading_suffixes(),
            key="photo patches",
        )  # fmt: skip
        typed = right.text_input("Rows of patches (empty: as the file says)", key="photo rows")
        rows = optional_number(typed, what="'Rows of patches'")
        if rows is not None and rows not in range(1, 101):
            raise InputError(f"'Rows of patches' is '{typed}'; give a whole number, 1 to 100.")
        if file is None:
            return None, None
        with temporary_folder() as folder:
            path = folder / file_name(file.name)
            path.write_bytes(file.getvalue())
            made = chart_of(path, rows=None if rows is None else int(rows))
        return made, (file.name, hashlib.sha256(file.getvalue()).hexdigest(), rows)
    except InputError as error:
        st.error(plain(str(error)))
        return None, None


def ask_tool() -> str:
    """What is marked on the picture next, and the name of what is read there."""
    left, right = st.columns(2)
    tool = left.radio("Mark on the picture", TOOLS, horizontal=True, key="photo tool")
    right.text_input("Call what you mark next (the patches of a row: a, b, c)", key=NAME)
    return str(tool)


def ask_places() -> Mapping[str, st.delta_generator.DeltaGenerator]:
    """The fields of all that is marked; gives the place below each, for its fault."""
    below = {}
    st.text_area(
        "What to read, one a line: name=x,y,width,height, or name=x,y x,y x,y of an outline, or "
        "names of a row=x,y x,y",
        key=REGIONS, placeholder="sage=80,295,150,90",
    )  # fmt: skip
    below["regions"] = st.container()
    typed = any(st.session_state.get(key) for key in CORNERS)
    with st.expander("Corners of the chart, and the sheet, in pixels", expanded=typed):
        for at, column in enumerate(st.columns(4)):
            column.text_input(f"Corner {at + 1}: x,y", key=CORNERS[at], placeholder="found")
        if typed:
            st.button("Find the chart by itself", on_click=_forget, args=(CORNERS,))
        st.text_area(
            "The one sheet that lies below all, at three places and more, one a line: "
            "x,y,width,height",
            key=SHEET,
        )
    below["corners"] = below["surround"] = st.container()
    return below


def asked() -> Asked | Fault:
    """What the fields say, or the first that says nothing that can be read."""
    given = st.session_state

    def read(field: str, parse: Callable[[], T]) -> T:
        try:
            return parse()
        except InputError as error:
            raise _Unread(str(error), field) from None

    try:
        texts = [str(given.get(key, "")).strip() for key in CORNERS]
        if 0 < sum(map(bool, texts)) < 4:
            return Fault(
                "give all four corners of the chart, or none: then it is found.", "corners"
            )
        corners = read("corners", lambda: [point_of(each) for each in texts if each] or None)
        regions, rows = read("regions", lambda: wanted_of(str(given.get(REGIONS, ""))))
        lines = [each.strip() for each in str(given.get(SHEET, "")).splitlines() if each.strip()]
        surround = read("surround", lambda: sheet_places([outline_of(each) for each in lines]))
    except _Unread as unread:
        return Fault(str(unread), unread.field)
    return Asked(corners, regions, rows, surround)


class _Unread(InputError):
    def __init__(self, words: str, field: str) -> None:
        self.field = field
        super().__init__(words)


def forget_marks() -> None:
    """Empty the fields of what is marked: it belongs to another picture."""
    _forget([*CORNERS, REGIONS, SHEET])


def _forget(keys: list[str]) -> None:
    for key in keys:
        st.session_state[key] = ""


def marked(tool: str, shares: list[Share]) -> None:
    """Write what was marked on the picture into its field."""
    given = st.session_state
    wide, high = given[SIZE]
    points = [(round(x * wide), round(y * high)) for x, y in shares]
    words = " ".join(f"{x},{y}" for x, y in points)
    if tool == CHART:
        for key, word in zip(CORNERS, words.split(), strict=True):
            given[key] = word
        return
    if tool != ROW:
        (left, right), (top, bottom) = (sorted(axis) for axis in zip(*points, strict=True))
        words = f"{left},{top},{max(right - left, 1)},{max(bottom - top, 1)}"
    if tool == PLACE_OF_SHEET:
        _append(SHEET, words)
        return
    name = str(given.get(NAME, "")).strip() or _free_name(row=tool == ROW)
    _append(REGIONS, f"{name}={words}")
    given[NAME] = ""


def _append(key: str, line: str) -> None:
    st.session_state[key] = "\n".join(filter(None, [st.session_state.get(key, "").rstrip(), line]))


def _free_name(*, row: bool) -> str:
    """A name for an area, two for the patches of a row that nobody named."""
    there = str(st.session_state.get(REGIONS, ""))
    free = (f"swatch {at}" for at in range(1, 1000) if f"swatch {at}" not in there)
    return f"{next(free)}, {next(free)}" if row else next(free)
