"""`inksim palette`: the map, its files, what is reachable, and one sentence for what is wrong."""

from __future__ import annotations

import csv
import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from inksim.cli.commands import main
from inksim.colour.srgb import rgb8_from_hex

TWO = ["--garments", "Coal Black, Flour White"]
COLOURS = ["--palette", "Regatta Orange; #0f5c63; 27,30,-23"]


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["palette", *map(str, words)])


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    result = run(*TWO, *COLOURS, "--json", "--gamut")
    assert result.exit_code == 0, result.stderr
    return dict(json.loads(result.stdout))


def test_every_color_on_every_garment(document: dict[str, Any]) -> None:
    # the shirt on which more may be expected to land stands first: white (common practice)
    assert [g["garment"] for g in document["garments"]] == ["Flour White", "Coal Black"]
    assert document["serves_most"] == "Flour White"
    for garment in document["garments"]:
        assert [c["target"] for c in garment["colors"]] == [
            "Regatta Orange", "#0f5c63", "Lab 27,30,-23"
        ]  # fmt: skip
        promised = [c for c in garment["colors"] if c["verdict"]["word"] != "cannot promise"]
        assert garment["promised"] == len(promised)
        assert garment["promised_without_base"] == sum(c["route"] == "straight" for c in promised)
        assert garment["nominal"] == sum(c["nominal"] for c in garment["colors"])
        chances = [c["verdict"]["chance"] for c in garment["colors"]]
        assert garment["expected_to_land"] == pytest.approx(sum(chances), abs=0.006)
        for colour in garment["colors"]:
            low, high = colour["interval_90"]["ciede2000"]
            assert low < high
            assert colour["nominal"] or colour["nominal_de00"] > 3.0
            assert low <= colour["verdict"]["median_de00"] <= high
            assert colour["data"] == "invented"
    white, black = document["garments"]
    # the purple too in the trade; here a base adds 25 points to it: a film on cloth is less even
    assert [c["route"] for c in white["colors"][:2]] == ["straight", "straight"]
    assert all(c["route"] != "straight" for c in black["colors"])


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="Poppler reads the sheet back")
def test_the_sheet_says_what_the_command_says(tmp_path: Path) -> None:
    file = tmp_path / "new" / "palette.pdf"
    result = run("--garments", "Flour White", "--palette", "Oven Red;Moss", "--pdf", file)
    assert f"written: {file}" in result.stdout
    words = subprocess.run(
        ["pdftotext", "-raw", str(file), "-"], capture_output=True, text=True, check=True
    ).stdout
    flat = " ".join(words.split())
    assert result.stdout.splitlines()[0] in flat
    assert "Palette given on the stock of Millrace Print Room" in flat
    assert "Oven Red" in flat
    # how to read it, and the olive: a green with some red in it, of which no ink is made
    assert flat.count("◇ only a mixture") == 2


def test_what_is_reachable(document: dict[str, Any]) -> None:
    for garment in document["garments"]:
        assert garment["gamut"]["volume_lab3"] > 100_000
        for colour in garment["colors"]:
            if colour["nominal_de00"] < 0.5:
                assert garment["gamut"]["outside_lab"][colour["target"]] < 1.0


def test_the_text_says_who_serves_and_who_survives() -> None:
    result = run(*TWO, *COLOURS)
    assert result.exit_code == 0
    # the demo's inks are invented: nothing can be promised within 3, a wide tolerance is
    assert result.stdout.startswith("No color can be promised within ΔE00 3 on any of these")
    assert "On Flour White 3 of 3 are nominally inside it" in result.stdout
    assert "In reach on none: none." in result.stdout
    assert "●" in result.stdout
    assert "◐" in result.stdout
    assert "invented" in result.stdout
    wide = run(*TWO, *COLOURS, "--tolerance", "20").stdout
    assert wide.startswith("Flour White serves the palette best: 3 of 3 colors land or should")
    assert "on every garment: Regatta Orange, #0f5c63, Lab 27,30,-23." in wide


