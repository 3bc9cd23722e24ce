"""Decision for one ink, garment and target: whether it needs a base, which, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from inksim.colour import Viewing, chroma, lab as lab_of
from inksim.common import KIND_WORDS, ROUTE_TITLES, ROUTE_WORDS, FloatArray, InputError
from inksim.decision.build_evaluation import (
    Evaluated,
    Landing,
    against,
    choose_build,
    evaluate,
    near_best,
)
from inksim.decision.candidate_builds import build_space, why_none
from inksim.decision.trade_rules import discharge_barrier
from inksim.optics import external_from_internal, reflectance_from_ks
from inksim.printing import (
    ROUTES,
    Prediction,
    Route,
    build_words,
    discharged_ks as ks_discharged,
    interval_of,
    predict_nominal,
)
from inksim.shop import Shop
from inksim.stock import Garment, Ink, Target

Verdict = Literal["straight", "discharge-base", "white-base", "none"]

SLIM = 0.15
"""Margin, as a share of the tolerance, below which a build lands only just [assumption]."""


@dataclass(frozen=True, kw_only=True)
class RouteResult:
    """Outcome of one route.

    usable: whether the route can be printed at all; why_not explains if not.
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


def barrier(
    shop: Shop, *, garment: Garment, ink: Ink, route: Route, lines_per_inch: float = 0.0
) -> str:
    """Explain why an ink cannot be printed on a garment by a route; '' if it can."""
    if route == "discharge-base" and (why := discharge_barrier(garment, limits=shop.rules)):
        return why
    why = why_none(shop, garment=garment, ink=ink, route=route, lines_per_inch=lines_per_inch)
    if not why or why.startswith("this shop has no ink"):
        return why
    return f"no screen of this shop suits it {ROUTE_WORDS[route]} ({why})"


def advise(
    shop: Shop,
    *,
    garment: Garment,
    ink: Ink,
    target: Target,
    viewing: Viewing = Viewing(),
    tolerance: float = 3.0,
) -> Advice:
    """Decide whether an ink needs a base on a garment to reach a target.

    Builds that land with a chance near the best count as equally good, and the least work wins:
    straight before a base, fewer strokes before more. So a build that lands only just gives way to
    one that lands surely.

    Parameters
    ----------
    shop : whose screens, bases, press and rules are used.
    garment, ink : to print on and with.
    target : the color to reach.
    viewing : the light and the observer that it is compared under.
    tolerance : largest acceptable ΔE00, above 0.

    Returns
    -------
    The verdict, its reasons, and the best build of each route as a prediction with its interval.

    Raises
    ------
    InputError : a tolerance not above 0, or an ink no screen of the shop suits.
    """
    if not 0 < tolerance < np.inf:
        raise InputError(f"tolerance is {tolerance:g}; give a ΔE00 above 0, such as 3.")
    if ink.kind not in ("colour", "white-base"):
        kind = KIND_WORDS[ink.kind]
        raise InputError(f"'{ink.name}' is a {kind}, not a color to print on top; give a color.")
    space = build_space(shop, garments=[garment], inks=[ink])
    if not len(space):
        shop.screen_near(shop.habits.over_base_threads_per_inch, ink=ink)  # says why
        raise InputError(
            f"ink '{ink.name}' cannot be printed on '{garment.name}': "
            f"{barrier(shop, garment=garment, ink=ink, route='straight')}."
        )
    evaluated = evaluate(space, press=shop.press, viewing=viewing)
    landing = against(evaluated, standard=target.lab(viewing), tolerance=tolerance)
    chosen = {
        route: choose_build(landing, effort=evaluated.effort, among=space.route == at)
        for at, route in enumerate(ROUTES)
        if np.any(space.route == at)
    }
    reached = _reached(evaluated, landing, chosen, shop=shop, target=target)
    results = [
        reached[route]
        if route in chosen
        else _unusable(route, barrier(shop, garment=garment, ink=ink, route=route))
        for route in ROUTES
    ]
    bare = Advice(
        verdict=_verdict(results),
        reasons=(),
        routes=tuple(results),
        tolerance=tolerance,
        target=target,
    )
    return replace(bare, reasons=_reasons(bare, garment=garment, ink=ink, viewing=viewing))


def _verdict(results: Sequence[RouteResult]) -> Verdict:
    """The route of least work among those that land with a chance near the best."""
    chances = np.array([_chance(r) for r in results])
    good = near_best(chances, np.array([r.within for r in results]))
    return results[int(np.argmax(good))].route if good.any() else "none"


def _reached(
    evaluated: Evaluated,
    landing: Landing,
    chosen: Mapping[Route, int],
    *,
    shop: Shop,
    target: Target,
) -> dict[Route, RouteResult]:
    """Result of each route by its chosen build, with interval."""
    builds = evaluated.space.builds(chosen.values())
    found = predict_nominal(
        builds, press=shop.press.values, viewing=evaluated.viewing, target=target
    )
    reached = {}
    for (route, at), prediction in zip(chosen.items(), found, strict=True):
        sure = interval_of(
            landing.spread, at, viewing=evaluated.viewing, aimed=True, tolerance=landing.tolerance
        )
        reached[route] = RouteResult(
            route=route,
            usable=True,
            why_not="",
            best=replace(prediction, interval=sure),
            within=bool(landing.lands[at]),
            margin=landing.tolerance - float(landing.distance[at]),
        )
    return reached


