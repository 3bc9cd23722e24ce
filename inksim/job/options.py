"""Options of a job: every way worth weighing to print one of its colors by itself.

A color is left bare, printed straight, or printed over a base; by any ink that comes near it. For
each ink on each ground the build of `choose_build` and the surest one are options (in a job of very
many colors the first alone), and so is the build that the color would get alone.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.decision import (
    NO_BASE,
    ROUTE_ROOM_DE00,
    BuildSpace,
    Evaluated,
    Landing,
    choose_build,
)
from inksim.job.costs import Rates, film_g_m2, ink_per_print_g
from inksim.job.drying import KJ_PER_KWH, ink_water_g_m2, water_heat_kj
from inksim.job.job import Job
from inksim.job.pareto import EXACT_COLOURS
from inksim.stock import Ink

LEAST_CHANCE = 1e-3
MISS_WEIGHT = float(np.log(1.5))
"""Risk of a color is −ln(chance), the chance held at `LEAST_CHANCE`, plus `MISS_WEIGHT` for every
ΔE00 beyond the tolerance: so that of two ways that cannot land the nearer is the less risky
[assumption: a ΔE00 farther counts as a third of the chance]."""
CM2_PER_M2 = 10_000.0
NOTHING = -1
"""In place of a build: the color is left bare."""

ScreenKey = tuple[str, int, int]
"""Ink, screen and strokes: layers with equal keys go through one screen."""


class Ground(NamedTuple):
    """The ground of a color: the cloth (base `NO_BASE`), or one base screen.

    again: the base is printed, flashed and printed again, one stroke, through its one screen, and
    is the color.
    """

    base: int
    base_screen: int
    base_passes: int
    flash: bool
    again: bool = False

    @property
    def strokes(self) -> int:
        """Strokes on one print."""
        return self.base_passes + self.again

    def key(self, space: BuildSpace) -> ScreenKey:
        """Key of its screen."""
        return (space.bases[self.base].name, self.base_screen, self.base_passes)


STRAIGHT_ON = Ground(NO_BASE, NO_BASE, 0, False)


@dataclass(frozen=True, kw_only=True)
class Option:
    """One way to print one color.

    build: index in the evaluated space, or `NOTHING`. cost: of its ink and its share of base ink,
    for the run. film_g: dry film on one print; wet_um: of its layers. screen: key of its screen;
    colors with equal keys share it. missed: ΔE00 of the most likely color beyond the tolerance, 0
    if it is nominal. beaten: whether it is not, and straight too, or over some base too, another
    build makes it so.
    """

    colour: int
    build: int
    ground: Ground
    cost: float
    film_g: float
    wet_um: float
    risk: float
    screen: ScreenKey | None
    missed: float
    beaten: bool = False

    @property
    def nominal(self) -> bool:
        """Whether the most likely color is inside the tolerance."""
        return self.missed == 0.0

    @property
    def bare(self) -> bool:
        """Whether nothing is printed."""
        return self.build == NOTHING


def bare_option(colour: int) -> Option:
    """The option of a color that the cloth is: no cost, no film, and nothing to miss."""
    return Option(
        colour=colour, build=NOTHING, ground=STRAIGHT_ON, cost=0.0, film_g=0.0, wet_um=0.0,
        risk=0.0, screen=None, missed=0.0,
    )  # fmt: skip


def grounds_of(space: BuildSpace) -> list[Ground]:
    """Return the distinct base screens of a space, straight first."""
    based = space.base != NO_BASE
    rows = np.stack(
        [
            space.base,
            np.where(based, space.base_screen, NO_BASE),
            np.where(based, space.base_passes, 0),
            based & space.flash,
            space.again,
        ]
    ).astype(np.intp)
    distinct = np.unique(rows, axis=1)
    return [Ground(int(b), int(s), int(p), bool(f), bool(a)) for b, s, p, f, a in distinct.T]


def on_ground(space: BuildSpace, ground: Ground) -> BoolArray:
    """Mask of the builds of a space that are printed on a ground."""
    if ground.base == NO_BASE:
        return np.asarray(space.base == NO_BASE)
    return np.asarray(
        (space.base == ground.base)
        & (space.base_screen == ground.base_screen)
        & (space.base_passes == ground.base_passes)
        & (space.flash == ground.flash)
        & (space.again == ground.again)
    )


def inks_near(space: BuildSpace, distance: FloatArray, *, tolerance: float) -> IndexArray:
    """Indices of the inks worth weighing for a color: those that come about as near as any.

    distance (N,): ΔE00 of each build's most likely color. An ink counts whose nearest build is
    inside the tolerance, or not much farther than the nearest of all (`ROUTE_ROOM_DE00`).
    """
    least = np.full(len(space.inks), np.inf)
    np.minimum.at(least, space.ink, distance)
    return np.flatnonzero(least <= max(tolerance, float(least.min())) + ROUTE_ROOM_DE00)


def options_of(
    job: Job,
    evaluated: Evaluated,
    *,
    colour: int,
    among: BoolArray,
    landing: Landing,
    rates: Rates,
    gain: float,
    screens: Iterable[ScreenKey] = (),
) -> list[Option]:
    """List the options of one color.

    Parameters
    ----------
    among (N,) : the builds to choose from. landing: all of them against this color.
    gain : see `choose_build`.
    screens : that other colors use, to be shared where this one's inks go through them.
    """
    space = evaluated.space
    builds: dict[int, None] = {}

    def pick(mask: BoolArray) -> None:
        if mask.any():
            builds[
                choose_build(landing, route=space.route, work=evaluated.work, among=mask, gain=gain)
            ] = None

    pick(among)
    builds |= dict.fromkeys(_through(space, among, screens))
    grounds = [on_ground(space, ground) for ground in grounds_of(space)]
    for ink in np.unique(space.ink[among]).tolist():
        for ground in grounds:
            own = among & (space.ink == ink) & ground
            pick(own)
            if own.any() and len(job.colours) <= EXACT_COLOURS:
                builds[int(np.argmax(np.where(own, landing.chance, -1.0)))] = None
    made = [
        option
        for build in builds
        for option in options_by(
            job, evaluated, colour=colour, build=build, landing=landing, rates=rates,
        )
    ]  # fmt: skip
    within = {o.ground == STRAIGHT_ON for o in made if o.nominal}
    return [replace(o, beaten=not o.nominal and (o.ground == STRAIGHT_ON) in within) for o in made]


def _through(space: BuildSpace, among: BoolArray, screens: Iterable[ScreenKey]) -> list[int]:
    """The builds, on every ground, whose color goes through one of some screens."""
    names = [ink.name for ink in space.inks]
    found = np.zeros(len(space), dtype=np.bool_)
    for name, screen, passes in screens:
        if name in names:
            found |= (
                (space.ink == names.index(name))
                & (space.screen == screen)
                & (space.passes == passes)
            )
    return np.flatnonzero(found & among).tolist()


def options_by(
    job: Job,
    evaluated: Evaluated,
    *,
    colour: int,
    build: int,
    landing: Landing,
    rates: Rates,
) -> list[Option]:
    """The options that a build is for a color: one, or of a white on itself two.

    Printed, flashed and printed again it goes through one screen, which is then no base of other
    colors; through a screen of its own over the base it goes beside them.
    """
    option = option_of(job, evaluated, colour=colour, build=build, landing=landing, rates=rates)
    if not option.ground.again:
        return [option]
    return [option, replace(option, ground=option.ground._replace(again=False))]


def ground_of(space: BuildSpace, build: int) -> Ground:
    """The ground that a build of a space stands on."""
    if space.base[build] == NO_BASE:
        return STRAIGHT_ON
    again = bool(space.take(np.array([build])).again[0])
    return Ground(
        int(space.base[build]),
        int(space.base_screen[build]),
        int(space.base_passes[build]),
        bool(space.flash[build]),
        again,
    )


def _missed(landing: Landing, at: int) -> float:
    return max(0.0, float(landing.distance[at]) - landing.tolerance)


def risk_of(landing: Landing, at: int) -> float:
    """Risk of one build: see `MISS_WEIGHT`."""
    chance = max(float(landing.chance[at]), LEAST_CHANCE)
    return float(-np.log(chance)) + MISS_WEIGHT * _missed(landing, at)


def layers_of(evaluated: Evaluated, build: int) -> list[tuple[Ink, float]]:
    """Inks of a build with their wet films, µm, the base first."""
    space = evaluated.space
    layers = [(space.inks[space.ink[build]], float(evaluated.wet_um[build, 1]))]
    if space.base[build] != NO_BASE:
        layers.insert(0, (space.bases[space.base[build]], float(evaluated.wet_um[build, 0])))
    return layers


def option_of(
    job: Job,
    evaluated: Evaluated,
    *,
    colour: int,
    build: int,
    landing: Landing,
    rates: Rates,
) -> Option:
    """The option that a build is for a color."""
    space, area = evaluated.space, job.colours[colour].area_cm2
    cost, film, total = 0.0, 0.0, 0.0
    for ink, wet in layers_of(evaluated, build):
        grams = float(ink_per_print_g(wet, area_cm2=area, density_g_cm3=ink.density_g_cm3))
        run_g = grams * job.quantity / (1.0 - job.costs.waste_share)
        cost += rates.ink_cost(ink, used_g=run_g, ready_g=run_g)
        water = float(ink_water_g_m2(wet, solids_by_volume=ink.solids_by_volume))
        kj = water_heat_kj(water * area / CM2_PER_M2) * job.quantity
        cost += kj / KJ_PER_KWH / job.costs.dryer_efficiency * rates.per_kwh
        film_m2 = film_g_m2(
            wet, solids_by_volume=ink.solids_by_volume, density_g_cm3=ink.density_g_cm3
        )
        film += float(film_m2) * area / CM2_PER_M2
        total += wet
    return Option(
        colour=colour,
        build=build,
        ground=ground_of(space, build),
        cost=cost,
        film_g=film,
        wet_um=total,
        risk=risk_of(landing, build),
        screen=(
            space.inks[space.ink[build]].name,
            int(space.screen[build]),
            int(space.passes[build]),
        ),
        missed=_missed(landing, build),
    )
