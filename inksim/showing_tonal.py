"""A tonal artwork shown on a garment: halftones of inks chosen for it, each route and its reach.

It is separated and drawn at twice the size at which it is shown and then averaged in linear light,
so that the cloth's fibers are seen as they are from that distance.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inksim.appearance import Viewing
from inksim.artwork import MM_PER_INCH
from inksim.build import ROUTES, Route
from inksim.decide import barrier
from inksim.errors import InputError
from inksim.fibre import knit_tile
from inksim.garment import Garment
from inksim.ink import Ink
from inksim.ink_choice import choose_inks, picture_colours
from inksim.picture import Picture, fit
from inksim.shop import Shop
from inksim.showing import LARGE_PX, Ready
from inksim.tonal import DEFAULT_LINES_PER_INCH, tonal_set
from inksim.tonal_preview import (
    Reach,
    ink_words,
    picture_of,
    print_tonal,
    reach_map,
    reach_of,
)

NEAR = 0.05
"""Share of a picture that may be out of reach of a print that is still called the picture."""


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalRoute:
    """One route of a tonal print: its picture and the map of what is out of reach, (h, w, 3)."""

    route: Route
    picture: Picture
    map: Picture
    reach: Reach
    screens: tuple[str, ...]

    @property
    def comes_home(self) -> bool:
        """Whether all but a little of the picture is within reach."""
        return self.reach.out_of_reach <= NEAR


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalShown:
    """A tonal artwork on a garment, by every route that can be printed, in order of effort."""

    garment: Garment
    inks: tuple[Ink, ...]
    routes: tuple[TonalRoute, ...]
    why_not: Mapping[Route, str]

    @property
    def best(self) -> TonalRoute:
        """The first route that comes home, else the one with the least out of reach."""
        home = (route for route in self.routes if route.comes_home)
        nearest = min(self.routes, key=lambda route: (route.reach.out_of_reach, route.reach.mean))
        return next(home, nearest)


def show_tonal(
    ready: Ready,
    *,
    shop: Shop,
    garment: Garment,
    viewing: Viewing,
    tolerance: float,
    inks: Sequence[Ink] = (),
) -> TonalShown:
    """Separate and draw a tonal artwork by every route; inks are chosen for it if none is given.

    They are chosen over a white base, so that all routes are shown with the same ones.

    Raises
    ------
    InputError : not a tonal artwork, no ink that can be chosen, or no route that can be printed.
    """
    rgba = ready.sketch
    if rgba is None:
        raise InputError(f"'{ready.name}' is flat artwork: it is shown color by color.")
    chosen = tuple(inks) or tuple(
        choose_inks(
            picture_colours(rgba, garment, viewing),
            shop=shop,
            garment=garment,
            route="white-base",
            lines_per_inch=DEFAULT_LINES_PER_INCH,
            viewing=viewing,
        )
    )
    why_not = {
        route: why
        for route in ROUTES
        for ink in chosen[:1]
        if (why := barrier(shop, garment=garment, ink=ink, route=route))
    }
    px_per_mm = ready.dpi / MM_PER_INCH * rgba.shape[1] / ready.width_px
    tile = knit_tile(px_per_mm=px_per_mm)
    routes = []
    for route in ROUTES:
        if route in why_not:
            continue
        tonal = tonal_set(shop, garment=garment, inks=chosen, route=route)
        made = print_tonal(rgba, tonal, viewing=viewing, tolerance=tolerance)
        drawn = picture_of(made, rgba, tile)
        routes.append(
            TonalRoute(
                route=route,
                picture=fit(drawn, width=LARGE_PX, height=LARGE_PX),
                map=reach_map(made, rgba, most_px=LARGE_PX // 2),
                reach=reach_of(made),
                screens=ink_words(tonal),
            )
        )
    if not routes:
        raise InputError(
            f"nothing can be printed on '{garment.name}': {next(iter(why_not.values()))}."
        )
    return TonalShown(garment=garment, inks=chosen, routes=tuple(routes), why_not=why_not)
