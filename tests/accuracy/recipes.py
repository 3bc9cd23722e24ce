"""Recipes against a global optimizer, and against mixing colors

Targets are measured colors: a printed sheet (sample.cxf of colour-cxf), textiles (Vrhel, Gershon &
Iwan 1994) and CIE 2017 test samples, drawn with a fixed seed,
half of them on a white and half on a black shirt. The stock is the demo shop's with three more
invented inks, 15 that may be mixed, four at a time, by every route and build that the rules allow.

What `find_recipes` finds is held against scipy's `differential_evolution` over the same print
model: over the build, the four inks and their shares at once. It may look at a whole population in
one call, and gets some fifty thousand looks; called one by one, as it asks for by default, each
look costs what is measured here for a few hundred of them, and that time is what the search is held
against.

Whoever mixes colors, not films, averages what the inks look like: the shares by which the mean of
the inks' Lab, or of their linear light (sRGB), comes closest to the target. Their true prints are
worked out on the best build there is for each, so that the mixing alone is judged.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from types import MappingProxyType

import numpy as np
from scipy.optimize import differential_evolution, nnls

import inksim
from inksim.colour import Viewing, delta_e_2000, lab, linear_srgb, xyz
from inksim.decision import build_space, evaluate
from inksim.mixing.candidates import OpenBuilds, inks_to_mix, open_builds
from inksim.printing import ROUTES, Build, swatch
from inksim.readings import read_readings
from inksim.shop import ink_look
from inksim.stock import Ink, Target, mix_inks, target_from_lab
from tests.accuracy import Detail, Row, row
from tests.accuracy.recovery import samples

ORDER, SLOW = 64, True
D50 = Viewing()
TARGETS, SEED = 30, 7
MOST = 4
POPULATION, GENERATIONS = 20, 250
LOOKS_TIMED = 200
SOURCE = "scipy's differential_evolution over the same print model"


@cache
def shop_of_15() -> inksim.Shop:
    """The demo shop with three inks more: spectra of others, shifted by 20 or 30 nm."""
    shop = inksim.load_shop()
    more = {}
    for name, of, bands in (
        ("Sorrel Red", "Kiln Red", 2), ("Rush Green", "Orchard Green", -2),
        ("Teasel Violet", "Damson Purple", 3),
    ):  # fmt: skip
        ink = shop.ink(of)
        at = np.clip(np.arange(31) - bands, 0, 30)
        more[name] = replace(ink, name=name, K=ink.K[at])
    return replace(shop, inks=MappingProxyType({**shop.inks, **more}))


@cache
def printed_spectra() -> np.ndarray:
    """Spectra (n, 31) of a printed sheet."""
    sample = resources.files("colour_cxf") / "tests" / "resources" / "sample.cxf"
    return np.array([r.reflectance for r in read_readings(sample.read_bytes(), name="sample.cxf")])


@cache
def targets(count: int = TARGETS) -> tuple[tuple[str, Target], ...]:
    """Garment and target of each case, from three kinds of measured colors in turn."""
    rng = np.random.default_rng(SEED)
    kinds = {
        "printed": printed_spectra(), "textile": samples()["textiles"],
        "CIE 2017": samples()["CIE 2017"],
    }  # fmt: skip
    cases = []
    for at in range(count):
        name = list(kinds)[at % len(kinds)]
        spectrum = kinds[name][rng.integers(len(kinds[name]))]
        garment = ("Coal Black", "Flour White")[(at // len(kinds)) % 2]
        cases.append((garment, target_from_lab(lab(spectrum, D50), name=f"{name} {at + 1}")))
    return tuple(cases)


@dataclass(frozen=True, kw_only=True)
class Compared:
    """One case: ΔE00 and seconds of the search, of the optimizer; its seconds a look; its looks.

    Seconds are of the processor, so that they mean the same on a busy machine.
    """

    found: float
    seconds: float
    best: float
    vectorized_s: float
    look_s: float
    looks: int


def true_distance(build: Build, target: Target, shop: inksim.Shop) -> float:
    """ΔE00 of a build's swatch from a target."""
    printed = lab(swatch([build], press=shop.press)[0], D50)
    return float(delta_e_2000(target.lab_d50, printed))


