"""Is a base needed, which, by what margin and why: every sensible build, weighed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from inksim.appearance import Viewing
from inksim.appearance import lab as lab_of
from inksim.build import ROUTES, Build, Layer, Route
from inksim.build import discharged_ks as ks_discharged
from inksim.cielab import chroma, delta_e_2000
from inksim.errors import InputError
from inksim.garment import Garment
from inksim.ink import Ink
from inksim.kubelka_munk import Array, external_from_internal, reflectance_from_ks
from inksim.predict import Prediction, build_words, predict
from inksim.shop import Shop, prints_through
from inksim.target import Target
from inksim.uncertainty import with_intervals

Verdict = Literal["straight", "discharge-base", "white-base", "none"]

WHITE_BASE_MESH = (100.0, 165.0)
"""Threads/inch of a white base: about 110 to 160 (common practice, no source)."""
FINEST_ON_CLOTH = 332.0
"""Threads/inch: at most about 330 straight on cloth (common practice, no source)."""
COMFORT = 0.6
"""Share of the tolerance that a build may use before a cheaper one stops being worth it: the
cheapest build is taken among those inside it [assumption: leaves room for the press]."""
NO_DYE_DE00 = 3.0
"""A discharge that moves the bare cloth by less than this has no dye to work on [assumption]."""
ROUTE_WORDS = {
    "straight": "straight on the cloth",
    "discharge-base": "over a discharge base",
    "white-base": "over a white base",
}


@dataclass(frozen=True, kw_only=True)
class RouteResult:
    """What a route reaches.

    usable: whether the route can be printed at all; why_not says why if not.
    best: the cheapest build inside the tolerance, or else the nearest to the target.
    """

    route: Route
    usable: bool
    why_not: str
    best: Prediction | None
    within: bool
    margin: float


@dataclass(frozen=True, kw_only=True)
class Advice:
    """The decision for one ink on one garment against one target."""

    verdict: Verdict
    reasons: tuple[str, ...]
    routes: tuple[RouteResult, ...]
    tolerance: float
    target: Target

    @property
    def chosen(self) -> RouteResult | None:
        """The route of the verdict, None for 'none'."""
        return next((r for r in self.routes if r.route == self.verdict), None)

    @property
    def nearest(self) -> RouteResult | None:
        """The usable route that comes nearest to the target."""
        usable = [r for r in self.routes if r.best is not None]
        return min(usable, key=_de, default=None)


def _distance(prediction: Prediction) -> float:
    assert prediction.delta_e_2000 is not None
    return prediction.delta_e_2000


def _de(result: RouteResult) -> float:
    return np.inf if result.best is None else _distance(result.best)


def discharge_barrier(garment: Garment) -> str:
    """Say why a discharge base cannot work on a garment; '' if it can."""
    if garment.discharged is not None:
        return ""
    if garment.cellulose < 0.5:
        return (
            f"discharge only reaches cotton and other cellulose; '{garment.name}' has "
            f"{garment.cellulose:.0%} of it"
        )
    if garment.discharge_grade is None or garment.undyed is None:
        return f"'{garment.name}' has no discharge grade or undyed cloth on file; test a swatch"
    if garment.discharge_grade <= 2:
        return (
            f"the dye of '{garment.name}' does not discharge (grade {garment.discharge_grade} of 5)"
        )
    cloth = external_from_internal(reflectance_from_ks(ks_discharged(garment)))
    viewing = Viewing()
    moved = delta_e_2000(lab_of(garment.reflectance, viewing), lab_of(cloth, viewing))
    if moved < NO_DYE_DE00:
        return f"'{garment.name}' has hardly any dye to take out"
    return ""


def route_barrier(shop: Shop, *, garment: Garment, route: Route) -> str:
    """Say why a route cannot be printed in this shop on a garment; '' if it can."""
    if route == "straight":
        return ""
    if not any(ink.kind == route for ink in shop.inks.values()):
        return f"this shop has no ink of kind '{route}'; add one to inks.toml"
    return discharge_barrier(garment) if route == "discharge-base" else ""


def sensible_builds(shop: Shop, *, garment: Garment, ink: Ink, route: Route) -> list[Build]:
    """Every build of a route from the shop's own screens that the ink and the trade allow.

    Straight: every screen the ink prints through up to `FINEST_ON_CLOTH`, one or two passes. Over
    a base: one pass of color (common practice, no source); a white base goes through
    `WHITE_BASE_MESH`, one or two passes, and is flashed.
    """
    screens = [s for s in shop.screens.values() if prints_through(ink, s)]
    if route == "straight":
        return [
            Build(garment=garment, layers=(Layer(ink=ink, screen=s, passes=p),), route=route)
            for s in screens
            if s.threads_per_inch <= FINEST_ON_CLOTH
            for p in range(1, ink.max_passes + 1)
        ]
    base = shop.base_ink(route)
    white = route == "white-base"
    low, high = WHITE_BASE_MESH
    under = [
        s
        for s in shop.screens.values()
        if prints_through(base, s) and low <= s.threads_per_inch <= high
    ]
    flash = shop.habits.white_base_flash if white else shop.habits.discharge_base_flash
    return [
        Build(
            garment=garment,
            route=route,
            layers=(
                Layer(ink=base, screen=b, passes=p, flash=flash),
                Layer(ink=ink, screen=s),
            ),
        )
        for b in under
        for p in (range(1, base.max_passes + 1) if white else (1,))
        for s in screens
    ]


def _effort(prediction: Prediction) -> tuple[int, float]:
    """Cheapest first: fewest strokes, then least wet ink."""
    strokes = sum(layer.passes for layer in prediction.build.layers)
    return strokes, prediction.wet_um + prediction.base_wet_um


def _result(route: Route, predictions: Sequence[Prediction], *, tolerance: float) -> RouteResult:
    nearest = min(map(_distance, predictions))
    comfortable = min(max(COMFORT * tolerance, nearest + 0.3), tolerance)
    inside = [p for p in predictions if _distance(p) <= comfortable]
    best = min(inside, key=_effort) if inside else min(predictions, key=_distance)
    return RouteResult(
        route=route,
        usable=True,
        why_not="",
        best=best,
        within=bool(inside),
        margin=tolerance - _distance(best),
    )


def _with_intervals(
    results: Sequence[RouteResult], *, shop: Shop, target: Target, tolerance: float
) -> list[RouteResult]:
    """Give each route's best build its interval."""
    bests = [r.best for r in results if r.best is not None]
    sure = iter(with_intervals(bests, press=shop.press, target=target, tolerance=tolerance))
    return [r if r.best is None else replace(r, best=next(sure)) for r in results]


