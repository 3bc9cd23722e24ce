"""Decide about the base: the verdict first, the routes beside it, every choice moves it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.ui.conftest import open_page, raw_html, words


def test_the_first_screen_shows_a_verdict_with_reasons() -> None:
    page = open_page("base")
    assert not page.exception
    assert "Over a white base: cannot promise — expect about ΔE00" in raw_html(page)
    assert "tolerance of 3" in words(page)
    assert re.search(r"\d+% chance within 3\. .* would help most", words(page))
    assert [each.value for each in page.header][:3] == [
        "Straight on the cloth",
        "Over a discharge base",
        "Over a white base",
    ]


@pytest.mark.parametrize(
    ("query", "said"),
    [
        # Trade facts; common practice, no source.
        ({"garment": "Flour White"}, "Straight on the cloth: cannot promise — expect"),
        ({"garment": "Coal Black"}, "Over a white base: cannot promise — expect"),
        ({"garment": "Anvil Black Sport"}, "Not possible: discharge only reaches cotton"),
    ],
)
def test_the_verdict_is_the_trade_s(query: dict[str, str], said: str) -> None:
    assert said in words(open_page("base", **query))


def test_what_nobody_stated_of_an_ink_is_said(copied_shop: Path) -> None:
    inks = copied_shop / "inks.toml"
    entry = '\n[[ink]]\nname = "Rose"\nkind = "color"\nhex = "#d8345f"\n'
    inks.write_text(inks.read_text(encoding="utf-8") + entry, encoding="utf-8")
    page = open_page("base", garment="Coal Black", ink="Rose")
    assert not page.exception
    assert "Rose: opacity assumed by kind; a film of 6 µm assumed for its look; solids" in words(
        page
    )
    assert "assumed by kind" not in words(open_page("base", garment="Coal Black", ink="Kiln Red"))


def test_a_wider_tolerance_moves_the_verdict_at_once() -> None:
    page = open_page("base", garment="Mist Gray", target="Oven Red", ink="Kiln Red")
    page.slider(key="tolerance").set_value(0.5).run()
    assert re.search("[a-z]: cannot promise — expect", words(page))
    page.slider(key="tolerance").set_value(10.0).run()
    assert re.search("[a-z]: (should land|lands) — expect", words(page))


def test_a_target_may_be_typed_as_hex_or_lab() -> None:
    for typed in ("#e8622c", "62, 48, 50"):
        page = open_page("base", target=typed)
        assert not page.exception
        assert not page.error
        assert "ΔE00" in raw_html(page)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("Regata Orange", "Regatta Orange"),  # suggests the near name
        ("#12345", "is not a color"),
        ("120, 0, 0", "out of range"),
        ("<script>alert(1)</script>", "target color"),
    ],
)
def test_a_bad_target_gets_one_sentence(typed: str, said: str) -> None:
    page = open_page("base", target=typed)
    assert not page.exception
    assert len(page.error) == 1
    assert said in words(page)
    assert "<script>" not in page.error[0].value


def test_the_light_changes_the_numbers() -> None:
    booth, lamp = (open_page("base", light=light) for light in ("Print booth", "Home lamp"))
    assert raw_html(booth) != raw_html(lamp)
    assert "Seen under 'Home lamp', A/10°." in words(lamp)  # with the verdict
    assert "Seen under" not in words(booth)