class Unknowns:
    """Build, four inks and the logarithm of their shares, as the optimizer moves them."""

    def __init__(self, shop: inksim.Shop, garment: str, target: Target) -> None:
        self.shop, self.target = shop, target
        self.inks = inks_to_mix(shop)
        cloth = shop.garment(garment)
        self.open: OpenBuilds = open_builds(shop, garment=cloth, inks=self.inks, routes=ROUTES)
        self.bounds = [(0.0, 1.0)] * (1 + MOST) + [(-6.5, 0.0)] * MOST
        colour = np.array([ink.kind == "color" for ink in self.inks])
        self.coloured = colour
        k = np.stack([ink.K * ink.solids_by_volume for ink in self.inks])
        s = np.stack([ink.S * ink.solids_by_volume for ink in self.inks])
        self.wet_ks = k, s
        self.solids = np.array([ink.solids_by_volume for ink in self.inks])

    def read(self, x: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Builds (P,), inks (P, 4) and wet shares (P, 4) of unknowns (9, P)."""
        count = len(self.open.space)
        film = np.minimum((x[0] * count).astype(int), count - 1)
        ink = np.minimum((x[1 : 1 + MOST] * len(self.inks)).astype(int), len(self.inks) - 1).T
        wet = np.exp(x[1 + MOST :].T)
        return film, ink, wet / wet.sum(axis=1, keepdims=True)

    def build(self, x: np.ndarray) -> Build:
        """One build as an object, its ink mixed by the stock's own rule."""
        film, ink, wet = self.read(x[:, None])
        parts: dict[str, float] = {}
        for at, share in zip(ink[0], wet[0], strict=True):
            parts[self.inks[at].name] = parts.get(self.inks[at].name, 0.0) + float(share)
        mixed = mix_inks([(self.shop.ink(n), share) for n, share in parts.items()], name="mix")
        plain = self.open.space.build(int(film[0]))
        return replace(plain, layers=(*plain.layers[:-1], replace(plain.colour, ink=mixed)))

    def one(self, x: np.ndarray) -> float:
        """ΔE00 of one look, as whoever has the package's front door would write it."""
        return true_distance(self.build(x), self.target, self.shop)

    def many(self, x: np.ndarray) -> np.ndarray:
        """ΔE00 (P,) of a population (9, P); 200 where the rules allow no such print."""
        from inksim.printing import lower, mean_reflectance

        x = x.reshape(len(self.bounds), -1)
        film, ink, wet = self.read(x)
        able = self.open.allowed[film[:, None], ink].all(axis=1) & self.coloured[ink].any(axis=1)
        found = np.full(film.size, 200.0)
        film, ink, wet = film[able], ink[able], wet[able]
        if not film.size:
            return found
        table = self.open.space.take(film).table()
        solids = np.sum(wet * self.solids[ink], axis=1)
        tops = table.ink_volume_um.shape[1] - 1 - (table.ink_volume_um[:, -1] == 0)
        rows = np.arange(film.size)
        K, S, dry = np.array(table.K), np.array(table.S), np.array(table.solids)
        for made, own in ((K, self.wet_ks[0]), (S, self.wet_ks[1])):
            made[rows, tops] = np.einsum("pm,pmb->pb", wet, own[ink]) / solids[:, None]
        dry[rows, tops] = solids
        printed = mean_reflectance(
            lower(replace(table, K=K, S=S, solids=dry), self.shop.press.values)
        )
        found[able] = delta_e_2000(self.target.lab_d50, lab(printed, D50))
        return found


def compared(
    garment: str, target: Target, *, population: int = POPULATION, generations: int = GENERATIONS
) -> Compared:
    """The search and the optimizer on one target."""
    shop = shop_of_15()
    fine = {"least_part_g": 0.001, "scale_step_g": 0.001}  # the optimizer knows no scale
    rules = shop.rules.model_copy(update=fine)
    free = replace(shop, rules=rules)
    cloth = shop.garment(garment)
    start = time.process_time()
    recipes = inksim.find_recipes(free, target=target, garment=cloth)
    seconds = time.process_time() - start
    found = true_distance(recipes.nearest.build, target, shop)
    unknowns = Unknowns(free, garment, target)
    start = time.process_time()
    best = differential_evolution(
        unknowns.many, unknowns.bounds, popsize=population, maxiter=generations, seed=SEED,
        vectorized=True, updating="deferred", tol=1e-7, polish=False,
    )  # fmt: skip
    vectorized = time.process_time() - start
    rng = np.random.default_rng(SEED)
    low, high = np.array(unknowns.bounds).T
    drawn = rng.uniform(low, high, (LOOKS_TIMED, low.size))
    start = time.process_time()
    for x in drawn:
        unknowns.one(x)
    look = (time.process_time() - start) / LOOKS_TIMED
    # what the optimizer says is what its own print is, by the front door
    assert abs(unknowns.one(best.x) - best.fun) < 1e-6
    return Compared(
        found=found,
        seconds=seconds,
        best=float(best.fun),
        vectorized_s=vectorized,
        look_s=look,
        looks=int(best.nit + 1) * population * len(unknowns.bounds),
    )


# -- averaging colors


@cache
def looks_of_inks() -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Lab and linear sRGB of each ink's usual film on a white card."""
    shop = shop_of_15()
    seen = {ink.name: ink_look(shop, ink) for ink in inks_to_mix(shop)}
    return {name: (lab(R, D50), linear_srgb(xyz(R, D50), D50)) for name, R in seen.items()}


def averaged(target: Target, space: str) -> list[tuple[Ink, float]]:
    """Inks and shares whose mean color comes closest: at most four, as many as equations."""
    shop, looks = shop_of_15(), looks_of_inks()
    at = ("Lab", "linear RGB").index(space)
    names = list(looks)
    goal = target.lab_d50 if at == 0 else linear_srgb(xyz_of(target), D50)
    scale = 1.0 if at == 0 else 100.0
    A = np.stack([looks[name][at] for name in names], axis=1) * scale
    weight = 1e3 * scale
    shares, _ = nnls(np.vstack([A, np.full(len(names), weight)]), np.append(goal * scale, weight))
    order = np.argsort(-shares)[:MOST]
    parts = [(shop.ink(names[i]), float(shares[i])) for i in order if shares[i] > 1e-4]
    return parts if any(ink.kind == "color" for ink, _ in parts) else [
        *parts[: MOST - 1], (shop.ink("Oatcake Cream"), 0.01)
    ]  # fmt: skip


def xyz_of(target: Target) -> np.ndarray:
    """XYZ of a target."""
    from inksim.colour import xyz_from_lab

    return xyz_from_lab(target.lab_d50, D50)


def best_print(parts: list[tuple[Ink, float]], garment: str, target: Target) -> float:
    """Least ΔE00 over all builds of a mix of inks by wet volume."""
    shop = shop_of_15()
    mixed = parts[0][0] if len(parts) == 1 else mix_inks(parts, name="averaged")
    space = build_space(shop, garments=[shop.garment(garment)], inks=[mixed])
    found = evaluate(space, press=shop.press, viewing=D50)
    return float(delta_e_2000(target.lab_d50, found.lab).min())


@cache
def studied() -> tuple[tuple[str, Target, Compared, float, float], ...]:
    """Every case: the comparison, and the true ΔE00 of averaged Lab and linear RGB."""
    return tuple(
        (
            garment, target, compared(garment, target),
            best_print(averaged(target, "Lab"), garment, target),
            best_print(averaged(target, "linear RGB"), garment, target),
        )
        for garment, target in targets()
    )  # fmt: skip


def rows() -> list[Row]:
    """Nearness, time, and what averaging colors comes to."""
    cases = [case for _, _, case, _, _ in studied()]
    farther = np.array([case.found - case.best for case in cases])
    ratio = np.array([case.seconds / (case.look_s * case.looks) for case in cases])
    name = "Recipe of 15 inks, four at a time"
    return [
        row(f"{name}: ΔE00 farther than the optimizer's", SOURCE, np.maximum(farther, 0.0),
            limits={"worst": 0.1}),
        row(f"{name}: ΔE00 nearer than the optimizer's", SOURCE, np.maximum(-farther, 0.0)),
        row(f"{name}: seconds of the processor", "this machine",
            [case.seconds for case in cases], unit="s", limits={"worst": 1.0}),
        row(f"{name}: its time over the optimizer's, look by look", SOURCE, ratio, unit="–",
            limits={"worst": 0.02}),
        row(f"{name}: its time over the optimizer's, populations at once", SOURCE,
            [case.seconds / case.vectorized_s for case in cases], unit="–"),
        row("Print of a recipe by the print model, from its target", "the print model",
            [case.found for case in cases]),
        row("Print of a recipe by averaging Lab", "the print model", [c[3] for c in studied()]),
        row("Print of a recipe by averaging linear RGB", "the print model",
            [c[4] for c in studied()]),
    ]  # fmt: skip


def details() -> list[Detail]:
    """Each target."""
    cells = [
        (
            target.name, garment, " ".join(f"{v:.0f}" for v in target.lab_d50),
            f"{case.found:.2f}", f"{case.best:.2f}", f"{by_lab:.1f}", f"{by_rgb:.1f}",
        )
        for garment, target, case, by_lab, by_rgb in studied()
    ]  # fmt: skip
    return [
        Detail(
            title="Each target, ΔE00 of its nearest print",
            text="Recipe: by the print model inverted. Optimizer: differential evolution over the "
            "same model. The last two: recipes from averaged colors, truly printed on their best "
            "build.",
            head=("target", "garment", "Lab", "recipe", "optimizer", "averaged Lab",
                  "averaged linear RGB"),
            cells=cells,
        )
    ]  # fmt: skip
