"""Inks and base for a tonal picture: those that the picture was made with, or as near as can be."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from inksim.colour.srgb import xyz_from_srgb8
from inksim.colour.viewing import Viewing, lab_from_xyz
from inksim.common.errors import InputError
from inksim.separation.halftone_print import tonal_lab, tonal_model, tonal_set
from inksim.separation.tonal_inks import (
    choose_inks,
    choose_route,
    ordered,
    picture_colours,
    reached,
)
from inksim.shop.load import load_shop

SHOP = load_shop()
D50 = Viewing()
LINES = {"lines_per_inch": 45.0}


def colours_of(names: tuple[str, ...], garment: str, route: str, count: int = 150) -> np.ndarray:
    """Colors that these inks print exactly, each ink used in all of them."""
    inks = [SHOP.ink(name) for name in names]
    tonal = tonal_set(SHOP, garment=SHOP.garment(garment), inks=inks, route=route, **LINES)
    model = tonal_model(tonal)
    coverages = 0.1 + 0.8 * np.random.default_rng(4).random((count, model.plates))
    return tonal_lab(model, coverages, D50)


@pytest.mark.parametrize(
    ("names", "garment", "route"),
    [
        (("Kiln Red",), "Flour White", "straight"),
        (("Barley Yellow", "Damson Purple"), "Flour White", "straight"),
        (("Barley Yellow", "Kiln Red", "Weir Teal"), "Coal Black", "white-base"),
    ],
)
def test_the_inks_a_picture_was_made_with_are_found_or_as_good(names, garment, route) -> None:
    """As many inks come as near: within a quarter of a ΔE00 of those it was made with."""
    colours = colours_of(names, garment, route)
    cloth = SHOP.garment(garment)
    found = choose_inks(
        colours, shop=SHOP, garment=cloth, route=route, viewing=D50, most=len(names), **LINES
    )
    own = [SHOP.ink(name) for name in names]
    theirs, best = (
        reached(
            tonal_set(SHOP, garment=cloth, inks=list(inks), route=route, **LINES), colours, D50
        ).mean
        for inks in (found, own)
    )
    assert theirs <= best + 0.25
    if len(names) == 1:
        assert [ink.name for ink in found] == list(names)


def test_greed_is_near_the_best_of_all_pairs() -> None:
    """Every pair of the shop's inks tried: the chosen one is within 0.5 ΔE00 of the best."""
    rgb = np.random.default_rng(7).integers(30, 226, (60, 3))
    colours = lab_from_xyz(xyz_from_srgb8(rgb, D50), D50)
    cloth = SHOP.garment("Flour White")

    def mean(inks) -> float:
        tonal = tonal_set(SHOP, garment=cloth, inks=list(inks), route="straight", **LINES)
        return reached(tonal, colours, D50).mean

    found = choose_inks(
        colours, shop=SHOP, garment=cloth, route="straight", viewing=D50, most=2, **LINES
    )
    every = [ink for ink in SHOP.inks.values() if ink.kind == "color"]
    assert len(found) == 2
    assert mean(found) <= min(mean(pair) for pair in combinations(every, 2)) + 0.5


def test_an_ink_that_gains_nothing_is_not_taken() -> None:
    colours = colours_of(("Hearth Black",), "Flour White", "straight")
    found = choose_inks(
        colours, shop=SHOP, garment=SHOP.garment("Flour White"), route="straight", viewing=D50,
        **LINES,
    )  # fmt: skip
    assert [ink.name for ink in found] == ["Hearth Black"]


def test_light_inks_print_first() -> None:
    inks = [SHOP.ink(n) for n in ("Hearth Black", "Barley Yellow", "Weir Teal", "Foxglove Pink")]
    found = ordered(
        inks, shop=SHOP, garment=SHOP.garment("Flour White"), route="white-base", **LINES
    )
    assert (found[0].name, found[-1].name) == ("Barley Yellow", "Hearth Black")


def test_a_base_only_where_it_pays() -> None:
    """Bright colors on black need the white base; dark grays on white need none."""
    bright = colours_of(("Barley Yellow", "Foxglove Pink"), "Coal Black", "white-base")
    grey = colours_of(("Hearth Black",), "Flour White", "straight")
    for colours, garment, names, route in (
        (bright, "Coal Black", ("Barley Yellow", "Foxglove Pink"), "white-base"),
        (grey, "Flour White", ("Hearth Black",), "straight"),
    ):
        choice = choose_route(
            colours, shop=SHOP, garment=SHOP.garment(garment),
            inks=[SHOP.ink(n) for n in names], viewing=D50, **LINES,
        )  # fmt: skip
        assert choice.tonal.route == route


def test_colors_are_taken_from_all_over_what_is_printed() -> None:
    picture = np.zeros((50, 200, 4), dtype=np.uint8)
    picture[10:40, :100] = (200, 40, 40, 255)
    picture[10:40, 100:] = (40, 40, 200, 255)
    seen = picture_colours(picture, SHOP.garment("Flour White"), D50)
    red = lab_from_xyz(xyz_from_srgb8(np.array([200, 40, 40]), D50), D50)
    share = np.mean(np.all(np.abs(seen - red) < 1e-6, axis=1))
    assert share == pytest.approx(0.5, abs=0.05)
    assert len(picture_colours(picture[10:11, :3], SHOP.garment("Flour White"), D50)) == 3


def test_nothing_to_print_and_nothing_to_print_with() -> None:
    with pytest.raises(InputError, match="fully transparent"):
        picture_colours(np.zeros((5, 5, 4), dtype=np.uint8), SHOP.garment("Flour White"), D50)
    colours = np.array([[50.0, 0.0, 0.0]])
    cloth = SHOP.garment("Flour White")
    bases = {name: ink for name, ink in SHOP.inks.items() if ink.is_base}
    with pytest.raises(InputError, match="no ink of kind 'color'"):
        choose_inks(
            colours, shop=replace(SHOP, inks=bases), garment=cloth, route="straight", viewing=D50,
            **LINES,
        )  # fmt: skip
    with pytest.raises(InputError, match="1 to 6"):
        choose_inks(
            colours, shop=SHOP, garment=cloth, route="straight", viewing=D50, most=7, **LINES
        )
