"""Every color of a palette on every garment of the stock: lands, needs a base, or out of reach.

Each garment is weighed once, with every ink by every build that `decide` would weigh, and is then
compared with any number of targets: the builds do not depend on the target.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from inksim.appearance import Viewing, hex_code, xyz_from_lab
from inksim.appearance import lab as lab_of
from inksim.build import ROUTES, Build, lower, tabulate, wet_deposit_um
from inksim.cielab import delta_e_2000
from inksim.decide import sensible_builds
from inksim.errors import InputError
from inksim.garment import Garment
from inksim.kubelka_munk import Array
from inksim.prints import swatch
from inksim.shop import Shop
from inksim.target import Target
from inksim.trade_rules import discharge_barrier
from inksim.weighing import COMFORT

Mark = Literal["lands", "needs a base", "out of reach"]
MARKS: tuple[Mark, ...] = ("lands", "needs a base", "out of reach")
Indices = npt.NDArray[np.intp]
_BLOCK = 2048  # builds at a time: their slabs stay in tens of megabytes


@dataclass(frozen=True, kw_only=True, eq=False)
class Reach:
    """What a garment can show: B builds with their Lab (B, 3) and how much work each is.

    route (B,): index into ROUTES; effort (B,): rank, 0 the least strokes and then the least ink.
    """

    garment: Garment
    builds: tuple[Build, ...]
    lab: Array
    route: Indices
    effort: Indices


@dataclass(frozen=True, kw_only=True, eq=False)
class Cell:
    """One target on one garment: the build to print, or the nearest one."""

    target: Target
    garment: Garment
    build: Build
    lab: Array
    hex: str
    in_srgb_gamut: bool
    delta_e_2000: float
    mark: Mark


def reach(shop: Shop, *, garment: Garment, viewing: Viewing | None = None) -> Reach:
    """Weigh every color ink by every sensible build on one garment, in few passes over arrays.

    Raises
    ------
    InputError : no color ink of the shop can be printed on it.
    """
    seen = viewing or Viewing()
    builds = [
        build
        for ink in shop.inks.values()
        if ink.kind == "colour"
        for route in ROUTES
        if not (route == "discharge-base" and discharge_barrier(garment, limits=shop.rules))
        for build in sensible_builds(shop, garment=garment, ink=ink, route=route)
    ]
    if not builds:
        raise InputError(
            f"no color ink of this shop can be printed on '{garment.name}' through its screens; "
            "add an ink of kind 'colour' to inks.toml, or a screen it prints through."
        )
    press = shop.press.values
    labs, wets = [], []
    for first in range(0, len(builds), _BLOCK):
        table = tabulate(builds[first : first + _BLOCK])
        labs.append(lab_of(swatch(lower(table, press)), seen))
        wets.append(wet_deposit_um(table, press).sum(axis=-1))
    strokes = np.array([sum(layer.passes for layer in build.layers) for build in builds])
    order = np.lexsort((np.concatenate(wets), strokes))
    effort = np.empty(len(builds), dtype=np.intp)
    effort[order] = np.arange(len(builds))
    return Reach(
        garment=garment,
        builds=tuple(builds),
        lab=np.concatenate(labs),
        route=np.array([ROUTES.index(build.route) for build in builds]),
        effort=effort,
    )


def cells(
    found: Reach, targets: Sequence[Target], *, tolerance: float, viewing: Viewing | None = None
) -> list[Cell]:
    """Compare a garment's reach with targets: one cell each, in order.

    The first route inside the tolerance wins, in the order straight, discharge base, white base;
    in it the ink that comes nearest, by the build that `decide.advise` would take. Where nothing
    lands, the nearest of all.

    Raises
    ------
    InputError : a tolerance not above 0.
    """
    if not tolerance > 0:
        raise InputError(f"tolerance is {tolerance:g}; give a ΔE00 above 0, such as 3.")
    if not targets:
        return []
    seen = viewing or Viewing()
    standards = np.stack([target.lab(seen) for target in targets])
    distance = delta_e_2000(standards[:, None], found.lab[None])
    made = []
    for target, row in zip(targets, distance, strict=True):
        at, mark = _pick(found, row, tolerance=tolerance)
        code, inside = hex_code(xyz_from_lab(found.lab[at], seen), seen)
        made.append(
            Cell(
                target=target,
                garment=found.garment,
                build=found.builds[at],
                lab=found.lab[at],
                hex=code,
                in_srgb_gamut=inside,
                delta_e_2000=float(row[at]),
                mark=mark,
            )
        )
    return made


def _pick(found: Reach, distance: Array, *, tolerance: float) -> tuple[int, Mark]:
    """Index of the build to print and its mark."""
    landing = distance <= tolerance
    if not landing.any():
        return int(np.argmin(distance)), "out of reach"
    route = int(found.route[landing].min())
    nearest = int(np.argmin(np.where(found.route == route, distance, np.inf)))
    ink = found.builds[nearest].colour.ink
    same = np.array(
        [
            route == at and build.colour.ink is ink
            for at, build in zip(found.route, found.builds, strict=True)
        ]
    )
    comfortable = min(max(COMFORT * tolerance, float(distance[nearest]) + 0.3), tolerance)
    inside = same & (distance <= comfortable)
    at = int(np.argmin(np.where(inside, found.effort, found.effort.size)))
    return at, "lands" if route == 0 else "needs a base"


def serves(column: Sequence[Cell]) -> tuple[int, int]:
    """How well a garment serves a palette: colors that land straight, and that land at all."""
    straight = sum(cell.mark == "lands" for cell in column)
    return straight, straight + sum(cell.mark == "needs a base" for cell in column)
