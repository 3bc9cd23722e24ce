"""Draw a route at the artwork's full size, flat or tonal, with its panel for the contact sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from inksim.artwork import Assignment, Flats, laid_on_ground, reduce_light, shrink_to
from inksim.colour import rgb8_from_hex
from inksim.common import ROUTE_TITLES, BoolArray, Uint8Array, sentence
from inksim.decision import Verdict
from inksim.picture import (
    SheetPanel,
    Swatch,
    beyond_screen,
    recolour,
    reduce_labels,
    reduce_tile,
    reduction_factor,
    render_flat,
)
from inksim.preview.flat_routes import RouteAnswer, usual_route
from inksim.preview.off_register import move_words, pressed_labels, pressed_look
from inksim.preview.preview_request import PrintRequest
from inksim.preview.tonal_print import (
    TonalPrint,
    TonalReach,
    base_words,
    draw_tonal,
    ink_words,
    print_tonal,
    reach_words,
    tonal_inks,
)
from inksim.preview.views import SHIRT_PX, Views, share_beyond
from inksim.printing import Prediction, Route
from inksim.separation import tonal_set
from inksim.stock import Provenance, least_sure

PANEL_PX = 620
SHARE_PX = 1_000_000
"""Pixels from which the share of a tonal print beyond the screen is worked out."""


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteDrawing:
    """One route, drawn.

    full: at the artwork's full size. small: reduced, to lie on a shirt. beyond: where (H, W) a
    screen cannot show it, or None for no map of it; share: of the print. data: the least sure of
    its numbers. verdict: on all its colors. note: what is to be said of this route by itself.
    """

    full: Uint8Array
    small: Uint8Array
    panel: SheetPanel
    beyond: BoolArray | None
    share: float
    data: Provenance
    predictions: tuple[Prediction | None, ...] = ()
    verdict: Verdict | None = None
    reach: TonalReach | None = None
    note: str = ""


def flat_drawings(
    order: PrintRequest, views: Views, flats: Flats, assignments: tuple[Assignment, ...]
) -> Callable[[Route], RouteDrawing]:
    """How to draw each route of a flat artwork as it is usually printed, its plates as they lie."""
    tile, misfit = order.tile, views.misfit
    # What covers a reduced pixel is, in register, the same for every route: worked out once.
    factor = even_factor(flats.labels.shape, tile, max_px=PANEL_PX)
    coverage = reduce_labels(flats.labels, factor)
    weave = reduce_tile(tile, factor, coverage.shape)

    def draw(route: Route) -> RouteDrawing:
        answer = usual_route(
            assignments,
            shop=order.shop,
            garment=order.garment,
            route=route,
            viewing=order.viewing,
        )
        labels, look, covers, moved = flats.labels, answer.look, coverage, ""
        inside = look.in_gamut
        share = sum(
            flat.area_share for at, flat in enumerate(flats.colours, start=1) if not inside[at]
        )
        if misfit:
            lying = pressed_labels(
                labels,
                assignments,
                base=None
                if route == "straight"
                else order.shop.base_ink(route, garment=order.garment),
                px_per_mm=order.px_per_mm,
                misfit=misfit,
            )
            look = pressed_look(
                lying, shop=order.shop, garment=order.garment, route=route, viewing=order.viewing
            )
            labels, covers = lying.labels, reduce_labels(lying.labels, factor)
            moved = move_words(lying, px_per_mm=order.px_per_mm)
        small = recolour(covers, weave, look)
        return RouteDrawing(
            full=render_flat(labels, look, tile),
            small=small,
            panel=flat_panel(answer, small, assignments),
            beyond=~inside[flats.labels] if views.beyond_screen else None,
            share=share,
            data=least_sure(order.garment.data, *(c.prediction.data for c in answer.colours)),
            predictions=answer.predictions,
            verdict=answer.verdict,
            note=moved,
        )

    return draw


def tonal_drawings(
    order: PrintRequest, views: Views
) -> tuple[Callable[[Route], RouteDrawing], str]:
    """How to draw each route of a tonal artwork, and what is to be said of them all."""
    rgba, shop, garment, viewing = order.artwork.rgba, order.shop, order.garment, order.viewing
    order.progress("choosing inks")
    inks = tonal_inks(rgba, shop=shop, garment=garment, viewing=viewing)
    # Of a large picture a share of it is known well enough from every second or third pixel.
    every = max(1, int((order.artwork.width_px * order.artwork.height_px / SHARE_PX) ** 0.5))
    some = np.ascontiguousarray(rgba[::every, ::every])

    def draw(route: Route) -> RouteDrawing:
        tonal = tonal_set(shop, garment=garment, inks=inks, route=route)
        made = print_tonal(rgba, tonal, viewing=viewing, tolerance=shop.habits.tolerance_de00)
        full = draw_tonal(
            made,
            rgba,
            order.tile,
            viewing=viewing,
            px_per_mm=order.px_per_mm,
            misfit=views.misfit,
        )
        return RouteDrawing(
            full=full,
            small=shrink_to(full, width=SHIRT_PX, height=SHIRT_PX),
            panel=tonal_panel(made, full),
            beyond=beyond_screen(rgba, made.look) if views.beyond_screen else None,
            share=share_beyond(beyond_screen(some, made.look), some[..., 3] > 0),
            data=made.data,
            reach=made.reach,
        )

    named = ", ".join(ink.name for ink in inks)
    return draw, f"This is tonal artwork: it is printed as halftones of {named}."


def even_factor(shape: tuple[int, ...], tile: Uint8Array, *, max_px: int) -> int:
    """Whole factor that brings a picture to max_px or up to a third less.

    Of those the one that divides the cloth's tile most evenly: the reduced cloth then repeats soon,
    which is many times faster.
    """
    least = reduction_factor((shape[0], shape[1]), max_px=max_px)
    factors = range(least, max(least, least * 3 // 2) + 1)
    return max(factors, key=lambda factor: (np.gcd(tile.shape[0], factor) / factor, -factor))


def artwork_panel(
    rgba: Uint8Array,
    cloth: Uint8Array,
    *,
    heading: str = "The artwork as drawn",
    line: str = "What the client sent, on the garment's color.",
) -> SheetPanel:
    """An artwork (H, W, 4), or a window of it, on the garment's color."""
    factor = reduction_factor(rgba.shape[:2], max_px=PANEL_PX)
    return SheetPanel(
        picture=laid_on_ground(reduce_light(rgba, factor), cloth), heading=heading, lines=(line,)
    )


