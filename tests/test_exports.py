"""Files that travel without the page: each PNG, TIFF and CSV says what it is, and of what data."""

from __future__ import annotations

import ast
import csv
import io
import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

from inksim import __version__
from inksim.artwork.picture import SURROUND, png_info
from inksim.calibration.history import rows_kept, to_csv
from inksim.calibration.print_rows import read_print_rows
from inksim.calibration.prints_to_read import table_to_fill_in
from inksim.cli.commands import main
from inksim.common.wording import NOT_A_PROOF, STRIKE_OFF
from inksim.preview.prepare import png_bytes
from inksim.printing.prediction import ORIGIN_WORDS, file_words
from inksim.shop.load import demo_shop_folder, load_shop
from inksim.stock.provenance import Provenance
from tests.small_shop import few_inks

PACKAGE = Path(__file__).parents[1] / "inksim"
INKS = ("Kiln Red", "Weir Teal", "Chalk White Base")
CSV_WRITERS = {
    "batch.report._table",
    "calibration.history.to_csv",
    "calibration.prints_to_read.table_to_fill_in",
    "common.outward.csv_text",
    "ledger.outcomes.outcomes_csv",
    "reports.palette_files.matrix_csv",
    "reports.photo_report.photo_csv",
}
"""What makes a CSV, each tested below; `to_csv` has the notes of its readings. What is read from
a photo says so in every row (tests/photo/test_photo_command.py)."""


def calls() -> Iterator[tuple[str, ast.Call]]:
    """Every call in the package, with the function it stands in: room.module.function."""
    for path in sorted(PACKAGE.rglob("*.py")):
        module = path.relative_to(PACKAGE).with_suffix("").as_posix().replace("/", ".")
        for function in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(function, ast.FunctionDef):
                for node in ast.walk(function):
                    if isinstance(node, ast.Call):
                        yield f"{module}.{function.name}", node


def name_of(call: ast.Call) -> str:
    return call.func.attr if isinstance(call.func, ast.Attribute) else ""


def called(call: ast.Call) -> str:
    return call.func.id if isinstance(call.func, ast.Name) else name_of(call)


def test_every_writer_of_a_picture_gives_it_words() -> None:
    wanted = {"PNG": "pnginfo", "TIFF": "description"}
    found = set()
    for place, call in calls():
        given = {each.arg: each.value for each in call.keywords}
        kind = given.get("format")
        if called(call) == "unfiltered_png":
            need = wanted["PNG"]
        elif called(call) == "save" and isinstance(kind, ast.Constant) and kind.value in wanted:
            need = wanted[kind.value]
        else:
            continue
        if place != "artwork.png.unfiltered_png":  # it writes what it is given
            assert need in given, place
            found.add(place.rpartition(".")[2])
    assert found == {"save_png", "png_bytes", "_save", "save_screened"}


