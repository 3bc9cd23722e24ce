"""Decide a job: on each garment the Pareto-optimal ways to print it, and which one to take.

Colors share bases, stations, a press and a cloth, so they are not decided one by one. The ways come
from `search`, the verdict on all colors together from `verdict_on_all`, and the choice from the
chance of a color and then what the job prefers (cost, a soft hand, or chance), by the same rule as
for one color: what costs more has to add to the chance what the shop's rules ask.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from inksim.colour import Viewing
from inksim.common import InputError, counted
from inksim.decision import (
    Answer,
    Evaluated,
    Landing,
    against,
    aimed_at,
    barrier,
    build_space,
    evaluate,
    stays_bare,
    work_class,
)
from inksim.job.amounts import shared_bill
from inksim.job.costs import Bill, Rates, rates_of
from inksim.job.job import Job
from inksim.job.plans import Alternative, alternatives_of, marked, verdict_of_way
from inksim.job.search import NONE_MADE, Made, Way, with_screens
from inksim.job.ways import all_ways, by_route, weighed
from inksim.job.which_way import told_ways, way_to_take
from inksim.printing import ROUTES, Route
from inksim.shop import Shop
from inksim.stock import Garment, Ink


@dataclass(frozen=True, kw_only=True, eq=False)
class GarmentAnswer:
    """The decision for a job on one garment. chosen: index into the alternatives.

    job: the part of the job on it. barrier: why nothing can be printed; then there are no
    alternatives. exact: whether no way that could win was lost in the search. evaluated, landings:
    all builds weighed, and their comparison with each color (None of one left bare), for the
    reasons.
    """

    garment: Garment
    job: Job
    alternatives: tuple[Alternative, ...] = ()
    chosen: int = 0
    barrier: str = ""
    exact: bool = True
    evaluated: Evaluated | None = None
    landings: tuple[Landing | None, ...] = ()

    @property
    def best(self) -> Alternative | None:
        """The chosen way."""
        return self.alternatives[self.chosen] if self.alternatives else None

    @property
    def answers(self) -> tuple[Answer, ...]:
        """The answer for each color, in order; none where it cannot be printed."""
        return tuple(plan.answer for plan in self.best.plans) if self.best else ()

    @property
    def nominal(self) -> bool:
        """Whether by some way the most likely print of every color is inside its tolerance."""
        return any(way.nominal == len(way.plans) for way in self.alternatives)


@dataclass(frozen=True, kw_only=True, eq=False)
class JobAnswer:
    """The decision for a job: one answer per garment, in the job's order.

    calibrated: whether the press was calibrated to its own prints.
    """

    job: Job
    viewing: Viewing
    rates: Rates
    garments: tuple[GarmentAnswer, ...]
    calibrated: bool

    @property
    def nominal(self) -> bool:
        """Whether every color is nominal on every garment."""
        return all(answer.nominal for answer in self.garments)

    @property
    def answers(self) -> tuple[Answer, ...]:
        """The answer for each color on each garment that can be printed, garment by garment."""
        return tuple(answer for found in self.garments for answer in found.answers)

    @property
    def bill(self) -> Bill | None:
        """Bill of the whole job; screens that garments share are counted once."""
        return shared_bill(
            [(f.best.bill, f.best.screens) for f in self.garments if f.best], rates=self.rates
        )


def decide_job(
    job: Job,
    *,
    shop: Shop,
    viewing: Viewing = Viewing(),
    only: Route | None = None,
    step: Callable[[str, float], None] = lambda words, done: None,
) -> JobAnswer:
    """Decide a job on each of its garments: what is left bare, ink, route and screen of the rest.

    Parameters
    ----------
    job : see `load_job`.
    shop : whose inks, screens, press and costs are used.
    viewing : the light and the observer that differences hold for.
    only : what the job would be if every printed color went by one route; a white straight on the
        cloth counts as the white base left as it is.
    step : told what is done now and what share of it all, again and again; what it raises stops it.

    Garments are decided in the job's order, a later one with the screens of those before at hand:
    of ways about as sure it takes the one that needs fewest new ones.

    Returns
    -------
    One `GarmentAnswer` per garment, with the ways worth telling apart and the one to take.

    Raises
    ------
    InputError : an ink that no screen suits, or no ink to choose from.
    """
    rates = rates_of(job.costs)
    answers, made = [], NONE_MADE
    for at, garment in enumerate(job.garments):
        found = _on_garment(
            shop,
            job.on(garment),
            garment,
            viewing=viewing,
            rates=rates,
            only=only,
            made=made,
            goes_on=partial(step, f"Weighing the ways on {garment.name}", at / len(job.garments)),
        )
        if found.best is not None and found.evaluated is not None:
            made = with_screens(made, found.best.way, found.evaluated.space)
        answers.append(found)
    return JobAnswer(
        job=job,
        viewing=viewing,
        rates=rates,
        garments=tuple(answers),
        calibrated=shop.press.calibrated,
    )


def _on_garment(
    shop: Shop,
    job: Job,
    garment: Garment,
    *,
    viewing: Viewing,
    rates: Rates,
    only: Route | None,
    made: Made,
    goes_on: Callable[[], None],
) -> GarmentAnswer:
    goes_on()
    candidates = _candidates(shop, job)
    whole = build_space(
        shop,
        garments=[garment],
        inks=candidates,
        lines_per_inch=job.lines_per_inch,
        stations=job.press,
    )
    if only is not None:
        if not np.any(whole.route == ROUTES.index(only)):
            why = _no_build(shop, job, garment, candidates[0], only=only)
            return GarmentAnswer(garment=garment, job=job, barrier=why)
        whole = whole.take(by_route(whole, only))
    bare = [
        c.ink is None
        and c.route is None
        and stays_bare(garment, c.target, tolerance=c.tolerance, viewing=viewing, limits=shop.rules)
        for c in job.colours
    ]
    job = replace(
        job,
        colours=tuple(replace(c, target=aimed_at(shop, c.target)) for c in job.colours),
    )
    for colour, is_bare in zip(job.colours, bare, strict=True):
        if is_bare:
            continue
        own = [candidates.index(colour.ink)] if colour.ink else range(len(candidates))
        able = np.isin(whole.ink, own)
        if colour.route is not None:
            able &= by_route(whole, colour.route)
        if not able.any():
            ink = colour.ink or candidates[0]
            why = _no_build(shop, job, garment, ink, only=colour.route or only)
            return GarmentAnswer(garment=garment, job=job, barrier=why)
    among, kept = weighed(shop, job, garment, whole, bare, viewing=viewing)
    space = whole.take(kept)
    evaluated = evaluate(space, press=shop.press, viewing=viewing) if len(space) else None
    landings = tuple(
        None
        if evaluated is None or is_bare
        else against(
            evaluated, standard=c.target.lab(viewing), tolerance=c.tolerance, among=mask[kept]
        )
        for c, is_bare, mask in zip(job.colours, bare, among, strict=True)
    )
    found = all_ways(
        shop,
        job,
        evaluated,
        landings=landings,
        among=[mask[kept] for mask in among],
        bare=bare,
        rates=rates,
        viewing=viewing,
        made=made,
        goes_on=goes_on,
    )
    if not found.ways:
        return GarmentAnswer(garment=garment, job=job, barrier=_no_way(job))
    landings, gain = tuple(found.landings), shop.rules.least_chance_gain
    told = told_ways(found.ways, gain=gain)
    if found.alone is not None and found.alone not in told:
        told = sorted({*told, found.alone})
    alternatives = marked(
        alternatives_of(
            [found.ways[at] for at in told],
            shop=shop,
            job=job,
            garment=garment,
            evaluated=evaluated,
            landings=landings,
            rates=rates,
            viewing=viewing,
        )
    )
    chosen = told.index(
        found.alone
        if found.alone is not None and job.prefer == "work"
        else _taken(found.ways, job, gain=gain)
    )
    taken = alternatives[chosen]
    taken = replace(
        taken,
        verdict=verdict_of_way(
            evaluated, taken.way, taken.plans, press=shop.press, help_too=only is None
        ),
    )
    return GarmentAnswer(
        garment=garment,
        job=job,
        alternatives=(*alternatives[:chosen], taken, *alternatives[chosen + 1 :]),
        chosen=chosen,
        exact=found.exact,
        evaluated=evaluated,
        landings=landings,
    )


def _no_way(job: Job) -> str:
    """Why the press cannot print a job, and what would make it printable."""
    few = (
        f"the press has {counted(job.press.stations, 'station')} and "
        f"{counted(job.press.flashes, 'flash unit')}, too few for any way that prints all colors, "
        "in two runs too"
    )
    if not job.merge or job.keep_apart:
        return f"{few}; let colors be merged, leave some out, or use a press with more stations"
    return f"{few}; leave colors out, or use a press with more stations"


def _candidates(shop: Shop, job: Job) -> list[Ink]:
    """Candidate inks: those given, and all that can be a color if any is left to choose."""
    given = [c.ink for c in job.colours if c.ink is not None]
    free = any(c.ink is None for c in job.colours)
    if free and not shop.top_inks:
        raise InputError("this shop has no ink that prints a color; add one to inks.toml.")
    return list({ink.name: ink for ink in (*given, *(shop.top_inks if free else ()))}.values())


def _no_build(shop: Shop, job: Job, garment: Garment, ink: Ink, *, only: Route | None) -> str:
    """Explain why an ink has no build at all on a garment."""
    shop.screen_near(shop.habits.over_base_threads_per_inch, ink=ink)  # refuses a hopeless ink
    halftone = f" at {job.lines_per_inch:g} lines/inch" if job.lines_per_inch else ""
    why = barrier(
        shop,
        garment=garment,
        ink=ink,
        route=only or "straight",
        lines_per_inch=job.lines_per_inch,
        stations=job.press,
    )
    return f"'{ink.name}' cannot be printed on '{garment.name}'{halftone}: {why}"


def _taken(ways: Sequence[Way], job: Job, *, gain: float) -> int:
    """Index of the way to take by what the job prefers."""
    field = {"work": "work", "cost": "cost", "softness": "film_g", "chance": "risk"}[job.prefer]
    values = np.array([getattr(way, field) for way in ways])
    return way_to_take(ways, work_class(values) if job.prefer == "work" else values, gain=gain)
