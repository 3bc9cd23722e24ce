"""The fast engine and its slow twin (tests/reference.py) agree, and the twin itself is checked."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from inksim.colour.cielab import delta_e_2000
from inksim.colour.lights import weights, white_xyz
from inksim.colour.viewing import Viewing, lab, xyz
from inksim.printing.build import ROUTES, Build, lower, tabulate
from inksim.printing.prediction import predict_nominal
from inksim.printing.swatches import mean_reflectance, point_reflectance
from inksim.shop.load import load_shop
from inksim.shop.shop import Shop
from inksim.shop.usual_builds import usual_build
from inksim.stock.press import PressValues
from inksim.stock.target import target_from_lab
from tests import reference
from tests.conftest import read_check_values
from tests.strategies import builds, presses

SHARMA = read_check_values()["sharma"]


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


# -- The twin itself


@pytest.mark.parametrize("pair", SHARMA, ids=lambda pair: f"pair {pair['pair']}")
def test_the_twin_has_the_published_color_differences(pair: dict[str, Any]) -> None:
    # Sharma, Wu & Dalal 2005, Table 1; four decimals. Pair 14 lies on the jump of the mean hue.
    wanted = [4.8045, 4.7461] if pair["pair"] == 14 else [pair["dE00"]]
    found = reference.delta_e_2000(pair["lab1"], pair["lab2"])
    assert any(found == pytest.approx(w, abs=1e-4) for w in wanted)


def test_the_twin_has_the_published_nodes() -> None:
    # Abramowitz & Stegun, Table 25.4, n = 8, from memory: the outermost and innermost pair.
    pairs = sorted(reference.legendre_nodes(8))
    assert pairs[0] == pytest.approx((-0.960289856497536, 0.101228536290376), abs=1e-14)
    assert pairs[4] == pytest.approx((0.183434642495650, 0.362683783378362), abs=1e-14)


# -- The engine is its twin


@settings(max_examples=60)
@given(build=builds(), press=presses())
def test_swatch(build: Build, press: PressValues) -> None:
    fast = mean_reflectance(lower(tabulate([build]), press))[0]
    np.testing.assert_allclose(fast, reference.swatch(build, press), rtol=0, atol=1e-10)


@settings(max_examples=60)
@given(
    build=builds(most_layers=2),
    press=presses(),
    quantiles=st.lists(st.floats(0.0, 0.999), min_size=1, max_size=3),
)
def test_points(build: Build, press: PressValues, quantiles: list[float]) -> None:
    fast = point_reflectance(lower(tabulate([build]), press), quantiles)[0]
    literal = reference.points_reflectance(build, press, quantiles)
    np.testing.assert_allclose(fast, literal, rtol=0, atol=1e-10)


@settings(max_examples=60)
@given(several=st.lists(builds(most_layers=2), min_size=2, max_size=3), press=presses())
def test_a_batch_is_its_builds_one_by_one(several: list[Build], press: PressValues) -> None:
    fast = mean_reflectance(lower(tabulate(several), press))
    literal = [reference.swatch(build, press) for build in several]
    np.testing.assert_allclose(fast, literal, rtol=0, atol=1e-10)


@pytest.mark.parametrize(("light", "observer"), [("D50", 2), ("D65", 10), ("A", 2)])
@pytest.mark.parametrize("route", ROUTES)
def test_the_demo_shop_to_its_color_difference(
    shop: Shop, route: Any, light: str, observer: int
) -> None:
    # Every ink of kind color, each on three garments; color to 1e-8, difference to 1e-6 (near
    # neutral, ΔE00 takes a square root of rounding).
    viewing, table = Viewing(light, observer), weights(light, observer)
    white = list(white_xyz(light, observer))
    asked = reference.alike([52.0, 40.0, -20.0], list(white_xyz("D50", 2)), white)
    chosen = [
        usual_build(shop, garment=shop.garments[garment], ink=ink, route=route)
        for garment in ("Coal Black", "Slate Gray", "Ferry Royal")
        for ink in shop.inks.values()
        if ink.kind == "color"
    ]
    target = target_from_lab([52.0, 40.0, -20.0], name="any")
    found = predict_nominal(chosen, press=shop.press.values, viewing=viewing, target=target)
    for build, prediction in zip(chosen, found, strict=True):
        spectrum = reference.swatch(build, shop.press.values)
        seen = reference.xyz(spectrum, table)
        np.testing.assert_allclose(xyz(prediction.reflectance, viewing), seen, atol=1e-8)
        colour = reference.lab(seen, white)
        np.testing.assert_allclose(prediction.lab, colour, atol=1e-8)
        np.testing.assert_allclose(lab(spectrum, viewing), colour, atol=1e-8)
        difference = reference.delta_e_2000(asked, colour)
        assert prediction.delta_e_2000 == pytest.approx(difference, abs=1e-6)


colours = st.tuples(st.floats(0, 100), st.floats(-120, 120), st.floats(-120, 120))


@settings(max_examples=300)
@given(one=colours, two=colours)
def test_color_difference(one: tuple[float, ...], two: tuple[float, ...]) -> None:
    literal = reference.delta_e_2000(one, two)
    # Hues within rounding of opposite may take the other mean hue: Sharma's pairs 13 to 15.
    swapped = reference.delta_e_2000(two, one)
    fast = float(delta_e_2000(one, two))
    assert min(abs(fast - literal), abs(fast - swapped)) < 1e-6
