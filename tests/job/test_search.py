"""The joint search against brute force: every combination of options, counted from its builds.

The brute force takes from the engine only which build an option of a color is, and how far and how
surely that build lands; screens, flashes, strokes, work, cost and film are counted here from the
layers of the builds, by what the words mean.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from inksim.colour.viewing import Viewing
from inksim.decision.answer import aimed_at, stays_bare
from inksim.decision.build_evaluation import Evaluated, Landing, against, evaluate
from inksim.decision.candidate_builds import build_space
from inksim.job.costs import rates_of
from inksim.job.decide import GarmentAnswer, decide_job
from inksim.job.drying import WATER_G_CM3, dryer_load, ink_water_g_m2, water_heat_kj
from inksim.job.job import Job, JobColour
from inksim.job.options import Option, bare_option, grounds_of, on_ground, options_of
from inksim.job.pareto import EXACT_COLOURS, pareto_mask
from inksim.job.search import STRAIGHT_ON, Found, Way, base_sets, search
from inksim.job.ways import weighed as weighed_for
from inksim.job.which_way import way_to_take
from inksim.printing.build import Build
from inksim.printing.prediction import build_words
from inksim.shop.load import load_shop
from inksim.shop.schema import CostsEntry, RulesEntry, StationsEntry
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
        assert way.chance_a_color == pytest.approx(same.chance, rel=1e-9)
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


@pytest.mark.parametrize("flashes", [0, 1])
@pytest.mark.parametrize("stations", [1, 2, 3, 5])
@pytest.mark.parametrize("name", CASES)
def test_the_ways_are_those_of_brute_force(name: str, stations: int, flashes: int) -> None:
    prep, press = case(name), StationsEntry(stations=stations, flashes=flashes)
    wanted = [each for each in every(name) if fits(each, press)]
    found = prep.search(press=press)
    assert found.exact
    if not wanted:
        assert found.ways == []
        return
    holds_the_front(found.ways, wanted)


# -- The rule over the front


def taken_by_hand(front: list[Counted], prep: Prepared, *, prefer: str) -> Counted:
    """What the stated rule takes: see `way_to_take`. Ways of one run only."""
    gain, room, even = GAIN, 1.0, 0.5

    def beaten(each: Counted) -> int:
        """Colors outside the tolerance that some build of the same kind brings inside."""
        count = 0
        for at, (pick, _) in enumerate(each.picks):
            landing = prep.landings[at]
            if landing is None or each.missed[at] == 0:
                continue
            space = prep.weighed.space
            based = space.base[pick] >= 0
            count += any(
                (space.base[o.build] >= 0) == based
                and landing.distance[o.build] <= prep.job.colours[at].tolerance
                for o in prep.options[at]
            )
        return count

    def want(each: Counted) -> tuple[float, float, float]:
        column = {"cost": 0, "softness": 1, "chance": 2, "work": 4}[prefer]
        least = each.values[column]
        if prefer == "work":  # in whole strokes: what differs by ink alone is alike
            least = float(np.floor(least / 0.1 + 1e-6))
        return least, -round(each.chance, 9), each.values[0]

    could = [min(each.missed[at] for each in front) for at in range(len(front[0].picks))]
    behind = {
        each.picks: max(m - least for m, least in zip(each.missed, could, strict=True))
        for each in front
    }
    nearest = min(behind.values())
    left = [e for e in front if behind[e.picks] <= nearest + room]
    least = min(map(beaten, left))
    left = [e for e in left if beaten(e) == least]
    surest = max(e.chance for e in left)
    taken = min((e for e in left if e.chance >= surest - gain), key=want)
    while True:
        easier = [
            e for e in left
            if e.screens < taken.screens and e.chance < even
            and e.chance > taken.chance - gain and want(e)[0] < want(taken)[0]
        ]  # fmt: skip
        if not easier:
            return taken
        taken = min(easier, key=want)


PREFER: dict[str, Any] = {
    "work": lambda way: int(np.floor(way.work / 0.1 + 1e-6)),
    "cost": lambda way: way.cost,
    "softness": lambda way: way.film_g,
    "chance": lambda way: way.risk,
}


@pytest.mark.parametrize("prefer", PREFER)
@pytest.mark.parametrize(("stations", "flashes"), [(2, 1), (4, 1), (6, 0)])
@pytest.mark.parametrize("name", CASES)
def test_the_way_taken_is_that_of_the_rule_over_the_brute_front(
    name: str, stations: int, flashes: int, prefer: str
) -> None:
    prep, press = case(name), StationsEntry(stations=stations, flashes=flashes)
    wanted = [each for each in every(name) if fits(each, press)]
    if not wanted:
        return
    rows = np.array([each.values for each in wanted])
    front = [wanted[at] for at in np.flatnonzero(pareto_mask(np.round(rows, 9)))]
    ways = prep.search(press=press).ways
    at = way_to_take(ways, np.array(list(map(PREFER[prefer], ways))), gain=GAIN)
    by_hand = taken_by_hand(front, prep, prefer=prefer)
    assert values_of(ways[at]) == pytest.approx(by_hand.values, rel=1e-9)


def decided(name: str, **more: Any) -> GarmentAnswer:
    _, _, shop = CASES[name]
    (found,) = decide_job(replace(case(name).job, **more), shop=shop).garments
    return found


@pytest.mark.parametrize("prefer", PREFER)
@pytest.mark.parametrize(
    "name", [name for name, (_, hexes, _) in CASES.items() if len(hexes) > 1]
)  # fmt: skip
def test_the_job_decided_is_that_way(name: str, prefer: Any) -> None:
    # from the shop and the colors to the way, with nothing of the search in between
    prep, found = case(name, near=True), decided(name, prefer=prefer)
    assert found.exact
    wanted = [each for each in every(name, near=True) if fits(each, prep.job.press)]
    rows = np.array([each.values for each in wanted])
    front = [wanted[at] for at in np.flatnonzero(pareto_mask(np.round(rows, 9)))]
    by_hand = taken_by_hand(front, prep, prefer=prefer)
    assert found.best is not None
    if sum(landing is not None for landing in prep.landings) == 1 and prefer == "work":
        return  # a color by itself is decided as a palette does
    assert values_of(found.best.way) == pytest.approx(by_hand.values, rel=1e-9)
    words = [plan.answer.words for plan in found.best.plans if plan.build.ink]
    space = prep.weighed.space
    assert words == [build_words(space.build(at)) for at, _ in by_hand.picks if at >= 0]


# -- Two runs


def parts(each: Counted, press: StationsEntry) -> bool:
    """Whether the screens go on the press in two runs.

    A flash stands beside its base; what is printed over a wet base is in its run.
    """
    units = [size for size, _ in each.groups]
    flashed = [size == 2 and not wet for size, wet in each.groups]
    takes = press.flash_takes_station
    for halves in product((0, 1), repeat=len(units)):
        ok = True
        for half in (0, 1):
            own = [n for n, at in enumerate(halves) if at == half]
            flashes = sum(flashed[n] for n in own)
            size = sum(units[n] - (0 if takes else flashed[n]) for n in own)
            ok &= size <= press.stations and flashes <= press.flashes
        if ok:
            return True
    return False


@pytest.mark.parametrize("stations", [1, 2, 3])
@pytest.mark.parametrize("name", ["white and red on black", "three on black", "three on red"])
def test_in_two_runs_too(name: str, stations: int) -> None:
    prep, press = case(name), StationsEntry(stations=stations, flashes=1)
    wanted = [each for each in every(name, 2) if parts(each, press)]
    ways = prep.search(press=press, runs=2).ways
    assert all(way.runs == 2 for way in ways)
    assert bool(ways) == bool(wanted)
    if wanted:
        holds_the_front(ways, wanted)


# -- What is said of it


def test_beyond_the_colors_that_are_searched_exactly_it_is_said() -> None:
    few = job_of("Flour White", *[f"#c9{at:02d}2f" for at in range(10, 10 + EXACT_COLOURS)])
    many = job_of("Flour White", *[f"#c9{at:02d}2f" for at in range(10, 11 + EXACT_COLOURS)])
    wide = StationsEntry(stations=24, flashes=1)
    for job, exact in ((few, True), (many, False)):
        (found,) = decide_job(replace(job, press=wide), shop=TWO).garments
        assert found.exact is exact


def test_a_job_of_very_many_colors_is_decided_in_little_memory() -> None:
    # 16 colors on 4 grounds are 10^9 combinations and more: one by one they fill any machine.
    codes = [f"#{0x30 + 12 * at:02x}{0xD0 - 9 * at:02x}60" for at in range(16)]
    prep = prepared(job_of("Coal Black", *codes, shop=FEW), FEW)
    tracemalloc.start()
    found = prep.search(press=StationsEntry(stations=24, flashes=2))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 100e6
    assert not found.exact
    best = min(found.ways, key=lambda way: way.risk)
    # with stations to spare no color need be riskier than alone on its best ground of that set
    alone = sum(
        min(o.risk for o in own if o.ground in (STRAIGHT_ON, *best.grounds)) for own in prep.options
    )
    assert best.risk <= alone + 1.0


def test_without_prices_ways_are_still_ranked() -> None:
    prep = prepared(job_of("Coal Black", "#c9342f", "#ead9b5", costs=CostsEntry()))
    works = [way.work for way in prep.search().ways]
    assert works
    assert works == sorted(works)


def test_colors_of_one_ink_share_a_screen() -> None:
    cheapest = min(case("one red twice on gray").search().ways, key=lambda way: way.cost)
    assert cheapest.screens == 1 + len(cheapest.grounds)


def test_a_flash_unit_that_stands_beside_the_press_takes_no_station() -> None:
    prep = case("one on black")
    press = StationsEntry(stations=2, flashes=1, flash_takes_station=False)
    assert any(way.flashes for way in prep.search(press=press).ways)
    tight = press.model_copy(update={"flash_takes_station": True})
    again = [way for way in prep.search(press=tight).ways if way.flashes]
    assert all(way.screens == 1 for way in again)  # white by itself: a screen and its flash


def test_the_grounds_are_the_cloth_and_every_base_screen() -> None:
    space = case("one on black").weighed.space
    grounds = grounds_of(space)
    assert grounds[0] == STRAIGHT_ON
    # two screens coarse enough, for white, for white twice, and for discharge
    assert len(grounds) == 1 + 2 + 2 + 2
    masks = np.stack([on_ground(space, g) for g in grounds])
    assert np.all(masks.sum(axis=0) == 1)  # each build on one ground
    sets = list(base_sets(grounds))
    assert len(sets) == len(set(sets)) == 1 + 4 + 2 + 4 * 2


def front(values: list[tuple[float, ...]]) -> np.ndarray:
    """Rows that no other row beats, one by one."""
    rows = sorted(set(values))
    kept = [
        r
        for r in rows
        if not any(all(a <= b for a, b in zip(s, r, strict=True)) and s != r for s in rows)
    ]
    return np.array(sorted(kept))


@settings(max_examples=200)
@given(rows=st.lists(st.tuples(*(st.integers(0, 4) for _ in range(3))), min_size=1, max_size=25))
def test_not_beaten_is_its_definition(rows: list[tuple[int, int, int]]) -> None:
    values = np.array(rows, dtype=float)
    kept = values[pareto_mask(values)]
    np.testing.assert_array_equal(
        np.array(sorted(map(tuple, kept))), front([tuple(map(float, r)) for r in rows])
    )
