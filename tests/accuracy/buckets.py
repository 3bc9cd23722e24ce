"""Buckets corrected in simulated ink rooms

Each room mixes a recipe that `find_recipes` found for a measured color (as in the chapter before).
Its inks are off by 5 % (standard deviation of ln K and of ln S, each by itself), every weighing by
1 %, every reading by an instrument's 0.5 ΔE00; the press is as stated, or off by a draw of its own
standard deviations. The room prints, reads, adds what `correct` says, and does so once more. Its
print is then held against the best that its true inks allow, found by scipy over all their mixes.
A room that is told to start again counts as missed. True prints are worked out with `mix_inks` and
`swatch`, not by the code that corrects.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType

import numpy as np
from scipy.optimize import minimize

import inksim
from inksim.colour import Viewing, delta_e_2000, difference_metric, lab
from inksim.mixing import FoundRecipe, correct
from inksim.mixing.bucket import BucketReading, bucket_of
from inksim.printing import Build, swatch
from inksim.stock import (
    MEAN_LENGTH,
    MEANINGS,
    READING_DE00,
    Ink,
    Parameter,
    Press,
    SpectralError,
    Target,
    mix_inks,
)
from tests.accuracy import Row, row
from tests.accuracy.recipes import targets

ORDER, SLOW = 65, True
D50 = Viewing()
TARGETS, ROOMS, SEED = 30, 3, 11
INK_SD, WEIGHED_SD = 0.05, 0.01
CORRECTIONS = 2
NEAR_DE00 = 1.0
SOURCE = "true inks, every mix of them (scipy)"


@cache
def shop_of(*, press_known: bool) -> inksim.Shop:
    """The demo shop, its inks as sure as those of the rooms."""
    shop = inksim.load_shop()
    error = SpectralError(K=INK_SD, S=INK_SD, shapes=np.zeros((0, 2, 31)))
    inks = {name: replace(ink, error=error) for name, ink in shop.inks.items()}
    press = shop.press
    if press_known:
        known = {name: Parameter(getattr(press, name).value, 0.0) for name in MEANINGS}
        press = replace(press, **known, correlation=None, strengths=())
    return replace(shop, inks=MappingProxyType(inks), press=press)


@dataclass(frozen=True, kw_only=True)
class Room:
    """ΔE00 of the prints of a room from the target: first, then after each correction.

    best: that its true inks allow. anew: it was told to start again.
    """

    printed: tuple[float, ...]
    best: float
    anew: bool

    @property
    def farther(self) -> float:
        """Than the best, at last; a room that has to start again is as far as it was."""
        return self.printed[-1] - self.best


def true_lab(build: Build, inks: list[Ink], grams: np.ndarray, press: Press) -> np.ndarray:
    """Lab of the print of true grams of true inks."""
    parts = [(ink, float(g) / ink.density_g_cm3) for ink, g in zip(inks, grams, strict=True)]
    parts = [part for part in parts if part[1] > 0]
    mixed = parts[0][0] if len(parts) == 1 else mix_inks(parts, name="true")
    top = replace(build.colour, ink=mixed)
    return lab(swatch([replace(build, layers=(*build.layers[:-1], top))], press=press)[0], D50)


def best_of(
    build: Build, inks: list[Ink], grams: np.ndarray, press: Press, goal: np.ndarray
) -> float:
    """Least ΔE00 of any mix of true inks on a build."""

    def away(ln: np.ndarray) -> float:
        grams = np.exp(np.append(ln, 0.0) - max(0.0, float(np.max(ln, initial=0.0))))
        return float(delta_e_2000(goal, true_lab(build, inks, grams, press)))

    if len(inks) == 1:
        return away(np.zeros(0))
    start = np.log(grams[:-1] / grams[-1])
    simplex = np.vstack([start, start + 0.2 * np.eye(start.size)])
    options = {"initial_simplex": simplex, "xatol": 1e-3, "fatol": 1e-3, "maxiter": 400}
    return float(minimize(away, start, method="Nelder-Mead", options=options).fun)


def room(one: FoundRecipe, target: Target, shop: inksim.Shop, rng: np.random.Generator) -> Room:
    """Mix, print, read and correct one recipe in a room of its own errors."""
    bucket = bucket_of(
        {part.ink.name: part.grams for part in one.parts},
        inks=shop.inks, build=one.build, target=target,
    )  # fmt: skip
    factors = np.exp(INK_SD * rng.standard_normal((len(bucket.inks), 2)))
    inks = [ink.times(K=k, S=s) for ink, (k, s) in zip(bucket.inks, factors, strict=True)]
    press = drawn(shop.press, rng)

    def weighed(grams: np.ndarray) -> np.ndarray:
        return grams * np.exp(WEIGHED_SD * rng.standard_normal(grams.size))

    true, goal = weighed(bucket.batches[0]), target.lab_d50
    best, printed, anew = best_of(one.build, inks, true, press, goal), [], False
    for _ in range(CORRECTIONS):
        seen = true_lab(one.build, inks, true, press)
        printed.append(float(delta_e_2000(goal, seen)))
        root = np.linalg.inv(np.linalg.cholesky(difference_metric(seen)).T)
        off = root @ rng.standard_normal(3) * READING_DE00 / MEAN_LENGTH
        reading = BucketReading(after=len(bucket.batches), lab=seen + off)
        found = correct(bucket.with_reading(reading), shop, viewing=D50)
        bucket, anew = found.after, anew or found.anew is not None
        if len(bucket.batches) > reading.after:
            true = true + weighed(bucket.batches[-1])
    printed.append(float(delta_e_2000(goal, true_lab(one.build, inks, true, press))))
    return Room(printed=tuple(printed), best=best, anew=anew)


def drawn(press: Press, rng: np.random.Generator) -> Press:
    """A press off by a draw of its own standard deviations."""
    moved = {}
    for name, meaning in MEANINGS.items():
        value, sd = getattr(press, name)
        own = np.clip(value + sd * rng.standard_normal(), meaning.least, meaning.most)
        moved[name] = Parameter(float(own), sd)
    return replace(press, **moved)


def rooms(
    *, press_known: bool, count: int = TARGETS, each: int = ROOMS, max_inks: int = 4
) -> tuple[Room, ...]:
    """Rooms of the best recipe of so many targets."""
    shop, rng = shop_of(press_known=press_known), np.random.default_rng(SEED)
    found = []
    for garment, target in targets(count):
        cloth = shop.garment(garment)
        one = inksim.find_recipes(shop, target=target, garment=cloth, most_inks=max_inks)[0]
        found += [room(one, target, shop, rng) for _ in range(each)]
    return tuple(found)


@cache
def studied(*, press_known: bool) -> tuple[Room, ...]:
    """The rooms of the report."""
    return rooms(press_known=press_known)


def missed(found: tuple[Room, ...]) -> np.ndarray:
    """1 of each room that ends farther than `NEAR_DE00` from its best; 0 of the others."""
    return np.array([float(each.farther > NEAR_DE00) for each in found])


def rows() -> list[Row]:
    """How far the rooms end from the best of their inks."""
    made = []
    for known, words in ((True, "press as stated"), (False, "press off by its own sd")):
        found = studied(press_known=known)
        first = [each.printed[0] - each.best for each in found]
        once = [each.printed[1] - each.best for each in found]
        last = [each.farther for each in found]
        told = 100 * float(np.mean([each.anew for each in found]))
        share = 100 * (1.0 - float(missed(found).mean()))
        made += [
            row(f"Bucket as mixed, {words}", SOURCE, np.maximum(first, 0.0)),
            row(f"Bucket corrected once, {words}", SOURCE, np.maximum(once, 0.0)),
            row(f"Bucket corrected twice, {words}", SOURCE, np.maximum(last, 0.0),
                note=f"within {NEAR_DE00:g} ΔE00 in {share:.0f} % of rooms; {told:.0f} % are told "
                "to start again"),
            row(f"Share of rooms farther than {NEAR_DE00:g} ΔE00, {words}", SOURCE,
                missed(found), unit="–", limits={"mean": 0.1}),
        ]  # fmt: skip
    return made
