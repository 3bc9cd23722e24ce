"""Search the ways to print a job under the stations of the press: which color gets which base.

Colors that share a base share its screen, so they cannot be decided one by one. Every set of base
screens is tried (none, one, or one of each of two base inks); within a set each color goes straight
or onto one of its bases. Colors are joined one ink at a time, and ways dominated in cost, hand,
risk, colors that are nominal and screens are dropped at once: all of these add up over the inks, so
nothing that could still win is lost. So up to `pareto.EXACT_COLOURS` colors the search is exact
among the builds of `options_of`, two for each color on each ground; beyond, only the extremes of
the front are carried on, and a way in between may be lost.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product
from typing import NamedTuple

import numpy as np

from inksim.common import BoolArray
from inksim.decision import NO_BASE, BuildSpace, Evaluated, Landing, choose_build
from inksim.job.costs import Rates, film_g_m2, ink_per_print_g
from inksim.job.drying import KJ_PER_KWH, ink_water_g_m2, water_heat_kj
from inksim.job.job import Job
from inksim.job.pareto import (
    COST,
    SCREENS,
    Ways,
    combined,
    empty_ways,
    most_ways,
    pareto_mask,
    undominated,
)

LEAST_CHANCE = 1e-3
MISS_WEIGHT = float(np.log(1.5))
"""Risk of a color is −ln(chance), the chance held at `LEAST_CHANCE`, plus `MISS_WEIGHT` for every
ΔE00 beyond the tolerance: so that of two ways that cannot land the nearer is the less risky
[assumption: a ΔE00 farther counts as a third of the chance]."""
WORK = Rates(
    currency="work", per_screen=1.0, per_garment=0.0, per_stroke=0.1, per_flash=0.2, per_kwh=0.0,
    missing=(),
)  # fmt: skip
"""Costs where no price is known: a screen counts 1, a stroke 0.1 and a flash 0.2,
over the whole run [assumption: for ranking only]."""
CM2_PER_M2 = 10_000.0


class Ground(NamedTuple):
    """The ground of a color: the cloth (base `NO_BASE`), or one base screen."""

    base: int
    base_screen: int
    base_passes: int
    flash: bool


STRAIGHT_ON = Ground(NO_BASE, NO_BASE, 0, False)


@dataclass(frozen=True, kw_only=True)
class Option:
    """One way to print one color.

    build: index in the evaluated space. cost: of its ink and its share of base ink, for the run.
    film_g: dry film on one print. screen: key of its screen; colors with equal keys share it.
    missed: ΔE00 of the most likely color beyond the tolerance, 0 if it is nominal. beaten: whether
    it is not, and straight too, or over some base too, another build makes it so.
    """

    colour: int
    build: int
    ground: Ground
    cost: float
    film_g: float
    risk: float
    screen: tuple[int, int, int]
    missed: float
    beaten: bool = False

    @property
    def nominal(self) -> bool:
        """Whether the most likely color is inside the tolerance."""
        return self.missed == 0.0


@dataclass(frozen=True, kw_only=True)
class Way:
    """One way to print the whole job: an option for each color, in order.

    cost: of the run, without what all ways have in common. film_g: dry film on one print. risk:
    sum over colors. screens: of colors and bases; flashes: flash units.
    """

    options: tuple[Option, ...]
    grounds: tuple[Ground, ...]
    cost: float
    film_g: float
    risk: float
    screens: int
    flashes: int
    strokes: int

    @property
    def nominal(self) -> int:
        """Number of colors whose most likely color is inside the tolerance."""
        return sum(option.nominal for option in self.options)

    @property
    def beaten(self) -> int:
        """Number of colors that are not nominal straight or over a base although they could be."""
        return sum(option.beaten for option in self.options)

    @property
    def missed(self) -> float:
        """ΔE00 beyond the tolerance of the color that is farthest beyond it; 0 if none is."""
        return max(option.missed for option in self.options)

    @property
    def chance_a_color(self) -> float:
        """Geometric mean of the colors' chances: jobs of many and of few are judged alike."""
        missed = sum(option.missed for option in self.options)
        return float(np.exp((MISS_WEIGHT * missed - self.risk) / len(self.options)))

    def stations(self, *, flash_takes_station: bool) -> int:
        """Number of stations it takes."""
        return self.screens + (self.flashes if flash_takes_station else 0)


