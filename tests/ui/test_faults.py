"""A shop that cannot be opened: its faults as a list, on every page, without a traceback."""

from __future__ import annotations

from pathlib import Path

import pytest

from inksim.launch import SHOP_VARIABLE
from tests.ui.conftest import open_page, words

PAGES = ["client", "base", "palette"]


@pytest.mark.parametrize("name", PAGES)
def test_all_faults_of_the_shop_are_listed(copied_shop: Path, name: str) -> None:
    inks = copied_shop / "inks.toml"
    inks.write_text(inks.read_text().replace("\nsolids_by_volume", "\nsolid_by_volume", 1))
    garments = copied_shop / "garments.toml"
    garments.write_text(
        garments.read_text().replace("discharge_grade = 5", "discharge_grade = 9", 1)
    )
    page = open_page(name)
    assert not page.exception
    assert "faults" in page.error[0].value
    said = words(page)
    assert "inks.toml" in said
    assert "solid_by_volume" in said
    assert "garments.toml" in said
    assert "discharge_grade" in said


@pytest.mark.parametrize("name", PAGES)
def test_a_missing_folder_is_said(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(SHOP_VARIABLE, "/no/such/shop")
    page = open_page(name)
    assert not page.exception
    assert "there is no shop folder" in words(page)


@pytest.mark.parametrize("name", PAGES)
def test_an_edit_made_elsewhere_is_noticed(copied_shop: Path, name: str) -> None:
    page = open_page(name)
    assert "Twelve-arm automatic" not in words(page)
    press = copied_shop / "press.toml"
    press.write_text(press.read_text().replace("Six-arm manual", "Twelve-arm automatic"))
    assert "Twelve-arm automatic" in words(page.run())


def test_a_shop_without_a_color_ink_is_told_what_to_add(copied_shop: Path) -> None:
    inks = copied_shop / "inks.toml"
    inks.write_text(inks.read_text().replace('kind = "color"', 'kind = "clear-base"'))
    page = open_page("palette")
    assert not page.exception
    assert "ink of kind 'color'" in words(page)


@pytest.mark.parametrize("name", ["client", "base", "palette"])
def test_every_prediction_says_what_its_data_are_good_for(name: str) -> None:
    """The demo shop is invented: nothing it predicts is a promise."""
    assert "invented: good for ranking only" in words(open_page(name))
