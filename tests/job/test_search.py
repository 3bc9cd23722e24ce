"""The joint search against brute force: every combination of options, counted one by one."""

from __future__ import annotations

import tracemalloc
from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from inksim.colour.viewing import Viewing
from inksim.decision.build_evaluation import Evaluated, against, evaluate
from inksim.decision.candidate_builds import build_space
from inksim.job.costs import rates_of
from inksim.job.job import Job, JobColour
from inksim.job.pareto import pareto_mask
from inksim.job.search import (
    STRAIGHT_ON,
    Option,
    Way,
    base_sets,
    grounds_of,
    on_ground,
    options_of,
    screen_cost,
    search,
)
from inksim.shop.load import load_shop
from inksim.shop.schema import CostsEntry, RulesEntry, StationsEntry

SHOP = load_shop()
D50 = Viewing()
# few screens, so that brute force stays small
SMALL = replace(
    SHOP,
    screens={n: SHOP.screens[n] for n in ("110", "160", "230")},
    rules=RulesEntry(most_passes_white_base=1),
)
COLOURS = [("Oven Red", "Kiln Red"), ("Oatcake", "Oatcake Cream"), ("River Teal", "Weir Teal")]


def job_of(*colours: tuple[str, str], **more: Any) -> Job:
    given: dict[str, Any] = {
        "name": "any", "invented": True, "note": "", "garments": (SHOP.garment("Estuary Navy"),),
        "quantity": 50, "press": StationsEntry(stations=8, flashes=1), "lines_per_inch": 0.0,
        "cloth_m2": 0.9, "base_choke_mm": 0.4, "prints_per_hour": None, "costs": SHOP.costs,
        "prefer": "cost",
    }  # fmt: skip
    wanted = tuple(
        JobColour(
            name=f"{target} {at}",
            target=SHOP.target(target),
            ink=SHOP.ink(ink),
            area_cm2=100.0 + 40.0 * at,
            tolerance=4.0,
        )
        for at, (target, ink) in enumerate(colours)
    )
    return Job(**(given | more), colours=wanted)


def prepared(job: Job) -> tuple[Evaluated, list[Option]]:
    inks = list(dict.fromkeys(c.ink for c in job.colours if c.ink is not None))
    space = build_space(SMALL, garments=job.garments, inks=inks)
    weighed = evaluate(space, press=SMALL.press, viewing=D50)
    landings = [
        against(weighed, standard=c.target.lab(D50), tolerance=c.tolerance) for c in job.colours
    ]
    at = [inks.index(c.ink) for c in job.colours if c.ink is not None]
    return weighed, options_of(
        job, weighed, inks=at, landings=landings, rates=rates_of(job.costs), gain=0.15
    )


def by_hand(job: Job, weighed: Evaluated, options: list[Option]) -> list[tuple[float, ...]]:
    """What `search` promises, of every combination that fits the press, from its parts.

    Cost, film, risk, and the colors that are not nominal.
    """
    rates, press, space = rates_of(job.costs), job.press, weighed.space
    found = []
    for chosen in product(
        *([o for o in options if o.colour == c] for c in range(len(job.colours)))
    ):
        bases = {o.ground for o in chosen if o.ground != STRAIGHT_ON}
        if len({g.base for g in bases}) < len(bases):
            continue  # two screens of one base ink
        screens = {o.screen for o in chosen}
        flashes = sum(g.flash for g in bases)
        if flashes > press.flashes:
            continue
        if len(screens) + len(bases) + flashes * press.flash_takes_station > press.stations:
            continue
        cost = sum(o.cost for o in chosen)
        for ink, _, passes in screens:
            price = space.inks[ink].price_per_kg
            cost += screen_cost(job, rates, passes=passes, flash=False, price=price)
        for g in bases:
            price = space.bases[g.base].price_per_kg
            cost += screen_cost(job, rates, passes=g.base_passes, flash=g.flash, price=price)
        missed = float(sum(not o.nominal for o in chosen))
        found.append((cost, sum(o.film_g for o in chosen), sum(o.risk for o in chosen), missed))
    return found


def front(values: list[tuple[float, ...]]) -> np.ndarray:
    """Rows that no other row beats, one by one."""
    rows = sorted(set(values))
    kept = [
        r
        for r in rows
        if not any(all(a <= b for a, b in zip(s, r, strict=True)) and s != r for s in rows)
    ]
    return np.array(sorted(kept))


def values_of(ways: list[Way]) -> np.ndarray:
    return np.array(
        sorted((w.cost, w.film_g, w.risk, float(len(w.options) - w.nominal)) for w in ways)
    )


