"""What is left to the cloth, and what white is held against: facts of the trade."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from inksim.colour.viewing import Viewing, lab
from inksim.decision.answer import aimed_at, asks_for_white, stays_bare
from inksim.shop.load import load_shop
from inksim.shop.schema import RulesEntry
from inksim.stock.target import target_from_hex, target_from_lab

SHOP = load_shop()
D50 = Viewing()


def bare(garment: str, code: str, *, tolerance: float = 3.0, **rules: list[str]) -> bool:
    return stays_bare(
        SHOP.garment(garment), target_from_hex(code), tolerance=tolerance, viewing=D50,
        limits=RulesEntry(**rules),
    )  # fmt: skip


@pytest.mark.parametrize("garment", ["Flour White", "Mist Gray", "Brick Red", "Coal Black"])
def test_nobody_prints_a_shirts_own_color_on_it(garment: str) -> None:
    # Common practice, no source.
    cloth = SHOP.garment(garment)
    own = target_from_lab(lab(cloth.reflectance, D50), name="own")
    limits = RulesEntry()
    assert stays_bare(cloth, own, tolerance=3.0, viewing=D50, limits=limits)
    keeps = RulesEntry(not_kept=["the cloth is a color too"])
    assert not stays_bare(cloth, own, tolerance=3.0, viewing=D50, limits=keeps)


def test_white_is_the_cloth_on_a_white_shirt_and_ink_on_any_other() -> None:
    assert bare("Flour White", "#ffffff")
    for garment in ("Mist Gray", "Slate Gray", "Brick Red", "Estuary Navy", "Coal Black"):
        assert not bare(garment, "#ffffff"), garment
    assert not bare("Flour White", "#c9342f")


def test_white_is_held_against_the_shops_own_white() -> None:
    aim = aimed_at(SHOP, target_from_hex("#ffffff"))
    assert 90.0 < aim.lab(D50)[0] < 100.0  # no print is a perfect diffuser
    assert "Chalk White" in aim.note or "White" in aim.note
    red = target_from_hex("#c9342f")
    assert aimed_at(SHOP, red) is red
    dull = replace(SHOP, inks={"Kiln Red": SHOP.ink("Kiln Red")})
    white = target_from_hex("#ffffff")
    assert aimed_at(dull, white) is white


@pytest.mark.parametrize(
    ("asked", "white"),
    [((100, 0, 0), True), ((96, 0, 0), True), ((95, 0, 0), False), ((98, 0, 10), False)],
)
def test_only_a_light_gray_is_asked_for_as_white(asked: tuple[float, ...], white: bool) -> None:
    assert asks_for_white(np.array(asked, dtype=float)) is white
