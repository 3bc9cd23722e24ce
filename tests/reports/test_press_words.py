"""A press screen in words: what comes after it, how often it goes, what it is for."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from inksim.job.press_screens import PressScreen
from inksim.reports.press_words import for_words, goes_words, screen_words, then_words
from inksim.shop.load import load_shop

SHOP = load_shop()


def screen(**more: Any) -> PressScreen:
    given: dict[str, Any] = {
        "number": 1, "run": 1, "ink": SHOP.ink("Chalk White Base"), "screen": SHOP.screens["110"],
        "goes": (1,), "flash": True, "base": True, "over": (0,), "shows": (), "area_cm2": 100.0,
        "print_g": 1.0, "run_g": 100.0, "choke_mm": 0.4,
    }  # fmt: skip
    return PressScreen(**(given | more))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"flash": True}, "flash"),
        # a discharge works with the steam of its own water: never flashed (common practice)
        ({"flash": False}, "wet on wet"),
        ({"flash": None}, ""),
        ({"goes": (1, 1)}, ""),
    ],
)
def test_what_comes_after_a_screen(more: dict[str, Any], said: str) -> None:
    each = screen(**more)
    assert then_words(each) == said
    row = screen_words(each, ["red"])
    assert [word for word in ("flash (", "wet on wet (") if word in row] == (
        [f"{said} ("] if said else []
    )


def test_strokes_and_what_it_is_for() -> None:
    assert goes_words(screen(goes=(2,))) == "×2"
    assert goes_words(screen(goes=(1, 1))) == "×1, flash, ×1"
    names = ["red", "white"]
    assert for_words(screen(over=(0,), shows=(1,)), names) == "base of red; color white"
    assert for_words(screen(over=(0, 1)), names) == "base of all colors"
    assert for_words(replace(screen(), over=(), shows=(0,)), names) == "red"
