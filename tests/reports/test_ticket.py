"""The press ticket: everything the press needs, in order, on paper and as text."""

from __future__ import annotations

import csv
import io
import json
import re
import time
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from click.testing import CliRunner, Result

from inksim.calibration.history import rows_kept
from inksim.cli.commands import main
from inksim.common.errors import InputError
from inksim.job.decide import decide_job
from inksim.job.job import Job, load_job
from inksim.reports.cautions import CAUTIONS
from inksim.reports.ticket import Ticket, make_ticket, ticket_text
from inksim.reports.ticket_sheet import ticket_pdf
from inksim.shop.edit import new_shop
from inksim.shop.load import demo_shop_folder, load_shop

SHOP = load_shop()
JOBS = demo_shop_folder() / "jobs"
DAY = date(2026, 3, 9)


def ticket_of(job: Job, *, at: int = 0, **more: Any) -> Ticket:
    answer = decide_job(job, shop=SHOP)
    return make_ticket(answer, shop=SHOP, garment=answer.garments[at].garment, made=DAY, **more)


@pytest.fixture(scope="module")
def bakery() -> Ticket:
    return ticket_of(load_job(JOBS / "bakery.toml", shop=SHOP))


@pytest.fixture(scope="module")
def choir() -> Ticket:
    return ticket_of(load_job(JOBS / "choir.toml", shop=SHOP))


def pages(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(io.BytesIO(pdf))
    return "\n".join(document[n].get_textpage().get_text_bounded() for n in range(len(document)))


def test_bases_come_first_and_colors_in_the_jobs_order(bakery: Ticket) -> None:
    assert [s.ink.name for s in bakery.screens] == [
        "Chalk White Base", "Kiln Red", "Oatcake Cream"
    ]  # fmt: skip
    base, *colors = bakery.screens
    assert [s.number for s in bakery.screens] == [1, 2, 3]
    assert (base.flash, base.choke_mm) == (True, 0.4)
    assert base.area_cm2 == 240.0
    assert base.prints == ("Oven Red", "Oatcake")
    for screen in colors:
        assert screen.flash is None
        assert screen.choke_mm is None


def test_the_screens_are_those_of_the_way(bakery: Ticket) -> None:
    way = bakery.chosen
    assert len(bakery.screens) == way.way.screens
    assert sum(s.passes for s in bakery.screens) == way.way.strokes
    assert sum(bool(s.flash) for s in bakery.screens) == way.way.flashes
    told = {use.name: use for use in way.inks}
    for screen in bakery.screens:
        assert screen.print_g == pytest.approx(told[screen.ink.name].print_g)
        assert screen.run_g == pytest.approx(told[screen.ink.name].run_g)


def test_discharge_is_wet_on_wet_and_has_its_own_checks(choir: Ticket) -> None:
    base = choir.screens[0]
    assert base.ink.kind == "discharge-base"
    assert base.flash is False
    text = ticket_text(choir)
    assert "wet on wet" in text
    assert any("activator" in check for check in choir.checks)
    assert not any("White is dry" in check for check in choir.checks)


@pytest.mark.parametrize("make", [ticket_text, lambda t: pages(ticket_pdf(t))])
def test_paper_and_text_say_what_the_press_needs(bakery: Ticket, make: Any) -> None:
    said = re.sub(r"\s+", " ", make(bakery))
    for screen in bakery.screens:
        assert screen.ink.name in said
        assert f"{screen.screen.threads_per_inch:.0f} /in" in said
        assert f"{screen.run_g / 1000:.2f} kg" in said
        assert f"×{screen.passes}" in said
    for words in (
        "Slate Gray", "250 prints", "flash", "0.4 mm", "320–330 °F (160–166 °C)", "90–120 s",
        "48 h", "stencils are water-resistant", "Screens stay flooded", "wash-tested",
        "inksim calibrate", "Garment lot", "Read by", "2026-03-09", "ΔE00",
    ):  # fmt: skip
        assert words in said, words
    assert "invented" in said.lower()
    for caution in CAUTIONS:
        assert re.sub(r"\s+", " ", caution) in said
    for plan in bakery.chosen.plans:
        for value in plan.prediction.lab:
            assert f"{value:.1f}" in said  # what was predicted, beside room for what is read


def test_the_paper_is_pdf_a_with_true_colors(bakery: Ticket) -> None:
    pdf = ticket_pdf(bakery)
    assert pdf.startswith(b"%PDF-1.")
    assert b"pdfaid" in pdf  # PDF/A identification (ISO 19005-2)
    document = pypdfium2.PdfDocument(io.BytesIO(pdf))
    assert len(document) <= 2
    seen: set[tuple[int, ...]] = set()
    for page in document:
        picture = page.render(scale=1.5).to_pil().convert("RGB")
        seen |= {color for _, color in picture.getcolors(2**20)}
    for plan in bakery.chosen.plans:
        code = bytes.fromhex(plan.prediction.hex[1:])
        assert any(max(abs(a - b) for a, b in zip(code, c, strict=True)) <= 1 for c in seen)


def test_the_same_ticket_is_the_same_file(bakery: Ticket) -> None:
    first, now = ticket_pdf(bakery), time.time()
    while int(time.time()) == int(now):  # nothing in it may be the clock's
        time.sleep(0.05)
    assert ticket_pdf(bakery) == first


def test_a_garment_that_is_not_in_the_job_has_no_ticket(bakery: Ticket) -> None:
    other = SHOP.garment("Ferry Royal")
    with pytest.raises(InputError, match=r"no garment 'Ferry Royal' in the job; it has: Slate"):
        make_ticket(bakery.answer, shop=SHOP, garment=other, made=DAY)


def test_another_way_may_be_chosen(bakery: Ticket) -> None:
    job = bakery.job
    other = ticket_of(job, way=1)
    assert other.way == 1
    assert other.chosen is not bakery.chosen
    assert "chosen by hand" in other.outcome
    assert any("Not every color can be promised" in check for check in other.checks)
    with pytest.raises(InputError, match=r"there is no way 99 .* it has 1 to"):
        ticket_of(job, way=99)


def test_a_fine_halftone_and_polyester_are_warned_of(bakery: Ticket) -> None:
    fine = ticket_of(replace(bakery.job, lines_per_inch=55.0))
    assert any("Threads per halftone line are below 4.5" in check for check in fine.checks)
    sport = replace(bakery.job, garments=(SHOP.garment("Anvil Black Sport"),))
    assert any("Polyester" in check for check in ticket_of(sport).checks)
    assert not any("Polyester" in check for check in bakery.checks)


def test_no_ticket_for_what_cannot_be_printed(bakery: Ticket) -> None:
    with pytest.raises(InputError, match="no ticket for 'Slate Gray'"):
        ticket_of(replace(bakery.job, lines_per_inch=120.0))


# -- The command


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


@pytest.mark.parametrize("kind", ["pdf", "txt", "csv"])
def test_one_file(tmp_path: Path, kind: str) -> None:
    out = tmp_path / f"mine.{kind}"
    result = run(JOBS / "bakery.toml", "--garment", "slate gray", "--out", out, "--json")
    assert result.exit_code == 0, result.stderr
    assert json.loads(result.stdout) == {"tickets": [str(out)]}
    assert out.read_bytes().startswith(
        {"pdf": b"%PDF", "txt": b"PRESS TICKET", "csv": b"name,garment,ink,"}[kind]
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
    head, *rows = list(csv.reader(io.StringIO(out.read_text("utf-8"))))
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
