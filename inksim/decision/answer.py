"""The answer for one color on one garment: what is printed, what comes out, what is promised.

Every door gives an `Answer`: a palette, a job of one color or many, a picture. On a cloth that is
the color already nothing is printed: see `stays_bare`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from inksim.colour import Viewing, chroma, delta_e_2000, lab as lab_of
from inksim.common import ROUTE_SHORT, BoolArray, FloatArray
from inksim.decision.candidate_builds import BuildSpace
from inksim.decision.rules_kept import STRAIGHT
from inksim.decision.verdict import Verdict, verdict_of
from inksim.printing import BARE, Build, Interval, Prediction, Route, build_words, predict
from inksim.shop import RulesEntry, Shop, ink_look
from inksim.stock import Garment, Ink, Press, Provenance, Recipe, Target, least_sure

WHITE_NOTE = "white is held against"
DARK_ROOM_DE00 = 2.0
"""ΔE00 by which a base has to bring a dark color nearer before it is weighed [assumption]."""
WHITE_LEAST_L, WHITE_MOST_C = 96.0, 4.0
"""A color this light and this gray is asked for as white: no print and no cloth is a screen's
white itself [assumption; of sRGB grays those from #f4f4f4]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Answer:
    """The decision for one color on one garment.

    build: to print; of the bare cloth where nothing is. lab (3,), hex, in_srgb_gamut: its most
    likely color. delta_e_2000: of that against the target. interval: with how sure. nominal:
    whether the most likely color of any build is inside the tolerance. recipe: of the ink, where it
    is mixed for this color or is a stored mix; None for any other ink.
    """

    target: Target
    garment: Garment
    build: Build
    lab: FloatArray
    hex: str
    in_srgb_gamut: bool
    delta_e_2000: float
    interval: Interval
    nominal: bool
    recipe: Recipe | None = None

    @property
    def ink(self) -> Ink | None:
        """The ink on top; None where nothing is printed."""
        return self.build.ink

    @property
    def route(self) -> Route | Literal["bare"]:
        """The route, or 'bare'."""
        return self.build.route

    @property
    def verdict(self) -> Verdict:
        """Verdict: what may be promised of it."""
        return verdict_of(self.interval)

    @property
    def chance(self) -> float:
        """Chance of a ΔE00 within the tolerance."""
        return self.verdict.chance

    @property
    def median_de00(self) -> float:
        """The ΔE00 in the middle of what is expected."""
        return self.verdict.median_de00

    @property
    def mark(self) -> str:
        """'◐ should land, over white'; 'left bare' where nothing is printed."""
        where = ROUTE_SHORT[self.route]
        return where if self.build.bare else f"{self.verdict.mark}, {where}"

    @property
    def words(self) -> str:
        """The build in the words of the print room."""
        return build_words(self.build)

    @property
    def data(self) -> Provenance:
        """Where the least sure of its numbers comes from."""
        return least_sure(self.garment.data, *(layer.ink.data for layer in self.build.layers))


def answer_of(
    prediction: Prediction, *, target: Target, nominal: bool, recipe: Recipe | None = None
) -> Answer:
    """The answer that a prediction with its interval, held against a target, gives."""
    assert prediction.interval is not None
    assert prediction.delta_e_2000 is not None
    return Answer(
        target=target,
        garment=prediction.build.garment,
        build=prediction.build,
        lab=prediction.lab,
        hex=prediction.hex,
        in_srgb_gamut=prediction.in_srgb_gamut,
        delta_e_2000=prediction.delta_e_2000,
        interval=prediction.interval,
        nominal=nominal,
        recipe=recipe,
    )


def stays_bare(
    garment: Garment, target: Target, *, tolerance: float, viewing: Viewing, limits: RulesEntry
) -> bool:
    """Whether a color is left to the cloth: it is the cloth's own, or white on a white cloth.

    Nobody prints a shirt's own color on it (common practice, no source): so where the cloth is
    within the tolerance nothing is printed, however sure a print would be. A shop that does not
    keep the rule 'the cloth is a color too' prints it.
    """
    if "the cloth is a color too" in limits.not_kept:
        return False
    asked, cloth = target.lab(viewing), lab_of(garment.reflectance, viewing)
    if float(delta_e_2000(asked, cloth)) <= tolerance:
        return True
    return asks_for_white(asked) and garment.de00_from_white < limits.least_to_cover_de00


def asks_for_white(lab: FloatArray) -> bool:
    """Whether a color (3,) is asked for as white: see `WHITE_LEAST_L`."""
    return bool(lab[0] >= WHITE_LEAST_L and float(chroma(np.asarray(lab))) <= WHITE_MOST_C)


def aimed_at(shop: Shop, target: Target) -> Target:
    """The target that a color is held against: for white this shop's own white.

    A screen's white (L* 100) is the lightest that it shows, and asks for the lightest that is
    printed, as media-relative colorimetry takes it (ISO 15076-1). So white is held against the
    whitest white ink's usual film on white card: a shirt that shows through it counts, that no
    print is a perfect diffuser does not. Where the shop has no white, and for every other color,
    the target as it is.
    """
    whites = [ink for ink in shop.inks.values() if ink.kind == "white-base"]
    if not whites or target.reflectance is not None or not asks_for_white(target.lab_d50):
        return target
    looks = {ink.name: ink_look(shop, ink) for ink in whites}
    name = max(looks, key=lambda each: float(lab_of(looks[each], Viewing())[0]))
    return replace(
        target,
        lab_d50=lab_of(looks[name], Viewing()),
        reflectance=looks[name],
        data=least_sure(target.data, shop.ink(name).data),
        note=f"{WHITE_NOTE} '{name}' on white card, not against a screen's white",
    )


def bare_cloth(
    garment: Garment, target: Target, *, press: Press, viewing: Viewing, tolerance: float
) -> Prediction:
    """The bare cloth as the print of a color."""
    build = Build(garment=garment, layers=(), route=BARE)
    (found,) = predict([build], press=press, viewing=viewing, target=target, tolerance=tolerance)
    return found


def worth_weighing(
    space: BuildSpace,
    *,
    garment: Garment,
    standard: FloatArray,
    distance: FloatArray,
    tolerance: float,
    viewing: Viewing,
    limits: RulesEntry,
) -> BoolArray:
    """Mask (N,) of the builds worth weighing: not white for a hue, no base for a dark color.

    A color of some hue is not printed in white, nor left as a discharged cloth, though that may be
    the nearest the shop has: what is asked for is the hue. And no white is printed on a white shirt
    (both common practice, no source).

    A base makes the ground lighter; a color darker than the cloth is reached without (common
    practice, no source). A base is weighed for it only where it comes much nearer than any straight
    build does (`DARK_ROOM_DE00`), as under a deep color on cloth nearly as dark.

    Parameters
    ----------
    standard (3,) : Lab of the target. distance (N,): ΔE00 of each build's most likely color to it.
    """
    everything = np.ones(len(space), dtype=np.bool_)
    coloured = np.array([ink.kind == "color" for ink in space.inks], dtype=np.bool_)[space.ink]
    on_white = garment.de00_from_white < limits.least_to_cover_de00
    hued = on_white or float(chroma(standard)) > limits.hue_chroma
    if hued and coloured.any() and "a hue is not printed in white" not in limits.not_kept:
        everything = coloured
    cloth = float(lab_of(garment.reflectance, viewing)[0])
    dark = standard[0] <= limits.dark_color_lightness and standard[0] < cloth
    straight = np.asarray((space.route == STRAIGHT) & everything)
    if not dark or "a dark color needs no base" in limits.not_kept or not straight.any():
        return everything
    near = max(tolerance, float(distance[everything].min())) + DARK_ROOM_DE00
    return straight if float(distance[straight].min()) <= near else everything