def _unusable(route: Route, why: str) -> RouteResult:
    return RouteResult(
        route=route, usable=False, why_not=why, best=None, within=False, margin=-np.inf
    )


def difference_words(standard: FloatArray, trial: FloatArray) -> str:
    """Describe how a color (Lab) differs from the standard, largest part first."""
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
    """Sentence on a route that lands: ΔE, margin, build."""
    assert result.best is not None
    slim = result.margin < SLIM * tolerance
    return (
        f"{ROUTE_TITLES[result.route]} it {'only just ' if slim else ''}lands: ΔE00 "
        f"{_de(result):.1f} against a tolerance of {tolerance:g}, {_spare(result.margin)} to spare "
        f"({build_words(result.best.build)}).{_surely(result.best)}"
    )


def _spare(margin: float) -> str:
    """The margin with one decimal, or two where one would show 0.0."""
    return f"{margin:.1f}" if margin >= 0.05 else f"{margin:.2f}" if margin >= 0.005 else "nothing"


def _surely(prediction: Prediction) -> str:
    """Sentence on the interval and the chance of landing."""
    interval = prediction.interval
    if interval is None or interval.within is None:
        return ""
    return (
        " On this shop's data 9 prints in 10 come out within ΔE00 "
        f"{interval.ends_words(prediction.delta_e_2000)}: {interval.within:.0%} chance of landing."
    )


def _less_sure(result: RouteResult, advice: Advice) -> str:
    """Sentence on why a route of less work is passed over although it lands."""
    surest = max((r for r in advice.routes if r.within), key=_chance)
    return (
        f"{ROUTE_TITLES[result.route]} it may land too, at ΔE00 {_de(result):.1f}, but "
        f"less surely: {_chance(result):.0%} chance against {_chance(surest):.0%} "
        f"{ROUTE_WORDS[surest.route]}."
    )


def _chance(result: RouteResult) -> float:
    interval = result.best.interval if result.best else None
    return (interval.within or 0.0) if interval else 0.0


def _missing(result: RouteResult, advice: Advice, *, viewing: Viewing) -> str:
    """Sentence on why a route does not land."""
    if result.best is None:
        return f"{ROUTE_TITLES[result.route]}: no, because {result.why_not}."
    best = result.best
    text = (
        f"{ROUTE_TITLES[result.route]} the nearest print is ΔE00 {_de(result):.1f} "
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
    """Explain the verdict: what lands, why easier routes do not, and the alternatives."""
    reasons = []
    chosen = advice.chosen
    if chosen is not None:
        reasons.append(_landing(chosen, tolerance=advice.tolerance))
    verdict_at = len(ROUTES) if chosen is None else ROUTES.index(chosen.route)
    for result in advice.routes[:verdict_at]:
        if result.within:
            reasons.append(_less_sure(result, advice))
        else:
            reasons.append(_missing(result, advice, viewing=viewing))
    if chosen is None:
        nearest = advice.nearest
        if nearest is not None and nearest.best is not None:
            reasons.insert(
                0,
                f"No build of '{ink.name}' on '{garment.name}' reaches the target: the nearest is "
                f"{ROUTE_WORDS[nearest.route]} at ΔE00 {_de(nearest):.1f}, "
                f"{-nearest.margin:.1f} outside the tolerance of {advice.tolerance:g}. "
                f"{_what_helps(advice, nearest.best, viewing=viewing)}{_surely(nearest.best)}",
            )
        return tuple(reasons)
    for result in advice.routes[verdict_at + 1 :]:
        if result.best is None:
            reasons.append(_missing(result, advice, viewing=viewing))
            continue
        verb = "would land too" if result.within else "would not land"
        more = "more screens and ink" if chosen.route == "straight" else "a flash and more ink"
        reasons.append(f"{ROUTE_TITLES[result.route]} {verb} (ΔE00 {_de(result):.1f}), at {more}.")
    if chosen.route == "discharge-base":
        reasons.append(
            "Discharge gives a softer hand than white, but an off-white ground, and fumes: test a "
            "swatch of this very garment lot first."
        )
    return tuple(reasons)


def _what_helps(advice: Advice, nearest: Prediction, *, viewing: Viewing) -> str:
    """Sentence on what would bring the target into reach."""
    standard = advice.target.lab(viewing)
    too_dark = nearest.lab[0] < standard[0] - 1.5
    cloth_is_dark = lab_of(nearest.build.garment.reflectance, viewing)[0] < 80.0
    lighter = ", a lighter shirt" if too_dark and cloth_is_dark else ""
    return (
        f"The print would be {difference_words(standard, nearest.lab)}: another ink{lighter} or a "
        "wider tolerance would help."
    )
