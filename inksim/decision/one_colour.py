"""Decision for one ink, garment and target: whether it needs a base, which, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from inksim.colour import Viewing
from inksim.common import (
    KIND_WORDS,
    ROUTE_NAMES,
    InputError,
)
from inksim.decision.advice import Advice, RouteResult, reasons_of
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
from inksim.decision.discharge import discharge_barrier
from inksim.decision.joint_chance import nearer_share
from inksim.decision.trade_rules import RULES
from inksim.decision.verdict import verdict_of, verdict_on_all
from inksim.printing import (
    ROUTES,
    Route,
    interval_of,
    predict_nominal,
)
from inksim.shop import Shop, StationsEntry
from inksim.stock import Garment, Ink, Target


def on_top(ink: Ink) -> Ink:
    """The ink, to print on top; InputError if it is none that can be."""
    if ink.kind == "clear-base":
        kind = KIND_WORDS[ink.kind]
        raise InputError(f"'{ink.name}' is a {kind}, not a color to print on top; give a color.")
    return ink


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
    return f"no screen of this shop suits it: {why}"


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
    space = build_space(shop, garments=[garment], inks=[on_top(ink)], stations=shop.stations)
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
    told = reasons_of(bare, garment=garment, ink=ink, viewing=viewing, gain=gain)
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
    other = max(others, key=lambda r: (reached[r].chance, -reached[r].distance))
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
