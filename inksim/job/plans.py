"""The ways to print a job made whole: each color's plan, amounts, dryer, bill and verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import Viewing
from inksim.decision import (
    Answer,
    Evaluated,
    Landing,
    Verdict,
    answer_of,
    bare_cloth,
    verdict_of,
    verdict_on_all,
    weakest,
    work_class,
)
from inksim.job.amounts import ink_uses, second_run_kwh, water_g
from inksim.job.costs import Bill, InkUse, Rates, bill, ink_per_print_g
from inksim.job.drying import CURE_CELSIUS, DryerLoad, dryer_load
from inksim.job.job import Job, JobColour
from inksim.job.options import CM2_PER_M2
from inksim.job.press_screens import PressScreen, press_screens
from inksim.job.search import Way
from inksim.printing import Build, Interval, Prediction, interval_of, predict_nominal
from inksim.shop import Shop
from inksim.stock import Garment, Press, Provenance, Recipe, cure_of, least_sure


@dataclass(frozen=True, kw_only=True, eq=False)
class Plan:
    """How one color of a job is printed, or that it is left bare.

    nominal: whether its most likely color is inside the tolerance; margin: by how much. interval:
    the prediction's. ink_g: wet ink on one print, of the color alone. merged: the color that it is
    printed as, because the press has no screen for its own; '' where it has one. recipe: of a
    stored mix.
    """

    colour: JobColour
    build: Build
    prediction: Prediction
    interval: Interval
    nominal: bool
    margin: float
    ink_g: float
    merged: str = ""
    recipe: Recipe | None = None

    @property
    def called(self) -> str:
        """'Kiln Red #c9342e': a color that has no name but its code, with the ink it is seen in."""
        ink, name = self.build.ink, self.colour.name
        return f"{ink.name} {name}" if ink and name.startswith("#") else name

    @property
    def verdict(self) -> Verdict:
        """What may be promised of this color by itself."""
        return verdict_of(self.interval)

    @property
    def answer(self) -> Answer:
        """Its `Answer`, as every page and command gives it."""
        return answer_of(
            self.prediction,
            target=self.colour.target,
            nominal=self.nominal,
            recipe=self.recipe,
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Alternative:
    """One way to print the job on a garment, with its amounts and costs.

    screens: in print order. verdict: on all printed colors together; of the way to take with what
    would help. stations: taken on the press, of all runs. film_g_m2: mean dry film over the printed
    area. cure: °C and s that the whole film has to hold, None where nothing is printed. marks: why
    it is shown ('least work', 'cheapest', 'softest', 'surest').
    """

    way: Way
    plans: tuple[Plan, ...]
    screens: tuple[PressScreen, ...]
    verdict: Verdict
    stations: int
    film_g_m2: float
    inks: tuple[InkUse, ...]
    dryer: DryerLoad
    cure: tuple[float, float] | None
    bill: Bill
    marks: tuple[str, ...] = ()

    @property
    def nominal(self) -> int:
        """Number of colors whose most likely color is inside the tolerance."""
        return self.way.nominal

    @property
    def printed(self) -> tuple[Plan, ...]:
        """The colors that are printed."""
        return tuple(plan for plan in self.plans if not plan.build.bare)

    @property
    def weakest(self) -> Plan:
        """The printed color with the least chance of landing; where none is, of the bare ones."""
        plans = self.printed or self.plans
        return plans[weakest([plan.interval for plan in plans])]

    @property
    def priced(self) -> bool:
        """Whether every ink of it has a price."""
        return not any(use.unpriced for use in self.inks)

    @property
    def data(self) -> Provenance:
        """Where the least sure of its numbers comes from."""
        return least_sure(*(plan.prediction.data for plan in self.plans))


def alternatives_of(
    ways: Sequence[Way],
    *,
    shop: Shop,
    job: Job,
    garment: Garment,
    evaluated: Evaluated | None,
    landings: Sequence[Landing | None],
    rates: Rates,
    viewing: Viewing,
) -> list[Alternative]:
    """Complete the ways with predictions, amounts and bills; shared builds are predicted once."""
    needed: dict[int, dict[int, None]] = {}
    for option in (o for way in ways for o in way.options):
        needed.setdefault(option.colour, {})[option.build] = None
    plans = {
        (at, build): plan
        for at, builds in needed.items()
        for build, plan in zip(
            builds,
            _plans(
                shop, job.colours[at], evaluated, landings[at], builds=list(builds),
                garment=garment, viewing=viewing,
            ),
            strict=True,
        )
    }  # fmt: skip
    made, low = [], shop.dye_migrates(garment)
    for way in ways:
        screens = (
            press_screens(job, evaluated, way, light_before_dark=shop.rules.light_before_dark)
            if evaluated
            else ()
        )
        inks = ink_uses(screens, costs=job.costs, low_cure=low)
        cure = cure_of([screen.ink for screen in screens], low_cure=low) if screens else None
        water = water_g(job, evaluated, way) if evaluated else 0.0
        dryer = dryer_load(
            water,
            garment=garment,
            cloth_g=garment.weight_g_m2 * job.cloth_m2,
            cure_celsius=cure[0] if cure else CURE_CELSIUS,
        )
        named = _merged(job, way, [plans[o.colour, o.build] for o in way.options])
        passes = way.runs if way.screens else 0
        made.append(
            Alternative(
                way=way,
                plans=named,
                screens=screens,
                verdict=verdict_of_way(evaluated, way, named, press=shop.press),
                stations=job.press.taken(screens=way.screens, flashes=way.flashes),
                film_g_m2=way.film_g / job.area_cm2 * CM2_PER_M2,
                inks=inks,
                dryer=dryer,
                cure=cure,
                bill=bill(
                    rates,
                    quantity=job.quantity,
                    screens=way.screens,
                    strokes=way.strokes,
                    flashes=way.flashes,
                    runs=passes,
                    inks=inks,
                    dryer_kwh=min(1, passes)
                    * dryer.kwh(job.quantity, efficiency=job.costs.dryer_efficiency)
                    + max(0, passes - 1) * second_run_kwh(job),
                ),
            )
        )
    return made


def _merged(job: Job, way: Way, plans: Sequence[Plan]) -> tuple[Plan, ...]:
    """The plans, those of merged colors with the color that they are printed as."""
    made = list(plans)
    for group in way.merged:
        for at in group:
            if at != group[0]:
                made[at] = replace(made[at], merged=job.colours[group[0]].name)
    return tuple(made)


def verdict_of_way(
    evaluated: Evaluated | None,
    way: Way,
    plans: Sequence[Plan],
    *,
    press: Press,
    help_too: bool = False,
) -> Verdict:
    """The verdict on the printed colors of a way together: of a bare one nothing is promised.

    Where nothing is printed, on the cloth against the color that it is least.
    """
    printed = [(o, p) for o, p in zip(way.options, plans, strict=True) if not o.bare]
    if not printed or evaluated is None:
        return verdict_of(plans[weakest([plan.interval for plan in plans])].interval)
    return verdict_on_all(
        [plan.interval for _, plan in printed],
        response=evaluated.response.take(np.array([option.build for option, _ in printed])),
        builds=[plan.build for _, plan in printed],
        standards=np.stack([p.colour.target.lab(evaluated.viewing) for _, p in printed]),
        press=press,
        help_too=help_too,
    )


def _plans(
    shop: Shop,
    colour: JobColour,
    evaluated: Evaluated | None,
    landing: Landing | None,
    *,
    builds: Sequence[int],
    garment: Garment,
    viewing: Viewing,
) -> list[Plan]:
    """The plans of one color by each of some builds, predicted in one pass."""
    if evaluated is None or landing is None:
        cloth = bare_cloth(
            garment, colour.target, press=shop.press, viewing=viewing, tolerance=colour.tolerance
        )
        assert cloth.interval is not None
        return [
            Plan(
                colour=colour, build=cloth.build, prediction=cloth, interval=cloth.interval,
                nominal=True, margin=colour.tolerance - (cloth.delta_e_2000 or 0.0), ink_g=0.0,
            )
        ]  # fmt: skip
    found = predict_nominal(
        evaluated.space.builds(builds),
        press=shop.press.values,
        viewing=evaluated.viewing,
        target=colour.target,
    )
    made = []
    for at, each in zip(builds, found, strict=True):
        sure = interval_of(
            landing.spread, at, viewing=viewing, aimed=True, tolerance=colour.tolerance
        )
        laid = ink_per_print_g(
            evaluated.wet_um[at, 1],
            area_cm2=colour.area_cm2,
            density_g_cm3=each.build.colour.ink.density_g_cm3,
        )
        made.append(
            Plan(
                colour=colour,
                build=each.build,
                prediction=replace(each, interval=sure),
                interval=sure,
                nominal=bool(landing.nominal[at]),
                margin=colour.tolerance - float(landing.distance[at]),
                ink_g=float(laid),
                recipe=shop.recipe_of(each.build.ink),
            )
        )
    return made


def marked(alternatives: Sequence[Alternative]) -> tuple[Alternative, ...]:
    """Mark least work, the cheapest, the softest and the surest, of those with most nominal.

    The cheapest is one whose inks all have a price, if any is.
    """
    most = max(a.nominal for a in alternatives)
    among = [a for a in alternatives if a.nominal == most]
    priced = [a for a in among if a.priced] or among
    surest = min(among, key=lambda a: (-a.verdict.chance, a.way.risk))
    marks: dict[int, list[str]] = {}
    for name, each in (
        ("least work", min(among, key=lambda a: (work_class(a.way.work), -a.verdict.chance))),
        ("cheapest", min(priced, key=lambda a: a.way.cost)),
        ("softest", min(among, key=lambda a: a.way.film_g)),
        ("surest", surest),
    ):
        marks.setdefault(id(each), []).append(name)
    return tuple(replace(a, marks=tuple(marks.get(id(a), ()))) for a in alternatives)
