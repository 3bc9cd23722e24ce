"""Show a client: the artwork as it would print on a chosen garment, by each route."""

from __future__ import annotations

import hashlib

import streamlit as st

from inksim.appearance import Viewing
from inksim.preview_files import ROUTE_TITLES
from inksim.shop import Shop
from inksim.showing import Ready, routes_shown
from inksim.ui import kept, pickers
from inksim.ui.drawn import Drawn
from inksim.ui.frame import with_shop
from inksim.ui.kept import Upload
from inksim.ui.look import pair, picture, verdict

UPLOADED = "uploaded artwork"
KINDS = ["png", "tif", "tiff", "webp", "jpg", "jpeg", "gif", "bmp"]


@with_shop
def page(shop: Shop) -> None:
    """The page."""
    st.title("Show a client")
    upload = _artwork()
    left, right = st.columns([3, 2])
    with right:
        viewing = pickers.light()
    with left:
        garment = pickers.garment(shop, default="Coal Black", viewing=viewing)
    art = kept.ready(upload)
    for note in art.notes:
        st.warning(note)
    routes = [
        kept.drawn(art, shop=shop, garment=garment, route=route, viewing=viewing)
        for route in routes_shown(shop.garment(garment))
    ]
    _answer(routes, garment=garment, tolerance=shop.habits.tolerance_de00)
    _pictures(art, routes, shop=shop, garment=garment, viewing=viewing)


def _artwork() -> Upload:
    """The artwork uploaded in this session, or the demo's."""
    with st.expander("Use another artwork"):
        file = st.file_uploader(
            "Artwork: PNG with transparency, at print size", type=KINDS, key="artwork-file"
        )
        if file is not None:
            data = file.getvalue()
            st.session_state[UPLOADED] = Upload(file.name, data, hashlib.sha256(data).hexdigest())
        if UPLOADED in st.session_state and st.button("Back to the demo artwork"):
            del st.session_state[UPLOADED]
            st.rerun()
    upload: Upload = st.session_state.get(UPLOADED) or kept.demo_artwork()
    return upload


def _answer(routes: list[Drawn], *, garment: str, tolerance: float) -> None:
    """Say the easiest route that brings every color home, or how near the best comes."""
    counts = [
        (
            sum(p is not None and (p.delta_e_2000 or 0.0) <= tolerance for p in route.predictions),
            sum(p is not None for p in route.predictions),
        )
        for route in routes
    ]
    for route, (landed, printed) in zip(routes, counts, strict=True):
        if printed and landed == printed:
            verdict(
                f"On {garment}, print it {ROUTE_TITLES[route.route].lower()}.",
                f"All {printed} colors come within ΔE00 {tolerance:g} of the artwork.",
            )
            return
    best = max(range(len(routes)), key=lambda at: counts[at][0])
    landed, printed = counts[best]
    verdict(
        f"On {garment}, no route brings every color home.",
        f"{ROUTE_TITLES[routes[best].route]} comes nearest: {landed} of {printed} colors within "
        f"ΔE00 {tolerance:g} of the artwork.",
    )


def _pictures(
    art: Ready, routes: list[Drawn], *, shop: Shop, garment: str, viewing: Viewing
) -> None:
    """The artwork and each route, side by side."""
    columns = st.columns(len(routes) + 1)
    with columns[0]:
        st.subheader("The artwork as drawn")
        picture(
            kept.artwork_png(art, shop=shop, garment=garment, viewing=viewing),
            alt=f"The artwork {art.name} as drawn, on the color of {garment}",
        )
        st.caption(
            f"{art.name}, {art.width_mm / 25.4:.1f} × {art.height_mm / 25.4:.1f} in "
            f"({art.width_mm:.0f} × {art.height_mm:.0f} mm)"
        )
    for column, route in zip(columns[1:], routes, strict=True):
        with column:
            st.subheader(ROUTE_TITLES[route.route])
            picture(route.png, alt=f"{art.name} on {garment}, {ROUTE_TITLES[route.route].lower()}")
            _swatches(route)


def _swatches(route: Drawn) -> None:
    """Each color: asked for, predicted, and how far."""
    rows = []
    for assignment, prediction in zip(route.assignments, route.predictions, strict=True):
        if prediction is not None:
            words = f"{prediction.build.colour.ink.name}, ΔE00 {prediction.delta_e_2000:.1f}"
            rows.append(pair(assignment.flat.hex, prediction.hex, words))
    st.html("".join(rows))
