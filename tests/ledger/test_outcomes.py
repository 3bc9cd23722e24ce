"""Readings held against seals: which scores what, and which never may."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from inksim.calibration.history import add_rows, remove_row, rows_kept
from inksim.calibration.press_to_shop import calibrate_shop, keep
from inksim.calibration.print_rows import PrintRow, read_print_rows, row_of_build
from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.decision.answer import Answer
from inksim.ledger.outcomes import Outcome, outcomes, outcomes_csv, read_outcomes
from inksim.ledger.promises import SealedProof, issue_proof, sealed_proofs
from inksim.ledger.track_record import record_of_shop
from inksim.shop.load import load_shop
from tests.ledger.test_promises import INKS, promised
from tests.small_shop import few_inks

DAY = date(2026, 3, 4)
LATER = "2026-03-06"
SEEN = (52.0, 40.0, 30.0)


@pytest.fixture(scope="module")
def answers() -> list[Answer]:
    return promised()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return few_inks(tmp_path / "shop", *INKS)


def seal(folder: Path, answers: list[Answer], *, day: date = DAY, **more: Any) -> SealedProof:
    found = issue_proof(
        load_shop(folder), answers, **{"design": "any", "viewing": Viewing(), "day": day} | more
    )
    return next(p for p in sealed_proofs(folder) if p.number == found.number)


def print_of(answer: Answer, *, day: str = LATER, **more: Any) -> PrintRow:
    """A reading of an answer's build."""
    said = {"name": "first", "lab": SEEN, "date": day} | more
    return row_of_build(answer.build, **said)


def scored(folder: Path, *rows: PrintRow) -> list[tuple[int, str]]:
    """Proof and garment of what some readings score."""
    found = outcomes(sealed_proofs(folder), rows).each
    return [(each.proof, each.garment) for each in found if each.found is not None]


def test_a_reading_is_scored_against_the_sealed_target_and_the_sealed_color(
    folder: Path, answers: list[Answer]
) -> None:
    seal(folder, answers)
    found = outcomes(sealed_proofs(folder), [print_of(answers[0], ink_lot="7")])
    over, straight = found.each
    assert (over.garment, over.read_on, over.ink_lot) == ("Coal Black", LATER, "7")
    target = answers[0].target.lab(Viewing())
    assert over.found == pytest.approx(float(delta_e_2000(target, np.array(SEEN))), abs=1e-12)
    assert over.against == pytest.approx(float(delta_e_2000(answers[0].lab, np.array(SEEN))))
    assert (over.dL, over.da, over.db) == pytest.approx(tuple(np.array(SEEN) - answers[0].lab))
    assert over.farther == over.found - over.median  # type: ignore[operator]
    assert over.landed == (over.found <= 4.0)  # type: ignore[operator]
    assert (straight.garment, straight.found, straight.read_on) == ("Flour White", None, "")


def test_a_spectrum_is_seen_under_the_light_of_the_proof(
    folder: Path, answers: list[Answer]
) -> None:
    light = Viewing(light="A", observer=10)
    seal(folder, answers, viewing=light)
    spectrum = tuple(np.linspace(0.05, 0.6, 31).tolist())
    found = outcomes(
        sealed_proofs(folder), [print_of(answers[0], lab=None, reflectance=spectrum)]
    ).each[0]
    target = answers[0].target.lab(light)
    assert found.found == pytest.approx(
        float(delta_e_2000(target, lab(np.array(spectrum), light))), abs=1e-12
    )
    unlike = outcomes(sealed_proofs(folder), [print_of(answers[0])])  # Lab under D50
    assert not [each for each in unlike.each if each.found is not None]
    assert "a spectrum could" in unlike.unmatched[0]


