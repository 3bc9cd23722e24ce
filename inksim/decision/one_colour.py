"""Decision for one ink, garment and target: whether it needs a base, which, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import Viewing, chroma, lab as lab_of
from inksim.common import (
    KIND_WORDS,
    ROUTE_NAMES,
    ROUTE_TITLES,
    ROUTE_WORDS,
    FloatArray,
    InputError,
    counted,
)
from inksim.decision.answer import aimed_at, worth_weighing
from inksim.decision.build_evaluation import (
    Evaluated,
    Landing,
    against,
    choose_build,
    choose_by_route,
    evaluate,
)
from inksim.decision.candidate_builds import build_space, why_none
from inksim.decision.joint_chance import nearer_share
from inksim.decision.trade_rules import RULES, discharge_barrier
from inksim.decision.verdict import Verdict, verdict_of, verdict_on_all
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
from inksim.shop import Shop, StationsEntry
from inksim.stock import Garment, Ink, Target


@dataclass(frozen=True, kw_only=True)
class RouteResult:
    """Outcome of one route.

    usable: whether the route can be printed at all; why_not explains if not.
    best: the build to print by this route, see `as_good`; verdict: on it.
    nominal: whether its most likely color is inside the tolerance; margin: by how much.
    """

    route: Route
    usable: bool
    why_not: str
    best: Prediction | None
    verdict: Verdict | None
    nominal: bool
    margin: float


@dataclass(frozen=True, kw_only=True)
class Advice:
    """The decision for one ink on one garment against one target.

    route: the one to print by. verdict: on its build, with what would help. ranking: where data
    only rank, how sure the choice of the route is, against the one it was weighed with; else ''.
    """

    route: Route
    verdict: Verdict
    ranking: str
    reasons: tuple[str, ...]
    routes: tuple[RouteResult, ...]
    tolerance: float
    target: Target

    @property
    def chosen(self) -> RouteResult:
        """The result of the route to print by."""
        return next(r for r in self.routes if r.route == self.route)

    @property
    def best(self) -> Prediction:
        """The print to expect."""
        assert self.chosen.best is not None
        return self.chosen.best

    @property
    def nominal(self) -> bool:
        """Whether the most likely color of any build is inside the tolerance."""
        return any(r.nominal for r in self.routes)


def _distance(prediction: Prediction) -> float:
    assert prediction.delta_e_2000 is not None
    return prediction.delta_e_2000


def barrier(
    shop: Shop,
    *,
    garment: Garment,
    ink: Ink,
    route: Route,
    lines_per_inch: float = 0.0,
    stations: StationsEntry | None = None,
) -> str:
    """Explain why an ink cannot be printed on a garment by a route; '' if it can.

    stations: of the press; the shop's if not given.
    """
    if route == "discharge-base" and (why := discharge_barrier(garment, limits=shop.rules)):
        return why
    why = why_none(shop, garment=garment, ink=ink, route=route, lines_per_inch=lines_per_inch)
    if not why:
        space = build_space(
            shop, garments=[garment], inks=[ink], routes=[route], lines_per_inch=lines_per_inch,
            stations=stations or shop.stations,
        )  # fmt: skip
        return "" if len(space) else "the press has no flash unit or too few stations for it"
    if why.startswith("this shop has no ink") or any(
        rule.asks in why for rule in RULES if rule.about == "cloth"
    ):
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

    By each route the least work counts that lands about as surely as any; a costlier route is
    taken where it adds to the chance what the shop's rules ask: see `as_good`, `route_to_take`.

    Parameters
    ----------
    shop : whose screens, bases, press and rules are used.
    garment, ink : to print on and with.
    target : the color to reach.
    viewing : the light and the observer that it is compared under.
    tolerance : largest acceptable ΔE00, above 0.

    Returns
    -------
    The route, the verdict, its reasons, and the best build of each route as a prediction with its
    interval.

    Raises
    ------
    InputError : a tolerance not above 0, or an ink no screen of the shop suits.
    """
    if not 0 < tolerance < np.inf:
        raise InputError(f"tolerance is {tolerance:g}; give a ΔE00 above 0, such as 3.")
    if ink.kind == "clear-base":
        kind = KIND_WORDS[ink.kind]
        raise InputError(f"'{ink.name}' is a {kind}, not a color to print on top; give a color.")
    space = build_space(shop, garments=[garment], inks=[ink], stations=shop.stations)
    if not len(space):
        shop.screen_near(shop.habits.over_base_threads_per_inch, ink=ink)  # says why
        raise InputError(
            f"ink '{ink.name}' cannot be printed on '{garment.name}': "
            f"{barrier(shop, garment=garment, ink=ink, route='straight')}."
        )
    target = aimed_at(shop, target)
    evaluated = evaluate(space, press=shop.press, viewing=viewing)
    landing = against(evaluated, standard=target.lab(viewing), tolerance=tolerance)
    everything, gain = np.ones(len(space), dtype=np.bool_), shop.rules.least_chance_gain
    by_route = choose_by_route(
        landing, route=space.route, work=evaluated.work, among=everything, gain=gain
    )
    picks = {ROUTES[of]: build for of, build in by_route.items()}
    weighed = worth_weighing(
        space,
        garment=garment,
        standard=target.lab(viewing),
        distance=landing.distance,
        tolerance=tolerance,
        viewing=viewing,
        limits=shop.rules,
    )
    at = choose_build(landing, route=space.route, work=evaluated.work, among=weighed, gain=gain)
    reached = _reached(evaluated, landing, picks, shop=shop, target=target)
    results = [
        reached[route]
        if route in picks
        else _unusable(route, barrier(shop, garment=garment, ink=ink, route=route))
        for route in ROUTES
    ]
    route = ROUTES[space.route[at]]
    best = reached[route].best
    assert best is not None
    assert best.interval is not None
    bare = Advice(
        route=route,
        verdict=verdict_on_all(
            [best.interval],
            response=evaluated.response.take(np.array([at])),
            builds=[best.build],
            standards=target.lab(viewing)[None],
            press=shop.press,
        ),
        ranking=_ranking(evaluated, picks, reached, route=route, target=target),
        reasons=(),
        routes=tuple(results),
        tolerance=tolerance,
        target=target,
    )
    told = _reasons(bare, garment=garment, ink=ink, viewing=viewing, gain=gain)
    return replace(bare, reasons=told)


