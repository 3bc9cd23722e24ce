"""The trade's facts as decisions, the chance of landing in the verdict, and shops that lack things.

The trade facts are common practice, no source. The demo shop is invented.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from inksim.decision.advice import Advice
from inksim.decision.one_colour import advise, barrier
from inksim.printing.prediction import predict_nominal
from inksim.shop.load import load_shop
from inksim.shop.schema import RulesEntry
from inksim.shop.shop import Shop
from inksim.shop.usual_builds import usual_build
from inksim.stock.target import Target, target_from_lab

SHOP = load_shop()
ROYAL, SPORT, BLACK, MIST = "Ferry Royal", "Anvil Black Sport", "Coal Black", "Mist Gray"


def decide(
    garment: str, ink: str, target: str | Target, *, tolerance: float = 3.0, shop: Shop = SHOP
) -> Advice:
    return advise(
        shop,
        garment=shop.garment(garment),
        ink=shop.ink(ink),
        target=shop.target(target) if isinstance(target, str) else target,
        tolerance=tolerance,
    )


def sure(shop: Shop) -> Shop:
    """The same shop with everything measured: what is decided is the print, not the data."""
    inks = {n: replace(i, data="measured", error=None) for n, i in shop.inks.items()}
    garments = {n: replace(g, data="measured") for n, g in shop.garments.items()}
    return replace(shop, inks=inks, garments=garments)


def unsure(shop: Shop) -> Shop:
    """The same shop with inks of which nothing is known but that they are invented."""
    return replace(shop, inks={n: replace(i, error=None) for n, i in shop.inks.items()})


# -- Trade facts as decisions


def as_on_white(ink: str) -> Target:
    """What an ink prints on a white shirt through 230 twice."""
    build = usual_build(
        SHOP,
        garment=SHOP.garment("Flour White"),
        ink=SHOP.ink(ink),
        route="straight",
        screen=SHOP.screen("230"),
        passes=2,
    )
    (wanted,) = predict_nominal([build], press=SHOP.press.values, viewing=Viewing())
    return target_from_lab(wanted.lab, name="as on white")


@pytest.mark.parametrize("ink", ["Weir Teal", "Damson Purple"])
@pytest.mark.parametrize("garment", [MIST, "Pebble Heather"])
def test_light_gray_and_a_strong_deep_color_go_straight_through_a_fine_mesh(
    ink: str, garment: str
) -> None:
    usual = SHOP.habits.straight_threads_per_inch
    # Where a base would add 15 points or more to an even chance, as to the purple's at 5.0, the
    # shop takes it.
    for tolerance, finer in ((3.5, 0.0), (5.0, 15.0))[: 2 if ink == "Weir Teal" else 1]:
        advice = decide(garment, ink, as_on_white(ink), tolerance=tolerance)
        assert advice.route == "straight"
        assert advice.chosen.best is not None
        colour = advice.chosen.best.build.colour
        # Less ink than the shop's habit of 160 twice: one pass, and a finer mesh as soon as the
        # tolerance has room for it (at 155 every mesh of this route would do).
        assert colour.passes == 1
        assert colour.screen.threads_per_inch >= usual + finer
        # The bases are weighed and passed over, not forgotten.
        others = [r for r in advice.routes if r.route != "straight"]
        assert all(r.usable for r in others)
        assert any("more screens and ink" in reason for reason in advice.reasons)


@pytest.mark.parametrize("ink", ["Weir Teal", "Damson Purple"])
def test_the_same_deep_color_on_dark_gray_takes_a_base(ink: str) -> None:
    advice = decide("Slate Gray", ink, as_on_white(ink), tolerance=3.5)
    assert advice.route in ("discharge-base", "white-base")
    straight = next(r for r in advice.routes if r.route == "straight")
    assert not straight.nominal
    assert any(
        reason.startswith("Straight on the cloth the nearest") and "shows through" in reason
        for reason in advice.reasons
    )


@pytest.mark.parametrize("garment", [BLACK, "Slate Gray", ROYAL, SPORT])
@pytest.mark.parametrize(
    ("ink", "target"),
    [("Lantern Orange", "Regatta Orange"), ("Barley Yellow", "Barley"), ("Kiln Red", "Oven Red")],
)
def test_a_bright_color_that_must_be_exact_on_dark_needs_a_white_base(
    garment: str, ink: str, target: str
) -> None:
    advice = decide(garment, ink, target, tolerance=3.0)
    assert advice.route == "white-base"
    chosen = advice.chosen
    assert chosen.best is not None
    assert chosen.best.build.base is not None
    assert chosen.best.build.base.ink.kind == "white-base"
    assert chosen.best.build.base.flash
    straight = next(r for r in advice.routes if r.route == "straight")
    assert straight.margin < -5.0  # dark swallows a bright color, not by a hair
    said = " ".join(advice.reasons)
    assert "Straight on the cloth the nearest" in said
    assert "darker" in said


@pytest.mark.parametrize(
    ("garment", "because"),
    [
        (ROYAL, "does not discharge (grade 1 of 5)"),
        ("Lagoon Turquoise", "does not discharge (grade 1 of 5)"),
        ("Clover Green", "does not discharge (grade 2 of 5)"),
        (SPORT, "only reaches cotton and other cellulose; 'Anvil Black Sport' has 0% of it"),
    ],
)
@pytest.mark.parametrize("tolerance", [3.0, 30.0])
def test_never_discharge_where_the_dye_or_fiber_forbids_it(
    garment: str, because: str, tolerance: float
) -> None:
    advice = decide(garment, "Foxglove Pink", "Foxglove", tolerance=tolerance)
    (route,) = (r for r in advice.routes if r.route == "discharge-base")
    assert advice.route != "discharge-base"
    assert not route.usable
    assert route.best is None
    assert garment in route.why_not
    assert because in route.why_not
    assert any(because in reason for reason in advice.reasons)


def test_every_garment_of_polyester_is_never_discharged() -> None:
    # Even a good grade on file does not help: the agent does not reach a disperse dye.
    for name in (BLACK, "Estuary Navy", "Brick Red"):
        shirt = replace(SHOP.garment(name), fibers={"polyester": 1.0}, discharge_grade=5)
        shop = replace(SHOP, garments={**SHOP.garments, name: shirt})
        advice = decide(name, "Weir Teal", "River Teal", tolerance=8.0, shop=shop)
        assert advice.route == "white-base"
        assert any("0% of it" in reason for reason in advice.reasons)


def test_a_soft_hand_with_a_wide_tolerance_takes_the_discharge_base() -> None:
    # Straight is out of reach on navy and black, a muted color is good enough: no white film is
    # needed, though it would land too. With a tight tolerance the same teal gets its white base.
    for garment in ("Estuary Navy", BLACK):
        advice = decide(garment, "Weir Teal", "River Teal", tolerance=8.0)
        assert advice.route == "discharge-base"
        landing = {r.route: r.nominal for r in advice.routes}
        assert landing == {"straight": False, "discharge-base": True, "white-base": True}
        assert any("softer hand" in reason for reason in advice.reasons)
        chosen = advice.chosen
        assert chosen is not None
        assert chosen.best is not None
        assert chosen.best.build.base is not None
        assert not chosen.best.build.base.flash  # wet on wet
        assert chosen.best.build.base.passes == 1
    assert decide(BLACK, "Weir Teal", "River Teal", tolerance=2.0).route == "white-base"


# -- What the answer always holds


@pytest.mark.parametrize("garment", ["Flour White", MIST, "Slate Gray", BLACK, ROYAL])
@pytest.mark.parametrize("tolerance", [2.0, 3.0, 8.0])
def test_never_a_bare_yes_or_no(garment: str, tolerance: float) -> None:
    advice = decide(garment, "Lantern Orange", "Regatta Orange", tolerance=tolerance)
    assert len(advice.reasons) >= 2
    assert "0.0 to spare" not in " ".join(advice.reasons)
    for result in advice.routes:
        assert result.usable == (result.best is not None)
        if result.best is None:
            continue
        interval = result.best.interval
        assert interval is not None
        assert result.margin == pytest.approx(tolerance - (result.best.delta_e_2000 or 0.0))
        assert result.nominal == (result.margin >= 0)
        assert interval.de_low is not None
        assert interval.de_high is not None
        assert interval.de_low < interval.de_high
        assert 0 <= (interval.within or 0.0) <= 1
    where = "inside" if advice.chosen.nominal else "outside"
    assert f"{where} the tolerance of {tolerance:g}" in advice.reasons[0]
    assert advice.nominal or "No build of" in advice.reasons[1]


@pytest.mark.parametrize("garment", ["Flour White", BLACK])
def test_a_miss_says_by_how_much_how_sure_and_what_would_help(garment: str) -> None:
    advice = decide(garment, "Weir Teal", "Regatta Orange")
    assert not advice.nominal
    said = " ".join(advice.reasons)
    for words in ("outside the tolerance", "would help"):
        assert words in said
    assert "cannot promise — expect about ΔE00" in advice.verdict.said(3.0)


@pytest.mark.parametrize("ink", ["Weir Teal", "Damson Purple", "Hearth Black"])
def test_what_is_below_an_even_chance_anyhow_goes_straight_on_light_gray(ink: str) -> None:
    # Common practice, no source: a strong deep color on light gray needs no base. The teal is
    # nominally at the very edge straight, or just beyond, and nothing is promised over a base
    # either: each adds less than 15 points to what is easier (shared/rules.toml).
    target = {"Weir Teal": "River Teal", "Damson Purple": "Choir Plum", "Hearth Black": "Soot"}[ink]
    for garment in (MIST, "Pebble Heather"):
        advice = decide(garment, ink, target, tolerance=3.05, shop=unsure(SHOP))
        assert advice.verdict.word == "cannot promise"
        assert advice.route == "straight"


def test_a_route_that_is_nominal_but_less_sure_is_passed_over_and_named() -> None:
    # On light gray the orange is nominal over discharge; over white it is in the middle. Measured,
    # that is a matter of many points.
    advice = decide(MIST, "Lantern Orange", "Regatta Orange", tolerance=3.0, shop=sure(SHOP))
    easier = next(r for r in advice.routes if r.route == "discharge-base")
    assert easier.nominal
    assert easier.verdict is not None
    assert advice.verdict.chance > easier.verdict.chance + SHOP.rules.least_chance_gain
    assert advice.route == "white-base"
    said = next(reason for reason in advice.reasons if reason.startswith("Over a discharge"))
    assert "less sure" in said


def test_measured_stock_is_surer() -> None:
    def chance(shop: Shop) -> float:
        return decide(BLACK, "Lantern Orange", "Regatta Orange", shop=shop).verdict.chance

    assert chance(sure(SHOP)) > chance(unsure(SHOP)) + 0.1


def test_a_wider_tolerance_never_makes_landing_harder() -> None:
    lands = [
        decide(BLACK, "Weir Teal", "River Teal", tolerance=t).nominal
        for t in (0.5, 1.0, 2.0, 4.0, 8.0)
    ]
    assert lands == sorted(lands)
    assert lands[-1]


# -- Bad input


def test_an_ink_without_any_allowed_screen_is_told() -> None:
    narrow = replace(
        SHOP.ink("Kiln Red"), coarsest_threads_per_inch=390.0, finest_threads_per_inch=400.0
    )
    shop = replace(SHOP, inks={**SHOP.inks, "Kiln Red": narrow})
    with pytest.raises(InputError, match="390 to 400 threads/inch, and no screen"):
        decide(BLACK, "Kiln Red", "Oven Red", shop=shop)


def test_a_shop_without_base_inks_still_answers() -> None:
    colours = {n: i for n, i in SHOP.inks.items() if not i.is_base}
    shop = replace(SHOP, inks=colours)
    advice = decide(BLACK, "Kiln Red", "Oven Red", shop=shop)
    assert not advice.nominal
    (white,) = (r for r in advice.routes if r.route == "white-base")
    assert white.why_not == "this shop has no ink of kind 'white-base'"


def test_rules_that_leave_nothing_are_named() -> None:
    shop = replace(
        SHOP,
        inks={n: i for n, i in SHOP.inks.items() if not i.is_base},
        rules=RulesEntry(
            coarsest_on_cloth_threads_per_inch=331, finest_on_cloth_threads_per_inch=332
        ),
    )
    with pytest.raises(InputError, match="coarsest_on_cloth_threads_per_inch = 331"):
        decide(BLACK, "Kiln Red", "Oven Red", shop=shop)
    assert barrier(shop, garment=shop.garment(BLACK), ink=shop.ink("Kiln Red"), route="straight")


def test_a_shops_own_numbers_of_a_rule_are_said() -> None:
    rules = RulesEntry(coarsest_base_threads_per_inch=105, finest_base_threads_per_inch=106)
    shop = replace(SHOP, rules=rules)
    why = barrier(shop, garment=shop.garment(BLACK), ink=shop.ink("Kiln Red"), route="white-base")
    assert "rules.toml finest_base_threads_per_inch = 106" in why


def test_two_reasons_also_where_there_is_nothing_but_straight() -> None:
    shop = replace(SHOP, inks={n: i for n, i in SHOP.inks.items() if not i.is_base})
    advice = decide("Flour White", "Lantern Orange", "Regatta Orange", shop=shop)
    assert advice.route == "straight"
    assert len(advice.reasons) >= 2
    assert any("no ink of kind 'white-base'" in reason for reason in advice.reasons)


def test_white_is_not_said_to_take_more_screens_than_a_discharge_base() -> None:
    advice = decide("Estuary Navy", "Weir Teal", "River Teal", tolerance=8.0)
    (white,) = (r for r in advice.reasons if r.startswith("Over a white base"))
    assert "a flash" in white
    assert "more screens" not in white


def test_a_base_that_is_no_color_is_refused_as_one() -> None:
    with pytest.raises(InputError, match="not a color to print on top"):
        decide(BLACK, "Rainwater Clear Base", "Oven Red")


def test_a_discharge_base_by_itself_is_the_color_of_the_discharged_cloth() -> None:
    # common practice, no source: a base alone is printed for the worn look of the cloth's own dye
    advice = decide(BLACK, "Quarry Discharge Base", "Oatcake", tolerance=10.0)
    assert advice.route == "discharge-base"
    build = advice.best.build
    assert build.base is None
    assert [layer.ink.kind for layer in build.layers] == ["discharge-base"]
    assert all(not r.usable for r in advice.routes if r.route != "discharge-base")