def grounds_of(space: BuildSpace) -> list[Ground]:
    """Return the distinct base screens of a space, straight first."""
    rows = np.stack([space.base, space.base_screen, space.base_passes, space.flash.astype(np.intp)])
    rows[3, space.base == NO_BASE] = 0
    distinct = np.unique(rows, axis=1)
    return [Ground(int(b), int(s), int(p), bool(f)) for b, s, p, f in distinct.T]


def on_ground(space: BuildSpace, ground: Ground) -> BoolArray:
    """Mask of the builds of a space that are printed on a ground."""
    same = (space.base == ground.base) & (space.base_screen == ground.base_screen)
    if ground.base == NO_BASE:
        return np.asarray(same)
    return np.asarray(
        same & (space.base_passes == ground.base_passes) & (space.flash == ground.flash)
    )


def options_of(
    job: Job,
    evaluated: Evaluated,
    *,
    inks: Sequence[int],
    landings: Sequence[Landing],
    rates: Rates,
    gain: float,
) -> list[Option]:
    """List the options: for each color on each ground the build of `choose_build`, and the surest.

    gain: see `choose_build`. inks: index into the space's inks for each color; landings: the whole
    space against each color.
    """
    space = evaluated.space
    grounds = [(ground, on_ground(space, ground)) for ground in grounds_of(space)]
    made: list[Option] = []
    for at in range(len(job.colours)):
        of_ink = space.ink == inks[at]
        for ground, mask in grounds:
            among = of_ink & mask
            if not among.any():
                continue
            picked = choose_build(
                landings[at], route=space.route, effort=evaluated.effort, among=among, gain=gain
            )
            surest = int(np.argmax(np.where(among, landings[at].chance, -1.0)))
            for build in dict.fromkeys((picked, surest)):
                made.append(
                    _option(
                        job, evaluated, colour=at, build=build, ground=ground,
                        landing=landings[at], rates=rates,
                    )
                )  # fmt: skip
    within = {(o.colour, o.ground == STRAIGHT_ON) for o in made if o.nominal}
    return [
        replace(o, beaten=not o.nominal and (o.colour, o.ground == STRAIGHT_ON) in within)
        for o in made
    ]


def risk_of(landing: Landing, at: int) -> float:
    """Risk of one build: see `MISS_WEIGHT`."""
    chance = max(float(landing.chance[at]), LEAST_CHANCE)
    return float(-np.log(chance)) + MISS_WEIGHT * _missed(landing, at)


def _missed(landing: Landing, at: int) -> float:
    return max(0.0, float(landing.distance[at]) - landing.tolerance)


def _option(
    job: Job,
    evaluated: Evaluated,
    *,
    colour: int,
    build: int,
    ground: Ground,
    landing: Landing,
    rates: Rates,
) -> Option:
    space, asked = evaluated.space, job.colours[colour]
    ink = space.inks[space.ink[build]]
    layers = [(ink, float(evaluated.wet_um[build, 1]))]
    if ground.base != NO_BASE:
        layers.append((space.bases[ground.base], float(evaluated.wet_um[build, 0])))
    cost, film = 0.0, 0.0
    for each, wet in layers:
        grams = float(
            ink_per_print_g(wet, area_cm2=asked.area_cm2, density_g_cm3=each.density_g_cm3)
        )
        run_g = grams * job.quantity / (1.0 - job.costs.waste_share)
        cost += run_g / 1000.0 * (each.price_per_kg or 0.0)
        water = float(ink_water_g_m2(wet, solids_by_volume=each.solids_by_volume))
        kj = water_heat_kj(water * asked.area_cm2 / CM2_PER_M2) * job.quantity
        cost += kj / KJ_PER_KWH / job.costs.dryer_efficiency * rates.per_kwh
        film += (
            float(
                film_g_m2(
                    wet, solids_by_volume=each.solids_by_volume, density_g_cm3=each.density_g_cm3
                )
            )
            * asked.area_cm2
            / CM2_PER_M2
        )
    return Option(
        colour=colour,
        build=build,
        ground=ground,
        cost=cost,
        film_g=film,
        risk=risk_of(landing, build),
        screen=(int(space.ink[build]), int(space.screen[build]), int(space.passes[build])),
        missed=_missed(landing, build),
    )