def _ranking(
    evaluated: Evaluated,
    picks: Mapping[Route, int],
    reached: Mapping[Route, RouteResult],
    *,
    route: Route,
    target: Target,
) -> str:
    """How often the chosen route comes nearer than the surest other, where data only rank."""
    others = [r for r in picks if r != route]
    if not others or all(r.best is None or r.best.data == "measured" for r in reached.values()):
        return ""
    other = max(others, key=lambda r: (_chance(reached[r]), -_de(reached[r])))
    pair = np.array([picks[route], picks[other]])
    share = nearer_share(
        evaluated.response.take(pair),
        evaluated.space.builds(pair),
        standard=target.lab(evaluated.viewing),
    )
    return f"{ROUTE_NAMES[route]} before {ROUTE_NAMES[other]} in {100 * share:.0f} of 100 cases"


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
            verdict=verdict_of(sure),
            nominal=bool(landing.nominal[at]),
            margin=landing.tolerance - float(landing.distance[at]),
        )
    return reached


def _unusable(route: Route, why: str) -> RouteResult:
    return RouteResult(
        route=route,
        usable=False,
        why_not=why,
        best=None,
        verdict=None,
        nominal=False,
        margin=-np.inf,
    )


def _chance(result: RouteResult) -> float:
    return result.verdict.chance if result.verdict else 0.0


