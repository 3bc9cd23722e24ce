"""Costs, habits and rules on the page: shown in words, changed, taken back, refused."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from inksim.shop.load import load_shop
from inksim.shop.schema import CostsEntry, HabitsEntry, RulesEntry, StationsEntry
from inksim.shop.words import numbers_asked
from tests.ui.conftest import open_page, words
from tests.ui.test_shop import field, press


def test_every_number_of_a_file_has_words() -> None:
    """A number that is added to a file is asked for on the page too."""
    for entry, others in (
        (CostsEntry, {"source", "bucket_g"}),
        (HabitsEntry, {"source"}),
        (StationsEntry, {"source"}),
        (RulesEntry, {"source", "not_kept"}),
    ):
        assert set(numbers_asked(entry)) == set(entry.model_fields) - others


def test_a_cost_is_changed_and_one_is_forgotten(copied_shop: Path) -> None:
    before = (copied_shop / "costs.toml").read_text(encoding="utf-8")
    page = open_page("shop")
    field(page, "Labor").set_value("31")
    field(page, "Energy").set_value("")
    field(page, "Spoiled prints", kind="number_input").set_value(7.5)
    field(page, "Where these come from", at=2).set_value("books of March")
    page = press(page, "Save the costs")
    assert not page.exception
    assert not page.error
    made = load_shop(copied_shop).costs
    assert (made.labor_per_hour, made.energy_per_kwh, made.waste_share) == (31.0, None, 0.075)
    assert re.fullmatch(r"books of March; \d{4}-\d\d-\d\d", made.source)
    assert "books of March" in words(page)
    # what was not changed stays as it was written, with its comment
    assert "setup_minutes_per_screen = 12    # registering" in (
        copied_shop / "costs.toml"
    ).read_text(encoding="utf-8")
    undo = page.button(key="shop-undo")
    assert undo.label.replace("\\", "") == (
        "Undo: Labor: 28 USD/h, Energy: 0.18 USD/kWh, 1 more value again"
    )
    page = undo.click().run()
    assert (copied_shop / "costs.toml").read_text(encoding="utf-8") == before


def test_the_stations_of_the_press_are_changed(copied_shop: Path) -> None:
    page = open_page("shop")
    field(page, "Stations for screens", kind="number_input").set_value(12)
    field(page, "Flash units", kind="number_input").set_value(0)
    page = press(page, "Save the stations")
    assert not page.error
    made = load_shop(copied_shop).stations
    assert (made.stations, made.flashes, made.flash_takes_station) == (12, 0, True)
    assert load_shop(copied_shop).habits == load_shop(None).habits


def test_a_habit_and_a_rule_are_changed(copied_shop: Path) -> None:
    page = open_page("shop")
    field(page, "Passes straight on the cloth", kind="number_input").set_value(1)
    page = press(page, "Save the habits")
    assert not page.error
    assert load_shop(copied_shop).habits.straight_passes == 1
    assert load_shop(copied_shop).habits.source.startswith("entered by hand; 20")
    field(page, "Rules that this shop", kind="multiselect").select("dye discharges")
    page = press(page, "Save the rules")
    assert not page.error
    assert load_shop(copied_shop).rules.not_kept == ["dye discharges"]
    assert "✕ no" in words(page)


def test_a_fault_is_said_and_nothing_is_written(copied_shop: Path) -> None:
    before = (copied_shop / "rules.toml").read_bytes()
    page = open_page("shop")
    field(page, "Coarsest mesh on bare cloth", kind="number_input").set_value(900.0)
    page = press(page, "Save the rules")
    assert len(page.error) == 1
    assert "above the finest" in words(page)
    page = open_page("shop")
    field(page, "Labor").set_value("a lot")
    page = press(page, "Save the costs")
    assert "Labor is 'a lot'" in words(page)
    assert (copied_shop / "rules.toml").read_bytes() == before


def test_an_edit_made_elsewhere_is_not_overwritten(copied_shop: Path) -> None:
    page = open_page("shop")
    field(page, "Labor").set_value("31")
    file = copied_shop / "costs.toml"
    theirs = file.read_text(encoding="utf-8").replace("labor_per_hour = 28.0", "labor_per_hour = 9")
    file.write_text(theirs, encoding="utf-8")
    page = press(page, "Save the costs")
    assert "changed by somebody else" in words(page)
    assert file.read_text(encoding="utf-8") == theirs


def test_nothing_changed_is_nothing_written(copied_shop: Path) -> None:
    page = press(open_page("shop"), "Save the costs")
    assert not page.error
    assert "source" not in tomllib.loads((copied_shop / "costs.toml").read_text(encoding="utf-8"))


def test_a_host_may_switch_these_off_too(copied_shop: Path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setenv("INKSIM_READ_ONLY", "1")
    page = open_page("shop")
    assert not [each for each in page.button if each.label.startswith(("Save", "Store", "Go back"))]
