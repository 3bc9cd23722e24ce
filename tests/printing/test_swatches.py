"""Whole prints at their limits: no ink, hiding ink, discharge, and the mean over the fibers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings

from inksim.colour.cielab import chroma, delta_e_2000
from inksim.colour.grid import BANDS, resample
from inksim.colour.viewing import Viewing, lab
from inksim.optics.kubelka_munk import (
    Surface,
    external_from_internal,
    internal_from_external,
    reflectance_from_ks,
)
from inksim.optics.unevenness import level_quantiles
from inksim.printing.build import ROUTES, Build, BuildTable, Layer, discharged_ks, lower, tabulate
from inksim.printing.swatches import mean_reflectance, point_reflectance, swatch
from inksim.shop.load import load_shop
from inksim.shop.shop import Shop
from inksim.shop.usual_builds import usual_build
from inksim.stock.garment import Garment
from inksim.stock.ink import Ink
from inksim.stock.press import PressValues
from inksim.stock.screen import Screen
from tests.conftest import Textiles
from tests.strategies import builds, presses

FLAT = np.ones(BANDS)
D50 = Viewing("D50", 2)


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop()


@pytest.fixture(scope="module")
def usual(shop: Shop) -> list[Build]:
    """Every route of every color of the demo shop on every garment."""
    return [
        usual_build(shop, garment=garment, ink=ink, route=route)
        for garment in shop.garments.values()
        for ink in shop.inks.values()
        for route in ROUTES
        if ink.kind == "color"
    ]


@pytest.fixture(scope="module")
def measured(textiles: Textiles) -> list[Garment]:
    """The 33 measured textiles (Vrhel, Gershon & Iwan 1994) as garments."""
    return [
        Garment(
            name=name,
            reflectance=resample(values, wavelengths_nm=textiles.wavelengths_nm).values,
            fibers={"cotton": 1.0},
        )
        for name, values in zip(textiles.names, textiles.reflectance, strict=True)
    ]


def screen(volume: float) -> Screen:
    return Screen(name=f"{volume:g}", threads_per_cm=60, thread_um=60, ink_volume_cm3_m2=volume)


def some(table: BuildTable, rows: Any) -> BuildTable:
    """Some builds of a table."""
    fields = {name: getattr(table, name)[rows] for name in BuildTable.__dataclass_fields__}
    return BuildTable(**fields)


# -- No ink


def test_zero_ink_is_exactly_the_garment(shop: Shop, measured: list[Garment]) -> None:
    # A film of no volume: what went in comes out, through both surfaces and K/S, to rounding.
    nothing = Ink(name="nothing", kind="color", K=0.2 * FLAT, S=0.1 * FLAT, solids_by_volume=1e-300)
    cloths = [*shop.garments.values(), *measured]
    bare = [Build(garment=g, layers=(Layer(ink=nothing, screen=screen(30)),)) for g in cloths]
    printed = swatch(bare, press=shop.press)
    np.testing.assert_allclose(printed, [g.reflectance for g in cloths], rtol=0, atol=1e-12)


def coated(shop: Shop, cloths: list[Garment], um: float, **press: float) -> np.ndarray:
    """Reflectance of cloths under an even film that neither absorbs nor scatters."""
    clear = Ink(name="water", kind="color", K=0 * FLAT, S=0 * FLAT, solids_by_volume=1.0)
    bare = [Build(garment=g, layers=(Layer(ink=clear, screen=screen(um)),)) for g in cloths]
    values = shop.press.values._replace(release=1.0, cv_cloth=0.0, **press)
    return mean_reflectance(lower(tabulate(bare), values))


def test_clear_ink_out_of_touch_is_exactly_the_garment(shop: Shop, measured: list[Garment]) -> None:
    # A film with neither absorption nor scattering, that does not touch the cloth and has a
    # smooth face, changes nothing, wherever it lies or soaks.
    cloths = [*shop.garments.values(), *measured]
    printed = coated(shop, cloths, 9.0, contact=0.0, surface_haze=0.0)
    np.testing.assert_allclose(printed, [g.reflectance for g in cloths], rtol=0, atol=1e-12)


# -- Contact


def test_cloth_in_full_contact_is_as_wet_cloth(shop: Shop, measured: list[Garment]) -> None:
    # Ångström 1925, from memory: of the light that a wetted surface of albedo A sends out, p is
    # turned back by the water's surface, and so on: (1 − p)·A/(1 − p·A), here with Saunderson's
    # k2 as p and 1 − k1 of the light let in.
    cloths = [*shop.garments.values(), *measured]
    dry = np.stack([g.reflectance for g in cloths])
    wet = coated(shop, cloths, 1e4, contact=1.0, surface_haze=0.0)
    np.testing.assert_allclose(wet, 0.96 * 0.404 * dry / (1.0 - 0.596 * dry), rtol=1e-9)


@pytest.mark.parametrize("contact", [0.3, 1.0, 1.2])
def test_a_film_of_next_to_nothing_touches_next_to_nothing(
    shop: Shop, measured: list[Garment], contact: float
) -> None:
    # Half of what a trained eye tells, and it vanishes with the film.
    cloths = [*shop.garments.values(), *measured]
    bare = lab(np.stack([g.reflectance for g in cloths]), D50)
    moved = [
        float(delta_e_2000(bare, lab(coated(shop, cloths, um, contact=contact), D50)).max())
        for um in (0.1, 0.01, 0.001)
    ]
    assert moved[0] < 0.5
    assert moved[1] < 0.2 * moved[0]
    assert moved[2] < 0.2 * moved[1]


@pytest.mark.parametrize("contact", [0.1, 0.3, 0.5, 0.8, 1.2])
def test_part_contact_is_near_a_cloth_with_the_rest_of_a_surface(
    shop: Shop, measured: list[Garment], contact: float
) -> None:
    # Another reading of 'share of contact': the cloth's own surface, through which its reading is
    # taken, has the other share of the film's k1 and k2. Two assumptions, one answer: they are not
    # farther apart than an eye can tell.
    cloths = [*shop.garments.values(), *measured]
    rest = Surface(k1=0.040 * (1.0 - contact), k2=0.596 * (1.0 - contact))
    inside = [internal_from_external(g.reflectance, surface=rest) for g in cloths]
    other = lab(external_from_internal(np.stack(inside)), D50)
    ours = lab(coated(shop, cloths, 1e4, contact=contact, surface_haze=0.0), D50)
    assert delta_e_2000(other, ours).max() < 1.0


def test_a_rough_face_lifts_all_bands_alike(shop: Shop) -> None:
    cloths = list(shop.garments.values())
    smooth, rough = (coated(shop, cloths, 1e4, surface_haze=h) for h in (0.0, 0.01))
    np.testing.assert_allclose(rough - smooth, 0.01, rtol=1e-9)


# -- Hiding ink


def test_thick_white_looks_the_same_on_every_cloth(shop: Shop, measured: list[Garment]) -> None:
    # The demo white with 40 times the ink of a 110 mesh hides the 14 garments and the 33 measured
    # textiles, from dark sweat pants to a white t-shirt. An eye tells about 1 ΔE00 at best.
    white = shop.base_ink("white-base")
    cloths = [*shop.garments.values(), *measured]
    thick = [Build(garment=g, layers=(Layer(ink=white, screen=screen(2000)),)) for g in cloths]
    colours = lab(swatch(thick, press=shop.press), D50)
    assert delta_e_2000(colours[:1], colours).max() < 0.05
    bare = lab(np.stack([g.reflectance for g in cloths]), D50)
    assert np.ptp(bare[:, 0]) > 70  # nearly black and nearly white cloth are both among them


def test_an_opaque_top_film_has_its_own_reflectance(shop: Shop) -> None:
    # Thick film: R∞ of its own K/S, seen through the surface; nothing of what is below.
    black = replace(shop.inks["Hearth Black"], solids_by_volume=1.0)
    white = shop.base_ink("white-base")
    layers = (Layer(ink=white, screen=screen(30)), Layer(ink=black, screen=screen(3000)))
    build = Build(garment=shop.garments["Flour White"], layers=layers)
    values = shop.press.values
    printed = mean_reflectance(lower(tabulate([build]), values._replace(surface_haze=0.0)))[0]
    own = external_from_internal(reflectance_from_ks(black.K / black.S))
    np.testing.assert_allclose(printed, own, rtol=0, atol=1e-9)


# -- Bounds


@settings(max_examples=60)
@given(one=builds(), press=presses())
def test_no_print_reflects_less_than_nothing_or_more_than_a_surface_lets(
    one: Build, press: PressValues
) -> None:
    R = point_reflectance(lower(tabulate([one]), press), [0.0, 0.1, 0.5, 0.9, 0.999])
    assert np.isfinite(R).all()
    assert R.min() >= -1e-12
    # 1 − k1 of a surface of index 1.5, and what of k1 a rough face scatters
    assert R.max() <= 0.96 + press.surface_haze + 1e-12


def test_more_ink_of_a_pure_absorber_is_darker_at_every_wavelength(shop: Shop) -> None:
    dye = Ink(name="dye", kind="color", K=0.1 * FLAT, S=0 * FLAT, solids_by_volume=0.4)
    volumes = (1, 5, 10, 20, 40)
    steps = [
        Build(garment=shop.garments["Flour White"], layers=(Layer(ink=dye, screen=screen(v)),))
        for v in volumes
    ]
    R = swatch(steps, press=shop.press)
    assert (np.diff(R, axis=0) < 0).all()


# -- Mean over the fibers


@pytest.mark.parametrize("cv", [0.1, 0.38, 0.5])
def test_eight_nodes_are_the_integral_over_the_fibers(
    shop: Shop, usual: list[Build], cv: float
) -> None:
    # Fine integral: the midpoint rule on 2000 quantiles, without any quadrature of ours. The
    # worst are strong inks on light cloth. 0.06 ΔE00 is the project's own requirement.
    press = shop.press.values._replace(cv_cloth=cv, cv_base=cv)
    table = tabulate(usual[::3])
    swatches = mean_reflectance(lower(table, press))
    midpoints = (np.arange(2000) + 0.5) / 2000
    worst = 0.0
    for at in range(0, len(swatches), 20):
        points = point_reflectance(lower(some(table, slice(at, at + 20)), press), midpoints)
        fine = lab(points.mean(axis=1), D50)
        found = lab(swatches[at : at + 20], D50)
        worst = max(worst, float(delta_e_2000(fine, found).max()))
    assert worst < 0.06


def test_an_even_film_has_one_color_at_every_point(shop: Shop, usual: list[Build]) -> None:
    press = shop.press.values._replace(cv_cloth=0.0, cv_base=0.0)
    slabs = lower(tabulate(usual[:30]), press)
    points = point_reflectance(slabs, [0.0, 0.3, 0.99])
    for at in range(3):
        np.testing.assert_allclose(points[:, at], mean_reflectance(slabs), rtol=0, atol=1e-12)


def test_the_256_levels_of_the_picture_have_the_swatch_as_their_mean(
    shop: Shop, usual: list[Build]
) -> None:
    # The picture draws points at these quantiles, each equally often: their mean is the swatch.
    slabs = lower(tabulate(usual[::7]), shop.press.values)
    levels = point_reflectance(slabs, level_quantiles()).mean(axis=1)
    assert delta_e_2000(lab(levels, D50), lab(mean_reflectance(slabs), D50)).max() < 0.06


def test_unevenness_moves_the_color(shop: Shop) -> None:
    # Regression values: 0.4 to 6 ΔE00 straight on white cloth, so it is not decoration.
    white = shop.garment("Flour White")
    straight = [
        usual_build(shop, garment=white, ink=ink, route="straight")
        for ink in shop.inks.values()
        if ink.kind == "color"
    ]
    table, press = tabulate(straight), shop.press.values
    even = lab(mean_reflectance(lower(table, press._replace(cv_cloth=0.0))), D50)
    uneven = lab(mean_reflectance(lower(table, press._replace(cv_cloth=0.5))), D50)
    moved = delta_e_2000(even, uneven)
    assert moved.min() > 0.4
    assert moved.max() < 6.0


# -- Discharge


def discharge_series(shop: Shop, garment: str, volumes: list[float]) -> np.ndarray:
    """Reflectance under a discharge base that leaves no film of its own, by ink volume."""
    base = replace(shop.base_ink("discharge-base"), K=0 * FLAT, S=0 * FLAT)
    series = [
        Build(garment=shop.garment(garment), layers=(Layer(ink=base, screen=screen(v)),))
        for v in volumes
    ]
    values = shop.press.values._replace(contact=0.0, surface_haze=0.0)
    return mean_reflectance(lower(tabulate(series), values))


@pytest.mark.parametrize("garment", ["Coal Black", "Estuary Navy", "Brick Red", "Ember Heather"])
def test_discharge_moves_every_wavelength_from_dyed_to_discharged(shop: Shop, garment: str) -> None:
    R = discharge_series(shop, garment, [1e-6, 2, 5, 10, 20, 50, 2000])
    cloth = shop.garment(garment)
    full = external_from_internal(reflectance_from_ks(discharged_ks(cloth)))
    np.testing.assert_allclose(R[0], cloth.reflectance, rtol=0, atol=1e-6)
    np.testing.assert_allclose(R[-1], full, rtol=0, atol=1e-4)
    assert (np.diff(R, axis=0) > -1e-12).all()
    assert (np.diff(lab(R, D50)[:, 0]) > 0).all()


def test_the_last_deposit_of_discharge_base_adds_least(shop: Shop) -> None:
    # Saturation: each further 10 µm of it takes a smaller share of the dye than the one before.
    R = discharge_series(shop, "Coal Black", [10, 20, 30, 40, 50, 60])
    steps = np.diff(lab(R, D50)[:, 0])
    assert (np.diff(steps) < 0).all()


def test_a_better_grade_discharges_further(shop: Shop) -> None:
    black = shop.garment("Coal Black")
    base = shop.base_ink("discharge-base")
    graded = [
        Build(
            garment=replace(black, discharge_grade=grade),
            layers=(Layer(ink=base, screen=screen(60)),),
        )
        for grade in range(1, 6)
    ]
    colours = lab(swatch(graded, press=shop.press), D50)
    assert (np.diff(colours[:, 0]) > 0).all()


def test_discharged_black_is_off_white_not_white(shop: Shop) -> None:
    # Common practice, no source: a discharge leaves an off-white ground, never paper white.
    R = discharge_series(shop, "Coal Black", [60])
    light = lab(R, D50)[0]
    undyed = lab(shop.garment("Coal Black").undyed, D50)  # type: ignore[arg-type]
    assert 60 < light[0] < undyed[0] < 90
    assert chroma(light) < 12


# -- Soak


def test_ink_in_the_cloth_colors_less_than_ink_on_it(shop: Shop) -> None:
    # A black ink on white cloth: what sinks in among the fibers is in part hidden by them.
    build = Build(
        garment=shop.garment("Flour White"),
        layers=(Layer(ink=shop.ink("Hearth Black"), screen=screen(6)),),
    )
    L = [
        lab(mean_reflectance(lower(tabulate([build]), shop.press.values._replace(soak=s)))[0], D50)[
            0
        ]
        for s in (0.0, 0.3, 0.6, 0.9)
    ]
    assert sorted(L) == L
    assert L[-1] - L[0] > 5
