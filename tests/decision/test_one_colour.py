"""The decision: cheapest route that lands, honest about the others, with numbers in the reasons."""

from __future__ import annotations

import re
from dataclasses import replace
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest
from hypothesis import given, strategies as st

from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import BANDS
from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from inksim.decision.advice import Advice, RouteResult, difference_words
from inksim.decision.discharge import discharge_barrier
from inksim.decision.one_colour import advise
from inksim.printing.build import ROUTES, Layer
from inksim.printing.prediction import predict_nominal
from inksim.shop.load import load_shop
from inksim.shop.shop import Shop
from inksim.shop.usual_builds import usual_build
from inksim.stock.garment import Garment
from inksim.stock.target import target_from_lab

D50 = Viewing("D50", 2)
SHOP = load_shop()
GARMENTS = ["Flour White", "Mist Gray", "Slate Gray", "Coal Black", "Anvil Black Sport"]
CASES = [
    ("Lantern Orange", "Regatta Orange"),
    ("Weir Teal", "River Teal"),
    ("Damson Purple", "Choir Plum"),
    ("Barley Yellow", "Barley"),
    ("Hearth Black", "Soot"),
]


def ask(
    garment: str, ink: str, target: str, *, tolerance: float = 3.0, shop: Shop = SHOP, **more: Any
) -> Advice:
    return advise(
        shop,
        garment=shop.garment(garment),
        ink=shop.ink(ink),
        target=shop.target(target),
        tolerance=tolerance,
        **more,
    )


def by_route(advice: Advice) -> dict[str, RouteResult]:
    return {result.route: result for result in advice.routes}


def off(result: RouteResult) -> float:
    assert result.best is not None
    assert result.best.delta_e_2000 is not None
    return result.best.delta_e_2000


def chance(result: RouteResult) -> float:
    assert result.best is not None
    assert result.best.interval is not None
    assert result.best.interval.within is not None
    return result.best.interval.within


every_case = pytest.mark.parametrize(
    ("garment", "ink", "target"), [(g, i, t) for g in GARMENTS for i, t in CASES]
)


# -- The verdict


@every_case
@pytest.mark.parametrize("tolerance", [1.0, 3.0])
def test_the_route_of_least_work_that_is_as_sure_wins(
    garment: str, ink: str, target: str, tolerance: float
) -> None:
    # In the order of effort: straight (one screen), discharge (two), white (two and a flash).
    advice = ask(garment, ink, target, tolerance=tolerance)
    assert [result.route for result in advice.routes] == list(ROUTES)
    # What costs more adds 15 points (shared/rules.toml) to every easier way that is nominal.
    taken = advice.chosen
    easier = [r for r in advice.routes[: ROUTES.index(taken.route)] if r.nominal]
    assert all(chance(taken) > chance(r) + 0.15 for r in easier if chance(taken) < 0.5)
    for result in advice.routes:
        assert result.usable is (result.best is not None)
        assert result.usable is (result.why_not == "")
        if result.best is not None:
            assert result.nominal is (off(result) <= tolerance)
            assert result.margin == pytest.approx(tolerance - off(result))
            assert result.best.build.route == result.route


def test_with_any_tolerance_straight_will_do() -> None:
    for garment in GARMENTS:
        assert ask(garment, "Lantern Orange", "Regatta Orange", tolerance=200).route == "straight"


def test_with_none_nothing_will() -> None:
    for garment in GARMENTS:
        advice = ask(garment, "Lantern Orange", "Regatta Orange", tolerance=1e-3)
        assert not advice.nominal
        assert advice.verdict.word == "cannot promise"
        # the print is nearly as near as any: ΔE00 1 by the route and 0.5 by the build
        assert off(advice.chosen) <= min(off(r) for r in advice.routes if r.usable) + 1.5


@pytest.mark.parametrize(("ink", "target"), CASES[:2])
@pytest.mark.parametrize("garment", GARMENTS)
def test_a_wider_tolerance_never_asks_for_more_effort(garment: str, ink: str, target: str) -> None:
    # from where something is nominal: of what is not, only the nearness counts
    asked = [ask(garment, ink, target, tolerance=tolerance) for tolerance in (1, 2, 4, 8, 30)]
    ranks = [ROUTES.index(advice.route) for advice in asked if advice.nominal]
    assert len(ranks) >= 2
    assert ranks == sorted(ranks, reverse=True)


