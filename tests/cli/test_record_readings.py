"""From a kept job's proof by its ticket's table to the record, whatever a press is fitted to."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from PIL import Image, ImageDraw

from inksim.calibration.history import add_rows, rows_kept
from inksim.calibration.print_rows import read_print_rows
from inksim.cli.commands import main
from inksim.ledger.promises import sealed_proofs
from inksim.ledger.track_record import record_of_shop
from inksim.shop.load import load_shop
from tests.calibration.test_history import ROWS
from tests.small_shop import few_inks

INKS = ("Kiln Red", "Weir Teal", "Chalk White Base")
Change = Callable[[list[float]], list[float]]


def run(*words: object, code: int = 0) -> Result:
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exit_code == code, done.stderr
    return done


@pytest.fixture(scope="module")
def proofed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with a kept job on two garments that was proofed, and its tickets beside it."""
    folder = tmp_path_factory.mktemp("kept")
    shop = few_inks(folder / "shop", *INKS)
    image = Image.new("RGBA", (300, 120), (0, 0, 0, 0))
    for at, colour in enumerate(("#c9342f", "#0f5c63")):
        ImageDraw.Draw(image).rectangle((20 + 140 * at, 20, 140 + 140 * at, 100), fill=colour)
    image.save(folder / "oars.png", dpi=(150, 150))
    run("job", "new", folder / "oars.png", "--name", "Oars", "--garment", "Coal Black=5",
        "--garment", "Flour White=5", "--tolerance", "12", "--shop", shop)  # fmt: skip
    run("proof", "oars", "--shop", shop)
    run("ticket", "oars", "--out", folder / "tickets", "--shop", shop)
    return folder


@pytest.fixture
def folder(proofed: Path, tmp_path: Path) -> Path:
    import shutil

    return Path(shutil.copytree(proofed, tmp_path / "kept"))


def filled_in(folder: Path, change: Change, *, garment: str = "coal-black") -> Path:
    """The ticket's table with what was promised of each color, changed, as its reading."""
    (file,) = (folder / "tickets").glob(f"*{garment}-readings.csv")
    text = file.read_text("utf-8")
    labs = {
        (each.ink, each.garment): change(list(each.lab))
        for proof in sealed_proofs(folder / "shop")
        for each in proof.colours
    }
    table = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    out = io.StringIO()
    writer = csv.DictWriter(out, table[0], lineterminator="\n")
    writer.writeheader()
    for row in table:
        read = labs[row["ink"], row["garment"]]
        writer.writerow(row | dict(zip("Lab", (f"{value:.2f}" for value in read), strict=True)))
    file.write_text(out.getvalue(), encoding="utf-8")
    return file


def test_the_tickets_table_names_the_proof_its_readings_score(folder: Path) -> None:
    """Printed and read on the proof's own day: only by its number can that be told."""
    shop = folder / "shop"
    file = filled_in(folder, lambda lab: [lab[0] + 1, *lab[1:]])
    table = list(csv.DictReader(file.read_text("utf-8").splitlines()))
    assert {row["proof"] for row in table} == {"1"}
    assert {row["note"] for row in table} == {"Oars"}
    run("calibrate", file, "--shop", shop)
    record = record_of_shop(load_shop(shop))
    assert [(each.proof, each.garment) for each in record.prints] == [(1, "Coal Black")] * 2
    assert [each.dL for each in record.prints] == pytest.approx([1, 1], abs=0.01)
    assert not record.unmatched


def test_a_ticket_of_another_print_than_was_proofed_says_so(folder: Path) -> None:
    shop = folder / "shop"
    run("job", "set", "oars", "artwork.routes.#c9342f=straight", "--shop", shop)
    told = run("ticket", "oars", "--garment", "Coal Black", "--out", folder / "new", "--shop", shop)
    assert "proof no. 1, the job's latest, promised another print on Coal Black" in told.stderr
    (file,) = (folder / "new").glob("*-readings.csv")
    lines = [each for each in file.read_text("utf-8").splitlines() if not each.startswith("#")]
    assert {row["proof"] for row in csv.DictReader(lines)} == {""}


