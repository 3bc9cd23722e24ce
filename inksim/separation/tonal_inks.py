"""Choose inks, route and base for a tonal picture by the predicted ΔE00."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.colour import Viewing, delta_e_2000, lab_from_xyz, srgb8, xyz, xyz_from_srgb8
from inksim.common import FloatArray, InputError, Uint8Array, counted
from inksim.decision import PrintedScreen, print_order
from inksim.printing import Route
from inksim.separation.halftone_print import (
    MOST_INKS,
    TonalSet,
    quick_mosaic,
    tonal_lab,
    tonal_model,
    tonal_set,
)
from inksim.separation.inversion import INK_WEIGHT, closest, coverages_of, first_guess, mosaic_xyz
from inksim.separation.rgb_lattice import laid_on
from inksim.shop import Shop, StationsEntry, check_usable, usable_routes
from inksim.stock import Garment, Ink

SAMPLE = 240
EXCHANGES = 2
ROUNDS = 8
ROUGHLY, ROUGH_ROUNDS, LOOKED_AT = 4, 3, 3
"""Sets of inks are compared on every fourth color and by few rounds; the best three are then worked
out in full. On photographs the best of all is the first or the second of them, now and then the
third."""
WORTH_A_SCREEN = 0.25
"""ΔE00, in the mean, that a further ink must gain [assumption: a screen has its price]."""
WORTH_A_BASE = 0.5
"""ΔE00, in the mean, that a base must gain over a route with less work [assumption]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Choice:
    """A tonal set with the mean ΔE00 it reaches on a sample of the picture."""

    tonal: TonalSet
    mean: float


def inks_that_fit(press: StationsEntry) -> int:
    """Most inks of a picture that a press has stations for, over a flashed base if it has one."""
    taken = press.taken(screens=1, flashes=1) if press.flashes else 0
    return max(1, min(MOST_INKS, press.stations - taken))


def press_barrier(inks: int, route: Route, press: StationsEntry) -> str:
    """Why a press cannot print so many inks by a route and what would help; '' if it can."""
    flashes = int(route == "white-base")
    if flashes > press.flashes:
        return "its base has to be flashed, and the press has no flash unit"
    stations = press.taken(screens=inks + int(route != "straight"), flashes=flashes)
    if stations > press.stations:
        return (
            f"it takes {counted(stations, 'station')}, and the press has {press.stations}; use "
            f"{counted(stations - press.stations, 'ink')} fewer"
        )
    return ""


def routes_on(press: StationsEntry, routes: Sequence[Route], *, inks: int) -> tuple[Route, ...]:
    """Those of some routes that a press can print with so many inks; all where it can print none.

    A picture that no route of it fits is still shown, and why it cannot be printed is said.
    """
    able = tuple(route for route in routes if not press_barrier(inks, route, press))
    return able or tuple(routes)


def picture_colours(
    rgba: Uint8Array, garment: Garment, viewing: Viewing, *, most: int = SAMPLE
) -> FloatArray:
    """CIELAB (M, 3) of a sample of printed pixels, composited on the garment's color.

    Raises
    ------
    InputError : nothing is printed.
    """
    cloth, _ = srgb8(xyz(garment.reflectance, viewing), viewing)
    printed = np.flatnonzero(rgba[..., 3].ravel()) if rgba.size else np.empty(0, dtype=np.intp)
    if not printed.size:
        raise InputError("the picture is fully transparent: there is nothing to separate.")
    # Golden-ratio steps: spread over the whole picture, out of step with its rows.
    steps = (np.arange(min(most, printed.size)) * 0.6180339887498949) % 1.0
    some = printed[(steps * printed.size).astype(np.intp)]
    row = rgba.reshape(-1, 4)[some][None]
    laid = laid_on(row, (int(cloth[0]), int(cloth[1]), int(cloth[2])))[0, :, :3]
    return lab_from_xyz(xyz_from_srgb8(laid, viewing), viewing)


def reached(
    tonal: TonalSet, colours: FloatArray, viewing: Viewing, *, rounds: int = ROUNDS
) -> Choice:
    """Evaluate a tonal set: mean ΔE00 of the best prints of colors (M, 3) CIELAB."""
    model = tonal_model(tonal)
    quick = quick_mosaic(model, viewing, nodes=3, paired=True)
    ink = np.full(1 + model.inks, INK_WEIGHT)
    start = first_guess(quick, colours, ink=ink)
    found = closest(quick, colours, ink=ink, start=start, rounds=rounds)
    shares = model.weights(coverages_of(found.x, has_base=model.has_base))
    made = lab_from_xyz(mosaic_xyz(quick, shares), viewing)
    return Choice(tonal=tonal, mean=float(delta_e_2000(colours, made).mean()))


