"""Ways to look at prints of an artwork by several routes: side by side, wiped over, on a shirt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

import streamlit as st

from inksim.common import MM_PER_INCH, ROUTE_TITLES, InputError, Uint8Array
from inksim.job import JobArtworkEntry
from inksim.picture import Look, on_shirt
from inksim.preview import Key, PreparedArtwork, png_bytes
from inksim.printing import ROUTES, Route
from inksim.reports import lies_words
from inksim.ui.parts.wipe import wipe
from inksim.ui.style import note, picture, plain

ARTWORK = "The artwork as drawn"
K = TypeVar("K", bound=Key)


def choose_view(views: Sequence[str], *, key: str) -> str:
    """Choose how to look at the print; the address holds it."""
    return str(
        st.segmented_control(
            "Look at it",
            views,
            default=views[0],
            required=True,
            key=key,
            bind="query-params",
            persist_state="session",
            wrap=True,
        )
    )


def side_by_side(
    artwork: bytes,
    prints: Mapping[Route, bytes],
    *,
    words: Callable[[Route | None], str],
    told: Mapping[Route, tuple[str, str]],
    why_not: Mapping[Route, str],
    begun: bool = False,
) -> None:
    """The artwork and the PNG of every route with its mark: told, words and shape of it.

    words: what each picture shows, of None the artwork. begun: other routes are worked out still.
    """
    with st.container(key="panels-begun" if begun else "panels"):
        columns = st.columns(len(ROUTES) + 1)
    with columns[0]:
        st.header(ARTWORK)
        picture(artwork, alt=words(None))
    for column, route in zip(columns[1:], ROUTES, strict=True):
        with column:
            st.header(ROUTE_TITLES[route])
            if route in prints:
                picture(prints[route], alt=words(route), told=told.get(route))
            elif route in why_not:
                note(f"Not possible: {why_not[route]}.")
            else:
                note("Being worked out …")


def wiped(
    routes: Sequence[K],
    best: K,
    pngs: Callable[[list[K | None]], Sequence[bytes]],
    *,
    told: Mapping[K, tuple[str, str]],
) -> None:
    """Two pictures to wipe over, the artwork and the best route to begin with; pngs makes them."""
    choices: dict[str, K | None] = {ARTWORK: None}
    choices |= {ROUTE_TITLES[route]: route for route in routes}
    names = list(choices)
    start = names.index(ROUTE_TITLES[best])
    options, shown = st.columns([1, 3])
    with options:
        one = st.selectbox("Left", names, index=0, key="wipe-left", persist_state="session")
        two = st.selectbox("Right", names, index=start, key="wipe-right", persist_state="session")
        note("Drag across the picture, or move the slider under it with the arrow keys.")
    chosen = [choices[str(name)] for name in (one, two)]
    left, right = pngs(chosen)
    words = [
        f"{name}: {told[key][0]}" if key is not None and key in told else str(name)
        for name, key in zip((one, two), chosen, strict=True)
    ]
    with shown:
        wipe(left, right, left_words=words[0], right_words=words[1])


def shirt_view(
    art: PreparedArtwork,
    routes: Sequence[K],
    best: K,
    drawn: Callable[[K], tuple[Uint8Array, Look]],
    *,
    garment: str,
    lies: JobArtworkEntry,
    told: Mapping[K, tuple[str, str]],
) -> None:
    """A print on a drawn shirt, as wide and where its job says; drawn: its picture and look."""
    options, shown = st.columns([1, 2])
    with options:
        titles = {ROUTE_TITLES[route]: route for route in routes}
        start = list(titles).index(ROUTE_TITLES[best])
        title = str(st.radio("Printed", list(titles), index=start, key="shirt-route"))
        note(
            f"{art.width_mm:.0f} mm wide, {lies_words(lies.place, top_mm=lies.top_mm)}: change it "
            "under 'Size and place'. The shirt is a drawing with soft light: judge colors side by "
            "side."
        )
    print_rgb, look = drawn(titles[title])
    try:
        shirt = on_shirt(
            print_rgb,
            look=look,
            tile=art.tile,
            tile_px_per_mm=art.dpi / MM_PER_INCH,
            print_width_mm=art.width_mm,
            print_top_mm=lies.top_mm,
            height_px=900,
            place=lies.place,
        )
    except InputError as error:
        shown.warning(plain(str(error)))
        return
    with shown:
        words = f"{art.name} on {garment}, {title.lower()}, on a drawn shirt"
        picture(png_bytes(shirt), alt=words, told=told.get(titles[title]))


def choose_place(start: tuple[float, float], *, key: str, width: int) -> tuple[float, float]:
    """Choose the middle of a window, across and down, 0 to 1."""
    across = st.slider("Across, %", 0, 100, round(100 * start[0]), key=f"{key}-x", width=width)
    down = st.slider("Down, %", 0, 100, round(100 * start[1]), key=f"{key}-y", width=width)
    return across / 100, down / 100


def windows(
    pngs: Mapping[str, bytes],
    *,
    words: Callable[[str], str],
    told: Mapping[str, tuple[str, str]] | None = None,
) -> None:
    """PNG by title, one pixel of each to one of the screen; words: what each shows."""
    with st.container(horizontal=True):
        for title, png in pngs.items():
            with st.container(width="content"):
                st.header(plain(title))
                picture(png, alt=words(title), told=(told or {}).get(title), life_size=True)


def size_words(pixels: int, dpi: float, *, digits: int = 2) -> str:
    """'1.17 in (30 mm)', of pixels at a resolution."""
    return f"{pixels / dpi:.{digits}f} in ({pixels / dpi * MM_PER_INCH:.0f} mm)"