@pytest.mark.parametrize(
    "changed",
    [
        {"garment": "Mist Gray"}, {"ink": "Weir Teal"}, {"screen": "110"}, {"passes": 4},
        {"base": None, "route": "straight"}, {"base": ("Chalk White Base", "110", 3, True)},
        {"base": ("Chalk White Base", "110", 1, False)}, {"coverage": 0.5, "lines_per_inch": 45.0},
    ],
)  # fmt: skip
def test_a_print_of_other_films_scores_nothing(
    folder: Path, answers: list[Answer], changed: dict[str, Any]
) -> None:
    seal(folder, answers)
    row = print_of(answers[0])
    assert scored(folder, row) == [(1, "Coal Black")]
    assert scored(folder, replace(row, **changed)) == []


def test_the_latest_proof_before_the_print_is_the_one_it_keeps(
    folder: Path, answers: list[Answer]
) -> None:
    for days in (0, 7, 14):
        seal(folder, answers, day=DAY + timedelta(days=days))
    row = print_of(answers[0])
    for day, numbers in (
        ("2026-03-03", []), ("2026-03-04", []), ("2026-03-05", [1]), ("2026-03-11", [1]),
        ("2026-03-12", [2]), ("2027-01-01", [3]),
    ):  # fmt: skip
        assert [number for number, _ in scored(folder, replace(row, date=day))] == numbers, day


@pytest.mark.parametrize("note", ["proof 1", "Proof no. 1; wet", "to proof #1", "proof: {seal}"])
def test_a_note_names_the_proof(folder: Path, answers: list[Answer], note: str) -> None:
    first = seal(folder, answers)
    seal(folder, answers, day=DAY + timedelta(days=1))
    row = print_of(answers[0], note=note.format(seal=first.mark[:12]))
    assert scored(folder, row) == [(1, "Coal Black")]
    assert scored(folder, replace(row, date="2026-03-04")) == [(1, "Coal Black")]  # its own day
    assert scored(folder, replace(row, note="waterproof 1")) == [(2, "Coal Black")]


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"note": "proof 9"}, "promised no such print"),
        ({"note": "proof 1", "garment": "Mist Gray"}, "promised no such print"),
        ({"note": "proof 1", "date": "2026-03-03"}, "is older"),
        ({"note": "proof 1", "date": "March"}, "has no day"),
        ({"date": ""}, "has no day"),
    ],
)
def test_a_reading_that_scores_nothing_says_why(
    folder: Path, answers: list[Answer], changed: dict[str, Any], why: str
) -> None:
    seal(folder, answers)
    found = outcomes(sealed_proofs(folder), [replace(print_of(answers[0]), **changed)])
    assert not [each for each in found.each if each.found is not None]
    assert why in found.unmatched[0]


def test_repeats_are_one_print_and_other_days_and_lots_are_others(
    folder: Path, answers: list[Answer]
) -> None:
    seal(folder, answers)
    row = print_of(answers[0])
    same = replace(row, lab=(56.0, 40.0, 30.0), weight=3.0)
    one = outcomes(sealed_proofs(folder), [row, same]).each[0]
    assert one.dL == pytest.approx(55.0 - answers[0].lab[0])  # a mean of 1 and 3 measurements
    assert scored(folder, row, replace(row, date="2026-03-07")) == [(1, "Coal Black")] * 2
    assert scored(folder, row, replace(row, ink_lot="B")) == [(1, "Coal Black")] * 2


# -- A print that scores a prediction was never used to fit it


def test_a_reading_older_than_the_seal_never_scores_it(folder: Path, answers: list[Answer]) -> None:
    seal(folder, answers)
    for note in ("", "proof 1"):
        assert scored(folder, print_of(answers[0], day="2026-03-03", note=note)) == []


@pytest.mark.parametrize("note", ["", "proof 1"])
def test_a_reading_known_when_the_proof_was_sealed_never_scores_it(
    folder: Path, answers: list[Answer], note: str
) -> None:
    # dated after the proof by mistake, removed and entered again under another name and day
    known = print_of(answers[0], note=note)
    add_rows(folder, [known], date=LATER)
    seal(folder, answers)
    assert scored(folder, *(each.row for each in rows_kept(folder))) == []
    remove_row(folder, rows_kept(folder)[0].number)
    again = replace(known, name="once more", date="2026-03-20")
    add_rows(folder, [again], date=LATER)
    assert scored(folder, *(each.row for each in rows_kept(folder))) == []
    another = replace(known, lab=(51.0, 40.0, 30.0))  # it is the reading that is known
    assert scored(folder, another) == [(1, "Coal Black")]


