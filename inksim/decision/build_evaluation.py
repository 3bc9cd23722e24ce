"""Evaluate a space of builds (colors, deposits, uncertainty), then compare it with targets.

Color and uncertainty of a build do not depend on the target, so a space is evaluated once and then
compared with any number of targets.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from inksim.colour import Viewing, delta_e_2000, lab as lab_of
from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.decision.candidate_builds import NO_BASE, BuildSpace
from inksim.printing import (
    Response,
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

NEAR_POINTS, NEAR_SHARE = 0.15, 1 / 3
"""A chance of landing is near the best while it is at most this much below it, both in points and
as a share of it [assumption]: within that, the cheaper build is the better one."""
COMFORT = 0.6
"""Share of the tolerance that a build may use before a cheaper one stops being worth it
[assumption: leaves room for the press where chances hardly differ]."""
_LOOK_BLOCK = 8192  # builds tabulated at once: K and S are 1 kB a build
_BLOCK = 1024  # builds sampled at once: 512 × 1024 × 3 numbers are 13 MB


@dataclass(frozen=True, kw_only=True, eq=False)
class Evaluated:
    """A space of N builds with their colors, deposits and effort.

    response: Lab and its sensitivities. wet_um, dry_um (N, 2): base (0 without one) and color.
    effort (N,): rank of the work a build is, 0 the least: screens, then flashes, strokes, wet ink.
    """

    space: BuildSpace
    viewing: Viewing
    response: Response
    wet_um: FloatArray
    dry_um: FloatArray
    effort: IndexArray

    @property
    def lab(self) -> FloatArray:
        """Lab (N, 3) at the expected inputs."""
        return self.response.center

    def take(self, which: IndexArray | BoolArray) -> Evaluated:
        """Return some of the builds; effort keeps its ranks."""
        return replace(
            self,
            space=self.space.take(which),
            response=self.response.take(which),
            wet_um=self.wet_um[which],
            dry_um=self.dry_um[which],
            effort=self.effort[which],
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
    def lands(self) -> BoolArray:
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
        effort=effort_ranks(space, wet_um=wet_um),
    )


def most_likely_lab(space: BuildSpace, *, press: Press, viewing: Viewing) -> FloatArray:
    """Lab (N, 3) of every build without its uncertainty: a thirtieth of the work of `evaluate`."""
    parts = []
    for first in range(0, len(space), _LOOK_BLOCK):
        table = space.take(slice(first, first + _LOOK_BLOCK)).table()
        parts.append(lab_of(mean_reflectance(lower(table, press.values)), viewing))
    return np.concatenate(parts) if parts else np.empty((0, 3))


def effort_ranks(space: BuildSpace, *, wet_um: FloatArray) -> IndexArray:
    """Rank the work of each build: fewest screens, then flashes, strokes, and least wet ink."""
    based = space.base != NO_BASE
    strokes = space.passes + space.base_passes
    order = np.lexsort((wet_um.sum(axis=1), strokes, based & space.flash, based))
    ranks = np.empty(len(space), dtype=np.intp)
    ranks[order] = np.arange(len(space))
    return ranks


def against(evaluated: Evaluated, *, standard: FloatArray, tolerance: float) -> Landing:
    """Compare evaluated builds with a target's Lab (3,), the standard of the ΔE00."""
    parts = []
    for first in range(0, len(evaluated.space), _BLOCK):
        some = evaluated.response.take(np.arange(first, min(first + _BLOCK, len(evaluated.space))))
        parts.append(summarize(some, standard=standard, tolerance=tolerance))
    return Landing(
        distance=delta_e_2000(standard, evaluated.lab),
        spread=_joined(parts),
        tolerance=tolerance,
    )


def _joined(parts: list[Spread]) -> Spread:
    if len(parts) == 1:
        return parts[0]
    names = [field.name for field in fields(Spread)]
    return Spread(**{name: np.concatenate([getattr(p, name) for p in parts]) for name in names})


def near_best(chance: FloatArray, among: BoolArray) -> BoolArray:
    """Mask of the builds in `among` whose chance of landing is near the best of them."""
    if not among.any():
        return among
    best = float(chance[among].max())
    least = max(best - NEAR_POINTS, best * (1.0 - NEAR_SHARE))
    return np.asarray(among & (chance >= least))


def choose_build(landing: Landing, *, effort: IndexArray, among: BoolArray) -> int:
    """Index of the build to print.

    Among those that land: the least work of those whose chance is near the best and that leave
    room (`COMFORT`). If none lands: the nearest.
    """
    good = near_best(landing.chance, among & landing.lands)
    if not good.any():
        return int(np.argmin(np.where(among, landing.distance, np.inf)))
    nearest = float(landing.distance[good].min())
    good &= landing.distance <= max(COMFORT * landing.tolerance, nearest + 0.3)
    return int(np.argmin(np.where(good, effort, effort.max() + 1)))


def space_errors(space: BuildSpace) -> StockErrors:
    """How far the stock of a space may be off, as `errors_of_builds` gives for `Build`s."""
    based = space.base != NO_BASE
    base = np.where(based, space.base + len(space.inks), -1)
    ink = space.ink[:, None]
    if based.any():
        ink = np.stack([np.where(based, base, space.ink), np.where(based, space.ink, -1)], axis=1)
    return stock_errors((*space.inks, *space.bases), space.garments, ink=ink, cloth=space.garment)