def test_every_writer_of_a_table_is_tested_here() -> None:
    assert {p for p, call in calls() if called(call) in ("csv_text", "csv_lines")} == CSV_WRITERS


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """All pictures that the commands write, of a small artwork in the demo shop's invented inks."""
    place = tmp_path_factory.mktemp("exports")
    few_inks(place / "shop", *INKS)
    pixels = np.zeros((40, 60, 4), dtype=np.uint8)
    pixels[5:35, 5:55] = (0xC9, 0x34, 0x2F, 255)
    Image.fromarray(pixels).save(place / "flat.png", dpi=(150, 150))
    ramp = np.broadcast_to(np.linspace(20, 230, 60).astype(np.uint8)[None, :], (40, 60))
    Image.fromarray(np.dstack([ramp, ramp // 2, ramp[::-1, ::-1]])).save(
        place / "tonal.png", dpi=(150, 150)
    )
    (place / "job.toml").write_text(
        'name = "any"\ngarments = ["Coal Black"]\nquantity = 10\n'
        '[[color]]\nhex = "#c9342f"\nink = "Kiln Red"\narea_cm2 = 100\n',
        encoding="utf-8",
    )
    out, black = place / "out", ["--garment", "Coal Black"]
    plates = ["--ink", "Kiln Red", "--base", "white", "--screen-dpi", "600"]
    for words in (
        ["preview", place / "flat.png", *black, "--on", "front", "--beyond-screen"],
        ["separate", place / "tonal.png", *black, *plates],
        ["separate", place / "tonal.png", *black, *plates[:4], "--format", "tiff"],
        ["advise", place / "job.toml", "--chart", out / "ways.png"],
        ["palette", "--garments", "Coal Black", "--palette", "Oven Red; #0f5c63",
         "--png", out / "palette.png", "--csv", out / "palette.csv"],
    ):  # fmt: skip
        target = ["--out", out] if words[0] in ("preview", "separate") else []
        said = [str(each) for each in (*words, *target, "--shop", place / "shop")]
        done = CliRunner().invoke(main, said)
        assert done.exit_code in (0, 1), done.stderr
    return out


def description(path: Path) -> str:
    with Image.open(path) as picture:
        if path.suffix == ".png":
            return str(picture.info["Description"])  # a keyword of the PNG specification
        return str(picture.tag_v2[270])  # type: ignore[attr-defined]  # ImageDescription, TIFF 6.0


def program(path: Path) -> str:
    with Image.open(path) as picture:
        if path.suffix == ".png":
            return str(picture.info["Software"])  # a keyword of the PNG specification
        return str(picture.tag_v2[305])  # type: ignore[attr-defined]  # Software, TIFF 6.0


def test_every_picture_says_that_it_is_no_proof_and_that_its_data_are_invented(
    folder: Path,
) -> None:
    pictures = [p for p in sorted(folder.iterdir()) if p.suffix in (".png", ".tiff")]
    kinds = ("straight", "white-base", "sheet", "front", "beyond-screen", "print", "out-of-reach",
             "separation", "plate-1-chalk-white-base", "45lpi", "ways", "palette")  # fmt: skip
    for kind in kinds:
        assert any(kind in path.stem for path in pictures), kind
    for path in pictures:
        said = description(path)
        for part in (NOT_A_PROOF, "invented", "the first print on the real garment decides"):
            assert part in said, path.name
        assert program(path) == f"inksim {__version__}", path.name
    (plate,) = folder.glob("*plate-2-kiln-red.png")
    assert description(plate).startswith("Kiln Red: tonal.png on Coal Black, D50/2°: a plate")


@pytest.mark.parametrize("data", ORIGIN_WORDS)
def test_only_what_is_invented_is_said_to_be(data: Provenance) -> None:
    said = file_words("A print", data=data, calibrated=False)
    assert said.startswith(f"A print. {NOT_A_PROOF} ")
    assert ("invented" in said) == (data == "invented")
    assert ("measured" in said) == (data == "measured")


def test_a_picture_of_a_page_says_at_least_that_it_is_no_proof() -> None:
    with Image.open(io.BytesIO(png_bytes(np.zeros((2, 2, 3), np.uint8)))) as picture:
        assert picture.info["Description"] == f"{NOT_A_PROOF} {STRIKE_OFF}"


def test_the_note_of_a_chart_and_of_a_palette_is_seen_whole(folder: Path) -> None:
    # the ground of both is SURROUND: nothing of the note may touch the picture's right edge
    for name in ("ways.png", "palette.png"):
        with Image.open(folder / name) as picture:
            foot = np.asarray(picture)[-60:]
        drawn = (foot != np.array(SURROUND)).any(axis=-1)
        assert drawn.any(), name
        assert not drawn[:, -10:].any(), name


def test_words_beyond_latin_1_are_kept() -> None:
    # PNG (W3C): tEXt holds Latin-1; anything else goes into iTXt
    buffer = io.BytesIO()
    Image.new("RGB", (1, 1)).save(buffer, format="PNG", pnginfo=png_info("ΔE00 of 'Größe'"))
    with Image.open(buffer) as picture:
        assert picture.info["Description"] == "ΔE00 of 'Größe'"


def test_the_table_of_a_palette_says_of_every_row_what_its_data_are(folder: Path) -> None:
    rows = list(csv.DictReader(io.StringIO((folder / "palette.csv").read_text("utf-8"))))
    assert len(rows) == 2
    assert {(row["data"], row["inksim"]) for row in rows} == {("invented", __version__)}


def test_the_table_of_a_batch_says_of_every_row_what_its_data_are(folder: Path) -> None:
    place = folder.parent
    table, out = place / "prints.csv", place / "batch"
    table.write_text("artwork,garment\nflat.png,Coal Black\nflat.png,Flour White\n", "utf-8")
    words = ("batch", table, "--shop", place / "shop", "--workers", 1, "--out", out)
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exit_code == 0, done.stderr
    rows = list(csv.DictReader(io.StringIO((out / "report.csv").read_text("utf-8"))))
    assert len(rows) == 2
    assert {(row["data"], row["inksim"]) for row in rows} == {("invented", __version__)}
    assert json.loads((out / "report.json").read_text("utf-8"))["inksim"] == __version__


def test_readings_that_are_invented_stay_so_in_the_history(tmp_path: Path) -> None:
    shop = few_inks(tmp_path / "shop", "Lantern Orange", *INKS, "Quarry Discharge Base")
    prints = demo_shop_folder() / "readings" / "first-prints.csv"
    known = set(load_shop(shop).inks)
    head, *rows = prints.read_text("utf-8").splitlines()[1:]
    part = tmp_path / "part.csv"
    part.write_text("\n".join([head, *(r for r in rows if r.split(",")[2] in known)]), "utf-8")
    done = CliRunner().invoke(main, ["history", "--from", str(part), "--shop", str(shop)])
    assert done.exit_code == 0, done.stderr
    kept = rows_kept(shop)
    written = list(csv.DictReader(io.StringIO(to_csv([each.row for each in kept]))))
    assert len(written) >= 2
    assert {row["note"] for row in written} == {"invented"}
    (tmp_path / "all.csv").write_text(to_csv([each.row for each in kept]), encoding="utf-8")
    assert [r.mark for r in read_print_rows(tmp_path / "all.csv", shop=load_shop(shop)).rows] == [
        each.row.mark for each in kept
    ]


def test_a_table_to_fill_in_says_whose_inks_are_invented_and_is_read_back(tmp_path: Path) -> None:
    shop = load_shop(few_inks(tmp_path / "shop", *INKS))
    table = table_to_fill_in(shop)
    assert table.startswith("# INVENTED: ")
    path = tmp_path / "to-read.csv"
    lines = table.splitlines()
    cells = dict(zip(lines[1].split(","), lines[2].split(","), strict=True))
    cells |= {"L": "50", "a": "20", "b": "10"}
    path.write_text("\n".join([*lines[:2], ",".join(cells.values())]) + "\n", encoding="utf-8")
    (row,) = read_print_rows(path, shop=shop).rows
    assert row.lab == (50, 20, 10)


def test_the_demo_record_says_that_it_is_invented(tmp_path: Path) -> None:
    table, plot = tmp_path / "record.csv", tmp_path / "record.png"
    done = CliRunner().invoke(main, ["record", "--csv", str(table), "--png", str(plot)])
    assert done.exit_code == 0, done.stderr
    assert done.stdout.startswith("INVENTED")
    assert table.read_text("utf-8").startswith("# INVENTED")
    assert description(plot).startswith("INVENTED")