def screen_cost(job: Job, rates: Rates, *, passes: int, flash: bool, price: float | None) -> float:
    """Cost of one screen for the run: making it, strokes and flash, ink left in it."""
    press = job.quantity * (passes * rates.per_stroke + (rates.per_flash if flash else 0.0))
    left = job.costs.ink_left_g_per_screen / 1000.0 * (price or 0.0)
    return rates.per_screen + press + left


def base_sets(grounds: Sequence[Ground], *, most: int = 2) -> Iterator[tuple[Ground, ...]]:
    """Every set of base screens to try: none, or one screen of each of up to `most` inks."""
    by_ink: dict[int, list[Ground]] = {}
    for ground in grounds:
        if ground.base != NO_BASE:
            by_ink.setdefault(ground.base, []).append(ground)
    for count in range(min(most, len(by_ink)) + 1):
        for inks in combinations(sorted(by_ink), count):
            yield from product(*(by_ink[ink] for ink in inks))


def search(job: Job, evaluated: Evaluated, options: Sequence[Option], *, rates: Rates) -> list[Way]:
    """The Pareto front in cost, hand, risk and nominal colors of all ways that fit the press.

    Up to `pareto.EXACT_COLOURS` colors; of more, those found from the extremes.

    Returns
    -------
    Ways, cheapest first; empty where the press has too few stations or flashes.
    """
    press = job.press
    found: list[Way] = []
    for grounds in base_sets(sorted({o.ground for o in options})):
        flashes = sum(g.flash for g in grounds)
        taken = len(grounds) + (flashes if press.flash_takes_station else 0)
        if flashes > press.flashes or taken >= press.stations:
            continue
        usable = [o for o in options if o.ground == STRAIGHT_ON or o.ground in grounds]
        if {o.colour for o in usable} != set(range(len(job.colours))):
            continue
        found += _ways_on(
            job, evaluated, usable, grounds, rates=rates, most_screens=press.stations - taken
        )
    if not found:
        return []
    values = np.array([[w.cost, w.film_g, w.risk, -w.nominal] for w in found])
    kept = [found[at] for at in np.flatnonzero(pareto_mask(values))]
    return sorted(kept, key=lambda w: (w.cost, w.film_g, w.risk))


def _ways_on(
    job: Job,
    evaluated: Evaluated,
    options: Sequence[Option],
    grounds: tuple[Ground, ...],
    *,
    rates: Rates,
    most_screens: int,
) -> list[Way]:
    """The front of the ways on one set of base screens that use all of them."""
    bases = evaluated.space.bases
    start = sum(
        screen_cost(
            job, rates, passes=g.base_passes, flash=g.flash, price=bases[g.base].price_per_kg
        )
        for g in grounds
    )
    ways = empty_ways(len(job.colours))
    ways.values[0, COST] = start
    steps = [
        _group_ways(job, evaluated, options, group, grounds, rates=rates, most_screens=most_screens)
        for group in _by_ink(options)
    ]
    if not all(len(step.used) for step in steps):
        return []
    needed = [int(step.values[:, SCREENS].min()) for step in steps]
    for at, step in enumerate(steps):
        ways = combined(ways, step, most_screens=most_screens - sum(needed[at + 1 :]))
        if not len(ways.used):
            return []
    everything = (1 << len(grounds)) - 1
    return [
        _way(options, ways, at, grounds)
        for at in range(len(ways.used))
        if ways.used[at] == everything
    ]


