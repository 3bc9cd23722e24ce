"""The prints worth reading: of what the shop has, and read back once they are filled in."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from inksim import prints_to_read as module
from inksim.calibrate_shop import calibrate_shop
from inksim.errors import InputError
from inksim.print_rows import read_print_rows
from inksim.prints_to_read import COLUMNS, prints_to_read, table_to_fill_in
from inksim.shop import load_shop
from inksim.trade_rules import discharge_facts
from tests.test_cli_calibrate import run

SHOP = load_shop()


def test_six_different_prints_are_proposed_by_more_than_one_route() -> None:
    builds = prints_to_read(SHOP)
    assert len({(b.garment.name, b.colour.ink.name, b.route) for b in builds}) == 6
    assert len({b.colour.ink.name for b in builds}) >= 4  # an ink that is not read stays unknown
    assert len({b.route for b in builds}) >= 2  # cloth and base are told apart by printing on both
    assert len({b.garment.name for b in builds}) >= 3
    for build in builds:
        if build.route == "discharge-base":
            assert discharge_facts(build.garment).grade >= SHOP.rules.least_discharge_grade


def test_the_table_is_read_back_once_it_is_filled_in(tmp_path: Path) -> None:
    rows = list(csv.DictReader(table_to_fill_in(SHOP).splitlines()))
    assert tuple(rows[0]) == COLUMNS
    empty = tmp_path / "empty.csv"
    empty.write_text(table_to_fill_in(SHOP), encoding="utf-8")
    with pytest.raises(InputError, match="no row has a reading yet"):
        read_print_rows(empty, shop=SHOP)
    one = rows[0] | {"L": "50", "a": "10", "b": "10"}
    lines = [",".join(COLUMNS), ",".join(one[c] for c in COLUMNS)]
    read = read_print_rows("\n".join(lines).encode(), shop=SHOP, name="filled.csv")
    (build,) = (b for b in prints_to_read(SHOP)[:1])
    assert read.rows[0].garment == build.garment.name
    assert read.rows[0].screen == build.colour.screen.name
    found = calibrate_shop(SHOP, read.rows, keep_all=True)
    assert len(found.calibration.used) == 1


def test_a_large_stock_is_thinned_and_a_small_one_gives_what_it_has(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "MOST_TO_CHOOSE_FROM", 30)
    assert len(prints_to_read(SHOP)) == 6
    lone = replace(
        SHOP,
        inks={"Kiln Red": SHOP.ink("Kiln Red")},
        garments={"Mist Gray": SHOP.garment("Mist Gray")},
    )
    assert [b.route for b in prints_to_read(lone)] == ["straight"]
    with pytest.raises(InputError, match="no color of this shop prints"):
        prints_to_read(replace(lone, inks={}))


def test_the_command_writes_the_table(tmp_path: Path) -> None:
    path = tmp_path / "to-read.csv"
    result = run("calibrate", "--to-read", path)
    assert result.exit_code == 0, result.stderr
    assert "fill in L, a and b" in result.stdout
    assert path.read_text(encoding="utf-8") == table_to_fill_in(SHOP)
    nothing = run("calibrate")
    assert nothing.exit_code == 2
    assert "--to-read" in nothing.stderr
