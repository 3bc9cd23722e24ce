"""`inksim separate`, `inksim look` and the preview of tonal artwork, from file to file."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image, ImageCms

from inksim.cli.commands import main
from tests.small_shop import few_inks

RNG = np.random.default_rng(3)


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(each) for each in arguments])


def picture(path: Path, *, size: tuple[int, int] = (120, 90), dpi: float | None = 150.0) -> Path:
    """A smooth tonal picture with a soft edge."""
    width, height = size
    y, x = np.mgrid[0:height, 0:width]
    rgba = np.empty((height, width, 4), dtype=np.uint8)
    rgba[..., 0] = x * 255 // max(1, width - 1)
    rgba[..., 1] = y * 255 // max(1, height - 1)
    rgba[..., 2] = (128 + 100 * np.sin(x / 13) * np.cos(y / 11)).astype(np.uint8)
    rgba[..., 3] = np.clip(np.minimum(x, width - 1 - x) * 16 + 15, 0, 255)
    options = {} if dpi is None else {"dpi": (dpi, dpi)}
    Image.fromarray(rgba).save(path, **options)
    return path


@pytest.fixture(scope="module")
def art(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return picture(tmp_path_factory.mktemp("art") / "dunes.png")


# -- separate


def test_everything_chosen(art: Path, tmp_path: Path) -> None:
    done = run("separate", art, "--garment", "Coal Black", "--out", tmp_path, "--json")
    assert done.exit_code == 0, done.output
    report = json.loads(done.stdout)
    assert report["route"] == "white-base"
    assert len(report["chosen"]) == 2
    names = [plate["ink"] for plate in report["plates"]]
    assert names[0] == "Chalk White Base"
    assert 2 <= len(names) <= 7
    for file in report["files"]:
        with Image.open(file["path"]) as plate:
            assert (plate.mode, plate.size) == ("L", (120, 90))
            assert plate.info["dpi"][0] == pytest.approx(150, abs=0.1)
    with Image.open(report["picture"]) as print_:
        assert print_.size == (120, 90)
    assert Path(report["sheet"]).is_file()
    pixel_cm2 = (2.54 / 150) ** 2
    for plate in report["plates"]:
        assert plate["area_cm2"] == pytest.approx(
            plate["coverage"] * 120 * 90 * pixel_cm2, abs=0.01
        )


def test_the_print_is_hatched_where_the_report_says_out_of_reach(art: Path, tmp_path: Path) -> None:
    """Half of what is out of reach is lines, the other half the print; all else is the print."""
    done = run(
        "separate", art, "--garment", "Coal Black", "--ink", "Barley Yellow", "--out", tmp_path,
        "--json",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    report = json.loads(done.stdout)
    with Image.open(report["out_of_reach_map"]) as shown:
        assert (shown.mode, shown.size) == ("RGB", (120, 90))
        lines = np.asarray(shown)
    with Image.open(report["picture"]) as picture:
        lines = (lines != np.asarray(picture.convert("RGB"))).any(axis=-1)
    printed = np.asarray(Image.open(art))[..., 3] > 0
    share = report["tonal"]["out_of_reach"]
    assert 0.3 < share <= 1.0
    assert lines[printed].mean() == pytest.approx(share / 2, abs=0.01)
    assert not lines[~printed].any()
    assert 0 < report["tonal"]["delta_e_2000"]["mean"] < report["tonal"]["delta_e_2000"]["p95"]
    told = run(
        "separate", art, "--garment", "Coal Black", "--ink", "Barley Yellow", "--out", tmp_path
    )
    assert f"out of reach (ΔE00 over 3): {report['out_of_reach_map']}" in told.stdout
    assert f"{share:.0%}" in told.stdout


def test_everything_given(art: Path, tmp_path: Path) -> None:
    done = run(
        "separate", art, "--garment", "Flour White", "--inks", "Barley Yellow, Weir Teal",
        "--ink", "Hearth Black", "--base", "none", "--lines", "30", "--choke", "0.3", "--trap",
        "0.2", "--register", "0.4", "--format", "tiff", "--screen-dpi", "600", "--dot",
        "elliptical", "--angles", "10,40,70", "--out", tmp_path,
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    names = sorted(p.name for p in tmp_path.iterdir())
    plates = [n for n in names if "--plate-" in n]
    assert len(plates) == 6
    assert all(n.endswith(".tiff") for n in plates)
    assert "screened plate at 40° of Weir Teal" in done.stdout
    assert "chosen" not in done.stdout
    with Image.open(tmp_path / "dunes--flour-white--plate-3-hearth-black--30lpi.tiff") as dots:
        assert (dots.mode, dots.size) == ("1", (480, 360))


def test_warnings_reach_the_user(art: Path, tmp_path: Path) -> None:
    done = run(
        "separate", art, "--garment", "Coal Black", "--ink", "Oatcake Cream", "--base", "white",
        "--lines", "75", "--out", tmp_path,
    )  # fmt: skip
    assert "warning: Chalk White Base: 75 lines/inch through 200 threads/inch" in done.stdout
    assert "threads per line" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--garment", "Coal Blackk"], "did you mean 'Coal Black'"),
        (["--garment", "Coal Black", "--inks", "Barly Yellow"], "did you mean 'Barley Yellow'"),
        (["--garment", "Coal Black", "--ink", "Kiln Red,Kiln Red"], "given twice"),
        (["--garment", "Coal Black", "--ink", "Chalk White Base"], "goes under the colors"),
        (
            ["--garment", "Coal Black", "--ink", "Kiln Red,Weir Teal,Barley Yellow,Hearth Black,"
             "Orchard Green,Damson Purple,Foxglove Pink"],
            "1 to 6 inks",
        ),
        (["--garment", "Coal Black", "--lines", "nan"], "'--lines': 'nan' is not a number"),
        (["--garment", "Coal Black", "--lines", "-4"], "'--lines': -4.0 is not in the range"),
        (["--garment", "Coal Black", "--choke", "-1"], "'--choke': -1.0 is not in the range"),
        (["--garment", "Coal Black", "--trap", "50"], "the trap is 50"),
        (["--garment", "Coal Black", "--register", "9"], "register error"),
        (["--garment", "Coal Black", "--screen-dpi", "20"], "too few pixels"),
        (
            ["--garment", "Coal Black", "--ink", "Kiln Red", "--screen-dpi", "99999999"],
            "megapixels are screened",
        ),
        (["--garment", "Coal Black", "--screen-dpi", "1200", "--angles", "a,b"], "not numbers"),
        (
            ["--garment", "Coal Black", "--ink", "Kiln Red,Weir Teal", "--base", "white",
             "--screen-dpi", "600", "--angles", "22.5,52.5"],
            "no angle for Weir Teal: 3 plates need as many angles, in this order: Chalk White Base",
        ),
        (["--garment", "Coal Black", "--angles", "22.5"], "give --screen-dpi"),
        (["--garment", "Coal Black", "--dot", "elliptical"], "give --screen-dpi"),
        (["--garment", "Coal Black", "--light", "D51"], "D51"),
        (["--garment", "Coal Black", "--most-inks", "9"], "9"),
    ],
)  # fmt: skip
def test_bad_words_are_one_sentence_and_write_nothing(
    art: Path, tmp_path: Path, arguments: list[str], words: str
) -> None:
    out = tmp_path / "out"
    done = run("separate", art, *arguments, "--out", out)
    assert done.exit_code == 2
    assert words in done.stderr
    assert "Traceback" not in done.output
    assert not out.exists()


def test_bad_files_are_one_sentence(art: Path, tmp_path: Path) -> None:
    """Cut short, mislabelled, empty, absent, a folder, transparent: never a crash."""
    whole = art.read_bytes()
    clear = tmp_path / "clear.png"
    Image.new("RGBA", (9, 9)).save(clear)
    files = {
        "short.png": whole[: len(whole) // 2],
        "words.png": b"no picture at all",
        "empty.png": b"",
    }
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
    for name in (*files, "absent.png", "clear.png", "."):
        done = run("separate", tmp_path / name, "--garment", "Coal Black", "--out", tmp_path / "o")
        assert done.exit_code == 2, name
        assert done.stderr.strip().splitlines()[-1].startswith("inksim: "), name
        assert not (tmp_path / "o").exists()


@pytest.mark.parametrize("size", [(1, 1), (2000, 5), (5, 2000)])
def test_odd_sizes(tmp_path: Path, size: tuple[int, int]) -> None:
    art = picture(tmp_path / "odd.png", size=size)
    done = run(
        "separate", art, "--garment", "Coal Black", "--ink", "Kiln Red", "--choke", "0.2",
        "--register", "0.2", "--screen-dpi", "600", "--out", tmp_path / "out",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    with Image.open(tmp_path / "out" / "odd--coal-black--print.png") as print_:
        assert print_.size == size


def test_a_missing_resolution_is_said(tmp_path: Path) -> None:
    art = picture(tmp_path / "bare.png", dpi=None)
    done = run(
        "separate", art, "--garment", "Flour White", "--ink", "Kiln Red", "--out", tmp_path / "out"
    )
    assert done.exit_code == 0
    assert "300 dpi is assumed" in done.stdout


def test_a_cloth_without_discharge_data(art: Path, tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shop.mkdir()
    from inksim.shop.load import demo_shop_folder

    for file in demo_shop_folder().glob("*.toml"):
        (shop / file.name).write_bytes(file.read_bytes())
    with (shop / "garments.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[garment]]\nname = "Plain"\nfibers = { cotton = 1.0 }\nhex = "#303040"\n')
    for command in (
        ["separate", art, "--garment", "Plain", "--base", "discharge", "--out", tmp_path / "o"],
        ["look", "--garment", "Plain", "--base", "discharge", "--ink", "Kiln Red", "--out",
         tmp_path / "o.icc"],
    ):  # fmt: skip
        done = run(*command, "--shop", shop)
        assert done.exit_code == 2
        assert "no discharge data" in done.stderr


# -- look


@pytest.mark.parametrize("ending", ["icc", "cube"])
def test_a_look_is_written(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"look.{ending}"
    done = run(
        "look", "--garment", "Coal Black", "--ink", "Kiln Red", "--ink", "Weir Teal", "--base",
        "white", "--out", path,
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    assert "Kiln Red, Weir Teal over Chalk White Base on Coal Black" in done.stdout
    if ending == "icc":
        assert ImageCms.ImageCmsProfile(str(path)).profile.device_class == "mntr"
    else:
        assert "LUT_3D_SIZE 33" in path.read_text()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--ink", "Kiln Red", "--out", "x.txt"], "end its name in"),
        (["--ink", ",", "--out", "x.icc"], "at least one ink"),
        (["--out", "x.icc"], "--ink"),
        (["--ink", "Kiln Red", "--base", "auto", "--out", "x.icc"], "auto"),
    ],
)
def test_a_look_that_cannot_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], words: str
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run("look", "--garment", "Coal Black", *arguments)
    assert done.exit_code == 2
    assert words in done.stderr
    assert not list(tmp_path.iterdir())


# -- preview


def test_the_preview_of_tonal_artwork_is_printed_in_halftones(art: Path, tmp_path: Path) -> None:
    done = run("preview", art, "--garment", "Coal Black", "--out", tmp_path, "--json")
    assert done.exit_code == 0, done.output
    report = json.loads(done.stdout)
    assert any("tonal artwork" in note for note in report["notes"])
    reached = {r["route"]: r["tonal"]["delta_e_2000"]["mean"] for r in report["routes"]}
    assert set(reached) == {"straight", "discharge-base", "white-base"}
    assert reached["white-base"] < reached["discharge-base"] < reached["straight"]
    for route in report["routes"]:
        with Image.open(route["file"]) as print_:
            assert print_.size == (120, 90)
    few = few_inks(tmp_path / "few", "Kiln Red", "Weir Teal", "Chalk White Base")
    told = run("preview", art, "--garment", "Coal Black", "--shop", few, "--out", tmp_path)
    assert "out of reach" in told.stdout


def test_a_mapping_still_asks_for_flats(art: Path, tmp_path: Path) -> None:
    """Whoever maps colors to inks wants the picture posterized, and is told so."""
    mapping = tmp_path / "map.toml"
    mapping.write_text("")
    done = run("preview", art, "--garment", "Flour White", "--mapping", mapping, "--out", tmp_path)
    assert done.exit_code == 0, done.output
    assert "posterized" in done.stdout
    assert "out of reach" not in done.stdout
