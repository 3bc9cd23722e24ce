"""Decide a job: on each garment the Pareto-optimal ways to print it, and which one to take.

Colors share bases, stations, a press and a cloth, so they are not decided one by one. The ways come
from `search`, the verdict on all colors together from `verdict_on_all`, and the choice from the
chance of a color and then what the job prefers (cost, a soft hand, or chance), by the same rule as
for one color: what costs more has to add to the chance what the shop's rules ask.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import Viewing
from inksim.common import InputError, counted
from inksim.decision import (
    Evaluated,
    Landing,
    Verdict,
    against,
    barrier,
    build_space,
    choose_build,
    evaluate,
    verdict_of,
    verdict_on_all,
    weakest,
)
from inksim.job.amounts import ink_uses, water_g
from inksim.job.costs import Bill, InkUse, Rates, bill, ink_per_print_g, rates_of
from inksim.job.drying import DryerLoad, dryer_load
from inksim.job.job import Job, JobColour
from inksim.job.search import CM2_PER_M2, Way, options_of, search, with_work
from inksim.job.which_way import told_ways, way_to_take
from inksim.printing import Build, Interval, Prediction, interval_of, predict_nominal
from inksim.shop import Shop
from inksim.stock import Garment, Ink, Press, Provenance, least_sure


@dataclass(frozen=True, kw_only=True, eq=False)
class Plan:
    """How one color of a job is printed.

    nominal: whether its most likely color is inside the tolerance; margin: by how much. interval:
    the prediction's. ink_g: wet ink on one print, of the color alone.
    """

    colour: JobColour
    build: Build
    prediction: Prediction
    interval: Interval
    nominal: bool
    margin: float
    ink_g: float

    @property
    def verdict(self) -> Verdict:
        """What may be promised of this color by itself."""
        return verdict_of(self.interval)


@dataclass(frozen=True, kw_only=True, eq=False)
class Alternative:
    """One way to print the job on a garment, with its amounts and costs.

    verdict: on all colors together; of the way to take with what would help. stations: taken on the
    press; film_g_m2: mean dry film over the printed area. marks: why it is shown ('cheapest',
    'softest', 'surest').
    """

    way: Way
    plans: tuple[Plan, ...]
    verdict: Verdict
    stations: int
    film_g_m2: float
    inks: tuple[InkUse, ...]
    dryer: DryerLoad
    bill: Bill
    marks: tuple[str, ...] = ()

    @property
    def nominal(self) -> int:
        """Number of colors whose most likely color is inside the tolerance."""
        return self.way.nominal

    @property
    def weakest(self) -> Plan:
        """The color with the least chance of landing."""
        return self.plans[weakest([plan.interval for plan in self.plans])]

    @property
    def data(self) -> Provenance:
        """Where the least sure of its numbers comes from."""
        return least_sure(*(plan.prediction.data for plan in self.plans))


@dataclass(frozen=True, kw_only=True, eq=False)
class GarmentAnswer:
    """The decision for a job on one garment. chosen: index into the alternatives.

    barrier: why nothing can be printed; then there are no alternatives. evaluated, landings: all
    builds of the job's inks, and their comparison with each color, for the reasons.
    """

    garment: Garment
    alternatives: tuple[Alternative, ...] = ()
    chosen: int = 0
    barrier: str = ""
    evaluated: Evaluated | None = None
    landings: tuple[Landing, ...] = ()
    inks: tuple[int, ...] = ()

    @property
    def best(self) -> Alternative | None:
        """The chosen way."""
        return self.alternatives[self.chosen] if self.alternatives else None

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


def decide_job(job: Job, *, shop: Shop, viewing: Viewing = Viewing()) -> JobAnswer:
    """Decide a job on each of its garments: route, ink and screen of every color.

    Parameters
    ----------
    job : see `load_job`.
    shop : whose inks, screens, press and costs are used.
    viewing : the light and the observer that differences hold for.

    Returns
    -------
    One `GarmentAnswer` per garment, with the ways worth telling apart and the one to take.

    Raises
    ------
    InputError : an ink that no screen suits, no ink to choose from, or more inks than stations.
    """
    rates = rates_of(job.costs)
    answers = [
        _on_garment(shop, job, garment, viewing=viewing, rates=rates) for garment in job.garments
    ]
    return JobAnswer(
        job=job,
        viewing=viewing,
        rates=rates,
        garments=tuple(answers),
        calibrated=shop.press.calibrated,
    )


def _on_garment(
    shop: Shop, job: Job, garment: Garment, *, viewing: Viewing, rates: Rates
) -> GarmentAnswer:
    candidates = _candidates(shop, job)
    space = build_space(
        shop, garments=[garment], inks=candidates, lines_per_inch=job.lines_per_inch
    )
    for ink in (c.ink for c in job.colours if c.ink is not None):
        if not np.any(space.ink == candidates.index(ink)):
            return GarmentAnswer(garment=garment, barrier=_no_build(shop, job, garment, ink))
    if not len(space):
        return GarmentAnswer(garment=garment, barrier=_no_build(shop, job, garment, candidates[0]))
    evaluated = evaluate(space, press=shop.press, viewing=viewing)
    landings = tuple(
        against(evaluated, standard=c.target.lab(viewing), tolerance=c.tolerance)
        for c in job.colours
    )
    gain = shop.rules.least_chance_gain
    inks = tuple(
        _ink_for(c, landing, evaluated, gain=gain)
        for c, landing in zip(job.colours, landings, strict=True)
    )
    _check_stations(job, evaluated, inks)
    searched = rates if rates.known or _priced(evaluated, inks) else with_work(job)
    options = options_of(job, evaluated, inks=inks, landings=landings, rates=searched, gain=gain)
    ways = search(job, evaluated, options, rates=searched)
    if not ways:
        return GarmentAnswer(
            garment=garment,
            barrier=(
                f"the press has {counted(job.press.stations, 'station')} and "
                f"{counted(job.press.flashes, 'flash unit')}, "
                "too few for any way that prints all colors"
            ),
        )
    alternatives = _marked(
        _alternatives(
            [ways[at] for at in told_ways(ways, gain=gain)],
            shop=shop,
            job=job,
            garment=garment,
            evaluated=evaluated,
            landings=landings,
            rates=rates,
        )
    )
    chosen = _chosen(alternatives, job, gain=gain)
    taken = alternatives[chosen]
    verdict = _verdict(evaluated, taken.way, taken.plans, press=shop.press, help_too=True)
    return GarmentAnswer(
        garment=garment,
        alternatives=(
            *alternatives[:chosen],
            replace(taken, verdict=verdict),
            *alternatives[chosen + 1 :],
        ),
        chosen=chosen,
        evaluated=evaluated,
        landings=landings,
        inks=inks,
    )


def _candidates(shop: Shop, job: Job) -> list[Ink]:
    """Candidate inks: those given, and all colors of the shop if any is left to choose."""
    given = [c.ink for c in job.colours if c.ink is not None]
    free = any(c.ink is None for c in job.colours)
    stock = shop.colour_inks if free else ()
    if free and not stock:
        raise InputError("this shop has no ink of kind 'colour'; add one to inks.toml.")
    return list({ink.name: ink for ink in (*given, *stock)}.values())


def _no_build(shop: Shop, job: Job, garment: Garment, ink: Ink) -> str:
    """Explain why an ink has no build at all on a garment."""
    shop.screen_near(shop.habits.over_base_threads_per_inch, ink=ink)  # refuses a hopeless ink
    halftone = f" at {job.lines_per_inch:g} lines/inch" if job.lines_per_inch else ""
    why = barrier(
        shop, garment=garment, ink=ink, route="straight", lines_per_inch=job.lines_per_inch
    )
    return f"'{ink.name}' cannot be printed on '{garment.name}'{halftone}: {why}"


def _ink_for(colour: JobColour, landing: Landing, evaluated: Evaluated, *, gain: float) -> int:
    """Index of the given ink, or of the one `choose_build` prints the color with."""
    if colour.ink is not None:
        return evaluated.space.inks.index(colour.ink)
    everything = np.ones(len(evaluated.space), dtype=np.bool_)
    space = evaluated.space
    best = choose_build(
        landing, route=space.route, effort=evaluated.effort, among=everything, gain=gain
    )
    return int(space.ink[best])


def _check_stations(job: Job, evaluated: Evaluated, inks: Sequence[int]) -> None:
    """Refuse a job with more inks than the press has stations."""
    names = [evaluated.space.inks[at].name for at in dict.fromkeys(inks)]
    if len(names) > job.press.stations:
        raise InputError(
            f"job '{job.name}' needs {len(names)} inks ({', '.join(names)}), each on its own "
            f"screen, but the press has {counted(job.press.stations, 'station')}; use fewer "
            "colors, or a press with more."
        )


def _priced(evaluated: Evaluated, inks: Sequence[int]) -> bool:
    return any(evaluated.space.inks[at].price_per_kg for at in inks)


def _alternatives(
    ways: Sequence[Way],
    *,
    shop: Shop,
    job: Job,
    garment: Garment,
    evaluated: Evaluated,
    landings: Sequence[Landing],
    rates: Rates,
) -> list[Alternative]:
    """Complete the ways with predictions, amounts and bills; shared builds are predicted once."""
    needed = sorted({(o.colour, o.build) for way in ways for o in way.options})
    plans = {}
    for colour, build in needed:
        plans[colour, build] = _plan(
            shop, job.colours[colour], evaluated, landings[colour], build=build
        )
    made = []
    for way in ways:
        inks = ink_uses(job, evaluated, way)
        water = water_g(job, evaluated, way)
        dryer = dryer_load(water, garment=garment, cloth_g=garment.weight_g_m2 * job.cloth_m2)
        made.append(
            Alternative(
                way=way,
                plans=tuple(plans[o.colour, o.build] for o in way.options),
                verdict=_verdict(
                    evaluated,
                    way,
                    [plans[o.colour, o.build] for o in way.options],
                    press=shop.press,
                ),
                stations=way.stations(flash_takes_station=job.press.flash_takes_station),
                film_g_m2=way.film_g / job.area_cm2 * CM2_PER_M2,
                inks=inks,
                dryer=dryer,
                bill=bill(
                    rates,
                    quantity=job.quantity,
                    screens=way.screens,
                    strokes=way.strokes,
                    flashes=way.flashes,
                    inks=inks,
                    dryer_kwh=dryer.kwh(job.quantity, efficiency=job.costs.dryer_efficiency),
                ),
            )
        )
    return made


def _verdict(
    evaluated: Evaluated,
    way: Way,
    plans: Sequence[Plan],
    *,
    press: Press,
    help_too: bool = False,
) -> Verdict:
    return verdict_on_all(
        [plan.interval for plan in plans],
        response=evaluated.response.take(np.array([o.build for o in way.options])),
        builds=[plan.build for plan in plans],
        standards=np.stack([p.colour.target.lab(evaluated.viewing) for p in plans]),
        press=press,
        help_too=help_too,
    )


def _plan(
    shop: Shop, colour: JobColour, evaluated: Evaluated, landing: Landing, *, build: int
) -> Plan:
    made = evaluated.space.build(build)
    (found,) = predict_nominal(
        [made], press=shop.press.values, viewing=evaluated.viewing, target=colour.target
    )
    sure = interval_of(
        landing.spread, build, viewing=evaluated.viewing, aimed=True, tolerance=colour.tolerance
    )
    return Plan(
        colour=colour,
        build=made,
        prediction=replace(found, interval=sure),
        interval=sure,
        nominal=bool(landing.nominal[build]),
        margin=colour.tolerance - float(landing.distance[build]),
        ink_g=float(
            ink_per_print_g(
                evaluated.wet_um[build, 1],
                area_cm2=colour.area_cm2,
                density_g_cm3=made.colour.ink.density_g_cm3,
            )
        ),
    )


def _marked(alternatives: Sequence[Alternative]) -> tuple[Alternative, ...]:
    """Mark the cheapest, the softest and the surest among those with most colors nominal."""
    most = max(a.nominal for a in alternatives)
    among = [a for a in alternatives if a.nominal == most]
    marks: dict[int, list[str]] = {}
    marks.setdefault(id(min(among, key=lambda a: a.way.cost)), []).append("cheapest")
    marks.setdefault(id(min(among, key=lambda a: a.way.film_g)), []).append("softest")
    surest = min(among, key=lambda a: (-a.verdict.chance, a.way.risk))
    marks.setdefault(id(surest), []).append("surest")
    return tuple(replace(a, marks=tuple(marks.get(id(a), ()))) for a in alternatives)


def _chosen(alternatives: Sequence[Alternative], job: Job, *, gain: float) -> int:
    """Index of the choice by what the job prefers."""
    ways = [a.way for a in alternatives]
    field = {"cost": "cost", "softness": "film_g", "chance": "risk"}[job.prefer]
    return way_to_take(ways, np.array([getattr(way, field) for way in ways]), gain=gain)