def test_the_colors_own_print_is_reached_exactly() -> None:
    # Known truth: the target is what one of the weighed builds prints, so that one is 0 away.
    for route in ROUTES:
        build = usual_build(
            SHOP, garment=SHOP.garment("Coal Black"), ink=SHOP.ink("Weir Teal"), route=route
        )
        (printed,) = predict_nominal([build], press=SHOP.press.values, viewing=D50)
        advice = advise(
            SHOP,
            garment=SHOP.garment("Coal Black"),
            ink=SHOP.ink("Weir Teal"),
            target=target_from_lab(printed.lab, name="own print"),
            tolerance=1e-4,
        )
        assert by_route(advice)[route].nominal


def test_the_best_build_of_a_route_is_the_cheapest_that_is_comfortable() -> None:
    # With much tolerance the fewest strokes and the least ink win, not the nearest color.
    best = by_route(ask("Flour White", "Weir Teal", "River Teal", tolerance=60))["straight"].best
    assert best is not None
    assert best.build.colour.passes == 1
    assert best.build.colour.screen.name == "330"
    near = by_route(ask("Flour White", "Weir Teal", "River Teal", tolerance=1.5))["straight"].best
    assert near is not None
    assert near.wet_um > best.wet_um


def test_the_advice_is_given_for_the_light_asked() -> None:
    store = Viewing("D65", 10)
    advice = ask("Coal Black", "Lantern Orange", "Regatta Orange", viewing=store)
    best = by_route(advice)["white-base"].best
    assert best is not None
    assert best.viewing == store
    wanted = SHOP.target("Regatta Orange").lab(store)
    assert best.delta_e_2000 == pytest.approx(float(delta_e_2000(wanted, best.lab)))


@pytest.mark.parametrize("tolerance", [0.0, -1.0, float("nan")])
def test_a_tolerance_is_above_0(tolerance: float) -> None:
    with pytest.raises(InputError, match=r"tolerance is .*; give a ΔE00 above 0"):
        ask("Coal Black", "Weir Teal", "River Teal", tolerance=tolerance)


# -- Why a route cannot be used


def cloth(**fields: Any) -> Garment:
    return replace(SHOP.garment("Coal Black"), name="cloth", **fields)


def test_what_keeps_a_discharge_from_working() -> None:
    assert discharge_barrier(SHOP.garment("Coal Black")) == ""
    poly = cloth(fibers={"cotton": 0.35, "polyester": 0.65})
    assert "only reaches cotton" in discharge_barrier(poly)
    assert "35%" in discharge_barrier(poly)
    assert "no discharge grade" in discharge_barrier(cloth(discharge_grade=None))
    assert "undyed cloth" in discharge_barrier(cloth(undyed=None))
    assert "grade 2 of 5" in discharge_barrier(cloth(discharge_grade=2))
    pale = cloth(reflectance=SHOP.garment("Coal Black").undyed)
    assert "hardly any dye" in discharge_barrier(pale)


def test_a_reading_of_the_discharged_cloth_beats_every_rule() -> None:
    read = np.full(BANDS, 0.5)
    fabric = cloth(discharged=read, discharge_grade=1, fibers={"cotton": 0.2, "polyester": 0.8})
    assert discharge_barrier(fabric) == ""


def without(kind: str) -> Shop:
    inks = {name: ink for name, ink in SHOP.inks.items() if ink.kind != kind}
    return replace(SHOP, inks=MappingProxyType(inks))


@pytest.mark.parametrize("kind", ["discharge-base", "white-base"])
def test_a_shop_without_a_base_ink_still_gets_advice(kind: str) -> None:
    advice = ask("Coal Black", "Weir Teal", "River Teal", shop=without(kind))
    route = by_route(advice)[kind]
    assert not route.usable
    assert f"no ink of kind '{kind}'" in route.why_not
    assert advice.route in ("discharge-base", "white-base")
    assert advice.route != kind


def test_a_shop_without_a_screen_for_the_base_says_so() -> None:
    fine = {name: s for name, s in SHOP.screens.items() if s.threads_per_inch > 210}
    advice = ask(
        "Coal Black", "Weir Teal", "River Teal", shop=replace(SHOP, screens=MappingProxyType(fine))
    )
    route = by_route(advice)["white-base"]
    assert not route.usable
    assert "no screen of this shop" in route.why_not


def test_an_ink_that_no_screen_suits_is_refused() -> None:
    with pytest.raises(InputError, match=r"'Weir Teal' prints through 125 to 330"):
        ask("Coal Black", "Weir Teal", "River Teal", shop=replace(SHOP, screens={}))


# -- The reasons


@every_case
def test_reasons_are_sentences_with_numbers(garment: str, ink: str, target: str) -> None:
    advice = ask(garment, ink, target)
    assert advice.reasons
    for reason in advice.reasons:
        assert reason[0].isupper()
        assert reason.endswith(".")
        assert "nan" not in reason
        assert "None" not in reason
    first = advice.reasons[0]
    assert "3" in first  # the tolerance
    shown = [float(n) for n in re.findall(r"ΔE00 (\d+\.\d)", first)]
    assert shown[0] == pytest.approx(off(advice.chosen), abs=0.051)


