"""Predictions: every field in its range, and what ink, opacity and show-through must do."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000, delta_e_cmc
from inksim.colour.grid import BANDS
from inksim.colour.srgb import lab_from_hex
from inksim.colour.viewing import Viewing, lab
from inksim.common.errors import InputError
from inksim.printing.build import ROUTES, Build, Layer, Route
from inksim.printing.prediction import (
    ORIGIN_WORDS,
    Prediction,
    honest_words,
    predict,
    predict_nominal,
)
from inksim.printing.swatches import swatch
from inksim.shop.load import load_shop
from inksim.shop.shop import Shop
from inksim.shop.usual_builds import usable_routes, usual_build
from inksim.stock.garment import Garment
from inksim.stock.ink import Ink
from inksim.stock.screen import Screen
from inksim.stock.target import target_from_hex, target_from_lab
from tests import reference

D50 = Viewing("D50", 2)
FLAT = np.ones(BANDS)


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


@pytest.fixture(scope="module")
def everything(shop: Shop) -> list[Prediction]:
    """Every usable route of every ink of kind color on every garment, against one target."""
    builds = [
        usual_build(shop, garment=garment, ink=ink, route=route)
        for garment in shop.garments.values()
        for ink in shop.inks.values()
        if ink.kind == "color"
        for route in usable_routes(garment)
    ]
    target = target_from_hex("#e8622c")
    return predict_nominal(builds, press=shop.press.values, viewing=D50, target=target)


def screen(volume: float) -> Screen:
    return Screen(name=f"{volume:g}", threads_per_cm=60, thread_um=60, ink_volume_cm3_m2=volume)


def series(
    shop: Shop, *, ink: Ink, garment: str, volumes: list[float], **press: float
) -> list[Prediction]:
    """One film of an ink, by ink volume."""
    builds = [
        Build(garment=shop.garment(garment), layers=(Layer(ink=ink, screen=screen(v)),))
        for v in volumes
    ]
    return predict_nominal(builds, press=shop.press.values._replace(**press), viewing=D50)


# -- With intervals, and the color alone


def test_intervals_leave_the_prediction_as_it_is(shop: Shop) -> None:
    ink, garment = shop.ink("Lantern Orange"), shop.garment("Coal Black")
    builds = [usual_build(shop, garment=garment, ink=ink, route=r) for r in usable_routes(garment)]
    target = target_from_hex("#e8622c")
    nominal = predict_nominal(builds, press=shop.press.values, viewing=D50, target=target)
    sure = predict(builds, press=shop.press, target=target, tolerance=4.0)
    printed = swatch(builds, press=shop.press)
    for at, (bare, found) in enumerate(zip(nominal, sure, strict=True)):
        assert bare.interval is None
        assert found.interval is not None
        assert found.interval.tolerance == 4.0
        np.testing.assert_array_equal(found.reflectance, printed[at])
        np.testing.assert_array_equal(found.lab, bare.lab)
        assert found.delta_e_2000 == bare.delta_e_2000
        assert np.all(found.interval.lab_low < found.lab)
        assert np.all(found.lab < found.interval.lab_high)
    with pytest.raises(InputError, match="no build"):
        predict([], press=shop.press)


# -- Every field of every prediction


def test_every_prediction_is_in_range(shop: Shop, everything: list[Prediction]) -> None:
    assert len(everything) == 14 * 10 * 3
    for found in everything:
        where = (found.build.garment.name, found.words)
        assert found.reflectance.shape == (BANDS,), where
        assert 0 < found.reflectance.min() <= found.reflectance.max() < 1, where
        assert 0 < found.lab[0] < 100, where
        assert np.abs(found.lab[1:]).max() < 128, where
        assert re.fullmatch("#[0-9a-f]{6}", found.hex), where
        assert found.delta_e_2000 is not None, where
        assert found.delta_e_2000 > 0, where
        assert found.delta_e_cmc is not None, where
        assert found.delta_e_cmc > 0, where
        assert 0 < found.contrast_ratio <= 1, where
        assert 0 <= found.show_through <= 1, where
        assert 0 < found.film_um < found.wet_um, where
        assert found.data == "invented", where
        has_base = found.build.base is not None
        assert (found.base_film_um > 0) is has_base, where
        assert (found.base_wet_um > found.base_film_um) is has_base, where


def test_films_are_of_the_size_that_printers_know(everything: list[Prediction]) -> None:
    # Wet 10 to 60 µm a layer, dry 3 to 25 µm: what meshes of 110 to 305 carry (weavers' tables
    # times solids); a print with base stays below 60 µm dry.
    assert all(8 < found.wet_um < 60 for found in everything)
    assert all(2 < found.film_um < 25 for found in everything)
    assert all(found.film_um + found.base_film_um < 60 for found in everything)


def test_color_is_that_of_the_reflectance(everything: list[Prediction]) -> None:
    found = everything[17]
    np.testing.assert_allclose(found.lab, lab(found.reflectance, D50), atol=1e-9)
    target = lab_from_hex("#e8622c", D50)
    assert found.delta_e_2000 == pytest.approx(reference.delta_e_2000(target, found.lab))


def test_the_hex_code_is_the_color_where_srgb_holds_it(everything: list[Prediction]) -> None:
    # Half a step of an 8-bit code moves a color by up to about 1 ΔE00 near black, else far less.
    inside = [found for found in everything if found.in_srgb_gamut]
    assert 0 < len(inside) < len(everything)
    shown = [lab_from_hex(found.hex, D50) for found in inside]
    assert delta_e_2000([found.lab for found in inside], shown).max() < 1.0


def test_the_target_is_the_standard_of_cmc(everything: list[Prediction]) -> None:
    # ISO 105-J03 weights by the standard: the other way round is another number.
    target = lab_from_hex("#e8622c", D50)
    for found in everything[::37]:
        assert found.delta_e_cmc == pytest.approx(float(delta_e_cmc(target, found.lab)))
        assert found.delta_e_cmc != pytest.approx(float(delta_e_cmc(found.lab, target)), rel=1e-3)


def test_without_a_target_there_is_no_difference(shop: Shop) -> None:
    (found,) = series(shop, ink=shop.ink("Weir Teal"), garment="Mist Gray", volumes=[30])
    assert found.delta_e_2000 is None
    assert found.delta_e_cmc is None


def test_predictions_come_in_the_order_of_the_builds(shop: Shop) -> None:
    inks = [shop.ink(name) for name in ("Weir Teal", "Kiln Red", "Hearth Black")]
    builds = [
        usual_build(shop, garment=shop.garment("Coal Black"), ink=ink, route=route)
        for ink in inks
        for route in ROUTES
    ]
    together = predict_nominal(builds, press=shop.press.values, viewing=D50)
    assert [found.build for found in together] == builds
    for build, found in zip(builds, together, strict=True):
        (alone,) = predict_nominal([build], press=shop.press.values, viewing=D50)
        np.testing.assert_allclose(alone.reflectance, found.reflectance, rtol=1e-12)
        assert alone.show_through == pytest.approx(found.show_through)


@pytest.mark.parametrize("viewing", [Viewing("D65", 10), Viewing("A", 2)])
def test_another_light_is_another_color_of_the_same_reflectance(
    shop: Shop, viewing: Viewing
) -> None:
    build = usual_build(
        shop, garment=shop.garment("Coal Black"), ink=shop.ink("Kiln Red"), route="white-base"
    )
    (day,), (other,) = (
        predict_nominal([build], press=shop.press.values, viewing=v) for v in (D50, viewing)
    )
    np.testing.assert_array_equal(day.reflectance, other.reflectance)
    np.testing.assert_array_equal(other.lab, lab(other.reflectance, viewing))
    assert delta_e_2000(day.lab, other.lab) > 1


# -- Opacity


def test_more_ink_hides_more(shop: Shop) -> None:
    for name in ("Chalk White Base", "Weir Teal", "Barley Yellow", "Hearth Black"):
        found = series(
            shop, ink=shop.ink(name), garment="Flour White", volumes=[1, 5, 10, 20, 40, 80]
        )
        contrast = [p.contrast_ratio for p in found]
        assert contrast == sorted(contrast), name
        assert contrast[-1] > 2 * contrast[0], name


def test_no_ink_hides_nothing_and_lets_everything_through(shop: Shop) -> None:
    # On the card: 0.01 over 0.80, the ratio of the two cards themselves. Where the film touches
    # the cloth, the cloth itself is darker; a rough face is no part of the ink.
    clear = Ink(name="water", kind="color", K=0 * FLAT, S=0 * FLAT, solids_by_volume=0.3)
    for garment in shop.garments:
        (found,) = series(
            shop, ink=clear, garment=garment, volumes=[30], contact=0.0, surface_haze=0.0
        )
        assert found.contrast_ratio == pytest.approx(0.01 / 0.80, rel=1e-6), garment
        assert found.show_through == pytest.approx(1.0, abs=1e-6), garment


def test_thick_white_lets_nothing_through(shop: Shop) -> None:
    white = shop.base_ink("white-base")
    for garment in shop.garments:
        (found,) = series(shop, ink=white, garment=garment, volumes=[1000])
        assert found.show_through < 0.01, garment
        assert found.contrast_ratio > 0.98, garment  # what ISO 6504-3 users call opaque


def test_more_ink_lets_less_of_a_dark_shirt_through(shop: Shop) -> None:
    for name in ("Chalk White Base", "Weir Teal", "Barley Yellow"):
        found = series(shop, ink=shop.ink(name), garment="Coal Black", volumes=[5, 10, 20, 40])
        shown = [p.show_through for p in found]
        assert shown == sorted(shown, reverse=True), name


def test_a_card_takes_up_no_ink(shop: Shop) -> None:
    # Opacity is of the films: how much of the first one sinks into a shirt does not matter.
    build = usual_build(
        shop, garment=shop.garment("Mist Gray"), ink=shop.ink("Weir Teal"), route="straight"
    )
    found = [
        predict_nominal([build], press=shop.press.values._replace(soak=soak), viewing=D50)[0]
        for soak in (0.0, 0.6)
    ]
    assert found[0].contrast_ratio == pytest.approx(found[1].contrast_ratio)
    assert delta_e_2000(found[0].lab, found[1].lab) > 0.5


# -- Deposits and provenance


def test_deposits_by_hand(shop: Shop) -> None:
    # 40 µm of volume, release 0.6, one pass: 24 µm wet. Solids 0.34: 8.16 µm dry.
    press = shop.press.values._replace(release=0.6)
    layers = (
        Layer(ink=shop.base_ink("white-base"), screen=screen(50)),
        Layer(ink=shop.ink("Lantern Orange"), screen=screen(40)),
    )
    build = Build(garment=shop.garment("Coal Black"), layers=layers, route="white-base")
    (found,) = predict_nominal([build], press=press, viewing=D50)
    assert found.wet_um == pytest.approx(24.0)
    assert found.film_um == pytest.approx(24.0 * 0.34)
    assert found.base_wet_um == pytest.approx(30.0)
    assert found.base_film_um == pytest.approx(30.0 * 0.42)


def test_a_prediction_is_as_unsure_as_its_least_sure_input(shop: Shop) -> None:
    ink = replace(shop.ink("Weir Teal"), data="measured")
    cloth = replace(shop.garment("Mist Gray"), data="recovered")
    build = Build(garment=cloth, layers=(Layer(ink=ink, screen=screen(30)),))
    (found,) = predict_nominal([build], press=shop.press.values, viewing=D50)
    assert found.data == "recovered"
    assert "recovered from Lab or hex" in honest_words(found.data, calibrated=False)
    measured = replace(build, garment=replace(cloth, data="measured"))
    assert predict_nominal([measured], press=shop.press.values, viewing=D50)[0].data == "measured"
    assert "ranking only" in ORIGIN_WORDS["invented"]


# -- The usual build


def test_any_part_of_the_usual_build_may_be_chosen(shop: Shop) -> None:
    build = usual_build(
        shop,
        garment=shop.garment("Coal Black"),
        ink=shop.ink("Weir Teal"),
        route="white-base",
        screen=shop.screen("305"),
        passes=2,
        base_screen=shop.screen("160"),
        flash=False,
    )
    assert build.base is not None
    assert (build.colour.screen.name, build.colour.passes) == ("305", 2)
    assert (build.base.screen.name, build.base.flash) == ("160", False)
    assert build.base.ink.kind == "white-base"


def test_the_words_of_a_build(shop: Shop) -> None:
    found = predict_nominal(
        [
            usual_build(
                shop, garment=shop.garment("Coal Black"), ink=shop.ink("Weir Teal"), route=route
            )
            for route in ROUTES
        ],
        press=shop.press.values,
        viewing=D50,
    )
    assert [p.words for p in found] == [
        "Weir Teal through 160 ×2",
        "Quarry Discharge Base through 125 ×1; Weir Teal through 230 ×1",
        "Chalk White Base through 110 ×1, flash; Weir Teal through 230 ×1",
    ]


@pytest.mark.parametrize("route", ROUTES)
def test_a_screen_that_the_ink_does_not_print_through_is_refused(shop: Shop, route: Route) -> None:
    with pytest.raises(InputError, match=r"'Oatcake Cream' prints through 125 to 255 .*'330'"):
        usual_build(
            shop,
            garment=shop.garment("Coal Black"),
            ink=shop.ink("Oatcake Cream"),
            route=route,
            screen=shop.screen("330"),
        )


def test_a_base_screen_too_fine_for_the_base_is_refused(shop: Shop) -> None:
    with pytest.raises(InputError, match=r"'Chalk White Base' prints through 80 to 200 .*'305'"):
        usual_build(
            shop,
            garment=shop.garment("Coal Black"),
            ink=shop.ink("Weir Teal"),
            route="white-base",
            base_screen=shop.screen("305"),
        )


def test_a_cloth_without_discharge_data_has_two_routes(shop: Shop) -> None:
    unknown = Garment(name="unknown", reflectance=0.1 * FLAT, fibers={"cotton": 1.0})
    assert usable_routes(unknown) == ("straight", "white-base")
    assert usable_routes(shop.garment("Coal Black")) == ROUTES
    with pytest.raises(InputError, match="'unknown' has no discharge data"):
        usual_build(shop, garment=unknown, ink=shop.ink("Weir Teal"), route="discharge-base")


def test_a_lab_target_is_compared_as_given(shop: Shop) -> None:
    build = usual_build(
        shop, garment=shop.garment("Coal Black"), ink=shop.ink("Weir Teal"), route="straight"
    )
    (found,) = predict_nominal(
        [build],
        press=shop.press.values,
        viewing=D50,
        target=target_from_lab([50, 10, 10], name="t"),
    )
    assert found.delta_e_2000 == pytest.approx(reference.delta_e_2000([50, 10, 10], found.lab))