def _unusable(route: Route, why: str) -> RouteResult:
    return RouteResult(
        route=route, usable=False, why_not=why, best=None, within=False, margin=-np.inf
    )


def advise(
    shop: Shop,
    *,
    garment: Garment,
    ink: Ink,
    target: Target,
    tolerance: float,
    viewing: Viewing | None = None,
) -> Advice:
    """Decide whether an ink needs a base on a garment to reach a target.

    The first route inside the tolerance wins in the order of effort: straight (one screen),
    discharge base (two screens, no flash), white base (two screens and a flash).

    Parameters
    ----------
    tolerance : largest acceptable ΔE00, above 0.

    Raises
    ------
    InputError : a tolerance not above 0, or an ink no screen of the shop suits.
    """
    if not tolerance > 0:
        raise InputError(f"tolerance is {tolerance:g}; give a ΔE00 above 0, such as 3.")
    seen = viewing or Viewing()
    results = []
    for route in ROUTES:
        barrier = route_barrier(shop, garment=garment, route=route)
        if barrier:
            results.append(_unusable(route, barrier))
            continue
        builds = sensible_builds(shop, garment=garment, ink=ink, route=route)
        if not builds:
            shop.screen_near(shop.habits.over_base_threads_per_inch, ink=ink)  # says why
            results.append(
                _unusable(route, f"no screen of this shop suits it {ROUTE_WORDS[route]}")
            )
            continue
        predictions = predict(builds, press=shop.press.values, viewing=seen, target=target)
        results.append(_result(route, predictions, tolerance=tolerance))
    results = _with_intervals(results, shop=shop, target=target, tolerance=tolerance)
    bare = Advice(
        verdict=next((r.route for r in results if r.within), "none"),
        reasons=(),
        routes=tuple(results),
        tolerance=tolerance,
        target=target,
    )
    return replace(bare, reasons=_reasons(bare, garment=garment, ink=ink, viewing=seen))


