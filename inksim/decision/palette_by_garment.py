"""A palette on every garment of the stock: what each color may be promised, and how printed.

Each garment is evaluated once, with every ink by every build that the rules of the trade allow, and
then compared with any number of targets: the builds do not depend on the target.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.colour import Viewing, delta_e_2000, hex_code, lab as lab_of, xyz_from_lab
from inksim.common import BoolArray, FloatArray, InputError
from inksim.decision.answer import (
    Answer,
    aimed_at,
    answer_of,
    bare_cloth,
    stays_bare,
    worth_weighing,
)
from inksim.decision.build_evaluation import (
    against,
    choose_build,
    could_be_chosen,
    evaluate,
    work_of,
)
from inksim.decision.candidate_builds import BuildSpace, build_space
from inksim.printing import (
    interval_of,
    lower,
    mean_reflectance,
    wet_deposit_um,
)
from inksim.shop import Shop
from inksim.stock import Garment, Press, Target

_BLOCK = 2048  # builds at a time: their slabs stay in tens of megabytes


@dataclass(frozen=True, kw_only=True, eq=False)
class GarmentReach:
    """All N builds of the shop's inks on a garment, with Lab (N, 3) and work (N,).

    work: see `work_of`. shop: whose rules are kept.
    """

    garment: Garment
    space: BuildSpace
    press: Press
    viewing: Viewing
    lab: FloatArray
    work: FloatArray
    shop: Shop


def palette_on_stock(
    shop: Shop,
    *,
    targets: Sequence[Target] | None = None,
    garments: Sequence[Garment] | None = None,
    viewing: Viewing = Viewing(),
    tolerance: float = 3.0,
) -> list[list[Answer]]:
    """Check which colors of a palette can be printed on which garments.

    Parameters
    ----------
    shop : whose color inks, screens, bases and press are used.
    targets : the palette; the shop's if not given, or else its targets.
    garments : the stock; all of the shop's if not given.
    viewing : the light and the observer that differences hold for.
    tolerance : largest acceptable ΔE00, above 0.

    Returns
    -------
    One column per garment, in order, of one `Answer` per target, in order.

    Raises
    ------
    InputError : a tolerance not above 0, no target, or a garment no color ink can be printed on.
    """
    wanted = list((shop.palette or shop.targets).values() if targets is None else targets)
    if not wanted:
        raise InputError("there is no target to look for; give some, or a palette to the shop.")
    stock = shop.garments.values() if garments is None else garments
    return [
        answers_on(reach(shop, garment=garment, viewing=viewing), wanted, tolerance=tolerance)
        for garment in stock
    ]


def reach(shop: Shop, *, garment: Garment, viewing: Viewing = Viewing()) -> GarmentReach:
    """Predict every ink that is a color, by every sensible build, on one garment.

    Raises
    ------
    InputError : the shop has no color ink, or none of its inks can be printed on it.
    """
    if not shop.colour_inks:
        raise InputError("this shop has no ink of kind 'color'; add one to inks.toml.")
    space = build_space(shop, garments=[garment], inks=shop.top_inks, stations=shop.stations)
    if not len(space):
        raise InputError(
            f"no ink of this shop can be printed on '{garment.name}' through its screens; "
            "add an ink of kind 'color' to inks.toml, or a screen it prints through."
        )
    press = shop.press.values
    labs, wets = [], []
    for first in range(0, len(space), _BLOCK):
        table = space.take(slice(first, first + _BLOCK)).table()
        labs.append(lab_of(mean_reflectance(lower(table, press)), viewing))
        wets.append(wet_deposit_um(table, press).sum(axis=1))
    return GarmentReach(
        garment=garment,
        space=space,
        press=shop.press,
        viewing=viewing,
        lab=np.concatenate(labs),
        work=work_of(space, wet_um=np.concatenate(wets)[:, None]),
        shop=shop,
    )


def answers_on(found: GarmentReach, targets: Sequence[Target], *, tolerance: float) -> list[Answer]:
    """Choose the build for each target among all builds of a garment, in order.

    The same choice as `advise`, but over every ink, white and the bare cloth too: see
    `choose_build`, `stays_bare`.

    Raises
    ------
    InputError : a tolerance not above 0.
    """
    if not tolerance > 0:
        raise InputError(f"tolerance is {tolerance:g}; give a ΔE00 above 0, such as 3.")
    if not targets:
        return []
    aims = [aimed_at(found.shop, target) for target in targets]
    standards = np.stack([aim.lab(found.viewing) for aim in aims])
    distance = delta_e_2000(standards[:, None], found.lab[None])
    candidate = np.stack(
        [
            _could_be_chosen(found, each, standard, tolerance=tolerance)
            for each, standard in zip(distance, standards, strict=True)
        ]
    )
    kept = np.flatnonzero(candidate.any(axis=0))
    evaluated = evaluate(found.space.take(kept), press=found.press, viewing=found.viewing)
    made = []
    for asked, target, among in zip(targets, aims, candidate[:, kept], strict=True):
        standard = target.lab(found.viewing)
        if stays_bare(
            found.garment,
            asked,
            tolerance=tolerance,
            viewing=found.viewing,
            limits=found.shop.rules,
        ):
            made.append(_bare(found, target, tolerance=tolerance))
            continue
        own = np.flatnonzero(among)
        landing = against(evaluated.take(own), standard=standard, tolerance=tolerance)
        at = choose_build(
            landing,
            route=found.space.route[kept[own]],
            work=found.work[kept[own]],
            among=np.ones(own.size, dtype=np.bool_),
            gain=found.shop.rules.least_chance_gain,
        )
        lab = found.lab[kept[own[at]]]
        code, inside = hex_code(xyz_from_lab(lab, found.viewing), found.viewing)
        build = found.space.build(int(kept[own[at]]))
        made.append(
            Answer(
                target=target,
                garment=found.garment,
                build=build,
                lab=lab,
                hex=code,
                in_srgb_gamut=inside,
                delta_e_2000=float(landing.distance[at]),
                interval=interval_of(
                    landing.spread, at, viewing=found.viewing, aimed=True, tolerance=tolerance
                ),
                nominal=bool(landing.nominal.any()),
                recipe=found.shop.recipe_of(build.ink),
            )
        )
    return made


def _could_be_chosen(
    found: GarmentReach, distance: FloatArray, standard: FloatArray, *, tolerance: float
) -> BoolArray:
    able = worth_weighing(
        found.space,
        garment=found.garment,
        standard=standard,
        distance=distance,
        tolerance=tolerance,
        viewing=found.viewing,
        limits=found.shop.rules,
    )
    mask = np.zeros(distance.size, dtype=np.bool_)
    mask[able] = could_be_chosen(distance[able], found.space.route[able], tolerance=tolerance)
    return mask


def _bare(found: GarmentReach, target: Target, *, tolerance: float) -> Answer:
    cloth = bare_cloth(
        found.garment, target, press=found.press, viewing=found.viewing, tolerance=tolerance
    )
    return answer_of(cloth, target=target, nominal=True)


@dataclass(frozen=True, kw_only=True)
class Serving:
    """How many colors of a palette a garment serves.

    promised: that land or should land; nominal: that some build's most likely color reaches;
    *_straight: of those the ones that need no base. expected: the sum of all chances.
    """

    promised: int
    promised_straight: int
    nominal: int
    nominal_straight: int
    expected: float

    @property
    def words(self) -> str:
        """Say how many land: '3 land or should, 1 without a base'."""
        verb = "lands" if self.promised == 1 else "land"
        return f"{self.promised} {verb} or should, {self.promised_straight} without a base"


def serves(column: Sequence[Answer]) -> Serving:
    """Count the colors of a palette that may be promised on a garment."""
    promised = [cell for cell in column if cell.verdict.promised]
    nominal = [cell for cell in column if cell.nominal]
    return Serving(
        promised=len(promised),
        promised_straight=sum(cell.build.base is None for cell in promised),
        nominal=len(nominal),
        nominal_straight=sum(cell.build.base is None for cell in nominal),
        expected=sum(cell.verdict.chance for cell in column),
    )
