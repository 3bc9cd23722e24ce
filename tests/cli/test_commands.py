"""The command line: the documented JSON, exit codes, and one clear sentence for bad input."""

from __future__ import annotations

import json
import shutil
import struct
import subprocess
import sys
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from inksim.cli.commands import main
from inksim.shop.load import demo_shop_folder

BLACK = ["--garment", "Coal Black", "--ink", "Lantern Orange"]


def run(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


def answer(*words: str) -> Any:
    result = run(*words, "--json")
    assert result.exit_code in (0, 1), result.stderr
    return json.loads(result.stdout)


@pytest.fixture
def own_shop(tmp_path: Path) -> Path:
    """A copy of the demo shop that a test may spoil."""
    copy = tmp_path / "own"
    copy.mkdir()
    for file in demo_shop_folder().glob("*.toml"):
        shutil.copy(file, copy)
    return copy


@pytest.fixture
def two_circles(tmp_path: Path) -> Path:
    """A small flat artwork: orange and teal on nothing."""
    pixels = np.zeros((120, 100, 4), dtype=np.uint8)
    pixels[10:60, 10:90] = (0xE8, 0x62, 0x2C, 255)
    pixels[60:110, 10:90] = (0x0F, 0x5C, 0x63, 255)
    path = tmp_path / "two.png"
    Image.fromarray(pixels).save(path, dpi=(300, 300))
    return path


def test_shop_lists_what_the_documentation_promises() -> None:
    shop = answer("shop")
    assert {"name", "kind", "lab"} <= set(shop["inks"][0])
    assert {"name", "lab", "cotton", "discharge_grade"} <= set(shop["garments"][0])
    assert len(shop["inks"]) >= 10
    assert len(shop["garments"]) == 14
    assert len(shop["screens"]) == 9
    counts = [s["threads_per_inch"] for s in shop["screens"]]
    assert min(counts) == pytest.approx(110)
    assert max(counts) == pytest.approx(330)


def test_predict_leaves_a_discharge_out_where_advise_refuses_it() -> None:
    words = ("--garment", "Anvil Black Sport", "--ink", "Kiln Red")
    done = run("predict", *words, "--json")
    routes = [each["route"] for each in json.loads(done.stdout)["predictions"]]
    assert routes == ["straight", "white-base"]
    assert "note: no discharge base here: discharge only reaches cotton" in done.stderr


def test_predict_keeps_its_keys() -> None:
    document = answer(
        "predict", *BLACK, "--target", "#e8622c", "--light", "D65", "--observer", "10"
    )
    assert document["conditions"] == {"light": "D65", "observer": 10}
    routes = [p["route"] for p in document["predictions"]]
    assert routes == ["straight", "discharge-base", "white-base"]
    for prediction in document["predictions"]:
        assert set(prediction) >= {
            "route", "garment", "ink", "screen", "passes", "lab", "hex", "in_srgb_gamut",
            "delta_e", "contrast_ratio", "film_um", "data",
        }  # fmt: skip
        assert set(prediction["delta_e"]) == {"ciede2000", "cmc_2_1"}
        low, high = prediction["interval_90"]["ciede2000"]
        assert 0 <= low <= high


def test_predict_without_a_target_has_no_distance() -> None:
    for prediction in answer("predict", *BLACK)["predictions"]:
        assert prediction["delta_e"] == {"ciede2000": None, "cmc_2_1": None}


def test_predict_takes_every_part_of_a_build() -> None:
    words = ["--route", "white-base", "--screen", "305", "--passes", "2", "--base-screen", "140"]
    (wet,) = answer("predict", *BLACK, *words, "--no-flash")["predictions"]
    (dry,) = answer("predict", *BLACK, *words, "--flash")["predictions"]
    assert (wet["screen"], wet["passes"], wet["base"]["screen"]) == ("305", 2, "140")
    assert (wet["base"]["flash"], dry["base"]["flash"]) == (False, True)
    # A base printed over wet tints the color (common practice, no source).
    assert wet["lab"] != dry["lab"]


def test_advice_differs_between_a_white_and_a_black_shirt() -> None:
    aim = ["--ink", "Lantern Orange", "--target", "#e8622c"]
    white = answer("advise", "--garment", "Flour White", *aim)
    black = answer("advise", "--garment", "Coal Black", *aim)
    assert (white["route"], black["route"]) == ("straight", "white-base")
    for advice in (white, black):
        chosen = next(r for r in advice["routes"] if r["route"] == advice["route"])
        words = ("word", "chance", "median_de00", "low", "high")
        assert all(chosen["verdict"][each] == advice["verdict"][each] for each in words)
    assert len(black["reasons"]) >= 2
    assert [r["route"] for r in black["routes"]] == ["straight", "discharge-base", "white-base"]


def test_exit_code_one_when_nothing_reaches_the_tolerance() -> None:
    result = run("advise", *BLACK, "--target", "#2050c0")
    assert result.exit_code == 1
    assert "cannot promise" in result.stdout
    assert "is nominally inside the tolerance" in result.stdout
    advice = answer("advise", *BLACK, "--target", "#2050c0")
    assert advice["nominal"] is False
    assert advice["verdict"]["word"] == "cannot promise"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["predict", "--garment", "Cole Black", "--ink", "Kiln Red"], "did you mean 'Coal Black'"),
        (["predict", "--garment", "Coal Black", "--ink", "Kiln Rad"], "did you mean 'Kiln Red'"),
        (["predict", *BLACK, "--target", "120,0,0"], "L is 0 to 100"),
        (["predict", *BLACK, "--target", "#12345"], "#rrggbb"),
        (["predict", *BLACK, "--target", "no such color"], "target color"),
        (["predict", *BLACK, "--screen", "77"], "screen"),
        (
            [
                "predict",
                "--garment",
                "Anvil Black Sport",
                "--ink",
                "Kiln Red",
                "--route",
                "discharge-base",
            ],
            "discharge only reaches cotton and other cellulose; 'Anvil Black Sport' has 0% of it",
        ),
        (["predict", *BLACK, "--screen", "330"], "not through screen '330'"),
        (["predict", *BLACK, "--light", "moon"], "D65"),
        (["advise", *BLACK, "--target", "#e8622c", "--tolerance", "-1"], "tolerance"),
        (["advise", *BLACK, "--target", "#e8622c", "--tolerance", "nan"], "tolerance"),
        (["predict", *BLACK, "--shop", "/nowhere/at/all"], "no shop folder"),
    ],
)
def test_bad_words_get_one_sentence(words: list[str], said: str) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stdout == ""
    assert "Traceback" not in result.stderr