def test_files(tmp_path: Path, document: dict[str, Any]) -> None:
    table, picture = tmp_path / "new" / "map.csv", tmp_path / "new" / "map.png"
    result = run(*TWO, *COLOURS, "--csv", table, "--png", picture)
    assert result.exit_code == 0
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    assert len(rows) == 6
    told = {(g["garment"], c["target"]): c for g in document["garments"] for c in g["colors"]}
    for row in rows:
        colour = told[row["garment"], row["color"].lstrip("'")]
        assert float(row["nominal_de00"]) == pytest.approx(colour["nominal_de00"], abs=0.006)
        assert row["verdict"] == colour["verdict"]["word"]
        assert float(row["chance"]) == pytest.approx(colour["verdict"]["chance"], abs=0.006)
        assert row["data"] == colour["data"]
        assert row["print_hex"] == colour["hex"]
    pixels = np.asarray(Image.open(picture)).reshape(-1, 3)
    seen = set(map(tuple, np.unique(pixels, axis=0).tolist()))
    for colour in told.values():
        assert tuple(rgb8_from_hex(colour["hex"]).tolist()) in seen  # true swatches


def test_a_file_of_colors(tmp_path: Path) -> None:
    file = tmp_path / "colors.csv"
    file.write_text("name,hex\nCrest,#e8622c\nReed,#0f5c63\n", encoding="utf-8")
    result = run("--garments", "Flour White", "--palette", file, "--json")
    assert result.exit_code == 0
    (garment,) = json.loads(result.stdout)["garments"]
    assert [c["target"] for c in garment["colors"]] == ["Crest", "Reed"]


def test_a_color_that_lands_nowhere_exits_with_1() -> None:
    result = run("--garments", "Flour White", "--palette", "#00ff00")
    assert result.exit_code == 1
    assert "In reach on none: #00ff00." in result.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--garments", "Cole Black"], "did you mean 'Coal Black'"),
        (["--garments", " , "], "--garments is empty"),
        (["--palette", ";"], "--palette is empty"),
        (["--palette", "lost.csv"], "there is no file 'lost.csv'"),
        (["--palette", "Regata Orange"], "Regatta Orange"),
        (["--palette", "#12345", "--garments", "Coal Black"], "#rrggbb"),
        (["--tolerance", "0", "--garments", "Coal Black"], "above 0"),
    ],
)
def test_bad_input_is_one_sentence(words: list[str], said: str) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stdout == ""


def test_no_garment_is_best_where_nothing_lands() -> None:
    result = CliRunner().invoke(
        main, ["palette", "--palette", "#00ff00", "--garments", "Coal Black"]
    )
    assert result.exit_code == 1
    assert result.stdout.startswith("No color of the palette is in reach within ΔE00 3")


def test_a_table_names_colors_of_the_shop_beside_codes_and_lab(tmp_path: Path) -> None:
    table = tmp_path / "colors.csv"
    table.write_text("name,color\nOven Red\nFog,#cccccc\nMoss,46,58,39\n", encoding="utf-8")
    words = ("--garments", "Flour White", "--json")
    read = json.loads(run("--palette", table, *words).stdout)
    by_list = json.loads(run("--palette", "Oven Red; #cccccc; 46,58,39", *words).stdout)
    cells, listed = (each["garments"][0]["colors"] for each in (read, by_list))
    assert [c["target"] for c in cells] == ["Oven Red", "Fog", "Moss"]
    assert [c["nominal_de00"] for c in cells] == [c["nominal_de00"] for c in listed]
    table.write_text("name,color\nOven Rad\nFog,#cccccc\n", encoding="utf-8")
    wrong = run("--palette", table)
    assert wrong.exit_code == 2
    assert "did you mean 'Oven Red'" in wrong.stderr
