"""docs/readings.md is true: its tables are read and its commands run."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from inksim.cli.commands import main
from inksim.drawdowns.files import read_drawdowns
from inksim.readings.read import read_readings
from inksim.shop.load import load_shop

PAGE = (Path(__file__).parents[2] / "docs" / "readings.md").read_text(encoding="utf-8")
TABLES = re.findall(r"^```csv\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)
COMMANDS = re.findall(r"^```sh\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    names = ("cloths.csv", "long.csv", "photo.csv", "drawdowns.csv")
    for name, table in zip(names, TABLES, strict=True):
        Path(name).write_text(table, encoding="utf-8")
    return tmp_path


def test_both_ways_of_writing_a_table_give_the_same_reading(folder: Path) -> None:
    wide, long = read_readings("cloths.csv"), read_readings("long.csv")
    assert [reading.name for reading in wide] == ["fern", "raw"]
    np.testing.assert_allclose(wide[0].reflectance, long[0].reflectance, atol=1e-12)


def test_the_sheet_of_drawdowns_is_one(folder: Path) -> None:
    found = read_drawdowns([Path("drawdowns.csv")])
    assert found.inks == ("Ember", "Chalk")
    assert len(found.films) == 6
    assert set(found.cards) == {"black", "white"}
    assert {film.thickness_um for film in found.films} == {12.0}


def test_the_commands_run_and_do_what_the_page_says(folder: Path) -> None:
    for line in "".join(COMMANDS).splitlines():
        words = shlex.split(line)
        assert words[0] == "inksim"
        result = CliRunner().invoke(main, words[1:])
        assert result.exit_code == 0, f"{line}\n{result.stderr}"
    shop = load_shop(folder / "mill-lane")
    assert shop.name == "Mill Lane"
    assert shop.garment("Fern Tee").data == "measured"
    assert "Brick" in shop.targets
    assert "Rose" not in shop.inks  # taken back
    assert shop.ink("Ember").data == "measured"
    assert (shop.garment("Sage Tee").data, shop.ink("Brick").data) == ("photo", "photo")
    assert "Chalk" not in shop.inks
    assert (folder / "mill-lane" / "charts" / "ember.svg").is_file()
