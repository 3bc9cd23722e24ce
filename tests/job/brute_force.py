"""Every way to print a small job, counted out by hand: what the search is held to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import product
from typing import Any

import numpy as np
import pytest

from inksim.colour.viewing import Viewing
from inksim.decision.answer import aimed_at, stays_bare
from inksim.decision.build_evaluation import Evaluated, Landing, against, evaluate
from inksim.decision.candidate_builds import build_space
from inksim.job.costs import rates_of
from inksim.job.drying import WATER_G_CM3, dryer_load, ink_water_g_m2, water_heat_kj
from inksim.job.job import Job, JobColour
from inksim.job.options import Option, bare_option, options_of
from inksim.job.search import Found, Way, search
from inksim.job.ways import weighed as weighed_for
from inksim.printing.build import Build
from inksim.shop.load import load_shop
from inksim.shop.schema import RulesEntry, StationsEntry
from inksim.shop.shop import Shop
from inksim.stock.handling import handling_of
from inksim.stock.ink import Ink
from inksim.stock.target import target_from_hex

SHOP = load_shop()
D50 = Viewing()
GAIN = SHOP.rules.least_chance_gain


def small(*inks: str, screens: Sequence[str] = ("110", "160", "230"), **rules: Any) -> Shop:
    """The demo shop with few inks and screens, so that brute force stays small."""
    names = (*inks, "Chalk White Base", "Quarry Discharge Base")
    one_pass = {"most_passes_white_base": 1, "most_passes_on_cloth": 1}
    return replace(
        SHOP,
        inks={name: SHOP.ink(name) for name in names},
        screens={name: SHOP.screens[name] for name in screens},
        rules=RulesEntry(**(one_pass | rules)),
    )


TWO = small("Kiln Red", "Oatcake Cream")
FEW = small("Kiln Red", "Oatcake Cream", screens=("160", "230"))
AGAIN = small("Kiln Red", screens=("110", "160"), most_passes_over_base=2, most_passes_white_base=2)


def job_of(garment: str, *hexes: str, shop: Shop = TWO, **more: Any) -> Job:
    given: dict[str, Any] = {
        "name": "any", "invented": True, "note": "", "garments": (SHOP.garment(garment),),
        "quantities": (50,), "press": StationsEntry(stations=8, flashes=1), "lines_per_inch": 0.0,
        "cloth_m2": 0.9, "base_choke_mm": 0.4, "prints_per_hour": None, "costs": shop.costs,
        "prefer": "work",
    }  # fmt: skip
    wanted = tuple(
        JobColour(
            name=f"{code} {at}", target=target_from_hex(code), ink=None,
            area_cm2=100.0 + 40.0 * at, tolerance=4.0,
        )
        for at, code in enumerate(hexes)
    )  # fmt: skip
    return Job(**(given | more), colours=wanted)


def again_cost(job: Job) -> float:
    """Of a second run: every shirt loaded, heated and dried once more."""
    (garment,), costs = job.garments, job.costs
    if costs.labor_per_hour is None:
        return 0.0
    loading = job.quantity * costs.seconds_per_garment * costs.labor_per_hour / 3600
    load = dryer_load(0.0, garment=garment, cloth_g=garment.weight_g_m2 * job.cloth_m2)
    return (
        loading + load.kwh(job.quantity, efficiency=costs.dryer_efficiency) * costs.energy_per_kwh
    )


@dataclass(frozen=True)
class Prepared:
    """A job's options by color, of all builds of a small shop on its garment."""

    job: Job
    weighed: Evaluated
    landings: list[Landing | None]
    options: list[list[Option]]

    def search(self, *, runs: int = 1, press: StationsEntry | None = None) -> Found:
        return search(
            self.job, self.weighed.space, [[(o,) for o in own] for own in self.options],
            rates=rates_of(self.job.costs), press=press or self.job.press, runs=runs,
            run_cost=again_cost(self.job),
        )  # fmt: skip


def prepared(job: Job, shop: Shop = TWO, *, near: bool = False) -> Prepared:
    """near: of the inks only those that come near a color, as in a job decided."""
    (garment,) = job.garments
    space = build_space(shop, garments=[garment], inks=shop.top_inks)
    weighed = evaluate(space, press=shop.press, viewing=D50)
    aims = [replace(c, target=aimed_at(shop, c.target)) for c in job.colours]
    among, _ = weighed_for(
        shop, replace(job, colours=tuple(aims)), garment, space, [False] * len(aims), viewing=D50
    )
    landings: list[Landing | None] = []
    options = []
    for at, each in enumerate(job.colours):
        if stays_bare(
            garment, each.target, tolerance=each.tolerance, viewing=D50, limits=shop.rules
        ):
            landings.append(None)
            options.append([bare_option(at)])
            continue
        aim = aimed_at(shop, each.target).lab(D50)
        landing = against(weighed, standard=aim, tolerance=each.tolerance)
        able = among[at] if near else np.ones(len(space), dtype=np.bool_)
        landings.append(landing)
        options.append(
            options_of(
                job, weighed, colour=at, among=able, landing=landing,
                rates=rates_of(job.costs), gain=GAIN,
            )
        )  # fmt: skip
    return Prepared(job, weighed, landings, options)


