"""Search the ways to print a job under the stations of the press: which color gets which ink, base.

Colors that share a base, an ink or a screen cannot be decided one by one. Every set of base screens
is tried (none, one, or one of each of two base inks); within a set the colors are joined one by
one, each with all its options, and ways dominated in cost, hand, risk, colors that are nominal,
work and screens are dropped at once: all of these add up over the colors, so nothing that could
still win is lost. Up to `pareto.EXACT_COLOURS` colors the search is exact among the options given;
beyond, or where a front is larger than `pareto.MOST_EXACT`, only its extremes are carried on, a way
in between may be lost, and the result says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import NamedTuple

import numpy as np

from inksim.common import FloatArray
from inksim.decision import NO_BASE, BuildSpace, work_of_layers
from inksim.job.costs import Rates
from inksim.job.job import Job
from inksim.job.options import MISS_WEIGHT, STRAIGHT_ON, Ground, Option, ScreenKey
from inksim.job.pareto import COLUMNS, EXACT_COLOURS, Front, Ways, pareto_mask
from inksim.job.runs import OnPress, in_runs
from inksim.shop import StationsEntry
from inksim.stock import Ink

Choice = tuple[Option, ...]
"""How the colors of one group are printed: all alike, an option each. A group is one color, or
those that were merged."""
GROUNDS_OF_MANY, MOST_RISK = 2, 20.0
"""Screens of a base tried in a job of more colors than are searched exactly; risk of a color that
has no build on one, for choosing them."""
RUN_WORK = 2.0
"""Work of putting every shirt on the press once more [assumption: as two screens]."""


@dataclass(frozen=True, kw_only=True)
class Way:
    """One way to print the whole job: an option for each color, in order.

    cost: of the run, without what all ways have in common. film_g: dry film on one print. risk:
    sum over colors. work: see `decision.work_of_layers`. screens: of colors and bases; flashes:
    flash units; runs: times that a shirt is loaded. merged: groups of colors printed as one.
    """

    options: tuple[Option, ...]
    grounds: tuple[Ground, ...]
    cost: float
    film_g: float
    risk: float
    work: float
    screens: int
    flashes: int
    strokes: int
    runs: int = 1
    merged: tuple[tuple[int, ...], ...] = ()

    @property
    def nominal(self) -> int:
        """Number of colors whose most likely color is inside the tolerance, the bare ones too."""
        return sum(option.nominal for option in self.options)

    @property
    def beaten(self) -> int:
        """Number of colors that are not nominal straight or over a base although they could be."""
        return sum(option.beaten for option in self.options)

    @property
    def chance_a_colour(self) -> float:
        """Geometric mean of the printed colors' chances: jobs of many and of few are alike."""
        printed = [option for option in self.options if not option.bare]
        if not printed:
            return 1.0
        missed = sum(option.missed for option in printed)
        return float(np.exp((MISS_WEIGHT * missed - self.risk) / len(printed)))


class Made(NamedTuple):
    """Screens made already, for garments of the same job: of colors, by color, and of bases."""

    tops: frozenset[tuple[ScreenKey, int]] = frozenset()
    bases: frozenset[ScreenKey] = frozenset()


NONE_MADE = Made()


def with_screens(made: Made, way: Way, space: BuildSpace) -> Made:
    """The screens made, with those of a way."""
    tops = {(o.screen, o.colour) for o in way.options if o.screen is not None}
    return Made(made.tops | tops, made.bases | {g.key(space) for g in way.grounds})


class Found(NamedTuple):
    """Ways found, and whether none that could win was lost."""

    ways: list[Way]
    exact: bool


def screen_cost(job: Job, rates: Rates, *, strokes: int, flash: bool, ink: Ink) -> float:
    """Cost of one screen for the run: making it, strokes and flash, ink left in it."""
    press = job.quantity * (strokes * rates.per_stroke + (rates.per_flash if flash else 0.0))
    left = job.costs.ink_left_g_per_screen
    ink_cost = rates.ink_cost(ink, used_g=left, ready_g=job.costs.kept_in_screen_g)
    return rates.per_screen + press + ink_cost


def base_sets(grounds: Sequence[Ground], *, most: int = 2) -> Iterator[tuple[Ground, ...]]:
    """Every set of base screens to try: none, or one screen of each of up to `most` inks."""
    by_ink: dict[int, list[Ground]] = {}
    for ground in grounds:
        if ground.base != NO_BASE:
            by_ink.setdefault(ground.base, []).append(ground)
    for count in range(min(most, len(by_ink)) + 1):
        for inks in combinations(sorted(by_ink), count):
            yield from product(*(by_ink[ink] for ink in inks))


