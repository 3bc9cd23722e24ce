"""The shop's usual build of each route, and which routes its bases and a garment allow."""

from __future__ import annotations

from typing import Literal

from inksim.common import InputError
from inksim.printing import ROUTES, Build, Layer, Route, check_route
from inksim.shop.shop import Shop
from inksim.stock import Garment, Ink, Screen, prints_through

Place = Literal["straight", "over_base", "white_base", "discharge_base"]
"""Where a layer stands in a build, as the names of the habits begin."""


def check_allowed(ink: Ink, screen: Screen) -> None:
    """Refuse a screen outside the ink's limits."""
    if not prints_through(ink, screen):
        raise InputError(
            f"ink '{ink.name}' prints through {ink.coarsest_threads_per_inch:.0f} to "
            f"{ink.finest_threads_per_inch:.0f} threads/inch, not through screen "
            f"'{screen.name}' ({screen.threads_per_inch:.0f})."
        )


def usual_layer(
    shop: Shop,
    ink: Ink,
    place: Place,
    *,
    screen: Screen | None = None,
    passes: int | None = None,
    flash: bool | None = None,
) -> Layer:
    """Return the usual layer of an ink (press.toml, habits), with any part overridden.

    Raises
    ------
    InputError : a screen the ink does not print through, or no screen that it does.
    """
    if screen is not None:
        check_allowed(ink, screen)
    count = getattr(shop.habits, f"{place}_threads_per_inch")
    usual_passes = getattr(shop.habits, f"{place}_passes")
    if place in ("straight", "over_base"):
        usual_passes = min(usual_passes, ink.max_passes)
    usual_flash = getattr(shop.habits, f"{place}_flash", True)
    return Layer(
        ink=ink,
        screen=screen or shop.screen_near(count, ink=ink),
        passes=passes or usual_passes,
        flash=usual_flash if flash is None else flash,
    )


def usual_build(
    shop: Shop,
    *,
    garment: Garment,
    ink: Ink,
    route: Route,
    screen: Screen | None = None,
    passes: int | None = None,
    base_screen: Screen | None = None,
    flash: bool | None = None,
) -> Build:
    """Return the usual build of a route (press.toml, habits), with any part overridden.

    Parameters
    ----------
    shop : whose habits, screens and bases are taken.
    garment, ink : to print on, and the color on top.
    route : 'straight', 'discharge-base' or 'white-base'.
    screen, passes : of the color.
    base_screen, flash : of the base; they count for nothing on the straight route.

    Raises
    ------
    InputError : no such route, a screen the ink does not print through, a missing base ink, a
        cloth without discharge data for the discharge route.
    """
    check_route(route)
    if route == "straight":
        colour = usual_layer(shop, ink, "straight", screen=screen, passes=passes)
        return Build(garment=garment, layers=(colour,), route=route)
    colour = usual_layer(shop, ink, "over_base", screen=screen, passes=passes)
    under: Place = "white_base" if route == "white-base" else "discharge_base"
    ink_under = shop.base_ink(route, garment=garment)
    base = usual_layer(shop, ink_under, under, screen=base_screen, flash=flash)
    return Build(garment=garment, layers=(base, colour), route=route)


def check_usable(route: Route, *, garment: Garment, shop: Shop) -> None:
    """Refuse a route that a shop has no base for, or that cannot be predicted on a garment."""
    check_route(route)
    if route != "straight":
        shop.base_ink(route)
    if route not in usable_routes(garment, shop=shop):
        raise InputError(
            f"garment '{garment.name}' has no discharge data, so a discharge base cannot be "
            "predicted on it; choose white or none."
        )


def usable_routes(garment: Garment, *, shop: Shop | None = None) -> tuple[Route, ...]:
    """Return the routes that can be predicted on a garment, with the bases a shop has."""
    kinds = {ink.kind for ink in shop.inks.values()} if shop else set(ROUTES)
    return tuple(
        r
        for r in ROUTES
        if (r == "straight" or r in kinds) and (r != "discharge-base" or garment.discharge_is_known)
    )
