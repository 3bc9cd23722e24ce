"""The plates of a flat print, a window of each pixel for pixel, the base with its choke."""

from __future__ import annotations

import streamlit as st

from inksim.common import MM_PER_INCH
from inksim.preview import (
    ArtworkResult,
    PreparedArtwork,
    busiest_place,
    plates_in_window,
    png_bytes,
)
from inksim.printing import Route
from inksim.shop import Shop
from inksim.ui.pages.client_views import CROP_PX
from inksim.ui.style import note, picture, plain


def show_plates(
    art: PreparedArtwork, found: ArtworkResult, *, shop: Shop, route: Route, choke_mm: float
) -> None:
    """A window of every film of a route, base first."""
    start = busiest_place(art, by_the_cloth=True)
    with st.container(horizontal=True):
        across = st.slider("Across, %", 0, 100, round(100 * start[0]), key="plate-x", width=260)
        down = st.slider("Down, %", 0, 100, round(100 * start[1]), key="plate-y", width=260)
        trap_mm = st.slider("Trap of the colors, mm", 0.0, 1.0, 0.0, 0.05, key="trap", width=260)
    windows = plates_in_window(
        art,
        found.assignments,
        shop=shop,
        garment=found.garment,
        route=route,
        center=(across / 100, down / 100),
        size_px=CROP_PX,
        choke_mm=choke_mm,
        trap_mm=trap_mm,
    )
    with st.container(horizontal=True):
        for window in windows:
            with st.container(width="content"):
                st.header(plain(window.ink))
                base = ", gray where a color has no base under it" if window.is_base else ""
                picture(
                    png_bytes(window.film),
                    alt=f"Film of {window.ink}, black where it prints{base}",
                    life_size=True,
                )
    size_mm = CROP_PX[0] / art.dpi * MM_PER_INCH
    note(
        "Black prints. On the base's film, gray is where a color has no base under it: the choke "
        f"of {choke_mm:g} mm ({choke_mm / MM_PER_INCH:.3f} in). Each window is "
        f"{size_mm / MM_PER_INCH:.2f} in ({size_mm:.0f} mm) of the print."
    )