# -- Brute force


@dataclass(frozen=True)
class Counted:
    """One combination, counted by hand. screens: with what each one is printed over."""

    picks: tuple[Pick, ...]
    screens: int
    flashes: int
    strokes: int
    nominal: int
    missed: tuple[float, ...]
    chance: float
    values: tuple[float, ...]
    """Cost, film, risk, colors that are not nominal, work."""
    groups: tuple[tuple[int, bool], ...]
    """Of each base its own and its colors' screens, and whether wet; then all others."""


def layers(build: Build | None) -> list[tuple[str, str, int]]:
    return [] if build is None else [(x.ink.name, x.screen.name, x.passes) for x in build.layers]


Pick = tuple[int, bool]
"""A build, and whether it is printed, flashed and printed again through one screen."""


def pick_of(option: Option) -> Pick:
    return option.build, option.ground.again


def of_ink(ink: Ink, used_g: float, ready_g: float) -> float:
    """Cost of what is used of an ink, and of what is mixed into all that is ready."""
    handling = handling_of(ink)
    share = handling.additive_share
    mixed = ready_g * share / (1 + share) * (handling.additive_price_per_kg or 0.0)
    return (used_g / (1 + share) * ink.price_per_kg + mixed) / 1000


def of_films(prep: Prepared, at: int, pick: int, build: Build) -> tuple[float, float, float]:
    """Cost, dry film and wet µm of the layers of a color."""
    job, costs = prep.job, prep.job.costs
    m2 = job.colours[at].area_cm2 / 1e4
    cost = film = wet_um = 0.0
    wets = reversed(prep.weighed.wet_um[pick].tolist())  # the base's is 0 where there is none
    for layer, um in zip(reversed(build.layers), wets, strict=False):
        ink = layer.ink
        wet_um += um
        grams = um * ink.density_g_cm3 * m2  # µm on a m² is a cm³
        run_g = grams * job.quantity / (1 - costs.waste_share)
        cost += of_ink(ink, run_g, run_g)
        film += um * (ink.density_g_cm3 - (1 - ink.solids_by_volume) * WATER_G_CM3) * m2
        kj = water_heat_kj(ink_water_g_m2(um, solids_by_volume=ink.solids_by_volume) * m2)
        cost += float(kj) * job.quantity / 3600 / costs.dryer_efficiency * costs.energy_per_kwh
    return cost, film, wet_um


def counted(prep: Prepared, picks: tuple[Pick, ...], *, runs: int = 1) -> Counted | None:
    """Count one combination of a build (-1: bare) for each color; None where it is no way."""
    job, space = prep.job, prep.weighed.space
    builds = [None if at < 0 else space.build(at) for at, _ in picks]
    bases: dict[str, set[tuple[Any, ...]]] = {}
    for (_, again), build in zip(picks, builds, strict=True):
        if build is not None and build.base is not None:
            under, _ = layers(build)
            bases.setdefault(under[0], set()).add((under, again, build.base.flash))
    if any(len(ways) > 1 for ways in bases.values()):
        return None  # one screen of a base ink, printed one way
    under_all = {key: (again, flash) for (way,) in bases.values() for key, again, flash in [way]}
    tops: dict[tuple[Any, ...], set[str]] = {}  # screens of the colors, with the bases under them
    for (_, again), build in zip(picks, builds, strict=True):
        if build is None:
            continue
        *below, top = layers(build)
        if again:
            continue  # its base's screen once more
        if not below and top in under_all:
            if under_all[top][0]:
                return None  # it would be printed twice
            continue  # its own base left as it is
        tops.setdefault(top, set()).update(key[0] for key in below)
    screens = [*under_all, *tops]
    flashes = sum(flash for _, flash in under_all.values())
    strokes = sum(key[2] + again for key, (again, _) in under_all.items())  # one stroke more
    strokes += sum(key[2] for key in tops)

    costs, quantity = job.costs, job.quantity
    labor = costs.labor_per_hour / 3600
    cost = len(screens) * (
        costs.screen_making + costs.setup_minutes_per_screen / 60 * costs.labor_per_hour
    )
    cost += quantity * strokes * costs.seconds_per_pass * labor
    cost += quantity * flashes * costs.seconds_per_flash * labor
    cost += (runs - 1) * again_cost(job)
    inks = {ink.name: ink for ink in (*space.inks, *space.bases)}
    left, flood = costs.ink_left_g_per_screen, costs.flood_g_per_screen
    cost += sum(of_ink(inks[key[0]], left, max(left, flood)) for key in screens)
    film = risk = wet_um = 0.0
    chances, missed = [], []
    for at, ((pick, _), build) in enumerate(zip(picks, builds, strict=True)):
        landing = prep.landings[at]
        if build is None:
            missed.append(0.0)
            continue
        assert landing is not None
        missed.append(max(0.0, float(landing.distance[pick]) - job.colours[at].tolerance))
        chances.append(max(float(landing.chance[pick]), 1e-3))
        risk += -np.log(chances[-1]) + np.log(1.5) * missed[-1]
        own = of_films(prep, at, pick, build)
        cost, film, wet_um = cost + own[0], film + own[1], wet_um + own[2]
    work = len(screens) + 0.2 * flashes + 0.1 * strokes + 1e-4 * wet_um + 2.0 * (runs - 1)
    groups = []
    damp = {key[0] for key in under_all if inks[key[0]].kind == "discharge-base"}
    loose = sum(1 for below in tops.values() if not below & damp)  # each once, in whatever run
    for key, (_, flash) in under_all.items():
        over = sum(1 for below in tops.values() if key[0] in below)
        groups.append((1 + over, True) if key[0] in damp else (1 + flash, False))
    return Counted(
        picks=picks,
        screens=len(screens),
        flashes=flashes,
        strokes=strokes,
        nominal=sum(m == 0 for m in missed),
        missed=tuple(missed),
        chance=float(np.prod(chances) ** (1 / len(chances))) if chances else 1.0,
        values=(cost, film, risk, float(sum(m > 0 for m in missed)), work),
        groups=(*groups, *[(1, False)] * loose),
    )