@every_case
def test_every_easier_route_is_explained(garment: str, ink: str, target: str) -> None:
    words = {"straight": "Straight on the cloth", "discharge-base": "Over a discharge base"}
    advice = ask(garment, ink, target)
    for route in ROUTES[: ROUTES.index(advice.route)]:
        said = [reason for reason in advice.reasons if reason.startswith(words[route])]
        assert said, route
        result = by_route(advice)[route]
        median = f"{result.verdict.median_de00:.1f}" if result.verdict else result.why_not
        nominal = f"{off(result):.1f}" if result.usable and not result.nominal else median
        assert nominal in said[0]


def test_the_reason_against_straight_names_how_much_shirt_shows() -> None:
    advice = ask("Coal Black", "Lantern Orange", "Regatta Orange")
    (said,) = [reason for reason in advice.reasons if reason.startswith("Straight")]
    best = by_route(advice)["straight"].best
    assert best is not None
    assert f"{best.show_through:.0%}" in said
    assert "darker" in said
    assert "duller" in said


def test_the_reason_against_discharge_says_it_is_not_white() -> None:
    advice = ask("Coal Black", "Barley Yellow", "Barley")
    assert advice.route == "white-base"
    (said,) = [reason for reason in advice.reasons if reason.startswith("Over a discharge")]
    light = re.search(r"discharged cloth is at L\* (\d+), not white", said)
    assert light is not None
    assert 60 < int(light[1]) < 90


def test_a_discharge_verdict_carries_its_caution() -> None:
    advice = ask("Estuary Navy", "Weir Teal", "River Teal")
    assert advice.route == "discharge-base"
    assert any("off-white" in reason and "test a swatch" in reason for reason in advice.reasons)


def test_no_verdict_says_what_would_help() -> None:
    advice = ask("Coal Black", "Barley Yellow", "River Teal")
    assert not advice.nominal
    assert "nominally inside the tolerance" in advice.reasons[1]
    assert "another ink" in advice.reasons[1]
    assert "wider tolerance" in advice.reasons[1]


@pytest.mark.parametrize(
    ("trial", "said"),
    [
        ([50, 40, 0], "a touch different"),
        ([40, 40, 0], "darker"),
        ([60, 40, 0], "lighter"),
        ([50, 20, 0], "duller"),
        ([50, 60, 0], "more colorful"),
        ([50, 0, 40], "of another hue"),
        ([30, 30, 0], "darker and duller"),
        ([45, 20, 0], "duller and darker"),
        ([50, 41, 1], "a touch different"),
        # a difference of ΔE 2 is seen side by side (common practice, no source)
        ([48, 40, 0], "darker"),
        ([50, 42, 0], "more colorful"),
        ([50, 40, 2], "of another hue"),
    ],
)
def test_differences_in_words(trial: list[float], said: str) -> None:
    assert difference_words(np.array([50.0, 40.0, 0.0]), np.array(trial, dtype=float)) == said


colours = st.tuples(st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100))


@given(standard=colours, trial=colours)
def test_words_never_contradict_the_numbers(
    standard: tuple[float, ...], trial: tuple[float, ...]
) -> None:
    said = difference_words(np.array(standard), np.array(trial))
    if "darker" in said:
        assert trial[0] < standard[0]
    if "lighter" in said:
        assert trial[0] > standard[0]
    if "duller" in said:
        assert np.hypot(*trial[1:]) < np.hypot(*standard[1:])
    if said == "a touch different":
        assert abs(trial[0] - standard[0]) < 1.5


def test_the_build_that_is_named_is_the_build_that_was_weighed() -> None:
    advice = ask("Flour White", "Weir Teal", "River Teal")
    assert advice.chosen is not None
    best = advice.chosen.best
    assert best is not None
    assert best.words in advice.reasons[0]
    assert isinstance(best.build.colour, Layer)


@pytest.mark.parametrize(
    ("tolerance_above", "said"), [(0.02, "0.02 inside"), (0.04, "0.04 inside"), (1.0, "1.0 inside")]
)
def test_a_slim_margin_is_never_said_to_be_nothing(tolerance_above: float, said: str) -> None:
    first = ask("Flour White", "Weir Teal", "River Teal", tolerance=3.0)
    near = ask(
        "Flour White", "Weir Teal", "River Teal", tolerance=off(first.chosen) + tolerance_above
    )
    assert off(near.chosen) == pytest.approx(off(first.chosen))
    assert said in near.reasons[0]
