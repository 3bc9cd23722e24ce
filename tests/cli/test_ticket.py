"""`inksim ticket`: one for each garment, refusals, its table of readings filled in."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from inksim.calibration.history import rows_kept
from inksim.cli.commands import main
from inksim.job.load import load_job
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from tests.reports.test_ticket import JOBS, SHOP, ticket_of
from tests.small_shop import FOR_PICTURES, few_inks
from tests.ui.test_client import tonal_art


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["ticket", *map(str, words)])


def test_a_ticket_for_each_garment(tmp_path: Path) -> None:
    result = run(JOBS / "bakery.toml", "--out", tmp_path / "new")
    assert result.exit_code == 0, result.stderr
    names = sorted(p.name for p in (tmp_path / "new").iterdir())
    stems = [f"bakery-aprons-turned-tees-on-{g}-gray" for g in ("mist", "slate")]
    assert names == sorted(
        f"{stem}{end}" for stem in stems for end in (".pdf", ".txt", "-readings.csv")
    )
    assert all(name in result.stdout for name in names)


def job_file(tmp_path: Path, *, colours: str, more: str = "") -> Path:
    path = tmp_path / "job.toml"
    path.write_text(f'name = "logo"\n{more}\n{colours}', encoding="utf-8")
    return path


def test_a_garment_that_needs_no_print_has_no_ticket_and_that_is_said(tmp_path: Path) -> None:
    job = job_file(
        tmp_path,
        colours='[[color]]\nhex = "#ffffff"\narea_cm2 = 50\n',
        more='garments = ["Brick Red", "Flour White"]\n'
        'quantity = { "Brick Red" = 30, "Flour White" = 24 }',
    )
    result = run(job, "--out", tmp_path / "new")
    assert result.exit_code == 0, result.stderr
    assert "Flour White: nothing is printed" in result.stderr
    assert sorted(p.name for p in (tmp_path / "new").iterdir()) == [
        "logo-on-brick-red-readings.csv", "logo-on-brick-red.pdf", "logo-on-brick-red.txt"
    ]  # fmt: skip
    assert "30 prints" in (tmp_path / "new" / "logo-on-brick-red.txt").read_text("utf-8")


def test_a_garment_that_cannot_be_printed_has_no_ticket_but_the_others_have(tmp_path: Path) -> None:
    colours = "".join(
        f'[[color]]\nname = "{n}"\nhex = "{h}"\narea_cm2 = 50\n'
        for n, h in (("red", "#c9342f"), ("rust", "#b5402e"), ("white", "#ffffff"))
    )
    job = job_file(
        tmp_path,
        colours="[press]\nstations = 1\nflashes = 0\n" + colours,
        more='garments = ["Flour White", "Brick Red"]\nquantity = 10\nmerge = false',
    )
    result = run(job, "--out", tmp_path / "new")
    assert result.exit_code == 2
    assert "no ticket for 'Brick Red': the press has 1 station" in result.stderr
    assert "press with more stations" in result.stderr
    assert {p.suffix for p in (tmp_path / "new").iterdir()} == {".pdf", ".txt", ".csv"}
    assert all("flour-white" in p.name for p in (tmp_path / "new").iterdir())


def test_a_photograph_has_a_ticket_of_its_plates(tmp_path: Path) -> None:
    (tmp_path / "sweep.png").write_bytes(tonal_art())
    job = job_file(
        tmp_path,
        colours='[artwork]\nfile = "sweep.png"\n',
        more='garments = ["Flour White"]\nquantity = 40',
    )
    shop = few_inks(tmp_path / "few", *FOR_PICTURES)
    result = run(job, "--out", tmp_path / "new", "--shop", shop)
    assert result.exit_code == 0, result.stderr
    said = (tmp_path / "new" / "logo-on-flour-white.txt").read_text("utf-8")
    for words in ("40 prints", "3.2 × 2.4 in", "Halftones of 45 lines/in", "stations", "Cure:",
                  "Cost:", "to have ready", "Before the run"):  # fmt: skip
        assert words in said, words
    rows = re.findall(r"^(\d)  (.+?)  ", said, re.MULTILINE)
    assert [int(n) for n, _ in rows] == list(range(1, len(rows) + 1))
    assert len(rows) == int(re.search(r"^(\d) screens", said, re.MULTILINE)[1])  # type: ignore[index]
    assert (tmp_path / "new" / "logo-on-flour-white.pdf").read_bytes().startswith(b"%PDF")
    assert not list((tmp_path / "new").glob("*.csv"))


@pytest.mark.parametrize("kind", ["pdf", "txt", "csv"])
def test_one_file(tmp_path: Path, kind: str) -> None:
    out = tmp_path / f"mine.{kind}"
    result = run(JOBS / "bakery.toml", "--garment", "slate gray", "--out", out, "--json")
    assert result.exit_code == 0, result.stderr
    assert json.loads(result.stdout)["tickets"] == [str(out)]
    assert out.read_bytes().startswith(
        {"pdf": b"%PDF", "txt": b"PRESS TICKET", "csv": b"# INVENTED"}[kind]
    )


def test_its_table_of_readings_filled_in_calibrates_the_press(tmp_path: Path) -> None:
    # The loop: predicted, printed, read, fitted. The shop fills in some rows and leaves others.
    folder = new_shop(tmp_path / "shop")
    out = tmp_path / "readings.csv"
    words = ("--garment", "slate gray", "--out", out, "--shop", folder)
    made = run(JOBS / "bakery.toml", *words)
    assert made.exit_code == 0, made.stderr
    calibrate = ["calibrate", str(out), "--shop", str(folder)]
    empty = CliRunner().invoke(main, calibrate)
    assert empty.exit_code == 2
    assert "no row has a reading yet" in empty.stderr
    invented, *lines = out.read_text("utf-8").splitlines()
    assert invented.startswith("# INVENTED: ")  # the reader has passed over it
    head, *rows = list(csv.reader(lines))
    assert {row[head.index("light")] for row in rows} == {"D50"}
    at = head.index("L")
    first, skipped = rows[0][0], rows[-1][0]
    places = [row for row in rows if row[0] != skipped]
    assert len(rows) % 3 == 0
    assert [row[0] for row in rows[:3]] == [first] * 3
    ticket = ticket_of(load_job(JOBS / "bakery.toml", shop=SHOP), at=0)
    assert ticket.found.garment.name == "Slate Gray"
    labs = {f"{p.colour.name} on Slate Gray": p.prediction.lab for p in ticket.chosen.plans}
    for row in places:
        row[at : at + 3] = [f"{v:.2f}" for v in labs[row[0]] + [2.0, 0.5, -0.5]]
    places[0][at : at + 3] = [""] * 3  # one place was not read
    with out.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([head, *rows])
    result = CliRunner().invoke(main, calibrate)
    assert result.exit_code == 0, result.stderr
    assert result.stderr.strip() == f"Passed over, no reading filled in: {skipped}."
    kept = {each.row.name: each.row for each in rows_kept(folder)}
    assert set(kept) == set(labs) - {skipped}
    assert kept[first].weight == 2.0
    build = next(p.build for p in ticket.chosen.plans if p.colour.name == first.split(" on ")[0])
    base = build.base
    assert base is not None
    assert kept[first].base == (base.ink.name, base.screen.name, base.passes, base.flash)
    assert kept[first].screen == build.colour.screen.name
    assert load_shop(folder).press.calibrated


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--garment", "Coal Black"], "the job does not print on 'Coal Black'"),
        (["--garment", "Cole Black"], "did you mean"),
        (["--out", "one.pdf"], "name one with --garment"),
        (["--way", "2"], "name one with --garment"),
        (["--garment", "Slate Gray", "--way", "77"], "there is no way 77"),
    ],
)
def test_bad_input_is_one_sentence_and_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    result = run(JOBS / "bakery.toml", *words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert list(tmp_path.iterdir()) == []
