"""Builds: refusals, deposits by hand, and what lowering must conserve."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from inksim.colour.grid import BANDS
from inksim.common.errors import InputError
from inksim.optics.kubelka_munk import external_from_internal, reflectance_from_ks
from inksim.printing.build import (
    ROUTES,
    Build,
    Layer,
    cloth_ks,
    discharged_ks,
    flattened,
    lower,
    tabulate,
    wet_deposit_um,
)
from inksim.printing.swatches import mean_reflectance
from inksim.shop.load import load_shop
from inksim.shop.usual_builds import usual_build
from inksim.stock.garment import DISCHARGE_SHARE, Garment
from inksim.stock.ink import Ink
from inksim.stock.press import MEANINGS, Press, PressValues
from inksim.stock.screen import Screen
from tests.strategies import builds, presses

FLAT = np.ones(BANDS)
PRESS = Press(name="generic").values


def ink(kind: str = "color", **fields: Any) -> Ink:
    whole: dict[str, Any] = {"K": 0.1 * FLAT, "S": 0.02 * FLAT, "solids_by_volume": 0.4, **fields}
    return Ink(name=kind, kind=kind, **whole)  # type: ignore[arg-type]


def screen(volume: float = 30.0) -> Screen:
    return Screen(name=f"{volume:g}", threads_per_cm=60, thread_um=60, ink_volume_cm3_m2=volume)


def garment(**fields: Any) -> Garment:
    whole: dict[str, Any] = {"fibers": {"cotton": 1.0}, "reflectance": 0.05 * FLAT, **fields}
    return Garment(name="shirt", **whole)


def build(*layers: Layer, cloth: Garment | None = None) -> Build:
    return Build(garment=cloth or garment(), layers=layers)


# -- Refusals


def test_a_build_has_one_of_the_routes() -> None:
    layer = Layer(ink=ink(), screen=screen())
    with pytest.raises(InputError, match=r"no route 'white base'; choose one of .*white-base"):
        Build(garment=garment(), layers=(layer,), route="white base")  # type: ignore[arg-type]


def test_a_build_needs_a_layer() -> None:
    with pytest.raises(InputError, match="at least one layer"):
        build()


@pytest.mark.parametrize("passes", [0, 5])
def test_a_screen_prints_one_to_four_passes(passes: int) -> None:
    with pytest.raises(InputError, match=f"passes is {passes}; .* 1 to 4"):
        Layer(ink=ink(), screen=screen(), passes=passes)


def test_a_discharge_base_is_the_first_layer() -> None:
    under = Layer(ink=ink("discharge-base"), screen=screen())
    known = garment(discharged=0.6 * FLAT)
    with pytest.raises(InputError, match="must be the first layer"):
        build(Layer(ink=ink(), screen=screen()), under, cloth=known)


def test_a_discharge_base_needs_a_cloth_it_is_known_on() -> None:
    with pytest.raises(InputError, match="'shirt' has no discharge data"):
        build(Layer(ink=ink("discharge-base"), screen=screen()))
    with pytest.raises(InputError, match="no discharge data"):
        discharged_ks(garment(discharge_grade=4))


def test_nothing_to_evaluate() -> None:
    with pytest.raises(InputError, match="no build"):
        tabulate([])


def test_color_is_on_top_and_base_below() -> None:
    under = Layer(ink=ink("white-base"), screen=screen())
    top = Layer(ink=ink(), screen=screen(20))
    assert (build(under, top).base, build(under, top).colour) == (under, top)
    assert (build(top).base, build(top).colour) == (None, top)


# -- Deposits


@pytest.mark.parametrize(("passes", "strokes"), [(1, 1.0), (2, 1.55), (3, 2.1), (4, 2.65)])
def test_deposit_by_hand(passes: int, strokes: float) -> None:
    # Volume 30 µm, release 0.6, gain 0.55: 18 µm wet for one pass, 27.9 for two; 40 % of it dry.
    table = tabulate([build(Layer(ink=ink(), screen=screen(), passes=passes))])
    press = PRESS._replace(release=0.6, pass_gain=0.55, soak=0.0)
    assert wet_deposit_um(table, press)[0, 0] == pytest.approx(18 * strokes)
    assert lower(table, press).film_um[0, 0] == pytest.approx(7.2 * strokes)


@settings(max_examples=50)
@given(one=builds(), press=presses())
def test_soak_conserves_the_deposit(one: Build, press: PressValues) -> None:
    # What lies on top and what is in the cloth (φ·d_c) is what was printed.
    table = tabulate([one])
    slabs = lower(table, press)
    printed = (wet_deposit_um(table, press) * table.solids).sum()
    assert slabs.film_um.sum() + slabs.soak[0] * press.cloth_depth_um == pytest.approx(printed)


@settings(max_examples=50)
@given(one=builds(), press=presses())
def test_wet_on_wet_conserves_volume_and_colorant(one: Build, press: PressValues) -> None:
    # Films change thickness and mix, but Σ film and Σ K·film, Σ S·film stay what they were dry.
    table = tabulate([one])
    wet, dry = lower(table, press), lower(table, press._replace(pick_up=0.0))
    assert wet.film_um.sum() == pytest.approx(dry.film_um.sum())
    for field in ("K", "S"):
        amounts = [np.einsum("bl,blw->w", s.film_um, getattr(s, field)) for s in (wet, dry)]
        np.testing.assert_allclose(*amounts, rtol=1e-9, atol=1e-12)


@settings(max_examples=50)
@given(one=builds(), press=presses())
def test_no_film_is_thinner_than_nothing(one: Build, press: PressValues) -> None:
    slabs = lower(tabulate([one]), press)
    assert (slabs.film_um >= 0).all()
    assert (slabs.soak >= 0).all()


def test_a_flash_keeps_films_apart() -> None:
    white = ink("white-base", K=0.0 * FLAT, S=0.7 * FLAT)
    layers = {
        flash: (Layer(ink=white, screen=screen(), flash=flash), Layer(ink=ink(), screen=screen()))
        for flash in (True, False)
    }
    dry, wet = (
        lower(tabulate([build(*layers[flash])]), PRESS._replace(pick_up=0.2, soak=0.0))
        for flash in (True, False)
    )
    np.testing.assert_array_equal(dry.K[0, 1], layers[True][1].ink.K)
    # By hand: both films are 7.2 µm; a fifth of the white, 1.44 µm, goes up into the color.
    assert dry.film_um[0] == pytest.approx([7.2, 7.2])
    assert wet.film_um[0] == pytest.approx([5.76, 8.64])
    np.testing.assert_allclose(wet.K[0, 1], 0.1 * 7.2 / 8.64)
    np.testing.assert_allclose(wet.S[0, 1], (0.02 * 7.2 + 0.7 * 1.44) / 8.64)


def test_only_the_film_on_cloth_is_uneven_like_cloth() -> None:
    under, top = Layer(ink=ink("white-base"), screen=screen()), Layer(ink=ink(), screen=screen())
    slabs = lower(tabulate([build(under, top)]), PRESS._replace(cv_cloth=0.4, cv_base=0.1))
    assert slabs.cv[0].tolist() == [0.4, 0.1]


# -- Discharged cloth


def test_cloth_ks_by_hand() -> None:
    # Internal 0.5: K/S = 0.25 / 1 = 0.25.
    cloth = garment(reflectance=external_from_internal(0.5 * FLAT))
    np.testing.assert_allclose(cloth_ks(cloth), 0.25, rtol=1e-12)


@pytest.mark.parametrize("grade", [1, 2, 3, 4, 5])
@pytest.mark.parametrize("cotton", [1.0, 0.6, 0.0])
def test_only_the_dye_of_the_cellulose_goes(grade: int, cotton: float) -> None:
    # (K/S)' = (K/S)undyed + (1 − D·c)·dye, with K/S 0.25 undyed and 2.25 dyed.
    undyed, dyed = (external_from_internal(reflectance_from_ks(k * FLAT)) for k in (0.25, 2.25))
    cloth = garment(
        reflectance=dyed,
        undyed=undyed,
        discharge_grade=grade,
        fibers={"cotton": cotton, "polyester": 1 - cotton},
    )
    left = 2.0 * (1 - DISCHARGE_SHARE[grade] * cotton)
    np.testing.assert_allclose(discharged_ks(cloth), 0.25 + left, rtol=1e-9)


def test_a_reading_of_the_discharged_cloth_beats_its_grade() -> None:
    cloth = garment(discharged=0.5 * FLAT, undyed=0.7 * FLAT, discharge_grade=1)
    read = garment(reflectance=0.5 * FLAT)
    np.testing.assert_array_equal(discharged_ks(cloth), cloth_ks(read))


# -- Arrays


def test_a_shorter_build_in_a_longer_batch_is_unchanged() -> None:
    top = Layer(ink=ink(), screen=screen())
    wet = Layer(ink=ink("white-base", S=0.7 * FLAT), screen=screen(), flash=False)
    short, long = build(top), build(wet, wet, top)
    together = mean_reflectance(lower(tabulate([short, long]), PRESS))
    alone = [mean_reflectance(lower(tabulate([b]), PRESS))[0] for b in (short, long)]
    np.testing.assert_allclose(together, alone, rtol=1e-14)


@pytest.mark.parametrize("name", PressValues._fields)
def test_one_press_value_may_be_many_samples(name: str) -> None:
    # Each value by itself as an array of three: the same as three calls with numbers.
    meaning = MEANINGS[name]
    known = garment(undyed=0.6 * FLAT, discharge_grade=4)
    under = Layer(ink=ink("discharge-base", solids_by_volume=0.1), screen=screen(), flash=False)
    top = Layer(ink=ink(), screen=screen(), passes=2)
    table = tabulate([build(top, cloth=known), build(under, top, cloth=known)])
    samples = np.linspace(meaning.least, meaning.most, 3)
    at_once = mean_reflectance(lower(table, PRESS._replace(**{name: samples})))
    one_by_one = [
        mean_reflectance(lower(table, PRESS._replace(**{name: float(v)}))) for v in samples
    ]
    np.testing.assert_allclose(
        np.broadcast_to(at_once, (3, 2, BANDS)), one_by_one, rtol=0, atol=1e-12
    )


@settings(max_examples=10)
@given(one=builds(), several=st.lists(presses(), min_size=2, max_size=4))
def test_all_press_values_may_be_samples_at_once(one: Build, several: list[PressValues]) -> None:
    samples = PressValues(*(np.array(values) for values in zip(*several, strict=True)))
    table = tabulate([one])
    at_once = mean_reflectance(lower(table, samples))
    one_by_one = [mean_reflectance(lower(table, press)) for press in several]
    np.testing.assert_allclose(at_once, one_by_one, rtol=0, atol=1e-11)


# -- Press


@pytest.mark.parametrize("name", list(MEANINGS))
def test_a_press_outside_the_models_range_is_refused(name: str) -> None:
    meaning = MEANINGS[name]
    for value in (meaning.least, meaning.most):
        assert getattr(Press(name="p", **{name: (value, 0.0)}), name)[0] == value  # type: ignore[arg-type]
    for value in (meaning.least - 0.01, meaning.most + 0.01, float("nan")):
        with pytest.raises(InputError, match=f"press 'p': {name} is .*{meaning.words[:10]}"):
            Press(name="p", **{name: (value, 0.0)})  # type: ignore[arg-type]


@pytest.mark.parametrize("sd", [-0.1, float("nan"), float("inf")])
def test_a_press_needs_a_standard_deviation(sd: float) -> None:
    with pytest.raises(InputError, match="the sd of soak is"):
        Press(name="p", soak=(0.3, sd))  # type: ignore[arg-type]


# -- Many presses in one go


def test_flattened_slabs_are_the_same_prints() -> None:
    shop = load_shop()
    some = [
        usual_build(shop, garment=shop.garment(g), ink=shop.ink("Weir Teal"), route=route)
        for g in ("Coal Black", "Mist Gray")
        for route in ROUTES
    ]
    table, values = tabulate(some), shop.press.values
    wet = values._replace(release=0.8, cloth_S=0.07)
    one_by_one = [mean_reflectance(lower(table, each)) for each in (values, wet)]
    both = type(values)(*(np.array(pair) for pair in zip(values, wet, strict=True)))
    np.testing.assert_allclose(
        mean_reflectance(flattened(lower(table, both))),
        np.concatenate(one_by_one),
        rtol=0,
        atol=1e-14,
    )


def test_many_tables_and_presses_are_lowered_as_each_by_itself() -> None:
    # wet in wet (no flash), so that the upper film's K and S differ from press to press
    shop = load_shop()
    some = [
        usual_build(
            shop, garment=shop.garment("Coal Black"), ink=shop.ink(ink), route="white-base",
            flash=flash,
        )
        for ink in ("Weir Teal", "Kiln Red")
        for flash in (True, False)
    ]  # fmt: skip
    table, values = tabulate(some), shop.press.values
    dark = replace(table, K=1.5 * table.K, cloth_ks=2.0 * table.cloth_ks)
    soft = values._replace(pick_up=0.4, soak=0.1)
    stacked = replace(
        table,
        K=np.stack([table.K, dark.K]),
        cloth_ks=np.stack([table.cloth_ks, dark.cloth_ks]),
    )
    both = type(values)(*(np.array(pair) for pair in zip(values, soft, strict=True)))
    together = mean_reflectance(flattened(lower(stacked, both)))
    each = [mean_reflectance(lower(table, values)), mean_reflectance(lower(dark, soft))]
    np.testing.assert_allclose(together, np.concatenate(each), rtol=0, atol=1e-14)
    assert np.abs(each[0][0] - each[0][1]).max() > 1e-3  # the flash is seen


def test_only_what_may_be_overwritten_is() -> None:
    shop = load_shop()
    garment, ink = shop.garment("Coal Black"), shop.ink("Weir Teal")
    build = usual_build(shop, garment=garment, ink=ink, route="white-base", flash=False)
    table = tabulate([build])
    several = replace(table, K=np.stack([table.K, 2.0 * table.K]))
    kept = several.K.copy()
    fresh = lower(several, shop.press.values)  # the press's numbers, two tables
    np.testing.assert_array_equal(several.K, kept)
    assert fresh.K.shape == kept.shape
    each = [lower(replace(table, K=K), shop.press.values).K for K in kept]
    np.testing.assert_array_equal(fresh.K, np.stack(each))
    assert np.any(kept != fresh.K)
    own = replace(several, K=kept.copy(), S=np.stack([table.S, table.S]))
    np.testing.assert_array_equal(lower(own, shop.press.values, overwrite=True).K, fresh.K)
