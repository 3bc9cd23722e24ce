"""Water and heat of a print against steam tables, a published exercise and textile handbooks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from inksim.job import drying
from inksim.job.costs import film_g_m2
from inksim.job.drying import CURE, FIBRE_DATA, dryer_load, ink_water_g_m2, water_heat_kj
from inksim.shop.load import load_shop
from inksim.stock.garment import FIBRES

SHOP = load_shop()
COTTON = SHOP.garment("Coal Black")
POLYESTER = SHOP.garment("Anvil Black Sport")


def test_latent_heat_is_the_chemists_molar_one() -> None:
    # CRC Handbook of Chemistry and Physics, from memory: 40.65 kJ/mol at the boiling point,
    # 18.0153 g/mol. Two digits behind the point of kJ/mol: 0.3 kJ/kg.
    assert pytest.approx(40.65 / 18.0153 * 1000, abs=0.3) == drying.LATENT_KJ_KG


@pytest.mark.parametrize(
    ("celsius", "liquid_kj_kg"),
    [(0.01, 0.0), (20.0, 83.9), (25.0, 104.8), (60.0, 251.2), (100.0, 419.1)],
)
def test_water_from_any_temperature_to_steam_at_100(celsius: float, liquid_kj_kg: float) -> None:
    # IAPWS-IF97 steam tables, from memory: steam at 100 °C has 2675.5 kJ/kg. One heat capacity for
    # the whole way is good to 1 kJ/kg.
    assert water_heat_kj(1000.0, from_celsius=celsius) == pytest.approx(
        2675.5 - liquid_kj_kg, abs=1.0
    )


def test_a_published_exercise() -> None:
    # GATE Textile Engineering and Fiber Science 2019, question 55: a wet polyester fabric of
    # 160 g/m² dries to 100 g/m² from 20 °C; c 2.0 and 4.2 J/g K, latent heat 2260 kJ/kg. Worked out
    # by hand: 100·2.0·80 + 60·4.2·80 + 60·2260 J = 171.76 kJ.
    water = water_heat_kj(60.0)
    cloth = 100.0 * 2.0 * 80.0 / 1000.0
    # our water: c 4.19 and L 2256.4 instead, 0.3 kJ less
    assert water + cloth == pytest.approx(171.76, abs=0.4)


def test_moisture_of_cotton_and_polyester() -> None:
    # ASTM D1909, from memory: 8.5 % and 0.4 % of the dry mass.
    cotton = dryer_load(0.0, garment=COTTON, cloth_g=108.5)
    polyester = dryer_load(0.0, garment=POLYESTER, cloth_g=100.4)
    assert cotton.cloth_water_g == pytest.approx(8.5)
    assert polyester.cloth_water_g == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("fibre", "percent"),
    [
        ("cotton", 8.5), ("linen", 12.0), ("hemp", 12.0), ("viscose", 11.0), ("silk", 11.0),
        ("wool", 13.6), ("nylon", 4.5), ("acrylic", 1.5), ("polyester", 0.4), ("elastane", 1.3),
    ],
)  # fmt: skip
def test_regains_are_the_commercial_ones(fibre: str, percent: float) -> None:
    # ASTM D1909, from memory: % of the dry mass. 100 g dry, as they lie on the shelf.
    garment = replace(COTTON, fibers={fibre: 1.0})
    load = dryer_load(0.0, garment=garment, cloth_g=100.0 + percent)
    assert load.cloth_water_g == pytest.approx(percent)


def test_heat_of_dry_cloth() -> None:
    # Morton & Hearle, Table 6.1: cotton 1.22-1.35, polyester 1.03 J/g K; Table 8.1: heat of
    # wetting 46 and 5 J/g. 100 g dry, from 20 to 163 °C.
    cotton = dryer_load(0.0, garment=COTTON, cloth_g=108.5)
    polyester = dryer_load(0.0, garment=POLYESTER, cloth_g=100.4)
    assert 1.22 * 14.3 < cotton.cloth_kj < 1.35 * 14.3
    assert polyester.cloth_kj == pytest.approx(1.03 * 14.3)
    assert cotton.bound_kj == pytest.approx(4.6)
    assert polyester.bound_kj == pytest.approx(0.5)


def test_a_blend_is_between_and_every_fiber_is_known() -> None:
    assert set(FIBRE_DATA) == set(FIBRES)
    blend = replace(COTTON, fibers={"cotton": 0.5, "polyester": 0.5})
    loads = [dryer_load(5.0, garment=g, cloth_g=150.0) for g in (POLYESTER, blend, COTTON)]
    assert loads[0].total_kj < loads[1].total_kj < loads[2].total_kj
    assert loads[0].cloth_water_g < loads[1].cloth_water_g < loads[2].cloth_water_g


def test_heat_grows_with_water_and_nothing_needs_none() -> None:
    dry = replace(POLYESTER, fibers={"polyester": 1.0})
    nothing = dryer_load(0.0, garment=dry, cloth_g=0.0)
    assert nothing.total_kj == 0.0
    some, twice = (dryer_load(w, garment=COTTON, cloth_g=160.0) for w in (4.0, 8.0))
    assert twice.total_kj - some.total_kj == pytest.approx(water_heat_kj(4.0))
    assert some.water_g == pytest.approx(4.0 + some.cloth_water_g)


def test_energy_and_power() -> None:
    load = dryer_load(5.0, garment=COTTON, cloth_g=160.0)
    assert load.kwh(3600.0, efficiency=1.0) == pytest.approx(load.total_kj)
    assert load.kwh(100.0, efficiency=0.25) == pytest.approx(4 * load.kwh(100.0, efficiency=1.0))
    assert load.kilowatts(prints_per_hour=3600.0) == pytest.approx(load.total_kj)


def test_wet_film_is_water_and_dry_film() -> None:
    # Mass is conserved: dry film + water = wet film, for any ink whose solids sink in water.
    wet, solids, density = 20.0, 0.34, 1.08
    water = float(ink_water_g_m2(wet, solids_by_volume=solids))
    dry = float(film_g_m2(wet, solids_by_volume=solids, density_g_cm3=density))
    assert water + dry == pytest.approx(wet * density)
    assert water == pytest.approx(20.0 * 0.66, rel=0.003)


def test_the_cure_window_is_the_trades() -> None:
    # Common practice, no source: 320 to 330 °F, 90 to 120 s; Fahrenheit and Celsius are one window.
    assert (CURE.low_fahrenheit, CURE.high_fahrenheit) == (320, 330)
    assert (CURE.least_s, CURE.most_s) == (90, 120)
    for celsius, fahrenheit in [
        (CURE.low_celsius, CURE.low_fahrenheit),
        (CURE.high_celsius, CURE.high_fahrenheit),
    ]:
        assert celsius == pytest.approx((fahrenheit - 32) / 1.8, abs=0.6)
