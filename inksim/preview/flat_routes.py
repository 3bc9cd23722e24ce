"""Predict a flat artwork by each route: every color's print, its verdict, its drawing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.artwork import Assignment, assign_inks
from inksim.colour import Viewing
from inksim.common import InputError, Uint8Array
from inksim.decision import (
    DesignWay,
    Verdict,
    best_way,
    difference_words,
    evaluate_colours,
    route_to_take,
    verdict_of,
    way_of,
    weakest,
    why_not,
)
from inksim.optics import LEVELS, level_quantiles
from inksim.picture import Look, colour_table, render_crop
from inksim.preview.prepare import PreparedArtwork, window_at
from inksim.printing import (
    ROUTES,
    Build,
    Prediction,
    Route,
    lower,
    point_reflectance,
    predict_nominal,
    tabulate,
)
from inksim.shop import Shop, usual_build
from inksim.stock import Garment, PressValues, Target, target_from_hex


@dataclass(frozen=True, kw_only=True, eq=False)
class ColourAnswer:
    """Predicted print of one flat color by one route.

    verdict: on this color by itself. nominal: whether its most likely color is inside the
    tolerance. words: how it differs from the artwork.
    """

    asked: str
    prediction: Prediction
    verdict: Verdict
    nominal: bool
    words: str


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteAnswer:
    """Predicted print of a flat artwork by one route.

    predictions: one per flat in order, None where it is left bare; colours: of those printed.
    look: the colors to draw, of label 0 bare cloth, of label n the n-th flat. way: how the colors
    are printed, None where nothing is.
    """

    route: Route
    predictions: tuple[Prediction | None, ...]
    colours: tuple[ColourAnswer, ...]
    look: Look
    way: DesignWay | None
    tolerance: float

    @property
    def verdict(self) -> Verdict | None:
        """On all colors together; None where nothing is printed."""
        return self.way.verdict if self.way else None

    @property
    def weakest(self) -> ColourAnswer:
        """The color least likely to land, of at least one."""
        assert self.way is not None
        return self.colours[weakest(self.way.intervals)]

    def said(self, *, help_too: bool = False) -> str:
        """The verdict in words, with what would help where it is asked for."""
        if self.way is None:
            return "nothing is printed"
        verdict = self.way.verdict_with_help if help_too else self.way.verdict
        return verdict.said_of_all(
            len(self.colours),
            weakest=self.weakest.prediction.build.colour.ink.name,
            tolerance=self.tolerance,
        )

    @property
    def furthest(self) -> float:
        """The largest ΔE00 of its most likely colors, 0 where nothing is printed."""
        return max((c.prediction.delta_e_2000 or 0.0 for c in self.colours), default=0.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class ArtworkResult:
    """Predicted prints of a flat artwork by every route that can be printed, least effort first.

    why_not: the routes that cannot, and why. gain: see `route_to_take`.
    """

    garment: Garment
    assignments: tuple[Assignment, ...]
    routes: tuple[RouteAnswer, ...]
    why_not: Mapping[Route, str]
    tolerance: float
    gain: float

    @property
    def best(self) -> RouteAnswer:
        """The route to propose, by the weakest color of each and the furthest."""
        if self.routes[0].way is None:
            return self.routes[0]
        return self.routes[
            route_to_take(
                np.array([each.furthest for each in self.routes]),
                np.array([each.weakest.verdict.chance for each in self.routes]),
                routes=[each.route for each in self.routes],
                tolerance=self.tolerance,
                gain=self.gain,
            )
        ]

    def by(self, route: Route) -> RouteAnswer:
        """One route's answer."""
        return next(each for each in self.routes if each.route == route)


def artwork_result(
    ready: PreparedArtwork,
    *,
    shop: Shop,
    garment: Garment,
    viewing: Viewing,
    tolerance: float,
    inks: Mapping[str, str] | None = None,
) -> ArtworkResult:
    """Predict an artwork by every route on a garment, each with its best builds and intervals.

    inks: ink names by the hex code of a flat ('none' leaves it bare), over the nearest print.

    Raises
    ------
    InputError : an unknown ink or flat, or no color ink in the shop.
    """
    assignments = assign_inks(ready.flats, shop=shop, garment=garment, mapping=inks)
    wanted = [(a.ink, target_from_hex(a.flat.hex)) for a in assignments if a.ink is not None]
    printed = [ink for ink, _ in wanted]
    reasons = {r: why_not(shop, garment=garment, inks=printed, route=r) for r in ROUTES}
    colors = evaluate_colours(
        shop, garment=garment, wanted=wanted, tolerance=tolerance, viewing=viewing
    )
    ways = {
        route: best_way(colors, route)
        for route in ROUTES
        if not reasons[route] and (route == "straight" or wanted)
    }
    if not ways or (wanted and not any(ways.values())):
        raise InputError(
            f"nothing can be printed on '{garment.name}': {reasons['straight']}; add a screen to "
            "screens.toml."
        )
    routes = tuple(
        flat_route(
            assignments,
            way,
            press=shop.press.values,
            garment=garment,
            route=route,
            viewing=viewing,
            tolerance=tolerance,
        )
        for route, way in ways.items()
        if way or not wanted
    )
    drawn = {answer.route for answer in routes}
    return ArtworkResult(
        garment=garment,
        assignments=assignments,
        routes=routes,
        why_not={r: reasons[r] or "its colors share no base" for r in ROUTES if r not in drawn},
        tolerance=tolerance,
        gain=shop.rules.least_chance_gain,
    )


