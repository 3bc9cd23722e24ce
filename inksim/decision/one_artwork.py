"""Decision for one artwork by one route: a common base, then mesh and passes for each color.

`one_colour` decides for one ink by itself. In an artwork the colors share their base, so the base
is chosen for all of them together, and then each color's own mesh and passes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from inksim.colour import Viewing
from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.decision.build_evaluation import (
    Evaluated,
    Landing,
    against,
    as_good,
    choose_build,
    evaluate,
)
from inksim.decision.candidate_builds import build_space
from inksim.decision.one_colour import barrier
from inksim.decision.verdict import Verdict, verdict_on_all
from inksim.printing import (
    ROUTES,
    Build,
    Interval,
    Response,
    Route,
    errors_of_builds,
    interval_of,
    respond,
    summarize,
    tabulate,
)
from inksim.shop import Shop
from inksim.stock import Garment, Ink, Press, Target

BASE = ("base", "base_screen", "base_passes", "flash")
"""Columns of a space that describe the base; -1 and 0 for straight builds."""


@dataclass(frozen=True, kw_only=True, eq=False)
class ColourBuilds:
    """Every build of one color of an artwork on a garment, compared with its target.

    standard (3,): the target's Lab. gain: see `as_good`.
    """

    evaluated: Evaluated
    landing: Landing
    standard: FloatArray
    press: Press
    gain: float

    def bases(self, route: Route) -> set[tuple[int, ...]]:
        """The distinct bases of the builds of a route."""
        return {tuple(row) for row in self._based()[self._by(route)].tolist()}

    def pick(self, route: Route, base: tuple[int, ...]) -> int:
        """Index of the build to print over a base: see `choose_build`."""
        among = self._by(route) & (self._based() == base).all(axis=1)
        return choose_build(
            self.landing,
            route=self.evaluated.space.route,
            work=self.evaluated.work,
            among=among,
            gain=self.gain,
        )

    def _by(self, route: Route) -> BoolArray:
        return np.asarray(self.evaluated.space.route == ROUTES.index(route))

    def _based(self) -> IndexArray:
        return np.stack([getattr(self.evaluated.space, f).astype(np.intp) for f in BASE], axis=1)


@dataclass(frozen=True, kw_only=True, eq=False)
class DesignWay:
    """One way to print all colors of an artwork over a common base: the build of each, in order.

    response: of the builds. standards (C, 3): Lab of the targets.
    """

    builds: tuple[Build, ...]
    intervals: tuple[Interval, ...]
    response: Response
    standards: FloatArray
    press: Press

    @cached_property
    def verdict(self) -> Verdict:
        """On all colors together."""
        return self._verdict(help_too=False)

    @cached_property
    def verdict_with_help(self) -> Verdict:
        """The same with what would help: some ten times the work."""
        return self._verdict(help_too=True)

    def _verdict(self, *, help_too: bool) -> Verdict:
        return verdict_on_all(
            self.intervals,
            response=self.response,
            builds=self.builds,
            standards=self.standards,
            press=self.press,
            help_too=help_too,
        )


def way_of(
    builds: Sequence[Build],
    targets: Sequence[Target],
    *,
    press: Press,
    viewing: Viewing,
    tolerance: float,
) -> DesignWay:
    """Judge given builds, at least one, against a target each."""
    table = tabulate(builds)
    response = respond(
        table, errors_of_builds(builds, layers=table.K.shape[-2]), press=press, viewing=viewing
    )
    standards = np.stack([target.lab(viewing) for target in targets])
    found = summarize(response, standard=standards, tolerance=tolerance)
    return DesignWay(
        builds=tuple(builds),
        intervals=tuple(
            interval_of(found, at, viewing=viewing, aimed=True, tolerance=tolerance)
            for at in range(len(builds))
        ),
        response=response,
        standards=standards,
        press=press,
    )


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
        standard = target.lab(viewing)
        made.append(
            ColourBuilds(
                evaluated=part,
                landing=against(part, standard=standard, tolerance=tolerance),
                standard=standard,
                press=shop.press,
                gain=shop.rules.least_chance_gain,
            )
        )
    return made


def best_way(colors: Sequence[ColourBuilds], route: Route) -> DesignWay | None:
    """Choose a build for each color, in order, all over the same base; None where there is none.

    Of the bases the one with the fewest strokes and then the least ink among those that are as good
    by their weakest color and by the farthest: see `as_good`.
    """
    if not colors:
        return None
    shared = set.intersection(*(color.bases(route) for color in colors))
    if not shared:
        return None
    rows = [[color.pick(route, base) for color in colors] for base in sorted(shared)]
    row = rows[_best(colors, rows)]
    parts = [
        color.evaluated.response.take(np.array([at])) for color, at in zip(colors, row, strict=True)
    ]
    return DesignWay(
        builds=tuple(c.evaluated.space.build(at) for c, at in zip(colors, row, strict=True)),
        intervals=tuple(_interval(c, at) for c, at in zip(colors, row, strict=True)),
        response=replace(
            parts[0],
            center=np.concatenate([part.center for part in parts]),
            slope=np.concatenate([part.slope for part in parts], axis=1),
            curve=np.concatenate([part.curve for part in parts], axis=1),
        ),
        standards=np.stack([color.standard for color in colors]),
        press=colors[0].press,
    )


def _best(colors: Sequence[ColourBuilds], rows: Sequence[Sequence[int]]) -> int:
    """Index of the base to print, given build indices (bases, colors)."""

    def gathered(values: Sequence[FloatArray]) -> FloatArray:
        return np.array([[v[at] for v, at in zip(values, row, strict=True)] for row in rows])

    good = np.flatnonzero(
        as_good(
            gathered([color.landing.distance for color in colors]).max(axis=1),
            gathered([color.landing.chance for color in colors]).min(axis=1),
            tolerance=colors[0].landing.tolerance,
            gain=colors[0].gain,
        )
    )
    passes = gathered([c.evaluated.space.passes.astype(np.float64) for c in colors]).sum(axis=1)
    under = gathered([c.evaluated.space.base_passes.astype(np.float64) for c in colors])[:, 0]
    wet = gathered([color.evaluated.wet_um.sum(axis=1) for color in colors]).sum(axis=1)
    return int(good[np.lexsort((wet[good], (passes + under)[good]))[0]])


def _interval(color: ColourBuilds, at: int) -> Interval:
    landing = color.landing
    return interval_of(
        landing.spread,
        at,
        viewing=color.evaluated.viewing,
        aimed=True,
        tolerance=landing.tolerance,
    )