def search(
    job: Job,
    space: BuildSpace,
    groups: Sequence[Sequence[Choice]],
    *,
    rates: Rates,
    press: StationsEntry,
    runs: int = 1,
    run_cost: float = 0.0,
    made: Made = NONE_MADE,
) -> Found:
    """The Pareto front in cost, hand, risk, nominal colors and work of the ways that fit the press.

    Parameters
    ----------
    groups : the choices of each group of colors; together they hold every color once.
    press : stations and flash units of one run. runs : times that a shirt goes over the press;
        run_cost: of each beyond the first. made: screens that cost nothing more.

    Returns
    -------
    Ways, least work first; none where the press has too few stations or flashes.
    """
    ways: list[Way] = []
    exact = True
    valued = [[(choice, _values(choice)) for choice in choices] for choices in groups]
    grounds = sorted({choice[0].ground for choices in groups for choice in choices})
    if len(job.colours) > EXACT_COLOURS:
        grounds = _surest_grounds(groups, grounds)
    for bases in base_sets(grounds):
        flashes = sum(g.flash for g in bases)
        if not press.fits(screens=len(bases), flashes=flashes, runs=runs):
            continue
        taken = press.taken(screens=len(bases), flashes=flashes)
        found = _ways_on(
            job, space, valued, bases, rates=rates,
            most_screens=press.stations * runs - taken, runs=runs, run_cost=run_cost,
            made=made,
        )  # fmt: skip
        exact &= found.exact
        ways += [
            way for way in found.ways
            if runs == 1 or fits_runs(way, space, press, runs=runs)
        ]  # fmt: skip
    if not ways:
        return Found([], exact)
    values = np.array([[w.cost, w.film_g, w.risk, -w.nominal, w.work] for w in ways])
    values = np.round(values, 9)  # sums in another order are no difference
    kept = [ways[at] for at in np.flatnonzero(pareto_mask(values))]
    return Found(sorted(kept, key=lambda w: (w.work, w.cost, w.film_g, w.risk)), exact)


def _surest_grounds(groups: Sequence[Sequence[Choice]], grounds: Sequence[Ground]) -> list[Ground]:
    """The few screens of each base that are least risky for all colors, in a job of very many."""

    def risk(ground: Ground) -> float:
        own = (
            [sum(o.risk for o in choice) for choice in choices if choice[0].ground == ground]
            for choices in groups
        )
        return sum(min(each, default=MOST_RISK) for each in own)

    kept: list[Ground] = []
    for base in sorted({g.base for g in grounds}):
        kept += sorted((g for g in grounds if g.base == base), key=risk)[:GROUNDS_OF_MANY]
    return sorted(kept)


def fits_runs(way: Way, space: BuildSpace, press: StationsEntry, *, runs: int) -> bool:
    """Whether the screens of a way go on a press in so many runs."""
    bases = {ground: at for at, ground in enumerate(way.grounds)}
    own = {g.key(space): g for g in way.grounds}
    over: dict[ScreenKey, set[int]] = {}
    for option in way.options:
        key = _new_screen(option, own)
        if key is not None:
            on = over.setdefault(key, set())
            if option.ground != STRAIGHT_ON:
                on.add(bases[option.ground])
    screens = [
        OnPress(True, space.bases[g.base].kind == "discharge-base", g.flash, ())
        for g in way.grounds
    ]
    screens += [OnPress(False, False, False, tuple(sorted(on))) for on in over.values()]
    return in_runs(tuple(screens), press, runs=runs) is not None


def _ways_on(
    job: Job,
    space: BuildSpace,
    groups: Sequence[Sequence[tuple[Choice, FloatArray]]],
    bases: tuple[Ground, ...],
    *,
    rates: Rates,
    most_screens: int,
    runs: int,
    run_cost: float,
    made: Made,
) -> Found:
    """The front of the ways on one set of base screens that use all of them.

    groups: choices with their objectives, see `_values`.
    """
    own = {g.key(space): g for g in bases}
    able = [[each for each in valued if _stands_on(each[0][0], bases, own)] for valued in groups]
    if not all(able):
        return Found([], True)
    usable = [[choice for choice, _ in valued] for valued in able]
    inks = {ink.name: ink for ink in (*space.inks, *space.bases)}
    counts: dict[ScreenKey, int] = {}
    for choices in usable:
        for key in {new for c in choices if (new := _new_screen(c[0], own)) is not None}:
            counts[key] = counts.get(key, 0) + 1
    shared = sorted(key for key, n in counts.items() if n > 1)
    last = {key: max(at for at, choices in enumerate(usable)
                     if any(_new_screen(c[0], own) == key for c in choices))
            for key in shared}  # fmt: skip
    start = _of_bases(job, bases, space, rates=rates, made=made)
    start[COLUMNS.COST] += (runs - 1) * run_cost
    start[COLUMNS.WORK] += (runs - 1) * RUN_WORK
    front = Front(colours=len(job.colours), groups=len(groups), start=start, keys=len(shared))
    for at, choices in enumerate(usable):
        screens = [_new_screen(c[0], own) for c in choices]
        values = np.array([value for _, value in able[at]])
        added = np.zeros_like(values)
        for row, new in enumerate(screens):
            if new is not None:
                there = all((new, option.colour) in made.tops for option in choices[row])
                added[row] = _of_screen(job, new, inks, rates=rates, there=there)
        needs = np.array([[key == each for each in shared] for key in screens], dtype=np.bool_)
        bits = [0 if c[0].ground == STRAIGHT_ON else 1 << bases.index(c[0].ground) for c in choices]
        alive = np.array([last[key] > at for key in shared], dtype=np.bool_)
        front.join(
            at,
            values=values,
            added=added,
            needs=needs.reshape(len(choices), len(shared)),
            bits=np.array(bits, dtype=np.intp),
            alive=alive,
            most_screens=most_screens,
        )
        if not len(front.ways.used):
            return Found([], front.exact)
    everything = (1 << len(bases)) - 1
    ways = front.ways
    found = [
        _way(usable, ways, at, bases, space, runs=runs)
        for at in np.flatnonzero(ways.used == everything).tolist()
    ]
    return Found(found, front.exact)