def test_every_fault_of_a_shop_is_listed(own_shop: Path) -> None:
    inks = own_shop / "inks.toml"
    text = inks.read_text(encoding="utf-8")
    text = text.replace("solids_by_volume = 0.34", "solids_by_volume = 3.4", 1)
    inks.write_text(text.replace("density_g_cm3 = 1.08", "density = 1.08", 1), encoding="utf-8")
    screens = own_shop / "screens.toml"
    text = screens.read_text(encoding="utf-8")
    screens.write_text(text.replace("thread_um = 80", "thread_um = -80"), encoding="utf-8")
    result = run("shop", "--shop", str(own_shop))
    assert result.exit_code == 2
    for fault in (
        "inks.toml, ink 'Lantern Orange', solids_by_volume",
        "inks.toml, ink 'Lantern Orange', density",
        "screens.toml, screen '110', thread_um",
    ):
        assert fault in result.stderr


def test_preview_writes_three_routes_and_a_sheet(two_circles: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    document = answer("preview", str(two_circles), "--garment", "Coal Black", "--out", str(out))
    assert [c["ink"] for c in document["colors"]] == ["Lantern Orange", "Weir Teal"]
    files = [Path(r["file"]) for r in document["routes"]] + [Path(document["sheet"])]
    assert sorted(files) == sorted(out.iterdir())
    for route in document["routes"]:
        with Image.open(route["file"]) as picture:
            assert (picture.format, picture.size, picture.mode) == ("PNG", (100, 120), "RGB")


def test_preview_obeys_a_mapping(two_circles: Path, tmp_path: Path) -> None:
    mapping = tmp_path / "map.toml"
    mapping.write_text('"#e8622c" = "Kiln Red"\n"#0f5c63" = "none"\n', encoding="utf-8")
    words = ["--garment", "Flour White", "--out", str(tmp_path / "o"), "--mapping", str(mapping)]
    document = answer("preview", str(two_circles), *words)
    assert [c["ink"] for c in document["colors"]] == ["Kiln Red", None]
    # The color that is left out is bare cloth in the picture.
    with Image.open(document["routes"][0]["file"]) as picture:
        pixels = np.asarray(picture, dtype=float)
    bare, left_out = pixels[:8].mean(axis=(0, 1)), pixels[70:100, 20:80].mean(axis=(0, 1))
    assert np.abs(bare - left_out).max() < 6


def header_of(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds nothing."""
    ihdr = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    check = struct.pack(">I", zlib.crc32(b"IHDR" + ihdr))
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR" + ihdr + check


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.png", b""),
        ("not-a-picture.png", b"these are words, not pixels"),
        ("huge.png", header_of(30_000, 30_000)),
        ("cut.png", header_of(64, 64)),
    ],
)
def test_a_bad_picture_is_one_sentence_and_nothing_is_written(
    name: str, content: bytes, tmp_path: Path
) -> None:
    (tmp_path / name).write_bytes(content)
    out = tmp_path / "out"
    result = run("preview", str(tmp_path / name), "--garment", "Coal Black", "--out", str(out))
    assert result.exit_code == 2
    assert name in result.stderr
    assert "Traceback" not in result.stderr
    assert not out.exists()


def test_a_missing_picture_is_one_sentence(tmp_path: Path) -> None:
    result = run("preview", str(tmp_path / "gone.png"), "--garment", "Coal Black")
    assert result.exit_code == 2
    assert "gone.png" in result.stderr


def test_the_demo_decides_draws_and_says_where(tmp_path: Path) -> None:
    result = run("demo", "--out", str(tmp_path))
    assert result.exit_code == 0, result.stderr
    assert "What may each color be promised, within ΔE00 3" in result.stdout
    assert "inksim app" in result.stdout
    assert len(list(tmp_path.glob("*--sheet.png"))) == 2
    assert str(tmp_path) in result.stdout


def test_the_command_runs_as_a_program() -> None:
    program = [sys.executable, "-m", "inksim.cli", "predict", *BLACK, "--json"]
    done = subprocess.run(program, capture_output=True, text=True, check=True, timeout=120)
    assert done.stderr == ""
    assert len(json.loads(done.stdout)["predictions"]) == 3


def test_a_folder_for_results_that_is_a_file_is_told_before_the_work(
    two_circles: Path, tmp_path: Path
) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    for out in (tmp_path / "notes.txt", tmp_path / "notes.txt" / "deeper"):
        result = run("preview", str(two_circles), "--garment", "Coal Black", "--out", str(out))
        assert result.exit_code == 2
        assert result.stderr == (
            f"inksim: '{tmp_path / 'notes.txt'}' is a file; name a folder for --out.\n"
        )


def test_lights_are_named_in_any_case_and_an_empty_target_is_none() -> None:
    words = ("predict", *BLACK)
    assert "F7/2°" in run(*words, "--light", "f7").stdout
    empty = run(*words, "--target", "")
    assert (empty.exit_code, "no target color ''" in empty.stderr) == (2, True)
