"""All ways worth weighing to print a job on one garment: in one run, with colors merged, in two."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from inksim.colour import Viewing, delta_e_2000
from inksim.common import BoolArray
from inksim.decision import (
    NO_BASE,
    ROUTE_ROOM_DE00,
    BuildSpace,
    Evaluated,
    Landing,
    against,
    choose_build,
    could_be_chosen,
    most_likely_lab,
    worth_weighing,
)
from inksim.job.amounts import second_run_cost
from inksim.job.costs import Rates
from inksim.job.job import Job
from inksim.job.merge import Groups, mergings
from inksim.job.options import (
    STRAIGHT_ON,
    Option,
    ScreenKey,
    bare_option,
    inks_near,
    option_of,
    options_of,
)
from inksim.job.search import NONE_MADE, Choice, Found, Made, Way, fits_runs, search
from inksim.printing import ROUTES, Route
from inksim.shop import Shop
from inksim.stock import Garment


def by_route(space: BuildSpace, only: Route) -> BoolArray:
    """Mask (N,) of the builds that belong to one route."""
    mask = space.route == ROUTES.index(only)
    if only == "white-base":
        white = np.array([ink.kind == "white-base" for ink in space.inks], dtype=np.bool_)
        mask |= (space.base == NO_BASE) & white[space.ink]
    return np.asarray(mask)


def weighed(
    shop: Shop,
    job: Job,
    garment: Garment,
    space: BuildSpace,
    bare: Sequence[bool],
    *,
    viewing: Viewing,
) -> tuple[list[BoolArray], BoolArray]:
    """Masks (N,) of the builds to weigh for each color, and of those for any.

    An interval costs far more than a color, so only inks that come near a color are evaluated.
    """
    lab = most_likely_lab(space, press=shop.press, viewing=viewing)
    among = []
    for colour, is_bare in zip(job.colours, bare, strict=True):
        if is_bare:
            among.append(np.zeros(len(space), dtype=np.bool_))
            continue
        off = delta_e_2000(colour.target.lab(viewing), lab)
        own = np.ones(len(space), dtype=np.bool_)
        if colour.ink is not None:
            own = space.ink == [ink.name for ink in space.inks].index(colour.ink.name)
        if colour.route is not None:
            own = own & by_route(space, colour.route)
        able = np.zeros(len(space), dtype=np.bool_)
        able[own] = worth_weighing(
            space.take(own),
            garment=garment,
            standard=colour.target.lab(viewing),
            distance=off[own],
            tolerance=colour.tolerance,
            viewing=viewing,
            limits=shop.rules,
        )
        part, near = space.take(able), off[able]
        chosen = part.ink[could_be_chosen(near, part.route, tolerance=colour.tolerance)]
        inks = np.union1d(inks_near(part, near, tolerance=colour.tolerance), chosen)
        among.append(able & np.isin(space.ink, inks))
    return among, np.any(among, axis=0)


SPOILED_DE00 = 15.0
"""How much farther off its target a merged color may come than by itself [assumption]."""
MOST_MERGINGS = 3
"""Numbers of merged colors tried once some way fits."""


class Decided(NamedTuple):
    """Ways of a job on a garment.

    alone: of a single color the one that a palette would take. landings: of each color, of all
    builds that a way may hold.
    """

    ways: list[Way]
    exact: bool
    alone: int | None
    landings: Sequence[Landing | None]


def all_ways(
    shop: Shop,
    job: Job,
    evaluated: Evaluated | None,
    *,
    landings: Sequence[Landing | None],
    among: Sequence[BoolArray],
    bare: Sequence[bool],
    rates: Rates,
    viewing: Viewing,
    made: Made = NONE_MADE,
    goes_on: Callable[[], None] = lambda: None,
) -> Decided:
    """All ways: in one run; where that leaves colors out, with colors merged, and in two runs.

    goes_on: called before each search; what it raises stops the work.
    """
    gain = shop.rules.least_chance_gain
    rates = replace(
        rates,
        dearest=max((ink.price_per_kg or 0.0 for ink in shop.inks.values()), default=0.0),
        low_cure=shop.dye_migrates(job.garments[0]),
    )
    if evaluated is None:
        only = Way(
            options=tuple(bare_option(at) for at in range(len(bare))), grounds=(), cost=0.0,
            film_g=0.0, risk=0.0, work=0.0, screens=0, flashes=0, strokes=0,
        )  # fmt: skip
        return Decided([only], True, 0, landings)

    def own_options(at: int, screens: Iterable[ScreenKey] = ()) -> list[Option]:
        if landings[at] is None:
            return [bare_option(at)]
        return options_of(
            job, evaluated, colour=at, among=among[at], landing=_landing(landings, at),
            rates=rates, gain=gain, screens=screens,
        )  # fmt: skip

    options = [own_options(at) for at in range(len(landings))]
    if len(options) > 1:  # a color may share what any other is printed through
        there = {key for key, _ in made.tops} | made.bases
        used = [{key for o in own for key in _screens_of(o, evaluated.space)} for own in options]
        options = [
            own_options(at, sorted(set().union(*used[:at], *used[at + 1 :], there)))
            for at in range(len(options))
        ]

    def choices(group: Sequence[int]) -> list[Choice]:
        first, *others = group
        return [
            (
                option,
                *(
                    replace(
                        option_of(
                            job, evaluated, colour=at, build=option.build,
                            landing=_landing(landings, at), rates=rates,
                        ),
                        ground=option.ground,
                    )
                    for at in others
                ),
            )
            for option in options[first]
        ]  # fmt: skip

    def tried(groups: Groups, runs: int) -> Found:
        goes_on()
        # Colors of one ink stand together: what they could share is then still there.
        groups = tuple(sorted(groups, key=lambda group: str(options[group[0]][0].screen)))
        return search(
            job, evaluated.space, [choices(g) for g in groups], rates=rates, press=job.press,
            runs=runs, run_cost=second_run_cost(job, rates), made=made,
        )  # fmt: skip

    printed = [at for at, landing in enumerate(landings) if landing is not None]
    lone = tuple((at,) for at in range(len(options)))
    ways, exact = tried(lone, 1)
    if len(printed) > 1 and _is_tight(ways, options):
        landings = [
            None
            if each is None
            else against(evaluated, standard=colour.target.lab(viewing), tolerance=colour.tolerance)
            for each, colour in zip(landings, job.colours, strict=True)
        ]  # a color may be printed as any other
        for runs in (1, 2):
            more, sure = _with_fewer(
                job,
                printed,
                lone,
                tried,
                runs=runs,
                viewing=viewing,
                options=options,
                space=evaluated.space,
            )
            ways += more
            exact &= sure
    if len(printed) != 1:
        return Decided(ways, exact, None, landings)
    at = printed[0]
    pick = choose_build(
        _landing(landings, at), route=evaluated.space.route, work=evaluated.work,
        among=among[at], gain=gain,
    )  # fmt: skip
    options[at] = [option for option in options[at] if option.build == pick]
    alone = tried(lone, 1).ways[:1]
    if not alone:
        return Decided(ways, exact, None, landings)
    if alone[0] not in ways:  # a way that others beat is no less the answer
        ways = [*ways, *alone]
    return Decided(ways, exact, ways.index(alone[0]), landings)


def _screens_of(option: Option, space: BuildSpace) -> list[ScreenKey]:
    """Keys of the screens that an option goes through: a white may be left as its base."""
    own = [] if option.screen is None else [option.screen]
    return own if option.ground == STRAIGHT_ON else [*own, option.ground.key(space)]


def _spoiled(way: Way, options: Sequence[Sequence[Option]]) -> bool:
    """Whether a merged color comes out as quite another one: that is not to print it."""
    merged = {at for group in way.merged for at in group}
    return any(
        way.options[at].missed - min(o.missed for o in options[at]) > SPOILED_DE00 for at in merged
    )


def _is_tight(ways: Sequence[Way], options: Sequence[Sequence[Option]]) -> bool:
    """Whether the press leaves no room: on every way some color is far beyond what it could be."""
    could = [min(option.missed for option in own) for own in options]
    beyond = (max(o.missed - could[o.colour] for o in way.options) for way in ways)
    return min(beyond, default=np.inf) > ROUTE_ROOM_DE00


def _with_fewer(
    job: Job,
    printed: Sequence[int],
    lone: Groups,
    tried: Callable[[Groups, int], Found],
    *,
    runs: int,
    viewing: Viewing,
    options: Sequence[Sequence[Option]],
    space: BuildSpace,
) -> tuple[list[Way], bool]:
    """Ways of a job that its press has too few screens for: in so many runs, colors merged.

    Of the mergings, from the fewest merged colors on, until a way leaves no color far beyond what
    it could be, or merging does not help any more. What fits in fewer runs is no way in so many.
    """
    ways: list[Way] = []
    exact, steps = True, 0
    apart = [at for at in printed if not job.merge or job.colours[at].name in job.keep_apart]
    standards = np.stack([job.colours[at].target.lab(viewing) for at in printed])
    areas = [job.colours[at].area_cm2 for at in printed]
    others = tuple(g for g in lone if g[0] not in printed)
    room = job.press.stations * runs
    for groups in mergings(standards, areas, apart=[printed.index(at) for at in apart]):
        if len(groups) > room:
            continue
        if runs == 1 and len(groups) == len(printed):
            continue  # tried already
        named = tuple(sorted([*(tuple(printed[c] for c in g) for g in groups), *others]))
        found = tried(named, runs)
        new = [
            way
            for way in found.ways
            if not _spoiled(way, options)
            and not (runs > 1 and fits_runs(way, space, job.press, runs=runs - 1))
        ]
        ways += new
        exact &= found.exact
        if new and not _is_tight(new, options):
            break
        steps += bool(new)
        if steps >= MOST_MERGINGS:
            break
    return ways, exact


def _landing(landings: Sequence[Landing | None], at: int) -> Landing:
    landing = landings[at]
    assert landing is not None
    return landing
