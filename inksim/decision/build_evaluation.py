"""Evaluate a space of builds (colors, deposits, uncertainty), then compare it with targets.

Color and uncertainty of a build do not depend on the target, so a space is evaluated once and then
compared with any number of targets.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from inksim.colour import Viewing, delta_e_2000, lab as lab_of
from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.decision.candidate_builds import NO_BASE, BuildSpace
from inksim.decision.verdict import SHOULD_LAND
from inksim.printing import (
    ROUTES,
    Response,
    Route,
    Spread,
    StockErrors,
    lower,
    mean_reflectance,
    respond,
    stock_errors,
    summarize,
    wet_deposit_um,
)
from inksim.stock import Press

ROOM_DE00, ROUTE_ROOM_DE00 = 0.5, 1.0
"""A print this much farther from the target than the nearest one by its route is still weighed
against it, and straight printing this much beyond the tolerance, or the nearest route, against a
base: the model does not rank them more finely [assumption]."""
COMFORT = 0.6
"""Share of the tolerance that a build may use before a cheaper one by its route stops being worth
it [assumption: leaves room for the press where chances hardly differ]."""
ALIKE_DE00 = 0.3
"""Where even the nearest build uses more than that share, those this near it count alike
[assumption]."""
_LOOK_BLOCK = 8192  # builds tabulated at once: K and S are 1 kB a build
_BLOCK = 1024  # builds sampled at once: 512 × 1024 × 3 numbers are 13 MB


@dataclass(frozen=True, kw_only=True, eq=False)
class Evaluated:
    """A space of N builds with their colors, deposits and work.

    response: Lab and its sensitivities. wet_um, dry_um (N, 2): base (0 without one) and color.
    work (N,): of each build: screens, then flashes, strokes, wet ink; see `work_of`.
    """

    space: BuildSpace
    viewing: Viewing
    response: Response
    wet_um: FloatArray
    dry_um: FloatArray
    work: FloatArray

    @property
    def lab(self) -> FloatArray:
        """Lab (N, 3) at the expected inputs."""
        return self.response.centre

    def take(self, which: IndexArray | BoolArray) -> Evaluated:
        """Return some of the builds."""
        return replace(
            self,
            space=self.space.take(which),
            response=self.response.take(which),
            wet_um=self.wet_um[which],
            dry_um=self.dry_um[which],
            work=self.work[which],
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Landing:
    """N evaluated builds against one target.

    distance (N,): ΔE00 of the most likely color. spread: 90 % intervals and chance of landing.
    """

    distance: FloatArray
    spread: Spread
    tolerance: float

    @property
    def chance(self) -> FloatArray:
        """Chance (N,) that ΔE00 is inside the tolerance."""
        return self.spread.within

    @property
    def nominal(self) -> BoolArray:
        """Whether the most likely color is inside the tolerance."""
        return np.asarray(self.distance <= self.tolerance)


def evaluate(space: BuildSpace, *, press: Press, viewing: Viewing) -> Evaluated:
    """Predict every build of a space, with its uncertainty, in one pass over arrays.

    Raises
    ------
    InputError : an empty space.
    """
    table = space.table()
    wet = wet_deposit_um(table, press.values)
    dry = wet * table.solids
    based = space.base != NO_BASE
    wet_um, dry_um = (
        np.where(based[:, None], each, each[:, ::-1])
        if each.shape[1] == 2
        else np.concatenate([np.zeros_like(each), each], axis=1)
        for each in (wet, dry)
    )
    return Evaluated(
        space=space,
        viewing=viewing,
        response=respond(table, space_errors(space), press=press, viewing=viewing),
        wet_um=wet_um,
        dry_um=dry_um,
        work=work_of(space, wet_um=wet_um),
    )


def most_likely_lab(space: BuildSpace, *, press: Press, viewing: Viewing) -> FloatArray:
    """Lab (N, 3) of every build without its uncertainty: a thirtieth of the work of `evaluate`."""
    parts = []
    for first in range(0, len(space), _LOOK_BLOCK):
        table = space.take(slice(first, first + _LOOK_BLOCK)).table()
        parts.append(lab_of(mean_reflectance(lower(table, press.values)), viewing))
    return np.concatenate(parts) if parts else np.empty((0, 3))


WORK_OF_SCREEN, WORK_OF_FLASH, WORK_OF_STROKE, WORK_OF_UM = 1.0, 0.2, 0.1, 1e-4
"""Work of a screen, of a flash and of a stroke for one print, and of a µm of wet ink: fewest
screens come first, then flashes, then strokes, then ink [assumption: for ranking only]."""


def work_of_layers(
    *, screens: float = 0, flashes: float = 0, strokes: float = 0, wet_um: float = 0.0
) -> float:
    """Work of what is on the press for one print, in screens."""
    return float(
        WORK_OF_SCREEN * screens
        + WORK_OF_FLASH * flashes
        + WORK_OF_STROKE * strokes
        + WORK_OF_UM * wet_um
    )


def work_of(space: BuildSpace, *, wet_um: FloatArray) -> FloatArray:
    """Work (N,) that each build is by itself: see `work_of_layers`. wet_um (N, L): its films."""
    based = space.base != NO_BASE
    return np.asarray(
        WORK_OF_SCREEN * (1.0 + (based & ~space.again))
        + WORK_OF_FLASH * (based & space.flash)
        + WORK_OF_STROKE * (space.passes + space.base_passes)
        + WORK_OF_UM * wet_um.sum(axis=1)
    )


def work_class(work: FloatArray | float) -> IndexArray:
    """Whole strokes of work (...): what differs by ink alone is alike."""
    return np.asarray(np.floor(np.asarray(work) / WORK_OF_STROKE + 1e-6), dtype=np.intp)


def against(
    evaluated: Evaluated,
    *,
    standard: FloatArray,
    tolerance: float,
    among: BoolArray | None = None,
) -> Landing:
    """Compare evaluated builds with a target's Lab (3,), the standard of the ΔE00.

    among (N,): those to work out the chance of, where not all; of the others it is NaN.
    """
    count = len(evaluated.space)
    which = np.arange(count) if among is None else np.flatnonzero(among)
    parts = [
        summarize(
            evaluated.response.take(which[first : first + _BLOCK]),
            standard=standard,
            tolerance=tolerance,
        )
        for first in range(0, which.size, _BLOCK)
    ]
    spread = _joined(parts)
    if which.size < count:
        spread = _spaced(spread, which, count)
    return Landing(
        distance=delta_e_2000(standard, evaluated.lab),
        spread=spread,
        tolerance=tolerance,
    )


def _spaced(spread: Spread, which: IndexArray, count: int) -> Spread:
    """A spread of some builds as one of all, NaN for the others."""
    made = {}
    for field in fields(Spread):
        own = getattr(spread, field.name)
        made[field.name] = np.full((count, *own.shape[1:]), np.nan)
        made[field.name][which] = own
    return Spread(**made)


def _joined(parts: list[Spread]) -> Spread:
    if len(parts) == 1:
        return parts[0]
    names = [field.name for field in fields(Spread)]
    return Spread(**{name: np.concatenate([getattr(p, name) for p in parts]) for name in names})


def in_reach(distance: FloatArray, *, tolerance: float) -> BoolArray:
    """Mask of the nominal builds; where there are none, of those about as near as the nearest."""
    nearest = float(distance.min())
    return np.asarray(distance <= (tolerance if nearest <= tolerance else nearest + ROOM_DE00))


def as_good(
    distance: FloatArray, chance: FloatArray, *, tolerance: float, gain: float
) -> BoolArray:
    """Mask of the prints by one route between which the work decides.

    Of those in reach the ones whose chance is at most `gain` below the best: what costs more has to
    add at least that. They leave room (`COMFORT`), for which the screens of a route cost no more.

    Parameters
    ----------
    distance, chance (N,) : ΔE00 of the most likely color, and chance of landing.
    gain : least chance that a costlier build has to add, 0..1 (`RulesEntry.least_chance_gain`).
    """
    good = in_reach(distance, tolerance=tolerance)
    best = float(chance[good].max())
    good &= chance >= best - gain
    return good & (distance <= max(COMFORT * tolerance, float(distance[good].min()) + ALIKE_DE00))


def route_to_take(
    nearest: FloatArray,
    chance: FloatArray,
    *,
    routes: Sequence[Route],
    tolerance: float,
    gain: float,
) -> int:
    """Index of the route to print by, among R in ascending order of work.

    From the surest down to the least work whose chance is at most `gain` below; and to one below an
    even chance again from there: over such a one a route that costs more is taken only if it adds
    at least `gain` to the next easier one that counts (`may_be_taken`).

    Parameters
    ----------
    nearest, chance (R,) : the least ΔE00 of a most likely color by each route, and the chance of
        its build. routes: which they are.
    """
    able = may_be_taken(nearest, routes=routes, tolerance=tolerance)
    surest = int(np.argmax(np.where(able, chance, -1.0)))
    at = int(np.argmax(able & (chance >= chance[surest] - gain)))
    while True:
        unsure = np.flatnonzero(able[:at] & (chance[:at] < SHOULD_LAND))
        easier = unsure[chance[unsure] > chance[at] - gain]
        if not easier.size:
            return at
        at = int(easier[0])


def may_be_taken(nearest: FloatArray, *, routes: Sequence[Route], tolerance: float) -> BoolArray:
    """Mask (R,) of the routes that come near enough to be weighed, by their least ΔE00.

    The nominal ones, or where there are none those about as near as the nearest; and straight if it
    is not much farther: whether a base is worth its screen is not for a fine difference to say.
    """
    least = float(nearest.min())
    bare = np.array([route == "straight" for route in routes])
    room = max(tolerance, least) + ROUTE_ROOM_DE00
    able = nearest <= (tolerance if least <= tolerance else room)
    return np.asarray(able | (bare & (nearest <= room)))


def could_be_chosen(distance: FloatArray, route: IndexArray, *, tolerance: float) -> BoolArray:
    """Mask (N,) of the builds that `choose_build` could choose, from their ΔE00 alone.

    An interval costs far more than a color. By each route that comes near enough only those in
    reach are ever weighed; so the choice among them is that among all.
    """
    least = np.full(len(ROUTES), np.inf)
    np.minimum.at(least, route, distance)
    able = may_be_taken(least, routes=ROUTES, tolerance=tolerance)
    mask = np.zeros(distance.size, dtype=np.bool_)
    for at in np.flatnonzero(able):
        own = np.flatnonzero(route == at)
        mask[own] = in_reach(distance[own], tolerance=tolerance)
    return mask


def choose_by_route(
    landing: Landing, *, route: IndexArray, work: FloatArray, among: BoolArray, gain: float
) -> dict[int, int]:
    """Index of the build to print by each route, by index into ROUTES: see `as_good`."""
    chosen = {}
    for at in np.unique(route[among]).tolist():
        own = np.flatnonzero(among & (route == at))
        good = own[
            as_good(
                landing.distance[own],
                landing.chance[own],
                tolerance=landing.tolerance,
                gain=gain,
            )
        ]
        # Of equal screens, flashes and strokes the surest, to a point; then the least ink.
        sure = np.round(landing.chance[good], 2)
        order = np.lexsort((work[good], -sure, work_class(work[good])))
        chosen[at] = int(good[order[0]])
    return chosen


def choose_build(
    landing: Landing, *, route: IndexArray, work: FloatArray, among: BoolArray, gain: float
) -> int:
    """Index of the build to print, by the route to take: the least work that is as good.

    route (N,): index into ROUTES, which stand in ascending order of work. work (N,): see
    `work_of`. among (N,): the builds to choose from, at least one. gain: see `as_good`.
    """
    chosen = choose_by_route(landing, route=route, work=work, among=among, gain=gain)
    picks = np.array(list(chosen.values()))
    nearest = np.array([landing.distance[among & (route == at)].min() for at in chosen])
    return int(
        picks[
            route_to_take(
                nearest,
                landing.chance[picks],
                routes=[ROUTES[at] for at in chosen],
                tolerance=landing.tolerance,
                gain=gain,
            )
        ]
    )


def space_errors(space: BuildSpace) -> StockErrors:
    """How far the stock of a space may be off, as `errors_of_builds` gives for `Build`s."""
    based = space.base != NO_BASE
    base = np.where(based, space.base + len(space.inks), -1)
    ink = space.ink[:, None]
    if based.any():
        ink = np.stack([np.where(based, base, space.ink), np.where(based, space.ink, -1)], axis=1)
    return stock_errors((*space.inks, *space.bases), space.garments, ink=ink, cloth=space.garment)
