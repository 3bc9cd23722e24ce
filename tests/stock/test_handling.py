"""What an ink asks of a print room: stated, or usual for its kind (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from inksim.colour.grid import BANDS
from inksim.stock.handling import cure_of, handling_of
from inksim.stock.ink import Ink, mix_inks

FLAT = np.full(BANDS, 0.1)


def ink(**more: object) -> Ink:
    stated = {"name": "any", "kind": "color", "K": FLAT, "S": FLAT, "solids_by_volume": 0.3}
    return Ink(**(stated | more))  # type: ignore[arg-type]


def test_a_color_on_cotton_takes_nothing_and_cures_as_usual() -> None:
    asked = handling_of(ink())
    assert (asked.additive, asked.additive_share, asked.pot_life_hours) == ("", 0.0, None)
    assert (asked.cure_celsius, asked.cure_seconds) == (160.0, 90.0)
    assert asked.assumed == ("a cure at 160 °C for 90 s assumed",)


def test_a_discharge_takes_an_activator_that_keeps_a_shift() -> None:
    asked = handling_of(ink(kind="discharge-base"), low_cure=True)
    assert (asked.additive, asked.additive_share) == ("discharge activator", 0.06)
    assert asked.pot_life_hours == 8.0
    assert (asked.cure_celsius, asked.cure_seconds) == (160.0, 120.0)  # it reacts in the heat
    assert len(asked.assumed) == 3


def test_what_is_stated_goes_first_and_is_not_assumed() -> None:
    asked = handling_of(
        ink(kind="discharge-base", additive_share=0.05, pot_life_hours=6.0, cure_celsius=165.0,
            cure_seconds=150.0, additive_price_per_kg=40.0)
    )  # fmt: skip
    assert asked.assumed == ()
    assert (asked.additive_share, asked.pot_life_hours) == (0.05, 6.0)
    assert (asked.cure_celsius, asked.cure_seconds) == (165.0, 150.0)
    assert asked.additive_price_per_kg == 40.0


def test_the_parts_of_a_mixture_are_all_of_it() -> None:
    asked = handling_of(ink(kind="discharge-base"))
    assert asked.parts_g(1060.0) == pytest.approx((1000.0, 60.0))
    assert handling_of(ink()).parts_g(500.0) == (500.0, 0.0)


def test_polyester_is_cured_low_with_an_additive_but_never_hotter_than_stated() -> None:
    low = handling_of(ink(cure_celsius=163.0), low_cure=True)
    assert (low.additive, low.cure_celsius) == ("low-cure additive", 130.0)
    assert handling_of(ink(cure_celsius=120.0), low_cure=True).cure_celsius == 120.0
    assert handling_of(ink(blocks_dye=True, kind="white-base")).additive == "low-cure additive"


def test_a_print_cures_as_its_most_demanding_ink() -> None:
    inks = [ink(), ink(name="slow", cure_seconds=200.0), ink(name="hot", cure_celsius=170.0)]
    assert cure_of(inks) == (170.0, 200.0)
    assert cure_of([ink(), ink(kind="white-base", blocks_dye=True)], low_cure=True) == (130.0, 90.0)


def test_a_mixture_asks_what_its_most_demanding_part_states() -> None:
    parts = [ink(cure_celsius=150.0, pot_life_hours=12.0), ink(name="b", cure_celsius=160.0)]
    mixed = mix_inks([(each, 1.0) for each in parts], name="m")
    assert (mixed.cure_celsius, mixed.cure_seconds, mixed.pot_life_hours) == (160.0, None, 12.0)
    plain = mix_inks([(replace(each, cure_celsius=None), 1.0) for each in parts], name="m")
    assert plain.cure_celsius is None