def _by_ink(options: Sequence[Option]) -> list[list[int]]:
    """Group colors by their ink: they may share a screen."""
    groups: dict[int, list[int]] = {}
    for option in options:
        group = groups.setdefault(option.screen[0], [])
        if option.colour not in group:
            group.append(option.colour)
    return list(groups.values())


def _group_ways(
    job: Job,
    evaluated: Evaluated,
    options: Sequence[Option],
    group: Sequence[int],
    grounds: tuple[Ground, ...],
    *,
    rates: Rates,
    most_screens: int,
) -> Ways:
    """The front of the ways to print the colors of one ink; a shared screen is paid once.

    Ways compete only if they have made the same screens so far: a later color may share those.
    """
    by_colour = [[n for n, o in enumerate(options) if o.colour == colour] for colour in group]
    ink = evaluated.space.inks[options[by_colour[0][0]].screen[0]]
    screens = list({options[n].screen: 0 for picks in by_colour for n in picks})
    prices = np.array(
        [
            screen_cost(job, rates, passes=passes, flash=False, price=ink.price_per_kg)
            for _, _, passes in screens
        ]
    )
    most = most_ways(len(job.colours))
    ways, made = empty_ways(len(job.colours)), np.zeros((1, len(screens)), dtype=np.bool_)
    for colour, picks in zip(group, by_colour, strict=True):
        chosen = [options[n] for n in picks]
        needs = np.array([[o.screen == screen for screen in screens] for o in chosen])
        n, m = len(ways.used), len(picks)
        left, right = np.repeat(np.arange(n), m), np.tile(np.arange(m), n)
        new = needs[right] & ~made[left]
        own = np.array([[o.cost, o.film_g, o.risk, not o.nominal, 0.0] for o in chosen])
        values = ways.values[left] + own[right]
        values[:, COST] += new @ prices
        values[:, SCREENS] += new.sum(axis=1)
        bits = [0 if o.ground == STRAIGHT_ON else 1 << grounds.index(o.ground) for o in chosen]
        used = ways.used[left] | np.array(bits, dtype=np.intp)[right]
        shared = made[left] | new
        kept = undominated(
            values, np.column_stack([shared, used]), most_screens=most_screens, most=most
        )
        taken = ways.taken[left[kept]]
        taken[:, colour] = np.array(picks, dtype=np.intp)[right[kept]]
        ways, made = Ways(values=values[kept], used=used[kept], taken=taken), shared[kept]
    done = undominated(ways.values, ways.used[:, None], most_screens=most_screens, most=most)
    return Ways(values=ways.values[done], used=ways.used[done], taken=ways.taken[done])


def _way(options: Sequence[Option], ways: Ways, at: int, grounds: tuple[Ground, ...]) -> Way:
    chosen = tuple(options[n] for n in ways.taken[at])
    cost, film, risk, _, screens = (float(v) for v in ways.values[at])
    own = {o.screen for o in chosen}
    return Way(
        options=chosen,
        grounds=grounds,
        cost=cost,
        film_g=film,
        risk=risk,
        screens=int(screens) + len(grounds),
        flashes=sum(g.flash for g in grounds),
        strokes=sum(p for _, _, p in own) + sum(g.base_passes for g in grounds),
    )


def with_work(job: Job) -> Rates:
    """Return `WORK` divided by a job's quantity, so that strokes and flashes count once a run."""
    return replace(
        WORK, per_stroke=WORK.per_stroke / job.quantity, per_flash=WORK.per_flash / job.quantity
    )