def usual_route(
    assignments: Sequence[Assignment],
    *,
    shop: Shop,
    garment: Garment,
    route: Route,
    viewing: Viewing,
) -> RouteAnswer:
    """Predict an artwork by one route as this shop usually prints it."""
    inks = [each.ink for each in assignments if each.ink is not None]
    builds = [usual_build(shop, garment=garment, ink=ink, route=route) for ink in inks]
    targets = [target_from_hex(each.flat.hex) for each in assignments if each.ink is not None]
    tolerance = shop.habits.tolerance_de00
    way = (
        way_of(builds, targets, press=shop.press, viewing=viewing, tolerance=tolerance)
        if builds
        else None
    )
    return flat_route(
        assignments,
        way,
        press=shop.press.values,
        garment=garment,
        route=route,
        viewing=viewing,
        tolerance=tolerance,
    )


def flat_route(
    assignments: Sequence[Assignment],
    way: DesignWay | None,
    *,
    press: PressValues,
    garment: Garment,
    route: Route,
    viewing: Viewing,
    tolerance: float,
) -> RouteAnswer:
    """Predict the colors of an artwork, printed by one route.

    way: a build for each assignment that has an ink, in order; None where none has.
    """
    chosen = iter(zip(way.builds, way.intervals, strict=True) if way else ())
    predictions: list[Prediction | None] = []
    colours = []
    for each in assignments:
        if each.ink is None:
            predictions.append(None)
            continue
        target = target_from_hex(each.flat.hex)
        build, sure = next(chosen)
        (found,) = predict_nominal([build], press=press, viewing=viewing, target=target)
        found = replace(found, interval=sure)
        predictions.append(found)
        colours.append(
            ColourAnswer(
                asked=each.flat.hex,
                prediction=found,
                verdict=verdict_of(sure),
                nominal=(found.delta_e_2000 or 0.0) <= tolerance,
                words=_difference(target, found),
            )
        )
    return RouteAnswer(
        route=route,
        predictions=tuple(predictions),
        colours=tuple(colours),
        look=build_look(
            [None if found is None else found.build for found in predictions],
            garment=garment,
            press=press,
            viewing=viewing,
        ),
        way=way,
        tolerance=tolerance,
    )


def _difference(target: Target, prediction: Prediction) -> str:
    """'as drawn' where the eye hardly sees a difference, else how it differs."""
    if prediction.delta_e_2000 is not None and prediction.delta_e_2000 < 1.0:
        return "as drawn"
    return difference_words(target.lab(prediction.viewing), prediction.lab)


def build_look(
    builds: Sequence[Build | None], *, garment: Garment, press: PressValues, viewing: Viewing
) -> Look:
    """The colors to draw builds with: label 0 and None are bare cloth, label n the n-th build."""
    looks = np.empty((len(builds) + 1, LEVELS, garment.reflectance.size))
    looks[:] = garment.reflectance
    printed = {at: build for at, build in enumerate(builds, start=1) if build is not None}
    if printed:
        slabs = lower(tabulate(list(printed.values())), press)
        looks[list(printed)] = point_reflectance(slabs, level_quantiles())
    return colour_table(looks, viewing)


def at_life_size(
    ready: PreparedArtwork, look: Look, *, center: tuple[float, float], size_px: tuple[int, int]
) -> Uint8Array:
    """A window (h, w, 3) uint8 of the full-size print, pixel for pixel: see `window_at`."""
    rows, columns = window_at(ready.flats.labels.shape, center=center, size_px=size_px)
    drawn = render_crop(
        ready.flats.labels,
        look,
        ready.tile,
        x=columns.start,
        y=rows.start,
        width=columns.stop - columns.start,
        height=rows.stop - rows.start,
    )
    return np.ascontiguousarray(drawn[..., :3])
