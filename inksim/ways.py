"""How a whole artwork is best printed by one route: one base under all colors, a mesh for each.

`decide` weighs one ink by itself. In one artwork the colors share their base, so the base is chosen
for all of them together, and then each color's own mesh and passes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inksim.appearance import Viewing
from inksim.appearance import lab as lab_of
from inksim.build import Build, Route, lower, tabulate, wet_deposit_um
from inksim.cielab import delta_e_2000
from inksim.decide import ROUTE_WORDS, sensible_builds
from inksim.garment import Garment
from inksim.ink import Ink
from inksim.prints import swatch
from inksim.shop import Shop
from inksim.target import Target
from inksim.trade_rules import discharge_barrier
from inksim.weighing import COMFORT

Base = tuple[str, int] | None


@dataclass(frozen=True, kw_only=True)
class _Option:
    """One build of one color: how far it is from its target, how much work the color is."""

    build: Build
    distance: float
    effort: tuple[int, float]

    @property
    def base(self) -> Base:
        """Screen and passes of the base, which the whole artwork shares."""
        under = self.build.base
        return None if under is None else (under.screen.name, under.passes)


def barrier(shop: Shop, *, garment: Garment, inks: Sequence[Ink], route: Route) -> str:
    """Say why a route cannot be printed with these inks on a garment; '' if it can."""
    if route == "discharge-base" and (why := discharge_barrier(garment, limits=shop.rules)):
        return why
    for ink in inks:
        if not sensible_builds(shop, garment=garment, ink=ink, route=route):
            return f"no screen of this shop suits '{ink.name}' {ROUTE_WORDS[route]}"
    return ""


def best_builds(
    shop: Shop,
    *,
    garment: Garment,
    wanted: Sequence[tuple[Ink, Target]],
    route: Route,
    tolerance: float,
    viewing: Viewing,
) -> list[Build]:
    """Choose a build for each (ink, target), in order, all over the same base.

    Of the bases, the one with the most colors inside the tolerance; among those, where all are
    inside, the least strokes and then the least ink, else the smallest ΔE00 of the furthest color.
    Of a color's builds over it, as `decide.advise` does: the least work among the comfortable ones.
    Check `barrier` first.
    """
    options = _options(shop, garment=garment, wanted=wanted, route=route, viewing=viewing)
    if not options:
        return []
    bases = sorted({each.base for each in options[0]}, key=str)
    rows = [
        [_choose([o for o in color if o.base == base], tolerance=tolerance) for color in options]
        for base in bases
    ]

    def rank(row: Sequence[_Option]) -> tuple[float, ...]:
        landed = sum(each.distance <= tolerance for each in row)
        if landed == len(row):
            strokes, wet = (sum(part) for part in zip(*(o.effort for o in row), strict=True))
            return (-landed, strokes, wet)
        return (-landed, max(each.distance for each in row), 0.0)

    return [each.build for each in min(rows, key=rank)]


def _options(
    shop: Shop,
    *,
    garment: Garment,
    wanted: Sequence[tuple[Ink, Target]],
    route: Route,
    viewing: Viewing,
) -> list[list[_Option]]:
    """Every sensible build of each color, evaluated in one pass."""
    per_color = [sensible_builds(shop, garment=garment, ink=ink, route=route) for ink, _ in wanted]
    builds = [build for each in per_color for build in each]
    if not builds:
        return []
    table, press = tabulate(builds), shop.press.values
    lab = lab_of(swatch(lower(table, press)), viewing)
    wet = wet_deposit_um(table, press).sum(axis=-1)
    made, start = [], 0
    for (_, target), each in zip(wanted, per_color, strict=True):
        part = slice(start, start + len(each))
        distance = delta_e_2000(target.lab(viewing), lab[part])
        made.append(
            [
                _Option(
                    build=build,
                    distance=float(de),
                    effort=(sum(layer.passes for layer in build.layers), float(ink_um)),
                )
                for build, de, ink_um in zip(each, distance, wet[part], strict=True)
            ]
        )
        start = part.stop
    return made


def _choose(options: Sequence[_Option], *, tolerance: float) -> _Option:
    """The least work among the comfortable builds of a color, else the nearest."""
    nearest = min(options, key=lambda each: each.distance)
    comfortable = min(max(COMFORT * tolerance, nearest.distance + 0.3), tolerance)
    inside = [each for each in options if each.distance <= comfortable]
    return min(inside, key=lambda each: each.effort) if inside else nearest
