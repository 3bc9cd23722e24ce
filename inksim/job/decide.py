"""Decide a job: on each garment the Pareto-optimal ways to print it, and which one to take.

Colors share bases, stations, a press and a cloth, so they are not decided one by one. The ways come
from `search`, the chance that all colors land from `joint_chance`, and the choice from three
criteria in order: colors landing, chance near the best, then what the job prefers (cost, a soft
hand, or chance).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import Viewing
from inksim.common import BoolArray, FloatArray, InputError, counted
from inksim.decision import (
    Evaluated,
    Landing,
    against,
    barrier,
    build_space,
    choose_build,
    evaluate,
    near_best,
)
from inksim.job.amounts import ink_uses, joint_chance, water_g
from inksim.job.costs import Bill, InkUse, Rates, bill, ink_per_print_g, rates_of
from inksim.job.drying import DryerLoad, dryer_load
from inksim.job.job import Job, JobColour
from inksim.job.search import CM2_PER_M2, Way, options_of, search, with_work
from inksim.printing import Build, Prediction, interval_of, predict_nominal
from inksim.shop import Shop
from inksim.stock import Garment, Ink

SHOWN = 10
"""Most ways reported for a garment: the chosen, the cheapest, softest and surest, and others."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Plan:
    """How one color of a job is printed. ink_g: wet ink on one print, of the color alone."""

    colour: JobColour
    build: Build
    prediction: Prediction
    lands: bool
    margin: float
    ink_g: float

    @property
    def chance(self) -> float:
        """Chance of landing."""
        interval = self.prediction.interval
        return (interval.within or 0.0) if interval else 0.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Alternative:
    """One way to print the job on a garment, with its amounts and costs.

    chance: that all colors land together; stations: taken on the press; film_g_m2: mean dry film
    over the printed area. marks: why it is shown ('cheapest', 'softest', 'surest').
    """

    way: Way
    plans: tuple[Plan, ...]
    chance: float
    stations: int
    film_g_m2: float
    inks: tuple[InkUse, ...]
    dryer: DryerLoad
    bill: Bill
    marks: tuple[str, ...] = ()

    @property
    def landed(self) -> int:
        """Number of colors that land."""
        return self.way.landed

    @property
    def weakest(self) -> Plan:
        """The color with the least chance of landing."""
        return min(self.plans, key=lambda plan: (plan.chance, plan.margin))


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
    def lands(self) -> bool:
        """Whether every color lands."""
        return self.best is not None and self.best.landed == len(self.best.plans)


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
    def lands(self) -> bool:
        """Whether every color lands on every garment."""
        return all(answer.lands for answer in self.garments)


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
    inks = tuple(
        _ink_for(c, landing, evaluated) for c, landing in zip(job.colours, landings, strict=True)
    )
    _check_stations(job, evaluated, inks)
    searched = rates if rates.known or _priced(evaluated, inks) else with_work(job)
    options = options_of(job, evaluated, inks=inks, landings=landings, rates=searched)
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
            [ways[at] for at in _told(ways)],
            shop=shop,
            job=job,
            garment=garment,
            evaluated=evaluated,
            landings=landings,
            rates=rates,
        )
    )
    return GarmentAnswer(
        garment=garment,
        alternatives=alternatives,
        chosen=_chosen(alternatives, job),
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


def _ink_for(colour: JobColour, landing: Landing, evaluated: Evaluated) -> int:
    """Index of the given ink, or of the one `choose_build` prints the color with."""
    if colour.ink is not None:
        return evaluated.space.inks.index(colour.ink)
    everything = np.ones(len(evaluated.space), dtype=np.bool_)
    best = choose_build(landing, effort=evaluated.effort, among=everything)
    return int(evaluated.space.ink[best])


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


def _told(ways: Sequence[Way]) -> list[int]:
    """Indices of the ways to report: the extremes and an even selection of the rest."""
    landed, risk, cost, film = (
        np.array([getattr(w, f) for w in ways]) for f in ("landed", "risk", "cost", "film_g")
    )
    orders = [(risk, -landed), (cost, -landed), (film, -landed), (cost,), (film,), (risk,)]
    picked = [int(np.lexsort(keys)[0]) for keys in orders]
    good = np.flatnonzero(_near(landed, risk, colours=len(ways[0].options)))
    picked += [int(good[np.argmin(values[good])]) for values in (cost, film, risk)]
    rest = [at for at in range(len(ways)) if at not in picked]
    free = max(0, SHOWN - len(set(picked)))
    picked += [rest[round(n)] for n in np.linspace(0, len(rest) - 1, min(free, len(rest)))]
    return sorted(set(picked))


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
                chance=_chance(evaluated, way, [plans[o.colour, o.build] for o in way.options]),
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


def _chance(evaluated: Evaluated, way: Way, plans: Sequence[Plan]) -> float:
    """Chance that all colors land: never above that of the weakest color.

    The two come from different samples, and a page must not show 31 % and 33 % for one thing.
    """
    weakest = min(plan.chance for plan in plans)
    if len(plans) == 1:
        return weakest
    together = joint_chance(
        evaluated.response.take(np.array([o.build for o in way.options])),
        standards=np.stack([p.colour.target.lab(evaluated.viewing) for p in plans]),
        tolerances=np.array([p.colour.tolerance for p in plans]),
    )
    return min(together, weakest)


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
        lands=bool(landing.lands[build]),
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
    """Mark the cheapest, the softest and the surest among those that land most colors."""
    most = max(a.landed for a in alternatives)
    among = [a for a in alternatives if a.landed == most]
    marks: dict[int, list[str]] = {}
    marks.setdefault(id(min(among, key=lambda a: a.way.cost)), []).append("cheapest")
    marks.setdefault(id(min(among, key=lambda a: a.way.film_g)), []).append("softest")
    marks.setdefault(id(min(among, key=lambda a: (-a.chance, a.way.risk))), []).append("surest")
    return tuple(replace(a, marks=tuple(marks.get(id(a), ()))) for a in alternatives)


def _chosen(alternatives: Sequence[Alternative], job: Job) -> int:
    """Index of the choice: most colors landing, a chance near the best, job's preference."""
    landed, risk, cost, film = (
        np.array([getattr(a.way, f) for a in alternatives])
        for f in ("landed", "risk", "cost", "film_g")
    )
    good = np.flatnonzero(_near(landed, risk, colours=len(job.colours)))
    values = {"cost": cost, "softness": film, "chance": risk}[job.prefer]
    return int(good[np.lexsort((cost[good], values[good]))[0]])


def _near(landed: FloatArray, risk: FloatArray, *, colours: int) -> BoolArray:
    """Mask of the ways that land most colors with a chance per color near the best.

    exp(−risk/colors) is the geometric mean of the colors' chances, so that jobs of many and of few
    colors are judged alike.
    """
    return near_best(np.exp(-risk / colours), landed == landed.max())