@pytest.mark.parametrize("stations", [2, 3, 4, 5, 8])
@pytest.mark.parametrize("flashes", [0, 1])
@pytest.mark.parametrize(
    "colours",
    [
        COLOURS[:1],
        COLOURS[:2],
        COLOURS,
        [("Oven Red", "Kiln Red"), ("Oatcake", "Kiln Red")],  # one ink: they may share a screen
        [("Oven Red", "Kiln Red"), ("Oatcake", "Kiln Red"), ("River Teal", "Kiln Red")],
        [*COLOURS[:2], ("Barley", "Kiln Red")],
    ],
    ids=["one", "two", "three", "one ink", "three of one ink", "two of one ink"],
)
def test_the_ways_are_those_of_brute_force(
    colours: list[tuple[str, str]], stations: int, flashes: int
) -> None:
    job = job_of(*colours, press=StationsEntry(stations=stations, flashes=flashes))
    weighed, options = prepared(job)
    wanted = by_hand(job, weighed, options)
    found = search(job, weighed, options, rates=rates_of(job.costs))
    if not wanted:
        assert found == []
        return
    np.testing.assert_allclose(values_of(found), front(wanted), rtol=1e-12)
    for way in found:
        assert way.stations(flash_takes_station=True) <= stations
        assert way.flashes <= flashes
        assert {o.ground for o in way.options} - {STRAIGHT_ON} == set(way.grounds)
        assert [o.colour for o in way.options] == list(range(len(colours)))


@pytest.mark.parametrize("tolerance", [0.5, 1.0, 1.5, 2.0, 2.5, 3.0])
def test_at_any_tolerance_no_way_with_more_nominal_is_lost(tolerance: float) -> None:
    job = job_of(*COLOURS[:2], garments=(SHOP.garment("Mist Gray"),))
    job = replace(job, colours=tuple(replace(c, tolerance=tolerance) for c in job.colours))
    weighed, options = prepared(job)
    found = search(job, weighed, options, rates=rates_of(job.costs))
    np.testing.assert_allclose(values_of(found), front(by_hand(job, weighed, options)), rtol=1e-12)


def test_without_prices_ways_are_still_ranked() -> None:
    job = job_of(*COLOURS[:2], costs=CostsEntry())
    weighed, options = prepared(job)
    assert search(job, weighed, options, rates=rates_of(job.costs))


def test_colors_of_one_ink_share_a_screen() -> None:
    job = job_of(("Oven Red", "Kiln Red"), ("Oven Red", "Kiln Red"))
    weighed, options = prepared(job)
    cheapest = search(job, weighed, options, rates=rates_of(job.costs))[0]
    assert cheapest.screens == 1 + len(cheapest.grounds)


def test_a_job_of_very_many_colors_is_decided_in_little_memory() -> None:
    # 16 colors of one ink on 5 grounds are 10^14 combinations: one by one they fill any machine.
    targets = ("Oven Red", "Oatcake", "River Teal", "Barley")
    job = job_of(*((targets[at % 4], "Kiln Red") for at in range(16)))
    weighed, options = prepared(job)
    tracemalloc.start()
    ways = search(job, weighed, options, rates=rates_of(job.costs))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 100e6
    best = min(ways, key=lambda w: w.risk)
    # with stations to spare no color need be riskier than alone on its best ground of that set
    alone = sum(
        min(o.risk for o in options if o.colour == c and o.ground in (STRAIGHT_ON, *best.grounds))
        for c in range(16)
    )
    assert best.risk <= alone + 1.0


def test_a_flash_unit_that_stands_beside_the_press_takes_no_station() -> None:
    press = StationsEntry(stations=2, flashes=1, flash_takes_station=False)
    job = job_of(COLOURS[0], press=press)
    weighed, options = prepared(job)
    assert any(w.flashes for w in search(job, weighed, options, rates=rates_of(job.costs)))
    tight = replace(job, press=press.model_copy(update={"flash_takes_station": True}))
    assert not any(w.flashes for w in search(tight, weighed, options, rates=rates_of(job.costs)))


def test_the_grounds_are_the_cloth_and_every_base_screen() -> None:
    job = job_of(COLOURS[0])
    weighed, _ = prepared(job)
    grounds = grounds_of(weighed.space)
    assert grounds[0] == STRAIGHT_ON
    assert len(grounds) == 1 + 2 + 2  # two screens coarse enough, for white and for discharge
    masks = np.stack([on_ground(weighed.space, g) for g in grounds])
    assert np.all(masks.sum(axis=0) == 1)  # each build on one ground
    sets = list(base_sets(grounds))
    assert len(sets) == len(set(sets)) == 1 + 2 + 2 + 2 * 2


@settings(max_examples=200)
@given(rows=st.lists(st.tuples(*(st.integers(0, 4) for _ in range(3))), min_size=1, max_size=25))
def test_not_beaten_is_its_definition(rows: list[tuple[int, int, int]]) -> None:
    values = np.array(rows, dtype=float)
    kept = values[pareto_mask(values)]
    np.testing.assert_array_equal(
        np.array(sorted(map(tuple, kept))), front([tuple(map(float, r)) for r in rows])
    )
