"""Four ways to look at a flat print: side by side, wiped over, on the shirt, at life size."""

from __future__ import annotations

import streamlit as st

from inksim.colour import Viewing
from inksim.common import ROUTE_TITLES, ROUTE_WORDS
from inksim.decision import SHAPES
from inksim.preview import (
    CLOSE_PX,
    ArtworkResult,
    PreparedArtwork,
    at_life_size,
    busiest_place,
    png_bytes,
    print_on,
)
from inksim.printing import Route
from inksim.shop import Shop
from inksim.ui import cache
from inksim.ui.parts import route_views
from inksim.ui.style import note

VIEWS = ("Side by side", "Wipe", "On the shirt", "Cloth, pixel for pixel")
CROP_PX = (CLOSE_PX, CLOSE_PX)


def view(
    chosen: str, art: PreparedArtwork, found: ArtworkResult, *, shop: Shop, viewing: Viewing
) -> None:
    """The chosen view; the others cost nothing."""
    drawn = {each.route: each for each in found.routes}
    best = found.best.route

    def words(what: Route | None) -> str:
        way = "as drawn" if what is None else ROUTE_WORDS[what]
        return f"{art.name} on {found.garment.name}, {way}"

    def pngs(what: list[Route | None], *, large: bool = True) -> list[bytes]:
        return cache.pictures(art, found, what=what, shop=shop, viewing=viewing, large=large)

    if chosen == VIEWS[1]:
        route_views.wiped(list(drawn), best, pngs)
    elif chosen == VIEWS[2]:
        route_views.shirt_view(
            art,
            list(drawn),
            best,
            lambda route: (print_on(art.small, drawn[route].look), drawn[route].look),
            garment=found.garment.name,
        )
    elif chosen == VIEWS[3]:
        _life_size(art, found)
    else:
        artwork, *prints = pngs([None, *drawn], large=False)
        route_views.side_by_side(
            artwork,
            dict(zip(drawn, prints, strict=True)),
            words=words,
            verdicts={
                route: (
                    f"all together: {each.verdict.word}, {each.verdict.percent}",
                    SHAPES[each.verdict.word],
                )
                for route, each in drawn.items()
                if each.verdict is not None
            },
            why_not=found.why_not,
        )


def _life_size(art: PreparedArtwork, found: ArtworkResult) -> None:
    with st.container(horizontal=True):
        center = route_views.choose_place(busiest_place(art), key="crop", width=320)
    crops = {
        ROUTE_TITLES[route.route]: at_life_size(art, route.look, center=center, size_px=CROP_PX)
        for route in found.routes
    }
    route_views.windows(
        {title: png_bytes(crop) for title, crop in crops.items()},
        words=lambda title: (
            f"{art.name} on {found.garment.name}, {title.lower()}, a window of it pixel for pixel"
        ),
    )
    note(
        "One pixel of the artwork is one pixel here: each window is "
        f"{route_views.size_words(CROP_PX[0], art.dpi)} of the shirt. Fibers that stand proud "
        "take little ink."
    )
