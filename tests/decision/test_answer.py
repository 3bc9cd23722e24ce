"""What is left bare, held against white, or worth weighing; and the rules a shop may drop.

Trade facts are common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.decision.answer import (
    WHITE_NOTE,
    aimed_at,
    answer_of,
    asks_for_white,
    bare_cloth,
    stays_bare,
    worth_weighing,
)
from inksim.decision.build_evaluation import most_likely_lab
from inksim.decision.candidate_builds import build_space
from inksim.decision.palette_by_garment import palette_on_stock
from inksim.decision.rules_kept import STRAIGHT
from inksim.shop.load import load_shop
from inksim.shop.schema import RulesEntry
from inksim.shop.shop import Shop
from inksim.stock.target import target_from_hex, target_from_lab

SHOP, D50 = load_shop(), Viewing()


def bare(garment: str, code: str, *, tolerance: float = 3.0, **rules: object) -> bool:
    return stays_bare(
        SHOP.garment(garment),
        target_from_hex(code),
        tolerance=tolerance,
        viewing=D50,
        limits=RulesEntry(**rules),  # type: ignore[arg-type]
    )


def without(*names: str) -> Shop:
    return replace(SHOP, rules=SHOP.rules.model_copy(update={"not_kept": list(names)}))


def test_a_color_is_left_bare_up_to_its_tolerance_and_no_further() -> None:
    cloth = lab(SHOP.garment("Coal Black").reflectance, D50)
    near = target_from_lab(cloth + np.array([4.0, 0.0, 0.0]), name="near")
    off = float(delta_e_2000(near.lab(D50), cloth))
    for tolerance, wanted in ((off - 0.01, False), (off + 0.01, True)):
        assert wanted == stays_bare(
            SHOP.garment("Coal Black"), near, tolerance=tolerance, viewing=D50, limits=SHOP.rules
        )


def test_white_is_left_to_a_white_shirt_and_printed_on_any_other() -> None:
    assert bare("Flour White", "#ffffff")
    assert not any(bare(g, "#ffffff") for g in ("Coal Black", "Mist Gray", "Kingcup Yellow"))
    assert not bare("Flour White", "#ffffff", not_kept=["the cloth is a color too"])


@pytest.mark.parametrize(
    ("code", "white"),
    [("#ffffff", True), ("#f4f4f4", True), ("#e0e0e0", False), ("#fff3c0", False)],
)
def test_what_asks_for_white(code: str, white: bool) -> None:
    assert asks_for_white(target_from_hex(code).lab(D50)) is white


def test_white_is_held_against_the_shops_own_white_and_nothing_else_is() -> None:
    aim = aimed_at(SHOP, target_from_hex("#ffffff"))
    assert aim.name == "#ffffff"
    assert WHITE_NOTE in aim.note
    # lighter than any shirt that has to be covered, darker than the perfect diffuser
    assert 85.0 < aim.lab(D50)[0] < 96.0
    for code in ("#f2c230", "#e0e0e0"):
        target = target_from_hex(code)
        assert aimed_at(SHOP, target) is target
    inks = {n: i for n, i in SHOP.inks.items() if i.kind != "white-base"}
    none = replace(SHOP, inks=type(SHOP.inks)(inks))
    white = target_from_hex("#ffffff")
    assert aimed_at(none, white) is white


def test_the_bare_cloth_is_its_own_color_and_only_the_cloth_is_unsure() -> None:
    garment = SHOP.garment("Brick Red")
    cloth = lab(garment.reflectance, D50)
    target = target_from_lab(cloth, name="own")
    found = bare_cloth(garment, target, press=SHOP.press, viewing=D50, tolerance=3.0)
    np.testing.assert_allclose(found.lab, cloth, atol=1e-9)
    answer = answer_of(found, target=target, nominal=True)
    assert (answer.ink, answer.route, answer.words) == (None, "bare", "bare cloth")
    assert answer.delta_e_2000 == pytest.approx(0.0, abs=1e-6)
    assert answer.mark == "left bare"
    assert answer.recipe is None
    assert 0.0 < answer.median_de00 < 5.0


def weighed(garment: str, code: str, shop: Shop = SHOP) -> tuple[set[str], set[int]]:
    """Kinds of ink and routes of the builds worth weighing."""
    cloth, standard = shop.garment(garment), target_from_hex(code).lab(D50)
    space = build_space(shop, garments=[cloth], inks=shop.top_inks)
    off = delta_e_2000(standard, most_likely_lab(space, press=shop.press, viewing=D50))
    mask = worth_weighing(
        space, garment=cloth, standard=standard, distance=off, tolerance=3.0, viewing=D50,
        limits=shop.rules,
    )  # fmt: skip
    kept = space.take(mask)
    return {kept.inks[at].kind for at in kept.ink}, set(kept.route.tolist())


def test_a_hue_gets_a_color_ink_and_a_gray_may_get_white() -> None:
    assert weighed("Coal Black", "#67e5e5")[0] == {"color"}
    assert "white-base" in weighed("Coal Black", "#ecf0f1")[0]
    assert weighed("Flour White", "#f7f3e8")[0] == {"color"}  # no white on white
    loose = without("a hue is not printed in white")
    assert "white-base" in weighed("Coal Black", "#67e5e5", loose)[0]


def test_black_goes_straight_on_lighter_cloth_unless_a_shop_wants_it_otherwise() -> None:
    assert weighed("Mist Gray", "#111111")[1] == {STRAIGHT}
    assert len(weighed("Mist Gray", "#111111", without("a dark color needs no base"))[1]) > 1
    assert len(weighed("Mist Gray", "#e8622c")[1]) > 1


def test_a_shop_that_prints_the_cloths_color_does_so() -> None:
    target = [target_from_hex("#ffffff")]
    garment = [SHOP.garment("Flour White")]
    ((kept,),) = palette_on_stock(SHOP, targets=target, garments=garment)
    ((printed,),) = palette_on_stock(
        without("the cloth is a color too"), targets=target, garments=garment
    )
    assert kept.build.bare
    assert not printed.build.bare