@cache
def every(name: str, runs: int = 1, *, near: bool = False) -> list[Counted]:
    prep = case(name, near=near)
    found = (
        counted(prep, picks, runs=runs)
        for picks in product(*(list(map(pick_of, own)) for own in prep.options))
    )
    return [each for each in found if each is not None]


def fits(each: Counted, press: StationsEntry) -> bool:
    taken = each.screens + (each.flashes if press.flash_takes_station else 0)
    return taken <= press.stations and each.flashes <= press.flashes


CASES: dict[str, tuple[str, tuple[str, ...], Shop]] = {
    "one on black": ("Coal Black", ("#c9342f",), TWO),
    "white on black": ("Coal Black", ("#ffffff",), TWO),
    "white and red on black": ("Coal Black", ("#ffffff", "#c9342f"), TWO),
    "cream and red on navy": ("Estuary Navy", ("#ead9b5", "#c9342f"), TWO),
    "two whites on red": ("Brick Red", ("#ffffff", "#f6f6f3"), TWO),
    "one red twice on gray": ("Mist Gray", ("#c9342f", "#c9342f"), TWO),
    "cloth and red on black": ("Coal Black", ("#1d1d1f", "#c9342f"), TWO),
    "three on white": ("Flour White", ("#ffffff", "#c9342f", "#ead9b5"), TWO),
    "three on black": ("Coal Black", ("#ffffff", "#c9342f", "#ead9b5"), FEW),
    "three on red": ("Brick Red", ("#ffffff", "#b9a98a", "#1d1d1f"), FEW),
    "whites with two strokes": ("Coal Black", ("#ffffff", "#f0efe8"), AGAIN),
}


@cache
def case(name: str, *, near: bool = False) -> Prepared:
    garment, hexes, shop = CASES[name]
    return prepared(job_of(garment, *hexes, shop=shop), shop, near=near)


def values_of(way: Way) -> tuple[float, ...]:
    return (way.cost, way.film_g, way.risk, float(len(way.options) - way.nominal), way.work)


def picks_of(way: Way) -> tuple[Pick, ...]:
    return tuple(map(pick_of, way.options))


NEAR = 1e-9


def holds_the_front(ways: list[Way], wanted: list[Counted]) -> None:
    """Each way is counted as by hand, none is beaten, and no way by hand beats them all."""
    by_hand = {each.picks: each for each in wanted}
    for way in ways:
        same = by_hand[picks_of(way)]
        assert (way.screens, way.flashes, way.strokes) == (same.screens, same.flashes, same.strokes)
        assert values_of(way) == pytest.approx(same.values, rel=1e-9)
        assert way.nominal == same.nominal
        assert way.chance_a_colour == pytest.approx(same.chance, rel=1e-9)
    rows = np.array([each.values for each in wanted])
    found = np.array([values_of(way) for way in ways])
    covered = np.array([np.any(np.all(found <= row + NEAR, axis=1)) for row in rows])
    assert covered.all(), wanted[int(np.argmin(covered))]
    for row in found:
        if _beat(rows, row).any():  # but for the last digit of a sum: what beats it is found too
            rivals = found[_beat(found, row)]
            assert len(rivals)
            assert np.all(np.any((rivals > row) & (rivals < row + NEAR), axis=1))


def _beat(rows: np.ndarray, row: np.ndarray) -> np.ndarray:
    return np.all(rows <= row + NEAR, axis=1) & np.any(rows < row - NEAR, axis=1)
