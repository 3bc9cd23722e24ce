"""Ink, time and money of a run: by hand, and with prices missing."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from inksim.job.costs import Bill, InkUse, bill, film_g_m2, ink_per_print_g, rates_of, run_ink_g
from inksim.shop.load import demo_shop_folder, load_shop
from inksim.shop.schema import CostsEntry
from inksim.stock.handling import handling_of

FULL: dict[str, Any] = {
    "screen_making": 18.0, "setup_minutes_per_screen": 12.0, "labor_per_hour": 30.0,
    "seconds_per_garment": 12.0, "seconds_per_pass": 6.0, "seconds_per_flash": 10.0,
    "energy_per_kwh": 0.2,
}  # fmt: skip
PLAIN = handling_of(load_shop().ink("Kiln Red"))
INK = InkUse(name="any", print_g=2.0, run_g=500.0, ready_g=620.0, price_per_kg=20.0, handling=PLAIN)


def run_of(rates: dict[str, Any], *inks: InkUse, runs: int = 1) -> Bill:
    return bill(
        rates_of(CostsEntry(**rates)),
        quantity=100,
        screens=3,
        strokes=4,
        flashes=1,
        inks=inks or (INK,),
        dryer_kwh=20.0,
        runs=runs,
    )


def test_ink_on_a_print() -> None:
    # 10 µm on 1 m² are 10 cm³; by density 10.8 g. A tenth of the area takes a tenth.
    assert ink_per_print_g(10.0, area_cm2=10_000, density_g_cm3=1.08) == pytest.approx(10.8)
    assert ink_per_print_g(10.0, area_cm2=1_000, density_g_cm3=1.08) == pytest.approx(1.08)


def test_ink_for_a_run() -> None:
    # 100 prints of 2 g, a twentieth wasted, 80 g left in the screen.
    grams = run_ink_g(2.0, quantity=100, waste_share=0.05, left_g=80.0)
    assert grams == pytest.approx(200 / 0.95 + 80)
    assert run_ink_g(2.0, quantity=100, waste_share=0.0, left_g=0.0) == 200


def test_what_a_screen_is_kept_flooded_with_holds_what_is_lost_in_it() -> None:
    assert CostsEntry(flood_g_per_screen=200.0, ink_left_g_per_screen=80.0).kept_in_screen_g == 200
    assert CostsEntry(flood_g_per_screen=50.0, ink_left_g_per_screen=80.0).kept_in_screen_g == 80


def test_the_bill_says_how_many_runs() -> None:
    said = {
        runs: " ".join(item.how for item in run_of(FULL, runs=runs).items) for runs in (1, 2, 3)
    }
    assert "runs" not in said[1]
    assert "in 2 runs" in said[2]
    assert "in 3 runs" in said[3]


def test_a_denser_or_richer_film_is_heavier_and_none_weighs_less_than_nothing() -> None:
    films = [(0.1, 1.03), (0.34, 1.08), (0.42, 1.35)]
    weights = [film_g_m2(20.0, solids_by_volume=s, density_g_cm3=d) for s, d in films]
    assert weights == sorted(weights)
    assert film_g_m2(20.0, solids_by_volume=0.0, density_g_cm3=0.9) == 0.0


def test_a_bill_by_hand() -> None:
    found = run_of(FULL)
    by_hand = {
        "screens": 3 * (18 + 12 / 60 * 30),
        "ink": 0.5 * 20,
        "press time": 100 * (12 + 4 * 6 + 1 * 10) / 3600 * 30,
        "dryer energy": 20 * 0.2,
    }
    assert {item.name: item.amount for item in found.items} == pytest.approx(by_hand)
    assert found.total == pytest.approx(sum(by_hand.values()))
    assert found.per_print == pytest.approx(found.total / 100)
    assert found.missing == ()


@pytest.mark.parametrize(
    ("left_out", "named"),
    [
        ("screen_making", {"making screens"}),
        ("setup_minutes_per_screen", {"setting up screens"}),
        ("energy_per_kwh", {"energy of the dryer"}),
        ("seconds_per_flash", {"press time of flashes"}),
        (
            "labor_per_hour",
            {
                "setting up screens",
                "loading garments",
                "press time of strokes",
                "press time of flashes",
            },
        ),
    ],
)
def test_what_is_not_known_is_left_out_and_named(left_out: str, named: set[str]) -> None:
    partial = run_of({k: v for k, v in FULL.items() if k != left_out})
    assert set(partial.missing) == named
    assert partial.total < run_of(FULL).total


def test_nothing_known_at_all() -> None:
    rates = rates_of(CostsEntry())
    assert not rates.known
    free = replace(INK, name="gift", price_per_kg=None)
    found = run_of({}, free)
    assert found.total == 0
    assert found.items == ()
    assert "price of 'gift'" in found.missing
    assert len(found.missing) == 7


def test_a_shop_without_costs_has_none_and_the_demo_shop_has_all(tmp_path: Path) -> None:
    assert rates_of(load_shop().costs).missing == ()
    folder = tmp_path / "shop"
    shutil.copytree(demo_shop_folder(), folder, ignore=shutil.ignore_patterns("artwork"))
    (folder / "costs.toml").unlink()
    assert not rates_of(load_shop(folder).costs).known
