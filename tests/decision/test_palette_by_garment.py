"""Palette by stock: the marks agree with the decision for one ink, and with the trade."""

from __future__ import annotations

import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.common.errors import InputError
from inksim.decision.answer import Answer
from inksim.decision.one_colour import advise
from inksim.decision.palette_by_garment import (
    GarmentReach,
    answers_on,
    palette_on_stock,
    reach,
    serves,
)
from inksim.decision.rules_kept import DISCHARGE
from inksim.shop.load import load_shop
from inksim.shop.shop import Shop
from inksim.stock.target import target_from_hex


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


@pytest.fixture(scope="module")
def reaches(shop: Shop) -> dict[str, GarmentReach]:
    names = ("Flour White", "Mist Gray", "Coal Black", "Anvil Black Sport", "Ferry Royal")
    return {name: reach(shop, garment=shop.garment(name)) for name in names}


def column(found: GarmentReach, shop: Shop, tolerance: float = 3.0) -> list[Answer]:
    return answers_on(found, list(shop.palette.values()), tolerance=tolerance)


@pytest.mark.parametrize("garment", ["Flour White", "Mist Gray", "Coal Black", "Ferry Royal"])
def test_a_cell_agrees_with_the_advice_for_its_ink(
    shop: Shop, reaches: dict[str, GarmentReach], garment: str
) -> None:
    for cell in column(reaches[garment], shop):
        ink = cell.ink
        if ink is None:  # the cloth is within the tolerance: no ink is asked
            cloth = lab(cell.garment.reflectance, Viewing())
            assert float(delta_e_2000(cell.target.lab(Viewing()), cloth)) <= 3.0
            continue
        advice = advise(shop, garment=cell.garment, ink=ink, target=cell.target, tolerance=3.0)
        by_route = next(r for r in advice.routes if r.route == cell.build.route)
        assert by_route.best is not None
        assert by_route.verdict is not None
        if by_route.best.words == cell.words:
            # of one build one thing is said, however it was come by
            said = {name: getattr(cell.verdict, name) for name in ("word", "chance", "median_de00")}
            assert {name: getattr(by_route.verdict, name) for name in said} == pytest.approx(said)
            assert by_route.nominal == (cell.delta_e_2000 <= 3.0)
        if cell.nominal:
            assert any(each.nominal for each in advice.routes)


def test_the_palette_on_the_stock_is_the_columns_of_its_garments(
    shop: Shop, reaches: dict[str, GarmentReach]
) -> None:
    names = ("Mist Gray", "Coal Black")
    found = palette_on_stock(shop, garments=[shop.garment(name) for name in names], tolerance=4.0)
    for cells_, name in zip(found, names, strict=True):
        alone = column(reaches[name], shop, tolerance=4.0)
        assert [(c.target, c.garment.name, c.verdict, c.delta_e_2000) for c in cells_] == [
            (c.target, name, c.verdict, c.delta_e_2000) for c in alone
        ]
    with pytest.raises(InputError, match="no target to look for"):
        palette_on_stock(shop, targets=[])


def test_no_ink_alone_would_be_surer_by_far(shop: Shop, reaches: dict[str, GarmentReach]) -> None:
    # Of every ink's builds by the route it takes, none is 15 points surer (shared/rules.toml).
    colours = [ink for ink in shop.inks.values() if ink.kind == "color"]
    for cell in column(reaches["Mist Gray"], shop)[:6]:
        chances = []
        for ink in colours:
            advice = advise(shop, garment=cell.garment, ink=ink, target=cell.target, tolerance=3.0)
            chances += [
                each.verdict.chance
                for each in advice.routes
                if each.verdict and each.route == cell.build.route and each.nominal
            ]
        assert cell.verdict.chance >= max(chances, default=0.0) - 0.15


def test_the_interval_of_a_cell_holds_the_usual_share(
    shop: Shop, reaches: dict[str, GarmentReach]
) -> None:
    for cell in column(reaches["Coal Black"], shop):
        sure = cell.interval
        assert sure.de_low is not None
        assert sure.de_high is not None
        assert sure.de_low < sure.de_high
        assert sure.within is not None
        assert 0.0 <= sure.within <= 1.0
        assert (sure.within >= 0.95) <= (sure.de_high <= 3.0 + 1e-6)


def test_white_serves_the_palette_without_a_base_and_black_does_not(
    shop: Shop, reaches: dict[str, GarmentReach]
) -> None:
    # common practice, no source
    straight = {
        name: sum(c.nominal and c.build.route == "straight" for c in column(found, shop))
        for name, found in reaches.items()
    }
    assert straight["Flour White"] > straight["Mist Gray"] >= straight["Coal Black"]


def test_polyester_is_never_discharged(reaches: dict[str, GarmentReach]) -> None:
    # common practice, no source: discharge reaches cellulose only
    assert DISCHARGE not in reaches["Anvil Black Sport"].space.route


def test_a_wider_tolerance_never_takes_a_color_out_of_reach(
    shop: Shop, reaches: dict[str, GarmentReach]
) -> None:
    for found in reaches.values():
        at = [serves(column(found, shop, t)) for t in (0.5, 1.0, 2.0, 4.0, 8.0, 30.0)]
        assert [each.nominal for each in at] == sorted(each.nominal for each in at)
        assert at[-1].promised == len(shop.palette)


def test_any_target_may_be_asked(reaches: dict[str, GarmentReach]) -> None:
    found = answers_on(reaches["Flour White"], [target_from_hex("#00ff00")], tolerance=3.0)
    assert not found[0].nominal
    assert found[0].mark.startswith("✕ cannot promise")
    assert answers_on(reaches["Flour White"], [], tolerance=3.0) == []


def test_a_tolerance_of_nothing_is_refused(reaches: dict[str, GarmentReach]) -> None:
    with pytest.raises(InputError, match="above 0"):
        answers_on(reaches["Flour White"], [target_from_hex("#00ff00")], tolerance=0.0)
