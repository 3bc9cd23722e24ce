"""Predict a tonal artwork by each route: halftones of one set of inks, and their reach.

It is separated and drawn at twice the size at which it is shown and then averaged in linear light,
so that the cloth's fibers are seen as they are from that distance.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, replace
from functools import partial
from threading import Event
from typing import TypeVar

import numpy as np

from inksim.artwork import decode8, encode8, shrink_to
from inksim.colour import Viewing, delta_e_2000, hex_from_rgb8, lab_from_hex
from inksim.common import MM_PER_INCH, ROUTE_WORDS, InputError, Uint8Array
from inksim.decision import barrier
from inksim.job import BASE_CHOKE_MM
from inksim.picture import knit_tile
from inksim.preview.prepare import (
    LARGE_PX,
    PreparedArtwork,
    artwork_on,
    busiest_place,
    window_at,
)
from inksim.preview.tonal_print import (
    TonalReach,
    draw_tonal,
    ink_words,
    print_tonal,
    reach_map,
    tonal_inks,
)
from inksim.printing import ROUTES, Route, honest_words
from inksim.separation import (
    DEFAULT_LINES_PER_INCH,
    PlateRun,
    SeparationTable,
    choose_route,
    colours_seen,
    picture_colours,
    press_barrier,
    routes_on,
    run_of_plates,
    separate_picture,
    tonal_plates,
    tonal_set,
)
from inksim.shop import Shop, StationsEntry
from inksim.stock import Garment, Ink

T = TypeVar("T")
REACH_PX = LARGE_PX // 2
STEP_S = 0.2
"""How often it is told that work goes on."""
CLOSE_PX = 352  # three windows side by side on a laptop, one on a phone


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalRoute:
    """One route of a tonal print: its picture and the map of what is out of reach, (h, w, 3).

    close: a window of it where most happens, pixel for pixel as it was drawn.
    """

    route: Route
    picture: Uint8Array
    map: Uint8Array
    close: Uint8Array
    reach: TonalReach
    screens: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalResult:
    """Predicted prints of a tonal artwork by every route that can be printed, least effort first.

    drawn_dpi: pixels to an inch of the shirt at which they were drawn. best: see `choose_route`.
    table: what the best route was separated by, from which its plates are made.
    """

    garment: Garment
    inks: tuple[Ink, ...]
    routes: tuple[TonalRoute, ...]
    why_not: Mapping[Route, str]
    drawn_dpi: float
    best: TonalRoute
    table: SeparationTable


def tonal_result(
    ready: PreparedArtwork,
    *,
    shop: Shop,
    garment: Garment,
    viewing: Viewing,
    tolerance: float,
    inks: Sequence[Ink] = (),
    press: StationsEntry | None = None,
    step: Callable[[str, float], None] = lambda words, done: None,
    first: Callable[[TonalResult], None] = lambda shown: None,
) -> TonalResult:
    """Separate and draw a tonal artwork by every route; inks are chosen for it if none is given.

    press: what they have to fit, the shop's if not given; a route that it cannot print is left out
    while it can print another. step: told what is done now and what share of it all, again and
    again while that goes on; what it raises stops the work, within a second or so. first: given the
    best route alone, as soon as it is drawn; the others are drawn after it.

    Raises
    ------
    InputError : not a tonal artwork, no ink that can be chosen, or no route that can be printed.
    """
    rgba = ready.sketch
    if rgba is None:
        raise InputError(f"'{ready.name}' is flat artwork: it is shown color by color.")
    if not inks:
        step("Choosing inks for this picture", 0.0)
    on = press or shop.stations
    chosen = tuple(inks) or tonal_inks(rgba, shop=shop, garment=garment, viewing=viewing, press=on)
    step("Choosing the route", 0.2)
    why_not = {
        route: why
        for route in ROUTES
        for ink in chosen[:1]
        if (why := barrier(shop, garment=garment, ink=ink, route=route))
    }
    usable = [route for route in ROUTES if route not in why_not]
    able = routes_on(on, usable, inks=len(chosen))
    why_not |= {
        route: press_barrier(len(chosen), route, on) for route in usable if route not in able
    }
    sets = {
        route: tonal_set(shop, garment=garment, inks=chosen, route=route)
        for route in usable
        if route in able
    }
    if not sets:
        raise InputError(
            f"nothing can be printed on '{garment.name}': {next(iter(why_not.values()))}."
        )
    nearest = choose_route(
        picture_colours(rgba, garment, viewing),
        shop=shop,
        garment=garment,
        inks=chosen,
        lines_per_inch=DEFAULT_LINES_PER_INCH,
        viewing=viewing,
        press=on,
    ).tonal.route
    px_per_mm = ready.dpi / MM_PER_INCH * rgba.shape[1] / ready.width_px
    tile = knit_tile(px_per_mm=px_per_mm)
    centre = busiest_place(ready)
    seen = colours_seen(rgba, garment, viewing)
    every = max(1, -(-max(rgba.shape[:2]) // REACH_PX))

    stopped = Event()

    def goes_on() -> None:
        if stopped.is_set():
            raise CancelledError

    def draw(route: Route) -> tuple[TonalRoute, SeparationTable]:
        made = print_tonal(
            rgba, sets[route], viewing=viewing, tolerance=tolerance, seen=seen, every=every
        )
        goes_on()
        drawn = draw_tonal(made, rgba, tile, viewing=viewing, px_per_mm=px_per_mm)
        goes_on()
        place = window_at(drawn.shape, centre=centre, size_px=(CLOSE_PX, CLOSE_PX))
        return TonalRoute(
            route=route,
            picture=shrink_to(drawn, width=LARGE_PX, height=LARGE_PX),
            map=reach_map(made, drawn, most_px=REACH_PX),
            close=np.ascontiguousarray(drawn[place][..., :3]),
            reach=made.reach,
            screens=ink_words(made.tonal),
        ), made.table

    best, *others = sorted(sets, key=lambda route: route != nearest)
    made: dict[Route, tuple[TonalRoute, SeparationTable]] = {}

    def result() -> TonalResult:
        return TonalResult(
            best=made[best][0],
            table=made[best][1],
            garment=garment,
            inks=chosen,
            routes=tuple(made[route][0] for route in sets if route in made),
            why_not=why_not,
            drawn_dpi=px_per_mm * MM_PER_INCH,
        )

    with ThreadPoolExecutor(max_workers=2) as beside:
        try:
            for routes in ([best], others):
                begun = {route: beside.submit(draw, route) for route in routes}
                for route, drawn in begun.items():
                    share = 0.25 + 0.75 * len(made) / len(sets)
                    made[route] = _awaited(drawn, partial(step, _separating(route), share))
                if len(made) < len(sets):
                    first(result())
        except BaseException:
            stopped.set()
            beside.shutdown(cancel_futures=True)
            raise
    return result()


def _separating(route: Route) -> str:
    return f"Separating the picture into halftones {ROUTE_WORDS[route]}"


def _awaited(begun: Future[T], goes_on: Callable[[], None]) -> T:
    """What it gives; meanwhile it is told again and again that work goes on."""
    goes_on()
    while not wait([begun], timeout=STEP_S).done:
        goes_on()
    return begun.result()


@dataclass(frozen=True, kw_only=True)
class AreaColour:
    """A typical color of a tonal picture and what its areas print as: means over those areas."""

    asked: str
    printed: str
    share: float
    delta_e_2000: float


def tonal_run(
    ready: PreparedArtwork,
    shown: TonalResult,
    *,
    shop: Shop,
    quantity: int = 1,
    press: StationsEntry | None = None,
    choke_mm: float = BASE_CHOKE_MM,
) -> PlateRun:
    """What the best route takes on the press; its plates are measured and come without films.

    Parameters
    ----------
    quantity : prints. press: the shop's if not given. choke_mm: of a base under its colors.
    """
    assert ready.sketch is not None  # it was drawn from it
    made = separate_picture(ready.sketch, shown.table, tolerance=shown.best.reach.tolerance)
    plates = tonal_plates(made, dpi=shown.drawn_dpi, choke_mm=choke_mm)
    run = run_of_plates(plates, shop=shop, quantity=quantity, press=press)
    none = np.zeros((0, 0), dtype=np.uint8)
    bare = tuple(replace(each, film=none, shirt=none) for each in plates.plates)
    return replace(run, plates=replace(plates, plates=bare, separation=None))


def area_colours(
    ready: PreparedArtwork,
    shown: TonalResult,
    route: TonalRoute,
    viewing: Viewing,
    *,
    most: int = 6,
) -> tuple[AreaColour, ...]:
    """Return the largest typical colors of the artwork beside what they print as, read off the
    pictures: the mean light of the areas that are nearest to each."""
    pictures = (artwork_on(ready.large, shown.garment, viewing), route.picture)
    sampled = [_labels_at(ready, picture.shape) for picture in pictures]
    found = []
    for number, flat in enumerate(ready.flats.colours[:most], start=1):
        places = [labels == number for labels in sampled]
        if not all(place.any() for place in places):
            continue
        codes = [
            encode8(decode8(picture[..., :3])[place].mean(axis=0))
            for picture, place in zip(pictures, places, strict=True)
        ]
        one, two = map(hex_from_rgb8, codes)
        found.append(
            AreaColour(
                asked=one,
                printed=two,
                share=flat.area_share,
                delta_e_2000=float(
                    delta_e_2000(lab_from_hex(one, Viewing()), lab_from_hex(two, Viewing()))
                ),
            )
        )
    return tuple(found)


def _labels_at(ready: PreparedArtwork, shape: tuple[int, ...]) -> Uint8Array:
    """The plates (h, w) as a picture of another size has them: the pixel in the middle of each."""
    labels = ready.flats.labels
    down, across = (
        ((np.arange(size) + 0.5) / size * full).astype(np.intp)
        for size, full in zip(shape[:2], labels.shape, strict=True)
    )
    sampled: Uint8Array = labels[down[:, None], across[None, :]]
    return sampled


def tonal_in_a_word(shown: TonalResult, press: StationsEntry) -> str:
    """'✕ over a white base, not all in reach', for a line about the job; press: what prints it."""
    best = shown.best
    if press_barrier(len(shown.inks), best.route, press):
        return "✕ the press cannot print this picture"
    said = "● in reach" if best.reach.nominal else "✕ not all in reach"
    return f"{said[0]} {ROUTE_WORDS[best.route]}, {said[2:]}"


def tonal_verdict(shown: TonalResult, *, calibrated: bool) -> tuple[str, str]:
    """The headline and what there is to say with it, in a client's words."""
    best, garment = shown.best, shown.garment.name
    inside = 1.0 - best.reach.out_of_reach
    way = ROUTE_WORDS[best.route]
    headline = (
        f"On {garment}, print this picture {way}."
        if best.reach.nominal
        else f"On {garment}, not all of this picture is in reach; {way} comes nearest."
    )
    named = ", ".join(ink.name for ink in shown.inks)
    return headline, (
        f"Nominally {inside:.0%} of it comes close enough to the artwork (within ΔE00 "
        f"{best.reach.tolerance:g}; {best.reach.mean:.1f} on average). Tonal artwork, printed as "
        f"halftones of {named} at {best.reach.lines_per_inch:g} lines/inch. "
        f"{honest_words(best.reach.data, calibrated=calibrated)}"
    )
