"""TODO first line."""

from __future__ import annotations

from inksim.common import InputError
from inksim.printing import ROUTES, Build, Layer, Route
from inksim.shop.shop import Shop
from inksim.stock import Garment, Ink, Screen, prints_through


def check_allowed(ink: Ink, screen: Screen) -> None:
    """Refuse a screen outside the ink's limits."""
    if not prints_through(ink, screen):
        raise InputError(
            f"ink '{ink.name}' prints through {ink.coarsest_threads_per_inch:.0f} to "
            f"{ink.finest_threads_per_inch:.0f} threads/inch, not through screen "
            f"'{screen.name}' ({screen.threads_per_inch:.0f})."
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
    """Build a route as this shop usually does (press.toml, habits), with any part overridden.

    Parameters
    ----------
    shop : whose habits, screens and bases are taken.
    garment, ink : to print on, and the color on top.
    route : 'straight', 'discharge-base' or 'white-base'.
    screen, passes : of the color.
    base_screen, flash : of the base; they count for nothing on the straight route.

    Raises
    ------
    InputError : a screen the ink does not print through, a missing base ink, a cloth without
        discharge data for the discharge route.
    """
    habits = shop.habits
    if screen is not None:
        check_allowed(ink, screen)
    if route == "straight":
        color = Layer(
            ink=ink,
            screen=screen or shop.screen_near(habits.straight_threads_per_inch, ink=ink),
            passes=passes or min(habits.straight_passes, ink.max_passes),
        )
        return Build(garment=garment, layers=(color,), route=route)
    base = shop.base_ink(route)
    white = route == "white-base"
    count = habits.white_base_threads_per_inch if white else habits.discharge_base_threads_per_inch
    if base_screen is not None:
        check_allowed(base, base_screen)
    habit_flash = habits.white_base_flash if white else habits.discharge_base_flash
    under = Layer(
        ink=base,
        screen=base_screen or shop.screen_near(count, ink=base),
        passes=habits.white_base_passes if white else habits.discharge_base_passes,
        flash=habit_flash if flash is None else flash,
    )
    color = Layer(
        ink=ink,
        screen=screen or shop.screen_near(habits.over_base_threads_per_inch, ink=ink),
        passes=passes or min(habits.over_base_passes, ink.max_passes),
    )
    return Build(garment=garment, layers=(under, color), route=route)


def usable_routes(garment: Garment, *, shop: Shop | None = None) -> tuple[Route, ...]:
    """Return the routes that can be predicted on a garment, with the bases a shop has."""
    kinds = {ink.kind for ink in shop.inks.values()} if shop else set(ROUTES)
    return tuple(
        r
        for r in ROUTES
        if (r == "straight" or r in kinds) and (r != "discharge-base" or garment.discharge_is_known)
    )
