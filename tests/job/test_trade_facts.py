"""How a printer would print it: common practice, no source, as decisions of whole jobs."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings, strategies as st

from inksim.colour.srgb import hex_code
from inksim.colour.viewing import Viewing, lab, xyz_from_lab
from inksim.job.decide import GarmentAnswer, decide_job
from inksim.job.job import Job, JobColour
from inksim.job.plans import Alternative
from inksim.shop.load import load_shop
from inksim.shop.schema import StationsEntry
from inksim.shop.shop import Shop
from inksim.stock.target import target_from_hex

SHOP, D50 = load_shop(), Viewing()
WHITE, RED, YELLOW, NAVY, BLACK = "#ffffff", "#c9342f", "#e8b923", "#17365d", "#111111"
TWELVE = (
    WHITE, RED, "#e8622c", YELLOW, "#3f8f4f", "#0f5c63", NAVY, "#5b3a7a", "#d9619b", "#ead9b5",
    BLACK, "#7ba7d0",
)  # fmt: skip
LIGHT, DARK = ("Flour White", "Oat Natural", "Mist Gray"), ("Brick Red", "Coal Black")


def job_of(*garments: str, hexes: tuple[str, ...], area_cm2: float = 100.0, **more: Any) -> Job:
    given: dict[str, Any] = {
        "name": "any", "invented": True, "note": "", "press": SHOP.stations,
        "garments": tuple(SHOP.garment(name) for name in garments),
        "quantities": (50,) * len(garments), "lines_per_inch": 0.0, "cloth_m2": 0.9,
        "base_choke_mm": 0.4, "prints_per_hour": None, "costs": SHOP.costs, "prefer": "work",
    }  # fmt: skip
    colours = tuple(
        JobColour(
            name=code, target=target_from_hex(code), ink=None, area_cm2=area_cm2, tolerance=3.0
        )
        for code in hexes
    )
    return Job(**(given | more), colours=colours)


def decided(job: Job, *, shop: Shop = SHOP) -> tuple[GarmentAnswer, Alternative]:
    (found,) = decide_job(job, shop=shop).garments
    assert found.best is not None
    adds_up(found, found.best)
    return found, found.best


def adds_up(found: GarmentAnswer, way: Alternative) -> None:
    """The screens are those of the way; what goes through them is the films of its colors."""
    job, screens = found.job, way.screens
    assert [s.number for s in screens] == list(range(1, len(screens) + 1))
    assert way.way.screens == len(screens)
    assert way.way.strokes == sum(s.strokes for s in screens)
    assert way.way.flashes == sum(bool(s.flash) for s in screens)
    takes = job.press.flash_takes_station
    assert way.stations == len(screens) + (way.way.flashes if takes else 0)
    runs = [s.run for s in screens]
    assert runs == sorted(runs)
    assert set(runs) <= set(range(1, way.way.runs + 1))
    for run in set(runs):
        own = [s for s in screens if s.run == run]
        flashes = sum(bool(s.flash) for s in own)
        assert len(own) + (flashes if takes else 0) <= job.press.stations
        assert flashes <= job.press.flashes
    # every printed color is shown by one screen; what lies under it by its base's
    shown = Counter(at for s in screens for at in s.shows)
    printed = [at for at, plan in enumerate(way.plans) if not plan.build.bare]
    assert shown == dict.fromkeys(printed, 1)
    # wet grams by ink, from the films of each color: µm on a cm² are 1e-4 cm³
    grams: Counter[str] = Counter()
    for at in printed:
        plan, area = way.plans[at], job.colours[at].area_cm2
        top, base = plan.build.colour.ink, plan.build.base
        under = plan.prediction.base_wet_um if base is not None else 0.0
        grams[top.name] += plan.prediction.wet_um * 1e-4 * area * top.density_g_cm3
        if base is not None:
            grams[base.ink.name] += under * 1e-4 * area * base.ink.density_g_cm3
    through: Counter[str] = Counter()
    for screen in screens:
        through[screen.ink.name] += screen.print_g
    assert dict(through) == pytest.approx(dict(grams), rel=1e-9)
    assert {use.name: use.print_g for use in way.inks} == pytest.approx(dict(grams), rel=1e-9)
    for use in way.inks:
        count = sum(s.ink.name == use.name for s in screens)
        laid = use.print_g * job.quantity / (1 - job.costs.waste_share)
        assert use.run_g == pytest.approx(laid + count * job.costs.ink_left_g_per_screen)
        flood = max(job.costs.flood_g_per_screen, job.costs.ink_left_g_per_screen)
        assert use.ready_g == pytest.approx(laid + count * flood)


def routes(way: Alternative) -> list[str]:
    return [plan.build.route for plan in way.plans]


# -- White


@pytest.mark.parametrize("garment", DARK)
def test_white_lettering_on_red_and_black_is_white_ink_through_one_screen_with_a_flash(
    garment: str,
) -> None:
    found, way = decided(job_of(garment, hexes=(WHITE,)))
    (screen,) = way.screens
    assert screen.ink.kind == "white-base"
    assert (len(screen.goes), screen.flash, way.way.flashes) == (2, True, 1)
    assert found.answers[0].ink is screen.ink
    assert not screen.base  # nothing else lies on it


def test_white_on_a_white_shirt_is_left_to_the_cloth() -> None:
    found, way = decided(job_of("Flour White", hexes=(WHITE,)))
    assert routes(way) == ["bare"]
    assert (way.screens, way.inks, way.way.flashes) == ((), (), 0)
    assert found.answers[0].ink is None
    assert way.bill.total == 0.0


@pytest.mark.parametrize("garment", [*LIGHT, *DARK, "Anvil Black Sport"])
def test_a_shirts_own_color_is_left_to_the_cloth(garment: str) -> None:
    cloth = lab(SHOP.garment(garment).reflectance, D50)
    own, _ = hex_code(xyz_from_lab(cloth, D50), D50)
    _, way = decided(job_of(garment, hexes=(own, RED)))
    assert routes(way)[0] == "bare"
    assert all(0 not in screen.colours for screen in way.screens)


def test_no_white_base_on_a_white_shirt() -> None:
    _, way = decided(
        job_of("Flour White", hexes=TWELVE, press=StationsEntry(stations=16, flashes=1))
    )
    assert set(routes(way)) == {"bare", "straight"}
    assert all(screen.ink.kind == "color" for screen in way.screens)


@pytest.mark.parametrize("garment", DARK)
def test_a_white_beside_colors_shares_the_screen_of_their_base(garment: str) -> None:
    # where stations are short; with one to spare it gets its second go through its own
    press = StationsEntry(stations=4, flashes=1)
    _, way = decided(job_of(garment, hexes=(WHITE, YELLOW, RED), press=press))
    whites = [screen for screen in way.screens if screen.ink.kind == "white-base"]
    assert len(whites) == 1
    assert 0 in whites[0].shows
    assert whites[0].base
    assert set(whites[0].over) <= {1, 2}
    assert 1 in whites[0].over


@pytest.mark.parametrize("garment", DARK)
def test_a_white_beside_colors_gets_its_second_go_where_there_is_a_station(garment: str) -> None:
    found, way = decided(job_of(garment, hexes=(WHITE, YELLOW, RED)))
    base, own = (screen for screen in way.screens if screen.ink.kind == "white-base")
    assert base.base
    assert 0 in base.over
    assert (own.shows, own.base) == ((0,), False)
    alone, _ = decided(job_of(garment, hexes=(WHITE,)))
    assert found.answers[0].chance == pytest.approx(alone.answers[0].chance, abs=0.15)


# -- Colors


@pytest.mark.parametrize("code", [BLACK, NAVY, "#2b2b2b", "#3a1f3d"])
@pytest.mark.parametrize("garment", LIGHT)
def test_a_dark_color_on_light_cloth_goes_straight(garment: str, code: str) -> None:
    _, way = decided(job_of(garment, hexes=(code,)))
    assert routes(way) == ["straight"]


def test_polyester_gets_the_base_that_blocks_its_dye_and_no_discharge() -> None:
    found, way = decided(job_of("Anvil Black Sport", hexes=(WHITE, RED, YELLOW)))
    for other in (way, *found.alternatives):
        bases = [s.ink for s in other.screens if s.ink.is_base]
        assert all(ink.kind == "white-base" and ink.blocks_dye for ink in bases)
    assert any(screen.ink.blocks_dye for screen in way.screens)


@pytest.mark.parametrize("garment", ["Coal Black", "Estuary Navy"])
def test_a_discharge_comes_last_with_its_colors_and_is_not_flashed(garment: str) -> None:
    seen = 0
    for codes in ((NAVY, YELLOW), (WHITE, "#0f5c63"), ("#5b3a7a", RED, WHITE)):
        found, _ = decided(job_of(garment, hexes=codes))
        for way in found.alternatives:
            adds_up(found, way)
            wet = [s for s in way.screens if s.ink.kind == "discharge-base"]
            if not wet:
                continue
            seen += 1
            on_it = {at for s in wet for at in s.colours}
            after = way.screens[wet[0].number - 1 :]
            assert all(set(s.colours) <= on_it for s in after)
            assert not any(s.flash for s in after)
            assert len({s.run for s in after}) == 1
    assert seen >= 3


@pytest.mark.parametrize("garment", [*LIGHT, *DARK, "Estuary Navy", "Anvil Black Sport"])
def test_white_and_its_flash_come_first_and_light_before_dark(garment: str) -> None:
    found, _ = decided(job_of(garment, hexes=(BLACK, YELLOW, WHITE, RED)))
    for way in found.alternatives:
        flashed = [bool(s.flash) for s in way.screens]
        assert flashed == sorted(flashed, reverse=True)
        plain = [
            s for s in way.screens
            if s.ink.kind == "color" and all(routes(way)[at] != "discharge-base" for at in s.shows)
        ]  # fmt: skip
        light = [
            sum(way.plans[at].prediction.lab[0] for at in s.shows) / len(s.shows) for s in plain
        ]
        assert light == sorted(light, reverse=True)


# -- Too many colors


@cache
def twelve(garment: str) -> tuple[GarmentAnswer, Alternative]:
    return decided(job_of(garment, hexes=TWELVE))


@pytest.mark.parametrize("garment", ["Flour White", "Coal Black"])
def test_twelve_colors_on_six_stations_are_merged_or_go_in_two_runs_priced(garment: str) -> None:
    found, _ = twelve(garment)
    for each in found.alternatives:
        adds_up(found, each)
        merged = [plan for plan in each.plans if plan.merged]
        assert merged or each.way.runs == 2
        for plan in merged:
            (own,) = [p for p in each.plans if p.colour.name == plan.merged]
            assert plan.build == own.build or plan.answer.words == own.answer.words
        press_time = each.bill.amounts["press time"] * 3600 / 50 / SHOP.costs.labor_per_hour
        by_hand = each.way.runs * SHOP.costs.seconds_per_garment
        by_hand += each.way.strokes * SHOP.costs.seconds_per_pass
        by_hand += each.way.flashes * SHOP.costs.seconds_per_flash
        assert press_time == pytest.approx(by_hand)
    assert not found.exact  # and says so


def test_no_color_of_twelve_is_given_up_for_a_neighbors_screen() -> None:
    # light blue straight on black, through navy's screen, cannot be seen
    _, way = twelve("Coal Black")
    for plan in way.plans:
        assert plan.merged or plan.answer.delta_e_2000 < 20.0, plan.colour.name


def test_colors_kept_apart_are_not_merged() -> None:
    kept = (NAVY, BLACK, "#5b3a7a")
    for more in ({"keep_apart": kept}, {"merge": False}):
        found, _ = decided(job_of("Flour White", hexes=TWELVE, **more))
        apart = kept if "keep_apart" in more else TWELVE
        for way in found.alternatives:
            for plan in way.plans:
                assert not (plan.merged and {plan.colour.name, plan.merged} & set(apart))


# -- Money


def test_a_screen_that_two_garments_share_is_made_once() -> None:
    job = job_of("Flour White", "Oat Natural", hexes=(RED, BLACK))
    answer = decide_job(job, shop=SHOP)
    each = [found.best for found in answer.garments]
    keys = set()
    for way in each:
        assert way is not None
        keys |= {(s.ink.name, s.screen.name, s.strokes, s.colours) for s in way.screens}
    costs = SHOP.costs
    of_one = costs.screen_making + costs.setup_minutes_per_screen / 60 * costs.labor_per_hour
    assert answer.bill is not None
    assert answer.bill.amounts["screens"] == pytest.approx(of_one * len(keys))
    assert answer.bill.quantity == 100
    for line in ("ink", "press time", "dryer energy"):
        total = sum(way.bill.amounts[line] for way in each if way)
        assert answer.bill.amounts[line] == pytest.approx(total)
    twice = decide_job(replace(job, garments=job.garments[:1], quantities=(50,)), shop=SHOP)
    assert twice.bill is not None
    assert answer.bill.total < 2 * twice.bill.total + of_one * len(keys)


def test_an_ink_without_a_price_does_not_win_as_the_cheapest() -> None:
    red = SHOP.ink("Kiln Red")
    dearest = max(ink.price_per_kg or 0.0 for ink in SHOP.inks.values())
    gift = replace(red, name="Gift Red", price_per_kg=None)
    costly = replace(red, price_per_kg=dearest)
    for order in ((gift, costly), (costly, gift)):
        others = {n: ink for n, ink in SHOP.inks.items() if ink.is_base}
        shop = replace(SHOP, inks={ink.name: ink for ink in order} | others)
        found, way = decided(job_of("Coal Black", hexes=(RED, WHITE), prefer="cost"), shop=shop)
        assert way.bill.total >= 0.0
        (cheapest,) = [a for a in found.alternatives if "cheapest" in a.marks]
        assert cheapest.priced or not any(a.priced for a in found.alternatives)
        if any(a.priced for a in found.alternatives):
            paid = min(a.way.cost for a in found.alternatives if a.priced)
            free = [a.way.cost for a in found.alternatives if not a.priced]
            assert all(cost >= paid - 1e-9 for cost in free if cost < paid)


# -- What changes nothing

CODES = st.lists(st.sampled_from(TWELVE), min_size=2, max_size=4, unique=True)
CLOTHS = st.sampled_from(["Flour White", "Coal Black", "Brick Red", "Estuary Navy"])


def said(way: Alternative) -> dict[str, tuple[Any, ...]]:
    return {
        plan.colour.name: (plan.build.route, plan.answer.words, plan.merged) for plan in way.plans
    }


@settings(max_examples=2, deadline=None)
@given(codes=CODES, garment=CLOTHS, data=st.data())
def test_the_order_of_the_colors_changes_nothing(
    codes: list[str], garment: str, data: st.DataObject
) -> None:
    other = data.draw(st.permutations(codes))
    _, one = decided(job_of(garment, hexes=tuple(codes)))
    _, two = decided(job_of(garment, hexes=tuple(other)))
    assert said(one) == said(two)
    assert one.bill.total == pytest.approx(two.bill.total)
    assert one.verdict.chance == pytest.approx(two.verdict.chance)


@settings(max_examples=2, deadline=None)
@given(codes=CODES, garment=CLOTHS, size=st.floats(0.05, 20.0))
def test_a_larger_print_is_printed_the_same_way(
    codes: list[str], garment: str, size: float
) -> None:
    _, one = decided(job_of(garment, hexes=tuple(codes)))
    _, two = decided(job_of(garment, hexes=tuple(codes), area_cm2=100.0 * size))
    assert said(one) == said(two)


@settings(max_examples=2, deadline=None)
@given(codes=CODES, garment=CLOTHS, stations=st.integers(2, 6))
def test_more_stations_never_make_a_print_worse_by_more_than_the_rule_allows(
    codes: list[str], garment: str, stations: int
) -> None:
    gain = SHOP.rules.least_chance_gain
    ways = [
        decided(job_of(garment, hexes=tuple(codes), press=StationsEntry(stations=n, flashes=1)))[1]
        for n in (stations, stations + 2)
    ]
    few, many = (way.way for way in ways)
    assert many.chance_a_colour >= few.chance_a_colour - gain - 1e-9
    assert many.beaten <= few.beaten or few.runs > many.runs