def test_a_reading_removed_before_the_seal_never_scores_it(
    folder: Path, answers: list[Answer]
) -> None:
    # the press may have been fitted to it; entered again without its day, it has that of the entry
    known = print_of(answers[0], day="")
    add_rows(folder, [known], date="2026-03-01")
    remove_row(folder, rows_kept(folder)[0].number)
    seal(folder, answers)
    add_rows(folder, [known], date=LATER)
    assert [each.row.date for each in rows_kept(folder)] == [LATER]
    assert scored(folder, *(each.row for each in rows_kept(folder))) == []


def test_a_calibration_does_not_score_the_proofs_made_with_it_but_those_before(
    folder: Path, answers: list[Answer], tmp_path: Path
) -> None:
    seal(folder, answers)
    table = tmp_path / "prints.csv"
    row = print_of(answers[0])
    base = row.base
    assert base is not None
    table.write_text(
        "name,garment,ink,route,screen,passes,base_screen,base_passes,flash,date,proof,L,a,b\n"
        f"one,Coal Black,Kiln Red,white-base,{row.screen},{row.passes},{base[1]},{base[2]},yes,"
        f"{LATER},1,50,45,30\n",
        encoding="utf-8",
    )
    shop = load_shop(folder)
    rows = read_print_rows(table, shop=shop).rows
    assert rows[0].note == "proof 1"
    keep(folder, calibrate_shop(shop, rows, keep_all=True, day=LATER), rows, day=LATER)
    after = seal(folder, answers, day=date(2026, 3, 7))
    assert (after.number, after.press_version) == (2, 1)
    assert after.readings
    kept = [each.row for each in rows_kept(folder)]
    assert scored(folder, *kept) == [(1, "Coal Black")]
    # nor under a day after the second proof's
    assert scored(folder, *(replace(each, date="2026-03-09", note="") for each in kept)) == [
        (1, "Coal Black")
    ]
    record = record_of_shop(load_shop(folder))
    assert (record.proofs, record.colours, record.scored) == (2, 4, 1)
    assert record_of_shop(load_shop(folder), since="2026-03-05").scored == 0


def test_an_altered_proof_scores_nothing(folder: Path, answers: list[Answer]) -> None:
    proof = seal(folder, answers)
    found = outcomes([replace(proof, altered="changed")], [print_of(answers[0])])
    assert found.each == ()


def test_what_is_left_bare_and_what_has_three_films_is_not_scored(
    folder: Path, answers: list[Answer]
) -> None:
    bare = replace(answers[0], build=replace(answers[0].build, layers=(), route="bare"))
    first = answers[0].build.layers[0]
    thick = replace(
        answers[0], build=replace(answers[0].build, layers=(first, *answers[0].build.layers))
    )
    seal(folder, [bare, thick])
    (only,) = outcomes(sealed_proofs(folder), [print_of(answers[0])]).each
    assert (only.route, only.found) == ("white-base", None)


def test_the_export_can_be_read_back_and_names_nobody(folder: Path, answers: list[Answer]) -> None:
    seal(folder, answers, design="Secret Regatta on Coal Black", job="secret-client")
    listed = outcomes(sealed_proofs(folder), [print_of(answers[0], note="proof 1 Secret")]).each
    text = outcomes_csv(listed)
    assert read_outcomes(text) == listed
    assert "secret" not in text.lower()
    assert outcomes_csv(listed, invented=True).startswith("# INVENTED")
    assert read_outcomes(outcomes_csv(listed, invented=True)) == listed
    assert all(isinstance(each, Outcome) for each in listed)


def test_a_day_in_another_spelling_is_the_same_day(folder: Path, answers: list[Answer]) -> None:
    seal(folder, answers)
    rows = [print_of(answers[0]), print_of(answers[0], day="2026/03/06", name="again")]
    (first, _) = outcomes(sealed_proofs(folder), rows).each
    assert first.read_on == LATER
