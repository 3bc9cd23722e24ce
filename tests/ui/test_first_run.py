"""An empty shop filled in three steps, and the demo looked at beside it, apart from it."""

from __future__ import annotations

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from inksim.launch import SHOP_VARIABLE
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from tests.ui.conftest import open_page, raw_html, words


@pytest.fixture
def empty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = new_shop(tmp_path / "own", name="Mill Lane Prints", empty=True)
    monkeypatch.setenv(SHOP_VARIABLE, str(folder))
    return folder


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.glob("*.toml")}


def click(page: AppTest, key: str) -> AppTest:
    page = page.button(key=key).click().run()
    assert not page.exception
    return page


def type_colour(page: AppTest, key: str, code: str) -> None:
    page.text_input(key=f"{key} color").set_value(code)


def test_two_hex_codes_fill_a_shop_and_what_is_assumed_is_said(empty: Path) -> None:
    page = open_page("base")
    assert "has no screens yet; add one with 'inksim add screen" in words(page)
    page.radio(key="first press").set_value(page.radio(key="first press").options[0])
    page = click(page, "save first press")
    shop = load_shop(empty)
    assert shop.stations.stations == 4
    assert shop.stations.source.startswith("assumed")
    assert all(screen.source.startswith("assumed") for screen in shop.screens.values())
    type_colour(page, "first ink", "#e8622c")
    page = click(page, "save first ink")
    assert "opacity assumed by kind" in words(page)
    type_colour(page, "first shirt", "#20242a")
    page = click(page, "save first shirt")
    said = words(page)
    assert "Your first prediction: Ink e8622c on Shirt 20242a" in said
    assert "Over a white base: cannot promise" in said  # a white, assumed too, under it
    shop = load_shop(empty)
    assert shop.ink("Ink e8622c").data == "recovered"
    assert shop.ink("Usual white, assumed").source.startswith("assumed")
    assert shop.garment("Shirt 20242a").source.endswith("; fibers assumed")
    page = click(page, "first-run-done")
    assert page.title[0].value == "Decide about the base"
    assert "Shirt 20242a" in page.pills[0].options


def test_what_is_no_color_is_said_at_its_field_and_nothing_saved(empty: Path) -> None:
    page = click(open_page("palette"), "save first press")
    before = files(empty)
    type_colour(page, "first ink", "mud")
    page = click(page, "save first ink")
    assert "'mud' is no color" in page.warning[0].value
    assert page.text_input(key="first ink color").value == "mud"
    assert files(empty) == before


def test_the_demo_is_looked_at_and_nothing_of_it_stays(empty: Path) -> None:
    page = open_page("base")
    before = files(empty)
    page = click(page, "demo-look")
    assert "nothing here is yours" in page.warning[0].value
    assert page.title[0].value == "Decide about the base"
    assert "Coal Black" in page.pills[0].options
    page.pills[0].set_value("Brick Red")
    page = click(page.run(), "demo-back")
    assert not page.warning
    assert page.title[0].value == "Your shop in three steps"
    assert "Brick Red" not in raw_html(page) + words(page)
    assert "garment" not in page.session_state
    assert files(empty) == before
    assert not (empty / "jobs").exists()


def test_what_was_chosen_in_one_s_own_shop_stands_again_after_the_demo(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(SHOP_VARIABLE, str(new_shop(tmp_path / "own")))
    page = open_page("shop")
    page.session_state["garment"] = "Brick Red"
    page = click(page, "demo-look")
    assert "garment" not in page.session_state
    assert "inksim new DIR" in words(page)  # the demo is not for changing
    page = click(page, "demo-back")
    assert page.session_state["garment"] == "Brick Red"


def test_a_host_that_switched_changes_off_shows_the_demo_but_no_steps(
    empty: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("INKSIM_READ_ONLY", "1")
    page = open_page("base")
    assert "has no screens yet" in words(page)
    assert "three steps" not in words(page)
    assert not [each for each in page.button if str(each.key).startswith("save")]
    assert "Coal Black" in click(page, "demo-look").pills[0].options