def difference_words(standard: Array, trial: Array) -> str:
    """Say in a painter's words how a color (Lab) differs from the standard, largest part first."""
    chroma_s, chroma_t = float(chroma(standard)), float(chroma(trial))
    lightness = float(trial[0] - standard[0])
    colorful = chroma_t - chroma_s
    squared = float(np.sum((trial[1:] - standard[1:]) ** 2)) - colorful**2
    hue = float(np.sqrt(max(squared, 0.0)))
    parts = [
        (abs(lightness), "darker" if lightness < 0 else "lighter"),
        (abs(colorful), "duller" if colorful < 0 else "more colorful"),
        (hue, "of another hue"),
    ]
    said = [words for size, words in sorted(parts, reverse=True) if size >= 1.5]
    return " and ".join(said[:2]) or "a touch different"


def _landing(result: RouteResult, *, tolerance: float) -> str:
    """Say how a route that lands does it."""
    assert result.best is not None
    return (
        f"{ROUTE_WORDS[result.route].capitalize()} it lands: ΔE00 {_de(result):.1f} against a "
        f"tolerance of {tolerance:g}, {result.margin:.1f} to spare "
        f"({build_words(result.best.build)}).{_surely(result.best)}"
    )


def _surely(prediction: Prediction) -> str:
    """Say the interval and the chance of landing."""
    interval = prediction.interval
    if interval is None or interval.within is None:
        return ""
    return (
        f" On this shop's data it may come out anywhere from ΔE00 {interval.de_low:.1f} to "
        f"{interval.de_high:.1f} (90 %): {interval.within:.0%} chance of landing."
    )


def _missing(result: RouteResult, advice: Advice, *, viewing: Viewing) -> str:
    """Say why a route does not land."""
    if result.best is None:
        return f"{ROUTE_WORDS[result.route].capitalize()}: no, because {result.why_not}."
    best = result.best
    text = (
        f"{ROUTE_WORDS[result.route].capitalize()} the nearest print is ΔE00 {_de(result):.1f} "
        f"away, {difference_words(advice.target.lab(viewing), best.lab)} than the target"
    )
    if result.route == "straight":
        text += f"; {best.show_through:.0%} of the garment's lightness still shows through"
    elif result.route == "discharge-base":
        garment = best.build.garment
        cloth = external_from_internal(reflectance_from_ks(ks_discharged(garment)))
        text += f"; the discharged cloth is at L* {lab_of(cloth, viewing)[0]:.0f}, not white"
    else:
        text += (
            f"; this ink over white is at L* {best.lab[0]:.0f}, C* {float(chroma(best.lab)):.0f}"
        )
    return text + "."


def _reasons(advice: Advice, *, garment: Garment, ink: Ink, viewing: Viewing) -> tuple[str, ...]:
    """Explain the verdict: what lands, why the easier routes do not, and what else would do."""
    reasons = []
    chosen = advice.chosen
    if chosen is not None:
        reasons.append(_landing(chosen, tolerance=advice.tolerance))
    for result in advice.routes:
        if chosen is not None and result.route == chosen.route:
            break
        reasons.append(_missing(result, advice, viewing=viewing))
    if chosen is None:
        nearest = advice.nearest
        if nearest is not None and nearest.best is not None:
            reasons.insert(
                0,
                f"No build of '{ink.name}' on '{garment.name}' reaches the target: the nearest is "
                f"{ROUTE_WORDS[nearest.route]} at ΔE00 {_de(nearest):.1f}, "
                f"{-nearest.margin:.1f} outside the tolerance of {advice.tolerance:g}. "
                f"{_what_helps(advice, nearest.best, viewing=viewing)}",
            )
        return tuple(reasons)
    also = [r for r in advice.routes if r.within and r.route != chosen.route]
    for result in also:
        reasons.append(
            f"{ROUTE_WORDS[result.route].capitalize()} would land too (ΔE00 {_de(result):.1f}), "
            "at more screens and ink."
        )
    if chosen.route == "discharge-base":
        reasons.append(
            "Discharge gives a softer hand than white, but an off-white ground, and fumes: test a "
            "swatch of this very garment lot first."
        )
    return tuple(reasons)


def _what_helps(advice: Advice, nearest: Prediction, *, viewing: Viewing) -> str:
    """Say what would bring the target into reach."""
    standard = advice.target.lab(viewing)
    too_dark = nearest.lab[0] < standard[0] - 1.5
    cloth_is_dark = lab_of(nearest.build.garment.reflectance, viewing)[0] < 80.0
    lighter = ", a lighter shirt" if too_dark and cloth_is_dark else ""
    return (
        f"The print would be {difference_words(standard, nearest.lab)}: another ink{lighter} or a "
        "wider tolerance would help."
    )
