"""Four ways to look at a print: side by side, wiped over, on the shirt, at life size."""

from __future__ import annotations

from collections.abc import Mapping

import streamlit as st

from inksim.colour import Viewing
from inksim.common import MM_PER_INCH, ROUTE_TITLES, ROUTE_WORDS, Uint8Array
from inksim.picture import Look, on_shirt
from inksim.preview import (
    ArtworkResult,
    PreparedArtwork,
    at_life_size,
    busiest_place,
    png_bytes,
    print_on,
)
from inksim.printing import ROUTES, Route
from inksim.shop import Shop
from inksim.ui import cache
from inksim.ui.parts.wipe import wipe
from inksim.ui.style import mark, note, picture

ARTWORK = "The artwork as drawn"
VIEWS = ("Side by side", "Wipe", "On the shirt", "Cloth, pixel for pixel")
CROP_PX = (352, 352)  # three side by side on a laptop, one on a phone


def choose_view() -> str:
    """Choose how to look at the print."""
    return str(
        st.segmented_control(
            "Look at it",
            VIEWS,
            default=VIEWS[0],
            required=True,
            key="view",
            bind="query-params",
            persist_state="session",
            wrap=True,
        )
    )


def view(
    chosen: str, art: PreparedArtwork, found: ArtworkResult, *, shop: Shop, viewing: Viewing
) -> None:
    """The chosen view; the others cost nothing."""
    if chosen == VIEWS[1]:
        _wiped(art, found, shop=shop, viewing=viewing)
    elif chosen == VIEWS[2]:
        _on_shirt(art, found)
    elif chosen == VIEWS[3]:
        _life_size(art, found)
    else:
        _side_by_side(art, found, shop=shop, viewing=viewing)


def _words(art: PreparedArtwork, found: ArtworkResult, what: Route | None) -> str:
    way = "as drawn" if what is None else ROUTE_WORDS[what]
    return f"{art.name} on {found.garment.name}, {way}"


def _side_by_side(
    art: PreparedArtwork, found: ArtworkResult, *, shop: Shop, viewing: Viewing
) -> None:
    with st.container(key="panels"):
        columns = st.columns(len(ROUTES) + 1)
    drawn = {each.route: each for each in found.routes}
    what: list[Route | None] = [None, *drawn]
    pngs = cache.pictures(art, found, what=what, shop=shop, viewing=viewing, large=False)
    shown = dict(zip(what, pngs, strict=True))
    with columns[0]:
        st.header(ARTWORK)
        picture(shown[None], alt=_words(art, found, None))
    for column, route in zip(columns[1:], ROUTES, strict=True):
        with column:
            st.header(ROUTE_TITLES[route])
            if route not in drawn:
                note(f"Not possible: {found.why_not[route]}.")
                continue
            picture(shown[route], alt=_words(art, found, route))
            count = f"{drawn[route].landed} of {len(drawn[route].colours)} colors land"
            st.html(mark(count, met=drawn[route].all_land))


def _wiped(art: PreparedArtwork, found: ArtworkResult, *, shop: Shop, viewing: Viewing) -> None:
    choices: dict[str, Route | None] = {ARTWORK: None}
    choices |= {ROUTE_TITLES[route.route]: route.route for route in found.routes}
    names = list(choices)
    best = names.index(ROUTE_TITLES[found.best.route])
    options, shown = st.columns([1, 3])
    with options:
        one = st.selectbox("Left", names, index=0, key="wipe-left", persist_state="session")
        two = st.selectbox("Right", names, index=best, key="wipe-right", persist_state="session")
        note("Drag across the picture, or move the slider under it with the arrow keys.")
    what = [choices[str(name)] for name in (one, two)]
    pngs = cache.pictures(art, found, what=what, shop=shop, viewing=viewing, large=True)
    with shown:
        wipe(pngs[0], pngs[1], left_words=str(one), right_words=str(two))


def _on_shirt(art: PreparedArtwork, found: ArtworkResult) -> None:
    ways = {
        ROUTE_TITLES[each.route]: (print_on(art.small, each.look), each.look)
        for each in found.routes
    }
    shirt_view(art, ways, best=ROUTE_TITLES[found.best.route], garment=found.garment.name)


def shirt_view(
    art: PreparedArtwork, ways: Mapping[str, tuple[Uint8Array, Look]], *, best: str, garment: str
) -> None:
    """A print on a drawn shirt, its width and place to choose; ways: picture and look by title."""
    options, shown = st.columns([1, 2])
    with options:
        names = list(ways)
        title = str(st.radio("Printed", names, index=names.index(best), key="shirt-route"))
        widest = min(480.0, 600.0 * art.width_px / art.height_px)
        width = st.slider(
            "Print width, in",
            min(4.0, round(widest / MM_PER_INCH, 1) - 0.25),
            round(widest / MM_PER_INCH, 1),
            min(round(art.width_mm / MM_PER_INCH, 1), round(widest / MM_PER_INCH, 1)),
            0.25,
            key="print-width",
        )
        top = st.slider("Below the collar, in", 0.0, 5.0, 1.5, 0.25, key="print-top")
        note(
            f"{width * MM_PER_INCH:.0f} mm wide, {top * MM_PER_INCH:.0f} mm below the collar. The "
            "shirt is a drawing with soft light: judge colors side by side."
        )
    drawn, look = ways[title]
    shirt = on_shirt(
        drawn,
        look=look,
        tile=art.tile,
        tile_px_per_mm=art.dpi / MM_PER_INCH,
        print_width_mm=width * MM_PER_INCH,
        print_top_mm=top * MM_PER_INCH,
        height_px=900,
    )
    with shown:
        words = f"{art.name} on {garment}, {title.lower()}, on a drawn shirt"
        picture(png_bytes(shirt), alt=words)


def _life_size(art: PreparedArtwork, found: ArtworkResult) -> None:
    start = busiest_place(art)
    with st.container(horizontal=True):
        across = st.slider("Across, %", 0, 100, round(100 * start[0]), key="crop-x", width=320)
        down = st.slider("Down, %", 0, 100, round(100 * start[1]), key="crop-y", width=320)
    with st.container(horizontal=True):
        for route in found.routes:
            crop = at_life_size(art, route.look, center=(across / 100, down / 100), size_px=CROP_PX)
            with st.container(width="content"):
                st.header(ROUTE_TITLES[route.route])
                picture(
                    png_bytes(crop),
                    alt=f"{_words(art, found, route.route)}, a window of it pixel for pixel",
                    life_size=True,
                )
    size_mm = CROP_PX[0] / art.dpi * MM_PER_INCH
    note(
        "One pixel of the artwork is one pixel here: each window is "
        f"{size_mm / MM_PER_INCH:.2f} in ({size_mm:.0f} mm) of the shirt. Fibers that stand proud "
        "take little ink."
    )
