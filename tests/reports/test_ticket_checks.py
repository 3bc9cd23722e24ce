"""What is checked before a run: what each kind of cloth, ink and mesh asks for."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from inksim.reports.cautions import MIGRATION
from inksim.reports.ticket_checks import checks_for
from inksim.shop.load import load_shop
from inksim.stock.garment import Garment
from tests.reports.test_press_words import screen

SHOP = load_shop()
COTTON = SHOP.garment("Coal Black")
RED = screen(
    ink=SHOP.ink("Kiln Red"),
    screen=SHOP.screens["230"],
    flash=None,
    base=False,
    over=(),
    shows=(0,),
)


def checks(*screens: Any, garment: Garment = COTTON, lines: float = 0.0, sure: bool = True) -> str:
    return "\n".join(
        checks_for(
            screens or (RED,), shop=SHOP, garment=garment, lines_per_inch=lines, promised=sure
        )
    )


@pytest.mark.parametrize("share", [0.05, 0.5, 1.0])
def test_a_swatch_of_any_polyester_rests_as_long_as_its_caution_says(share: float) -> None:
    # Dye comes through hours or weeks later (common practice, no source).
    blend = replace(COTTON, fibers={"cotton": 1.0 - share, "polyester": share})
    assert "has lain warm for some days" in checks(garment=blend)
    assert "leave it warm for some days" in MIGRATION
    assert "Polyester" not in checks()


def test_a_mesh_that_is_tight_for_its_lines_is_looked_at_for_moire() -> None:
    # Comfortable from 4.5 threads a line (common practice, no source): 230 / 55 = 4.2, / 50 = 4.6.
    said = checks(lines=55.0)
    assert "below 4.5 (Kiln Red 4.2)" in said
    assert "moiré" in said
    assert "moiré" not in checks(lines=50.0)
    assert "moiré" not in checks(screen(), lines=55.0)  # a base is a solid
    assert "moiré" not in checks()


def test_a_low_cure_rests_before_its_wash_test() -> None:
    """As long as the ticket says to wait before the first wash."""
    low = replace(COTTON, fibers={"polyester": 1.0})
    assert SHOP.dye_migrates(low)
    assert "has lain 48 h and been wash-tested" in checks(garment=low)
    assert "A cured print has been wash-tested" in checks()


def test_a_flash_a_discharge_and_a_second_run_have_their_own() -> None:
    assert "flashed film is dry" in checks(screen())
    assert "flashed" not in checks()
    discharge = screen(ink=SHOP.ink("Quarry Discharge Base"), flash=False)
    for words in ("activator", "wet on wet", "swatch"):
        assert words in checks(discharge)
        assert words not in checks()
    assert "first run is cured" in checks(replace(RED, run=2))
    # Ink over a cured film adheres less (common practice, no source).
    assert "on a base that is cured" in checks(screen(), replace(RED, run=2))
    assert "on a base that is cured" not in checks(screen(over=(1,)), replace(RED, run=2))
    assert "on a base that is cured" not in checks(screen(), RED)
    assert "first run" not in checks()


def test_what_is_not_promised_is_agreed_before() -> None:
    assert "agreed" in checks(sure=False)
    assert "agreed" not in checks()
    for words in ("wash-tested", "read and written below", "stirred", "count and sizes"):
        assert words in checks()
