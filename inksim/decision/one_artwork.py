"""Decision for one artwork by one route: a common base, then mesh and passes for each color.

`one_colour` decides for one ink by itself. In an artwork the colors share their base, so the base
is chosen for all of them together, and then each color's own mesh and passes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.colour import Viewing
from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.decision.build_evaluation import (
    Evaluated,
    Landing,
    against,
    choose_build,
    evaluate,
    near_best,
)
from inksim.decision.candidate_builds import build_space
from inksim.decision.one_colour import barrier
from inksim.printing import ROUTES, Build, Interval, Route, interval_of
from inksim.shop import Shop
from inksim.stock import Garment, Ink, Target

BASE = ("base", "base_screen", "base_passes", "flash")
"""Columns of a space that describe the base; -1 and 0 for straight builds."""


@dataclass(frozen=True, kw_only=True, eq=False)
class ColourBuilds:
    """Every build of one color of an artwork on a garment, compared with its target."""

    evaluated: Evaluated
    landing: Landing

    def bases(self, route: Route) -> set[tuple[int, ...]]:
        """The distinct bases of the builds of a route."""
        return {tuple(row) for row in self._based()[self._by(route)].tolist()}

    def pick(self, route: Route, base: tuple[int, ...]) -> int:
        """Index of the build to print over a base: see `choose_build`."""
        among = self._by(route) & (self._based() == base).all(axis=1)
        return choose_build(self.landing, effort=self.evaluated.effort, among=among)

    def _by(self, route: Route) -> BoolArray:
        return np.asarray(self.evaluated.space.route == ROUTES.index(route))

    def _based(self) -> IndexArray:
        return np.stack([getattr(self.evaluated.space, f).astype(np.intp) for f in BASE], axis=1)


def why_not(shop: Shop, *, garment: Garment, inks: Sequence[Ink], route: Route) -> str:
    """Explain why a route cannot print these inks on a garment; '' if it can."""
    reasons = (barrier(shop, garment=garment, ink=ink, route=route) for ink in inks)
    return next((why for why in reasons if why), "")


def evaluate_colours(
    shop: Shop,
    *,
    garment: Garment,
    wanted: Sequence[tuple[Ink, Target]],
    tolerance: float,
    viewing: Viewing,
) -> list[ColourBuilds]:
    """Evaluate every build of every (ink, target) on a garment, all routes in one pass.

    An ink that cannot be printed at all has no builds: see `why_not`.
    """
    inks = list(dict.fromkeys(ink for ink, _ in wanted))
    space = build_space(shop, garments=[garment], inks=inks)
    if not len(space):
        return []
    whole = evaluate(space, press=shop.press, viewing=viewing)
    made = []
    for ink, target in wanted:
        part = whole.take(np.flatnonzero(space.ink == inks.index(ink)))
        landing = against(part, standard=target.lab(viewing), tolerance=tolerance)
        made.append(ColourBuilds(evaluated=part, landing=landing))
    return made


def best_way(colors: Sequence[ColourBuilds], route: Route) -> list[tuple[Build, Interval]]:
    """Choose a build for each color, in order, all over the same base; [] where there is none.

    The bases that land the most colors are candidates. If all colors land: the fewest strokes and
    then the least ink among those whose lowest chance of landing is near the best (`near_best`);
    else the base whose farthest color is nearest.
    """
    if not colors:
        return []
    shared = set.intersection(*(color.bases(route) for color in colors))
    if not shared:
        return []
    rows = [[color.pick(route, base) for color in colors] for base in sorted(shared)]
    return [_chosen(color, at) for color, at in zip(colors, rows[_best(colors, rows)], strict=True)]


def _best(colors: Sequence[ColourBuilds], rows: Sequence[Sequence[int]]) -> int:
    """Index of the base to print, given build indices (bases, colors)."""

    def gathered(values: Sequence[FloatArray]) -> FloatArray:
        return np.array([[v[at] for v, at in zip(values, row, strict=True)] for row in rows])

    distance = gathered([color.landing.distance for color in colors])
    landed = (distance <= colors[0].landing.tolerance).sum(axis=1)
    most = landed == landed.max()
    if landed.max() < len(colors):
        return int(np.argmin(np.where(most, distance.max(axis=1), np.inf)))
    surest = gathered([color.landing.chance for color in colors]).min(axis=1)
    good = np.flatnonzero(near_best(surest, most))
    passes = gathered([c.evaluated.space.passes.astype(np.float64) for c in colors]).sum(axis=1)
    under = gathered([c.evaluated.space.base_passes.astype(np.float64) for c in colors])[:, 0]
    wet = gathered([color.evaluated.wet_um.sum(axis=1) for color in colors]).sum(axis=1)
    return int(good[np.lexsort((wet[good], (passes + under)[good]))[0]])


def _chosen(color: ColourBuilds, at: int) -> tuple[Build, Interval]:
    landing, evaluated = color.landing, color.evaluated
    sure = interval_of(
        landing.spread, at, viewing=evaluated.viewing, aimed=True, tolerance=landing.tolerance
    )
    return evaluated.space.build(at), sure