def _de(result: RouteResult) -> float:
    return np.inf if result.best is None else _distance(result.best)


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


def _expected(result: RouteResult) -> str:
    """'ΔE00 2.1 (0.8 to 4.9), 66% chance'."""
    assert result.verdict is not None
    return f"{result.verdict.expected}, {result.verdict.percent} chance"


def _to_print(advice: Advice) -> str:
    """Sentence on the build to print, and its nominal color against the tolerance."""
    result = advice.chosen
    where = (
        f"{_size(result.margin)} inside the tolerance of {advice.tolerance:g}"
        if result.nominal
        else f"{_size(-result.margin)} outside the tolerance of {advice.tolerance:g}"
    )
    return (
        f"{ROUTE_TITLES[result.route]}: {build_words(advice.best.build)}. The most likely color is "
        f"nominally ΔE00 {_de(result):.1f} off, {where}."
    )


def _size(margin: float) -> str:
    """The margin with one decimal, or two where one would show 0.0."""
    return f"{margin:.1f}" if margin >= 0.05 else f"{margin:.2f}"


def _easier(result: RouteResult, advice: Advice) -> str:
    """Sentence on a route of less work that could be printed but is passed over."""
    return (
        f"{ROUTE_TITLES[result.route]} it is less sure: {_expected(result)} against "
        f"{_chance(advice.chosen):.0%} {ROUTE_WORDS[advice.route]}, which is worth the work."
    )


def _costlier(result: RouteResult, advice: Advice, *, gain: float) -> str:
    """Sentence on a route of more work that is not taken."""
    more = "more screens and ink" if advice.route == "straight" else "a flash and more ink"
    added = _chance(result) - _chance(advice.chosen)
    worth = f"only {counted(round(100 * added), 'point')} more" if added >= 0.005 else "no surer"
    if added >= gain:
        worth = f"not {100 * gain:.0f} points more than by every easier route"
    return f"{ROUTE_TITLES[result.route]}: {_expected(result)}, {worth}, at {more}."


def _missing(result: RouteResult, advice: Advice, *, viewing: Viewing) -> str:
    """Sentence on why a route does not come near, or cannot be printed."""
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


def _reasons(
    advice: Advice, *, garment: Garment, ink: Ink, viewing: Viewing, gain: float
) -> tuple[str, ...]:
    """Explain the decision: what to print, why easier routes do not do, and the alternatives."""
    at = ROUTES.index(advice.route)
    reasons = [_to_print(advice)]
    if not advice.nominal:
        reasons.append(
            f"No build of '{ink.name}' on '{garment.name}' is nominally inside the tolerance. "
            f"{_another(advice, viewing=viewing)}"
        )
    for result in advice.routes[:at]:
        if result.nominal:
            reasons.append(_easier(result, advice))
        else:
            reasons.append(_missing(result, advice, viewing=viewing))
    for result in advice.routes[at + 1 :]:
        if result.nominal:
            reasons.append(_costlier(result, advice, gain=gain))
        else:
            reasons.append(_missing(result, advice, viewing=viewing))
    if advice.ranking:
        reasons.append(f"How sure this order is: {advice.ranking}.")
    if advice.route == "discharge-base":
        reasons.append(
            "Discharge gives a softer hand than white, but an off-white ground, and fumes: test a "
            "swatch of this very garment lot first."
        )
    return tuple(reasons)


def _another(advice: Advice, *, viewing: Viewing) -> str:
    """Sentence on what would bring the target into reach."""
    standard, nearest = advice.target.lab(viewing), advice.best
    too_dark = nearest.lab[0] < standard[0] - 1.5
    cloth_is_dark = lab_of(nearest.build.garment.reflectance, viewing)[0] < 80.0
    lighter = ", a lighter shirt" if too_dark and cloth_is_dark else ""
    return (
        f"The print would be {difference_words(standard, nearest.lab)}: another ink{lighter} or a "
        "wider tolerance would help."
    )