def _stands_on(option: Option, bases: Sequence[Ground], own: dict[ScreenKey, Ground]) -> bool:
    """Whether an option can be printed with a set of base screens.

    Not a white straight through the screen that prints, flashes and prints again: it would go
    through it twice.
    """
    if option.ground != STRAIGHT_ON:
        return option.ground in bases
    return option.screen is None or option.screen not in own or not own[option.screen].again


def _new_screen(option: Option, own: dict[ScreenKey, Ground]) -> ScreenKey | None:
    """Key of the screen that an option needs beside the bases; None where it needs none.

    A white left as it is goes through its base's screen; a base printed again too.
    """
    if option.screen is None or option.ground.again:
        return None
    if option.ground == STRAIGHT_ON and option.screen in own:
        return None
    return option.screen


def _values(choice: Choice) -> FloatArray:
    """Objectives of a choice by itself, without its screen."""
    made = np.zeros(len(COLUMNS._fields))
    for option in choice:
        made[COLUMNS.COST] += option.cost
        made[COLUMNS.FILM] += option.film_g
        made[COLUMNS.RISK] += option.risk
        made[COLUMNS.MISSED] += not option.nominal
    made[COLUMNS.WORK] = work_of_layers(wet_um=choice[0].wet_um)
    return made


def _of_screen(
    job: Job, key: ScreenKey, inks: dict[str, Ink], *, rates: Rates, there: bool
) -> FloatArray:
    """Objectives of one more screen of a color; there: it is made and set up already."""
    name, _, passes = key
    added = np.zeros(len(COLUMNS._fields))
    added[COLUMNS.COST] = screen_cost(job, rates, strokes=passes, flash=False, ink=inks[name])
    added[COLUMNS.COST] -= rates.per_screen * there
    added[COLUMNS.WORK] = work_of_layers(screens=not there, strokes=passes)
    added[COLUMNS.SCREENS] = 1.0
    return added


def _of_bases(
    job: Job, bases: Sequence[Ground], space: BuildSpace, *, rates: Rates, made: Made
) -> FloatArray:
    """Objectives of the base screens; what is printed again takes its strokes twice."""
    added = np.zeros(len(COLUMNS._fields))
    for g in bases:
        there = g.key(space) in made.bases
        added[COLUMNS.COST] += screen_cost(
            job, rates, strokes=g.strokes, flash=g.flash, ink=space.bases[g.base]
        )
        added[COLUMNS.COST] -= rates.per_screen * there
        added[COLUMNS.WORK] += work_of_layers(screens=not there, strokes=g.strokes, flashes=g.flash)
    return added


def _way(
    usable: Sequence[Sequence[Choice]],
    ways: Ways,
    at: int,
    bases: tuple[Ground, ...],
    space: BuildSpace,
    *,
    runs: int,
) -> Way:
    chosen = [usable[group][pick] for group, pick in enumerate(ways.taken[at].tolist())]
    options = sorted((o for choice in chosen for o in choice), key=lambda o: o.colour)
    own = {g.key(space): g for g in bases}
    screens = {key for o in options if (key := _new_screen(o, own)) is not None}
    values = ways.values[at]
    return Way(
        options=tuple(options),
        grounds=bases,
        cost=float(values[COLUMNS.COST]),
        film_g=float(values[COLUMNS.FILM]),
        risk=float(values[COLUMNS.RISK]),
        work=float(values[COLUMNS.WORK]),
        screens=len(screens) + len(bases),
        flashes=sum(g.flash for g in bases),
        strokes=sum(passes for _, _, passes in screens) + sum(g.strokes for g in bases),
        runs=runs,
        merged=tuple(tuple(o.colour for o in choice) for choice in chosen if len(choice) > 1),
    )
