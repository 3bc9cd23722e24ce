"""The joint search against brute force: every combination of options, counted from its builds.

The brute force takes from the engine only which build an option of a color is, and how far and how
surely that build lands; screens, flashes, strokes, work, cost and film are counted here from the
layers of the builds, by what the words mean.
"""

from __future__ import annotations

import tracemalloc
from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from inksim.job.decide import GarmentAnswer, decide_job
from inksim.job.options import grounds_of, on_ground
from inksim.job.pareto import EXACT_COLOURS, pareto_mask
from inksim.job.search import STRAIGHT_ON, base_sets
from inksim.job.which_way import way_to_take
from inksim.printing.prediction import build_words
from inksim.shop.schema import CostsEntry, StationsEntry
from tests.job.brute_force import (
    CASES,
    FEW,
    GAIN,
    TWO,
    Counted,
    Prepared,
    case,
    every,
    fits,
    holds_the_front,
    job_of,
    prepared,
    values_of,
)


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
