"""The plates of a flat print, a window of each pixel for pixel, the bases with their choke."""

from __future__ import annotations

import streamlit as st

from inksim.common import MM_PER_INCH
from inksim.job import GarmentAnswer
from inksim.preview import (
    PreparedArtwork,
    busiest_place,
    job_colours,
    plates_in_window,
    png_bytes,
)
from inksim.shop import Shop
from inksim.ui.pages.client_views import CROP_PX
from inksim.ui.parts import route_views
from inksim.ui.style import note


def show_plates(art: PreparedArtwork, found: GarmentAnswer, *, shop: Shop, choke_mm: float) -> None:
    """A window of the film of every screen of the way chosen, in print order."""
    screens = found.best.screens if found.best else ()
    if not screens:
        note("Nothing is printed: there is no plate.")
        return
    start = busiest_place(art, by_the_cloth=True)
    with st.container(horizontal=True):
        centre = route_views.choose_place(start, key="plate", width=260)
        trap_mm = st.slider("Trap of the colors, mm", 0.0, 1.0, 0.0, 0.05, key="trap", width=260)
    plates = plates_in_window(
        art,
        screens,
        job_colours(found.job, art.flats),
        garment=found.garment,
        shop=shop,
        centre=centre,
        size_px=CROP_PX,
        choke_mm=choke_mm,
        trap_mm=trap_mm,
    )
    bases = {plate.title for plate in plates if plate.is_base}
    route_views.windows(
        {plate.title: png_bytes(plate.film) for plate in plates},
        words=lambda title: (
            f"Film of {title}, black where it prints"
            + (", gray where a color has no base under it" if title in bases else "")
        ),
    )
    note(
        "Black prints. On a base's film, gray is where a color that goes over it has no base under "
        f"it: the choke of {choke_mm:g} mm ({choke_mm / MM_PER_INCH:.3f} in). Each window is "
        f"{route_views.size_words(CROP_PX[0], art.dpi)} of the print."
    )