def test_what_no_press_prints_scores_its_proof_and_fits_nothing(folder: Path) -> None:
    """Two readings refused outright: the press stays as it is, the promise is held against them."""
    shop = folder / "shop"
    press = (shop / "press.toml").read_bytes()
    file = filled_in(folder, lambda lab: [95 - lab[0], -lab[1], -lab[2]])
    refused = run("calibrate", file, "--shop", shop, code=2)
    assert "no press prints so far" in refused.stderr
    assert "2 readings with a proof's number kept to score it, and not to fit" in refused.stderr
    assert (shop / "press.toml").read_bytes() == press
    assert [kept.row.scores_only for kept in rows_kept(shop)] == [True, True]
    record = record_of_shop(load_shop(shop))
    assert record.scored == 2
    assert not any(each.landed for each in record.prints)
    assert "no, scores proofs" in run("history", "--shop", shop).stdout
    mended = filled_in(folder, lambda lab: lab)  # the table was typed wrong, and is given again
    fitted = json.loads(run("calibrate", mended, "--shop", shop, "--json").stdout)
    assert (fitted["from_file"], fitted["from_history"]) == (2, 0)
    assert [kept.row.scores_only for kept in rows_kept(shop)] == [False, False]
    assert [each.landed for each in record_of_shop(load_shop(shop)).prints] == [True, True]


def test_a_reading_left_out_of_a_fit_scores_its_proof_and_stays_out(folder: Path) -> None:
    shop = folder / "shop"
    good = filled_in(folder, lambda lab: lab, garment="flour-white")
    bad = filled_in(folder, lambda lab: lab)
    text = bad.read_text("utf-8").splitlines()
    head = text[0].split(",")
    lines = []
    for line in text[1:]:
        cells = dict(zip(head, next(csv.reader([line])), strict=True))
        if cells["ink"] == "Kiln Red":
            cells |= {"L": "90", "a": "-40", "b": "60"}
        lines.append(",".join(cells.values()))
    bad.write_text(
        "\n".join([text[0], *lines, *good.read_text("utf-8").splitlines()[1:]]), encoding="utf-8"
    )
    fit = json.loads(run("calibrate", bad, "--shop", shop, "--json").stdout)
    (out,) = [each["name"] for each in fit["readings"] if each["left_out"]]
    assert out.startswith("Kiln Red ")
    assert fit["scores_only"] == 1
    assert [kept.row.name for kept in rows_kept(shop) if kept.row.scores_only] == [out]
    record = record_of_shop(load_shop(shop))
    assert record.scored == 4
    assert [each.ink for each in record.prints if not each.landed] == ["Kiln Red"]
    again = json.loads(run("calibrate", good, "--shop", shop, "--dry-run", "--json").stdout)
    assert (again["from_file"], again["from_history"]) == (2, 1)  # the one left out stays out


def test_what_only_scores_does_so_after_a_way_out_and_back(folder: Path, tmp_path: Path) -> None:
    from dataclasses import replace

    shop = folder / "shop"
    rows = [replace(ROWS[1], scores_only=True, note="proof 12; wet"), ROWS[3]]
    add_rows(shop, rows, date="2026-01-01")
    run("history", "--csv", tmp_path / "all.csv", "--shop", shop)
    (first, second) = read_print_rows(tmp_path / "all.csv", shop=load_shop(shop)).rows
    assert (first.scores_only, first.note) == (True, "proof 12; wet")
    assert (second.scores_only, second.note) == (False, ROWS[3].note)
    assert first.mark == ROWS[1].mark  # as seals keep it
    # with --keep-all the same reading becomes one that a press is fitted to
    assert add_rows(shop, [replace(rows[0], scores_only=False)], date="2026-01-01") == 1
    assert [kept.row.scores_only for kept in rows_kept(shop)] == [False, False]
