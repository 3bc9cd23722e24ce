"""Draw a route at the artwork's full size, flat or tonal, with its panel for the contact sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.artwork import Flats, laid_on_ground, reduce_light, shrink_to
from inksim.colour import rgb8_from_hex
from inksim.common import ROUTE_SHORT, ROUTE_TITLES, BoolArray, InputError, Uint8Array, sentence
from inksim.job import Alternative, Job, told
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
from inksim.preview.flat_routes import ArtworkResult, Key, RouteAnswer, job_colours, result_of_job
from inksim.preview.off_register import move_words, pressed_labels, pressed_look
from inksim.preview.prepare import sketch_of
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
from inksim.printing import Route
from inksim.separation import colours_seen, routes_on, screen_layers, tonal_set
from inksim.shop import StationsEntry, usable_routes
from inksim.stock import Ink, Provenance

PANEL_PX = 620
SHARE_PX = 1_000_000
"""Pixels from which the share of a tonal print beyond the screen is worked out."""


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteDrawing:
    """One route, drawn.

    full: at the artwork's full size. small: reduced, for a shirt or a map, if either is asked for.
    beyond: where (H, W) a screen cannot show it, or None for no map of it; share: of the print.
    data: the least sure of its numbers. answer: of a flat print. note: what is to be said of this
    route by itself.
    """

    full: Uint8Array
    small: Uint8Array | None
    panel: SheetPanel
    beyond: BoolArray | None
    share: float
    data: Provenance
    answer: RouteAnswer | None = None
    reach: TonalReach | None = None
    note: str = ""


def decided_print(order: PrintRequest, job: Job, flats: Flats) -> tuple[ArtworkResult, Alternative]:
    """Decide a job of flat artwork, and the way to print it on the garment asked for.

    Raises
    ------
    InputError : a press that cannot print it.
    """
    found = result_of_job(job, flats, garment=order.garment, shop=order.shop, viewing=order.viewing)
    way = found.decided.way
    if way is None:
        raise InputError(
            f"'{order.garment.name}' cannot be printed: {found.decided.found.barrier}."
        )
    return found, way


def flat_drawings(
    order: PrintRequest, views: Views, found: ArtworkResult
) -> Callable[[Key], RouteDrawing]:
    """How to draw the decided print of a flat artwork and those by one route, plates as they lie.

    A route that the decided print takes anyway is the same drawing.
    """
    flats, tile, misfit = found.flats, order.tile, views.misfit
    colours = job_colours(found.answer.job, flats)
    # What covers a reduced pixel is, in register, the same for every route: worked out once.
    factor = even_factor(flats.labels.shape, tile, max_px=PANEL_PX)
    coverage = reduce_labels(flats.labels, factor)
    weave = reduce_tile(tile, factor, coverage.shape)
    again = any(answer.found is found.decided.found for answer in found.routes)
    made: list[RouteDrawing] = []  # what is not drawn again is not kept: it is large

    def draw(key: Key) -> RouteDrawing:
        answer = found.by(key)
        if answer.found is not found.decided.found or not again:
            return drawn(answer)
        if not made:
            made.append(drawn(answer))
        return replace(made[0], answer=answer)

    def drawn(answer: RouteAnswer) -> RouteDrawing:
        labels, look, covers, moved = flats.labels, answer.look, coverage, ""
        inside = look.in_gamut
        share = sum(
            flat.area_share for at, flat in enumerate(flats.colours, start=1) if not inside[at]
        )
        screens = answer.way.screens if answer.way else ()
        if misfit and screens:
            lying = pressed_labels(
                labels, screens, colours, px_per_mm=order.px_per_mm, misfit=misfit
            )
            look = pressed_look(
                lying,
                garment=order.garment,
                press=order.shop.press.values,
                viewing=order.viewing,
            )
            labels, covers = lying.labels, reduce_labels(lying.labels, factor)
            moved = move_words(lying, px_per_mm=order.px_per_mm)
        small = recolour(covers, weave, look)
        return RouteDrawing(
            full=render_flat(labels, look, tile),
            small=small,
            panel=flat_panel(answer, small),
            beyond=~inside[flats.labels] if views.beyond_screen else None,
            share=share,
            data=answer.data,
            answer=answer,
            note=moved,
        )

    return draw


def tonal_drawings(
    order: PrintRequest, views: Views, *, press: StationsEntry, by_hand: Sequence[Ink] = ()
) -> tuple[Callable[[Route], RouteDrawing], tuple[Route, ...], str]:
    """How to draw a route of a tonal artwork, the routes to draw, and what is to be said of all.

    press: the job's, which its inks and routes have to fit. by_hand: its inks, if not chosen.
    """
    rgba, shop, garment, viewing = order.artwork.rgba, order.shop, order.garment, order.viewing
    order.progress("choosing inks")
    inks = tuple(by_hand) or tonal_inks(
        sketch_of(rgba), shop=shop, garment=garment, viewing=viewing, press=press
    )
    keys = routes_on(press, usable_routes(garment, shop=shop), inks=len(inks))
    # Of a large picture a share of it is known well enough from every second or third pixel.
    every = max(1, int((order.artwork.width_px * order.artwork.height_px / SHARE_PX) ** 0.5))
    some = np.ascontiguousarray(rgba[::every, ::every])

    seen = colours_seen(rgba, garment, viewing)
    apart = bool(views.places) or views.beyond_screen

    def draw(route: Route) -> RouteDrawing:
        tonal = tonal_set(shop, garment=garment, inks=inks, route=route)
        made = print_tonal(
            rgba,
            tonal,
            viewing=viewing,
            tolerance=shop.habits.tolerance_de00,
            seen=seen,
            every=1 if views.misfit else every,  # plates that are drawn are whole
        )
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
            small=shrink_to(full, width=SHIRT_PX, height=SHIRT_PX) if apart else None,
            panel=tonal_panel(made, full),
            beyond=beyond_screen(rgba, made.look) if views.beyond_screen else None,
            share=share_beyond(beyond_screen(some, made.look), some[..., 3] > 0),
            data=made.data,
            reach=made.reach,
        )

    named = ", ".join(ink.name for ink in inks)
    return draw, keys, f"This is tonal artwork: it is printed as halftones of {named}."


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


def flat_panel(answer: RouteAnswer, small: Uint8Array) -> SheetPanel:
    """A print's picture with the verdict on it, each color's, and what has to be told of it."""
    way = answer.way
    swatches = []
    for plan in answer.plans:
        if plan is None:
            continue
        ink = plan.build.ink
        mark = f"{ink.name}: {plan.verdict.short}" if ink else ROUTE_SHORT["bare"]
        swatches.append(
            Swatch(
                print=_rgb(plan.prediction.hex),
                asked=_rgb(plan.colour.name),
                text=f"printed as {plan.merged}; {mark}" if plan.merged else mark,
            )
        )
    return SheetPanel(
        picture=small,
        heading=answer.title,
        verdict=sentence(answer.said()).removesuffix("."),
        met=answer.verdict is not None and answer.verdict.promised,
        lines=(*_screen_lines(way), *told(answer.found, way)) if way else (),
        swatches=tuple(swatches),
    )


def _rgb(code: str) -> tuple[int, int, int]:
    red, green, blue = rgb8_from_hex(code).tolist()
    return red, green, blue


def _screen_lines(way: Alternative) -> tuple[str, ...]:
    """Say the bases, then the meshes of the colors."""
    if not way.screens:
        return ("Nothing is printed.",)
    bases = [
        line
        for screen in way.screens
        if screen.base
        for line in base_words(screen_layers(screen)[0])
    ]
    meshes = sorted({(s.screen.threads_per_inch, s.strokes) for s in way.screens if not s.base})
    colours = ", ".join(f"{mesh:.0f} ×{strokes}" for mesh, strokes in meshes)
    return (*bases, *([f"Colors through {colours} threads/inch"] if colours else []))


def tonal_panel(made: TonalPrint, picture: Uint8Array) -> SheetPanel:
    """The print's picture, reduced, with how near it comes and what prints it."""
    return SheetPanel(
        picture=shrink_to(picture, width=PANEL_PX, height=PANEL_PX),
        heading=ROUTE_TITLES[made.tonal.route],
        verdict=made.reach.in_short[0],
        met=made.reach.nominal,
        lines=(*reach_words(made)[:1], *ink_words(made.tonal)),
    )
