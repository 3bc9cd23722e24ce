"""Cautions follow what is printed: its cloth and what is mixed into its inks."""

from __future__ import annotations

import pytest

from inksim.reports.cautions import CAUTIONS, MIGRATION, POLYESTER, cautions_for
from inksim.shop.load import load_shop

SHOP = load_shop()


def test_polyester_is_warned_of_whatever_else_is_chosen() -> None:
    for name in ("Anvil Black Sport", "Ember Heather"):  # all of it, and two fifths
        said = cautions_for([SHOP.garment("Coal Black"), SHOP.garment(name)])
        assert said[0] == MIGRATION
        assert POLYESTER not in said  # said once
        assert set(CAUTIONS) - {POLYESTER} <= set(said)
    for word in ("days to weeks later", "swatch", "low-cure additive", "safety data sheets"):
        assert word in MIGRATION


def test_cotton_has_the_general_ones_only() -> None:
    inks = [SHOP.ink("Kiln Red"), SHOP.ink("Chalk White Base")]
    assert cautions_for([SHOP.garment("Coal Black")], inks) == CAUTIONS


def test_a_discharge_says_its_activator_pot_life_and_cure_once() -> None:
    base = SHOP.ink("Quarry Discharge Base")
    said = cautions_for([SHOP.garment("Coal Black")], [base, SHOP.ink("Kiln Red"), base])
    assert said[0] == (
        "Quarry Discharge Base: discharge activator, 6% by weight; the mixture keeps about 8 h. "
        "The whole film reaches 160 °C (320 °F) for 120 s."
    )
    assert said[1:] == CAUTIONS


def test_what_nobody_stated_is_said_to_be_assumed() -> None:
    said = cautions_for([SHOP.garment("Anvil Black Sport")], [SHOP.ink("Kiln Red")], low_cure=True)
    assert "Kiln Red: low-cure additive, 3% by weight" in said[1]
    assert "130 °C (266 °F)" in said[1]
    assert "assumed; the maker's data sheet goes first" in said[1]


def test_inks_that_ask_the_same_are_named_in_one_caution() -> None:
    inks = [SHOP.ink("Kiln Red"), SHOP.ink("Weir Teal"), SHOP.ink("Kiln Red")]
    said = cautions_for([SHOP.garment("Anvil Black Sport")], inks, low_cure=True)
    assert said[1].startswith("Kiln Red, Weir Teal: low-cure additive, 3% by weight")
    assert sum("low-cure additive, 3%" in each for each in said) == 1


@pytest.mark.parametrize(
    "words",
    [
        # what hurts somebody or spoils a run in a print room (common practice, no source)
        ("safety data sheet", "local rules"),
        ("formaldehyde", "sulfur", "ventilate", "gloves", "eye protection", "baby wear"),
        ("Dryers", "flashes", "burn", "ignite", "smoke", "extraction"),
        ("Undercured", "wash-test"),
        ("Polyester", "migrate"),
    ],
)
def test_nothing_that_can_hurt_somebody_is_left_unsaid(words: tuple[str, ...]) -> None:
    said = cautions_for([SHOP.garment("Coal Black")], [SHOP.ink("Kiln Red")])
    assert any(all(word in caution for word in words) for caution in said), words