def flat_panel(
    answer: RouteAnswer, small: Uint8Array, assignments: tuple[Assignment, ...]
) -> SheetPanel:
    """A route's picture with the verdict on it and on each color."""
    asked = [each.flat.rgb for each in assignments if each.ink is not None]
    swatches = []
    for rgb, colour in zip(asked, answer.colours, strict=True):
        found = colour.prediction
        red, green, blue = rgb8_from_hex(found.hex).tolist()
        swatches.append(
            Swatch(
                print=(red, green, blue),
                asked=rgb,
                text=f"{found.build.colour.ink.name}: {colour.verdict.short}",
            )
        )
    return SheetPanel(
        picture=small,
        heading=ROUTE_TITLES[answer.route],
        verdict=sentence(answer.said()).removesuffix("."),
        met=answer.verdict is not None and answer.verdict.promised,
        lines=_build_lines(answer),
        swatches=tuple(swatches),
    )


def _build_lines(answer: RouteAnswer) -> tuple[str, ...]:
    """Say the base once, then the meshes of the colors."""
    if not answer.colours:
        return ("Nothing is printed.",)
    builds = [colour.prediction.build for colour in answer.colours]
    meshes = sorted({(b.colour.screen.threads_per_inch, b.colour.passes) for b in builds})
    colors = ", ".join(f"{mesh:.0f} ×{passes}" for mesh, passes in meshes)
    return (*base_words(builds[0].base), f"Colors through {colors} threads/inch")


def tonal_panel(made: TonalPrint, picture: Uint8Array) -> SheetPanel:
    """The print's picture, reduced, with how near it comes and what prints it."""
    out_of_reach = made.separation.out_of_reach
    return SheetPanel(
        picture=shrink_to(picture, width=PANEL_PX, height=PANEL_PX),
        heading=ROUTE_TITLES[made.tonal.route],
        verdict=f"{1 - out_of_reach:.0%} nominally within ΔE00 {made.separation.tolerance:g}",
        met=made.reach.nominal,
        lines=(*reach_words(made)[:1], *ink_words(made.tonal)),
    )