def ordered(
    inks: Sequence[Ink], *, shop: Shop, garment: Garment, route: Route, lines_per_inch: float
) -> list[Ink]:
    """Order inks for the press as its flat colors are, by what each prints as."""
    lightness = []
    for ink in inks:
        tonal = tonal_set(
            shop, garment=garment, inks=[ink], route=route, lines_per_inch=lines_per_inch
        )
        model = tonal_model(tonal)
        lightness.append(float(tonal_lab(model, np.ones(model.plates), Viewing())[0]))
    screens = [
        PrintedScreen(name=ink.name, lightness=light)
        for ink, light in zip(inks, lightness, strict=True)
    ]
    order = print_order(screens, light_before_dark=shop.rules.light_before_dark)
    return [inks[at] for at in order]


def choose_inks(
    colours: FloatArray,
    *,
    shop: Shop,
    garment: Garment,
    route: Route,
    lines_per_inch: float,
    viewing: Viewing,
    most: int = MOST_INKS,
) -> tuple[Ink, ...]:
    """Choose the inks whose halftones come nearest to colors (M, 3), in print order.

    Greedily the ink that lowers the mean ΔE00 most, until `most` are chosen or the next would gain
    less than `WORTH_A_SCREEN`; then exchanges as long as they gain.

    Raises
    ------
    InputError : `most` is not 1 to 6, or the shop has no color ink.
    """
    if not 1 <= most <= MOST_INKS:
        raise InputError(f"{most} inks are allowed for; a tonal print takes 1 to {MOST_INKS}.")
    left = list(shop.colour_inks)
    if not left:
        raise InputError("this shop has no ink of kind 'color'; add one to inks.toml.")

    def best_of(several: Sequence[Sequence[Ink]]) -> tuple[int, float]:
        """The one that comes nearest, and how near."""
        sets = [
            tonal_set(shop, garment=garment, inks=inks, route=route, lines_per_inch=lines_per_inch)
            for inks in several
        ]
        some = colours[::ROUGHLY]
        rough = [reached(each, some, viewing, rounds=ROUGH_ROUNDS).mean for each in sets]
        likely = np.argsort(rough, kind="stable")[:LOOKED_AT]
        means = [reached(sets[at], colours, viewing).mean for at in likely]
        best = int(np.argmin(means))
        return int(likely[best]), means[best]

    chosen: list[Ink] = []
    so_far = np.inf
    while left and len(chosen) < most:
        best, mean = best_of([[*chosen, ink] for ink in left])
        if so_far - mean < WORTH_A_SCREEN:
            break
        so_far = mean
        chosen.append(left.pop(best))
    for _ in range(EXCHANGES):
        pairs = [(out, into) for out in range(len(chosen)) for into in range(len(left))]
        if not pairs:
            break
        best, mean = best_of(
            [[*chosen[:out], left[into], *chosen[out + 1 :]] for out, into in pairs]
        )
        if mean > so_far - 0.02:
            break
        so_far = mean
        out, into = pairs[best]
        chosen[out], left[into] = left[into], chosen[out]
    return tuple(
        ordered(chosen, shop=shop, garment=garment, route=route, lines_per_inch=lines_per_inch)
    )


def choose_route(
    colours: FloatArray,
    *,
    shop: Shop,
    garment: Garment,
    inks: Sequence[Ink],
    lines_per_inch: float,
    viewing: Viewing,
    press: StationsEntry | None = None,
) -> Choice:
    """Choose the route that comes nearest; one with more work must gain `WORTH_A_BASE`.

    Of those that the press (the shop's if not given) has stations for, if there are any.
    """
    best: Choice | None = None
    usable = usable_routes(garment, shop=shop)
    for route in routes_on(press or shop.stations, usable, inks=len(inks)):
        tonal = tonal_set(
            shop, garment=garment, inks=inks, route=route, lines_per_inch=lines_per_inch
        )
        choice = reached(tonal, colours, viewing)
        if best is None or choice.mean < best.mean - WORTH_A_BASE:
            best = choice
    assert best is not None  # every cloth can be printed straight
    return best


def chosen_set(
    colours: FloatArray,
    *,
    shop: Shop,
    garment: Garment,
    inks: Sequence[Ink] | None,
    route: Route | None,
    most_inks: int = MOST_INKS,
    lines_per_inch: float,
    viewing: Viewing,
) -> TonalSet:
    """Set up a tonal print of colors (M, 3) CIELAB; inks and route are chosen where None.

    Raises
    ------
    InputError : inks that cannot be printed together, or a route the cloth does not allow.
    """
    if route is not None:
        check_usable(route, garment=garment, shop=shop)
    if inks is None:
        inks = choose_inks(
            colours,
            shop=shop,
            garment=garment,
            route=route or "white-base",
            lines_per_inch=lines_per_inch,
            viewing=viewing,
            most=min(most_inks, inks_that_fit(shop.stations)),
        )
    if route is not None:
        return tonal_set(
            shop, garment=garment, inks=inks, route=route, lines_per_inch=lines_per_inch
        )
    return choose_route(
        colours,
        shop=shop,
        garment=garment,
        inks=inks,
        lines_per_inch=lines_per_inch,
        viewing=viewing,
    ).tonal
