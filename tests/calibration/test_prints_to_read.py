"""The prints worth reading: of what the shop has, and read back once they are filled in."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from inksim.calibration import prints_to_read as module
from inksim.calibration.press_to_shop import calibrate_shop
from inksim.calibration.print_rows import read_print_rows, reading_of
from inksim.calibration.prints_to_read import (
    COLUMNS,
    prints_to_read,
    spread_out,
    table_to_fill_in,
)
from inksim.colour.viewing import Viewing, lab
from inksim.common import MADE_BY
from inksim.common.errors import InputError
from inksim.decision.discharge import discharge_facts
from inksim.printing.swatches import swatch
from inksim.shop.load import load_shop
from tests.cli.test_calibrate import run

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
    said, *table = table_to_fill_in(SHOP).splitlines()
    assert said.startswith("# INVENTED")  # the demo shop's; passed over below
    rows = list(csv.DictReader(table))
    assert tuple(rows[0]) == (*COLUMNS, MADE_BY)
    empty = tmp_path / "empty.csv"
    empty.write_text(table_to_fill_in(SHOP), encoding="utf-8")
    with pytest.raises(InputError, match="no row has a reading yet"):
        read_print_rows(empty, shop=SHOP)
    builds = prints_to_read(SHOP)
    printed = lab(swatch(builds, press=SHOP.press.before), Viewing())
    lines = [",".join(COLUMNS)]
    for row, colour in zip(rows, printed.tolist(), strict=True):
        full = row | {name: f"{value:.2f}" for name, value in zip("Lab", colour, strict=True)}
        lines.append(",".join(full[column] for column in COLUMNS))
    read = read_print_rows("\n".join(lines).encode(), shop=SHOP, name="filled.csv")
    # by the column names, every print of the table is the build that was meant, base and all
    for row, build in zip(read.rows, builds, strict=True):
        made = reading_of(row, shop=SHOP).build
        assert (made.garment, made.route, made.layers) == (
            build.garment,
            build.route,
            build.layers,
        )
    found = calibrate_shop(SHOP, read.rows)
    assert len(found.calibration.used) == 6


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
    with pytest.raises(InputError, match=r"no color .* \(0 colors, 1 garment, 9 screens\); add"):
        prints_to_read(replace(lone, inks={}))


@pytest.mark.parametrize("period", [2, 3, 10, 20, 38])
@pytest.mark.parametrize("count", [401, 798, 799, 800, 4000, 15_200])
def test_what_is_taken_of_a_large_stock_is_in_step_with_none_of_its_routes_or_inks(
    count: int, period: int
) -> None:
    taken = spread_out(count, most=400)
    assert len(set(taken)) == 400
    assert 0 <= min(taken) <= max(taken) < count
    # each ink and route, which come every so many builds, has its share, give or take half of it
    shares = np.bincount(np.array(taken) % period, minlength=period) * period / 400
    assert shares.min() > 0.5
    assert shares.max() < 1.5
    assert spread_out(period, most=400) == list(range(period))


def test_the_command_writes_the_table(tmp_path: Path) -> None:
    path = tmp_path / "to-read.csv"
    result = run("calibrate", "--to-read", path)
    assert result.exit_code == 0, result.stderr
    assert "fill in L, a and b" in result.stdout
    other = tmp_path / "other.csv"
    told = run("calibrate", "--to-read", other, "--json")
    assert json.loads(told.stdout)["written"] == str(other)
    assert path.read_text(encoding="utf-8") == table_to_fill_in(SHOP)
    nothing = run("calibrate")
    assert nothing.exit_code == 2
    assert "--to-read" in nothing.stderr


def test_a_table_that_may_be_filled_in_is_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "to-read.csv"
    path.write_text("hours of work", encoding="utf-8")
    result = run("calibrate", "--to-read", path)
    assert result.exit_code == 2
    assert "may have readings filled in" in result.stderr
    assert path.read_text(encoding="utf-8") == "hours of work"
    both = run("calibrate", path, "--to-read", tmp_path / "other.csv", "--dry-run")
    assert both.exit_code == 2
    assert "leave out READINGS, --dry-run." in both.stderr
    assert not (tmp_path / "other.csv").exists()
