"""A tonal artwork drawn by each route, as halftones of the inks that come nearest (level 11)."""

from __future__ import annotations

import numpy as np

from inksim.artwork import shrink_to
from inksim.common import ROUTE_TITLES
from inksim.picture import beyond_screen
from inksim.preview.tonal_preview import (
    picture_of,
    pressed_picture,
    print_tonal,
    reach_of,
    tonal_panel,
)
from inksim.preview.views import SHIRT_PX, share_beyond
from inksim.preview.write import PANEL_PX, PreviewRequest, PreviewResult, RouteDrawing, write_routes
from inksim.printing import Route
from inksim.separation import DEFAULT_LINES_PER_INCH, choose_inks, picture_colours, tonal_set

SHARE_PX = 1_000_000
"""Pixels from which the share of a tonal print beyond the screen is worked out."""


def write_tonal(order: PreviewRequest, *, notes: tuple[str, ...]) -> PreviewResult:
    """Write the pictures of a tonal artwork, all routes with the same inks.

    The inks are chosen over a white base, so that they are chosen for their own colors.
    """
    rgba, shop, garment, viewing = order.artwork.rgba, order.shop, order.garment, order.viewing
    colours = picture_colours(rgba, garment, viewing)
    order.progress("choosing inks")
    inks = choose_inks(
        colours,
        shop=shop,
        garment=garment,
        route="white-base",
        lines_per_inch=DEFAULT_LINES_PER_INCH,
        viewing=viewing,
    )
    named = ", ".join(ink.name for ink in inks)
    # Of a large picture a share of it is known well enough from every second or third pixel.
    every = max(1, int((order.artwork.width_px * order.artwork.height_px / SHARE_PX) ** 0.5))
    some = np.ascontiguousarray(rgba[::every, ::every])

    def draw(route: Route) -> RouteDrawing:
        tonal = tonal_set(shop, garment=garment, inks=inks, route=route)
        made = print_tonal(rgba, tonal, viewing=viewing, tolerance=shop.habits.tolerance_de00)
        misfit = order.views.misfit
        full = (
            pressed_picture(made, order.tile, viewing, dpi=order.dpi, misfit=misfit)
            if misfit
            else picture_of(made, rgba, order.tile)
        )
        return RouteDrawing(
            full=full,
            small=shrink_to(full, width=SHIRT_PX, height=SHIRT_PX),
            panel=tonal_panel(made, full, heading=ROUTE_TITLES[route], most_px=PANEL_PX),
            beyond=beyond_screen(rgba, made.look) if order.views.beyond_screen else None,
            share=share_beyond(beyond_screen(some, made.look), some[..., 3] > 0),
            data=made.data,
            reach=reach_of(made),
        )

    said = f"This is tonal artwork: it is printed as halftones of {named}."
    return write_routes(order, draw, notes=(*notes, said))
