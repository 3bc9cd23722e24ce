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
from inksim.ui.parts import route_views
from inksim.ui.style import note


def show_plates(
    art: PreparedArtwork, found: ArtworkResult, *, shop: Shop, route: Route, choke_mm: float
) -> None:
    """A window of every film of a route, base first."""
    start = busiest_place(art, by_the_cloth=True)
    with st.container(horizontal=True):
        center = route_views.choose_place(start, key="plate", width=260)
        trap_mm = st.slider("Trap of the colors, mm", 0.0, 1.0, 0.0, 0.05, key="trap", width=260)
    plates = plates_in_window(
        art,
        found.assignments,
        shop=shop,
        garment=found.garment,
        route=route,
        center=center,
        size_px=CROP_PX,
        choke_mm=choke_mm,
        trap_mm=trap_mm,
    )
    bases = {plate.ink for plate in plates if plate.is_base}
    route_views.windows(
        {plate.ink: png_bytes(plate.film) for plate in plates},
        words=lambda ink: (
            f"Film of {ink}, black where it prints"
            + (", gray where a color has no base under it" if ink in bases else "")
        ),
    )
    note(
        "Black prints. On the base's film, gray is where a color has no base under it: the choke "
        f"of {choke_mm:g} mm ({choke_mm / MM_PER_INCH:.3f} in). Each window is "
        f"{route_views.size_words(CROP_PX[0], art.dpi)} of the print."
    )
