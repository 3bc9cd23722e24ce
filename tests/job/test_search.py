"""The joint search against brute force: every combination of options, counted from its builds.

The brute force takes from the engine only which build an option of a color is, and how far and how
surely that build lands; screens, flashes, strokes, work, cost and film are counted here from the
layers of the builds, by what the words mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import product
from typing import Any

import numpy as np
import pytest

from inksim.colour.viewing import Viewing
from inksim.decision.answer import stays_bare
from inksim.decision.build_evaluation import Evaluated, Landing, against, evaluate
from inksim.decision.candidate_builds import build_space
from inksim.job.costs import rates_of
from inksim.job.drying import WATER_G_CM3, ink_water_g_m2, water_heat_kj
from inksim.job.job import Job, JobColour
from inksim.job.options import Option, bare_option, options_of
from inksim.job.search import Found, Way, search
from inksim.printing.build import Build
from inksim.shop.load import load_shop
from inksim.shop.schema import RulesEntry, StationsEntry
from inksim.shop.shop import Shop
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
        )  # fmt: skip


def prepared(job: Job, shop: Shop = TWO) -> Prepared:
    (garment,) = job.garments
    space = build_space(shop, garments=[garment], inks=shop.top_inks)
    weighed = evaluate(space, press=shop.press, viewing=D50)
    landings: list[Landing | None] = []
    options = []
    for at, each in enumerate(job.colours):
        if stays_bare(
            garment, each.target, tolerance=each.tolerance, viewing=D50, limits=shop.rules
        ):
            landings.append(None)
            options.append([bare_option(at)])
            continue
        landing = against(weighed, standard=each.target.lab(D50), tolerance=each.tolerance)
        landings.append(landing)
        options.append(
            options_of(
                job, weighed, colour=at, among=np.ones(len(space), dtype=np.bool_),
                landing=landing, rates=rates_of(job.costs), gain=GAIN,
            )
        )  # fmt: skip
    return Prepared(job, weighed, landings, options)


# -- Brute force


@dataclass(frozen=True)
class Counted:
    """One combination, counted by hand. screens: with what each one is printed over."""

    picks: tuple[int, ...]
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


def counted(prep: Prepared, picks: tuple[int, ...], *, runs: int = 1) -> Counted | None:
    """Count one combination of a build (-1: bare) for each color; None where it is no way."""
    job, space = prep.job, prep.weighed.space
    builds = [None if at < 0 else space.build(at) for at in picks]
    bases: dict[str, set[tuple[Any, ...]]] = {}
    for build in builds:
        if build is not None and build.base is not None:
            under, top = layers(build)
            bases.setdefault(under[0], set()).add((under, under == top, build.base.flash))
    if any(len(ways) > 1 for ways in bases.values()):
        return None  # one screen of a base ink, printed one way
    under_all = {key: (again, flash) for (way,) in bases.values() for key, again, flash in [way]}
    tops: dict[tuple[Any, ...], set[str]] = {}  # screens of the colors, with the bases under them
    for build in builds:
        if build is None:
            continue
        *below, top = layers(build)
        if below and below[0] == top:
            continue  # its base's screen once more
        if not below and top in under_all:
            if under_all[top][0]:
                return None  # it would be printed twice
            continue  # its own base left as it is
        tops.setdefault(top, set()).update(key[0] for key in below)
    screens = [*under_all, *tops]
    flashes = sum(flash for _, flash in under_all.values())
    strokes = sum(key[2] * (2 if again else 1) for key, (again, _) in under_all.items())
    strokes += sum(key[2] for key in tops)

    costs, quantity = job.costs, job.quantity
    labor = costs.labor_per_hour / 3600
    cost = len(screens) * (
        costs.screen_making + costs.setup_minutes_per_screen / 60 * costs.labor_per_hour
    )
    cost += quantity * strokes * costs.seconds_per_pass * labor
    cost += quantity * flashes * costs.seconds_per_flash * labor
    cost += quantity * (runs - 1) * costs.seconds_per_garment * labor
    inks = {ink.name: ink for ink in (*space.inks, *space.bases)}
    cost += sum(costs.ink_left_g_per_screen / 1000 * inks[key[0]].price_per_kg for key in screens)
    film = risk = wet_um = 0.0
    chances, missed = [], []
    for at, (pick, build) in enumerate(zip(picks, builds, strict=True)):
        landing = prep.landings[at]
        if build is None:
            missed.append(0.0)
            continue
        assert landing is not None
        missed.append(max(0.0, float(landing.distance[pick]) - job.colours[at].tolerance))
        chances.append(max(float(landing.chance[pick]), 1e-3))
        risk += -np.log(chances[-1]) + np.log(1.5) * missed[-1]
        m2 = job.colours[at].area_cm2 / 1e4
        for layer, um in zip(
            reversed(build.layers), reversed(prep.weighed.wet_um[pick].tolist()), strict=False
        ):
            ink = layer.ink
            wet_um += um
            grams = um * ink.density_g_cm3 * m2  # µm on a m² is a cm³
            cost += grams * quantity / (1 - costs.waste_share) / 1000 * ink.price_per_kg
            film += um * (ink.density_g_cm3 - (1 - ink.solids_by_volume) * WATER_G_CM3) * m2
            kj = water_heat_kj(ink_water_g_m2(um, solids_by_volume=ink.solids_by_volume) * m2)
            cost += float(kj) * quantity / 3600 / costs.dryer_efficiency * costs.energy_per_kwh
    work = len(screens) + 0.2 * flashes + 0.1 * strokes + 1e-4 * wet_um + 2.0 * (runs - 1)
    loose, groups = sum(1 for over in tops.values() if len(over) == 0), []
    for key, (_, flash) in under_all.items():
        over = sum(1 for below in tops.values() if key[0] in below)
        wet = inks[key[0]].kind == "discharge-base"
        groups.append((1 + over, wet) if wet else (1 + flash, False))
        loose += 0 if wet else over
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
def every(prep_key: tuple[Any, ...], runs: int) -> list[Counted]:
    prep = PREPARED[prep_key]
    found = (
        counted(prep, picks, runs=runs)
        for picks in product(*([o.build for o in own] for own in prep.options))
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
PREPARED: dict[tuple[Any, ...], Prepared] = {}


def case(name: str) -> Prepared:
    garment, hexes, shop = CASES[name]
    if (name,) not in PREPARED:
        PREPARED[(name,)] = prepared(job_of(garment, *hexes, shop=shop), shop)
    return PREPARED[(name,)]


def values_of(way: Way) -> tuple[float, ...]:
    return (way.cost, way.film_g, way.risk, float(len(way.options) - way.nominal), way.work)


def picks_of(way: Way) -> tuple[int, ...]:
    return tuple(option.build for option in way.options)


NEAR = 1e-9


def holds_the_front(ways: list[Way], wanted: list[Counted]) -> None:
    """Each way is counted as by hand, none is beaten, and no way by hand beats them all."""
    by_hand = {each.picks: each for each in wanted}
    for way in ways:
        same = by_hand[picks_of(way)]
        assert (way.screens, way.flashes, way.strokes) == (same.screens, same.flashes, same.strokes)
        assert values_of(way) == pytest.approx(same.values, rel=1e-9)
        assert way.nominal == same.nominal
        assert way.chance_a_color == pytest.approx(same.chance, rel=1e-9)
    rows = np.array([each.values for each in wanted])
    found = np.array([values_of(way) for way in ways])
    covered = np.array([np.any(np.all(found <= row + NEAR, axis=1)) for row in rows])
    assert covered.all(), wanted[int(np.argmin(covered))]
    for row in found:
        as_good = np.all(rows <= row + NEAR, axis=1)
        assert not np.any(as_good & np.any(rows < row - NEAR, axis=1))


@pytest.mark.parametrize("flashes", [0, 1])
@pytest.mark.parametrize("stations", [1, 2, 3, 4, 5, 6])
@pytest.mark.parametrize("name", CASES)
def test_the_ways_are_those_of_brute_force(name: str, stations: int, flashes: int) -> None:
    prep, press = case(name), StationsEntry(stations=stations, flashes=flashes)
    wanted = [each for each in every((name,), 1) if fits(each, press)]
    found = prep.search(press=press)
    assert found.exact
    if not wanted:
        assert found.ways == []
        return
    holds_the_front(found.ways, wanted)
