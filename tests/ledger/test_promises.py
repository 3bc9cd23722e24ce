"""Proofs issued: sealed whole, numbered without gaps, never changed unseen."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from inksim.calibration.history import add_rows, rows_kept
from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from inksim.decision.answer import Answer, answer_of
from inksim.ledger.promises import (
    Issued,
    SealedLayer,
    issue_proof,
    missing_numbers,
    promises_file,
    sealed_proofs,
)
from inksim.printing.prediction import predict
from inksim.shop.load import load_shop
from inksim.shop.usual_builds import usual_build
from tests.calibration.test_history import a_row
from tests.small_shop import few_inks

ROOT = Path(__file__).parents[2]
INKS = ("Kiln Red", "Chalk White Base")
DAY = date(2026, 3, 4)


@pytest.fixture(scope="module")
def answers() -> list[Answer]:
    return promised()


def promised() -> list[Answer]:
    """Two colors that differ in all that a seal has of them."""
    shop = load_shop()
    wanted = (("Coal Black", "white-base", "#e8622c"), ("Flour White", "straight", "#c9342f"))
    found = []
    for garment, route, code in wanted:
        build = usual_build(
            shop, garment=shop.garment(garment), ink=shop.ink("Kiln Red"), route=route
        )
        target = shop.target(code)
        (prediction,) = predict([build], press=shop.press, target=target, tolerance=4.0)
        found.append(answer_of(prediction, target=target, nominal=True))
    return found


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return few_inks(tmp_path / "shop", *INKS)


def issue(folder: Path, answers: list[Answer], *, design: str = "any", day: date = DAY) -> Issued:
    return issue_proof(load_shop(folder), answers, design=design, viewing=Viewing(), day=day)


def test_a_seal_holds_what_was_answered(folder: Path, answers: list[Answer]) -> None:
    assert issue(folder, answers).words.startswith("Proof no. 1, seal ")
    (proof,) = sealed_proofs(folder)
    assert (proof.number, proof.day, proof.light, proof.altered) == (1, "2026-03-04", "D50", "")
    assert {"inks.toml", "garments.toml", "screens.toml", "press.toml"} <= set(proof.files)
    over, straight = proof.colours
    for sealed, answer in zip((over, straight), answers, strict=True):
        said = answer.verdict
        assert sealed.chance == said.chance
        assert (sealed.median, sealed.low, sealed.high) == (said.median_de00, said.low, said.high)
        assert (sealed.word, sealed.tolerance, sealed.data) == (said.word, 4.0, answer.data)
        assert sealed.lab == tuple(answer.lab)
        assert sealed.target_lab == tuple(answer.target.lab(Viewing()))
    assert [layer.ink for layer in over.layers] == ["Chalk White Base", "Kiln Red"]
    assert straight.layers == (SealedLayer("Kiln Red", "160", 2, True),)
    assert (straight.garment, straight.route) == ("Flour White", "straight")


def test_the_same_proof_of_one_day_keeps_its_number(folder: Path, answers: list[Answer]) -> None:
    first = issue(folder, answers)
    assert issue(folder, answers) == first
    assert issue(folder, answers, design="another").number == 2
    assert issue(folder, answers, day=date(2026, 3, 5)).number == 3
    assert issue(folder, answers[:1]).number == 4
    assert len(sealed_proofs(folder)) == 4


def test_another_state_of_the_shop_is_another_proof(folder: Path, answers: list[Answer]) -> None:
    issue(folder, answers)
    inks = folder / "inks.toml"
    inks.write_text(inks.read_text("utf-8") + "\n# a comment\n", encoding="utf-8")
    add_rows(folder, [a_row(0)], date="2026-03-04")
    assert issue(folder, answers).number == 2
    before, after = sealed_proofs(folder)
    assert before.files["inks.toml"] != after.files["inks.toml"]
    assert before.files["press.toml"] == after.files["press.toml"]
    assert before.readings == frozenset()
    assert after.readings == {rows_kept(folder)[0].row.mark}


def test_the_demo_shop_and_one_that_is_not_ones_own_give_no_number(
    folder: Path, answers: list[Answer], monkeypatch: pytest.MonkeyPatch
) -> None:
    demo = load_shop()
    none = issue_proof(demo, answers, design="any", viewing=Viewing(), day=DAY)
    assert none.number is None
    assert "the demo shop keeps no record" in none.words
    assert not promises_file(demo.folder).exists()
    monkeypatch.setattr("inksim.shop.edit.os.access", lambda *_: False)
    none = issue(folder, answers)
    assert none.words == "no proof number: the shop's folder cannot be written to"
    assert not promises_file(folder).exists()


# -- What was sealed stays


def test_a_sealed_row_is_not_changed_or_removed(folder: Path, answers: list[Answer]) -> None:
    issue(folder, answers)
    connection = sqlite3.connect(promises_file(folder))
    for change in ("UPDATE proof SET number = 2", "DELETE FROM proof"):
        with pytest.raises(sqlite3.IntegrityError, match="a sealed proof is not"):
            connection.execute(change)
    connection.close()


def by_force(folder: Path, change: str, *values: object) -> None:
    connection = sqlite3.connect(promises_file(folder))
    connection.execute("DROP TRIGGER sealed_stays")
    connection.execute("DROP TRIGGER sealed_is_kept")
    connection.execute(change, values)
    connection.commit()
    connection.close()


def test_a_row_changed_by_force_is_told(folder: Path, answers: list[Answer]) -> None:
    for design in ("one", "two", "three"):
        issue(folder, answers, design=design)
    connection = sqlite3.connect(promises_file(folder))
    said = json.loads(
        connection.execute("SELECT content FROM proof WHERE number = 2").fetchone()[0]
    )
    connection.close()
    said["colours"][0]["chance"] = 0.1
    text = json.dumps(said, ensure_ascii=False, sort_keys=True)
    by_force(folder, "UPDATE proof SET content = ? WHERE number = 2", text)
    assert [bool(each.altered) for each in sealed_proofs(folder)] == [False, True, False]


@pytest.mark.parametrize("content", ["{}", "no JSON", '{"colours": [{}], "readings": []}'])
def test_a_row_that_cannot_be_read_is_told(
    folder: Path, answers: list[Answer], content: str
) -> None:
    issue(folder, answers)
    by_force(folder, "UPDATE proof SET content = ?", content)
    (proof,) = sealed_proofs(folder)
    assert proof.altered == "it can no longer be read"


def test_a_row_taken_out_is_told(folder: Path, answers: list[Answer]) -> None:
    for design in ("one", "two", "three"):
        issue(folder, answers, design=design)
    by_force(folder, "DELETE FROM proof WHERE number IN (1, 3)")
    assert missing_numbers(folder) == (1, 3)
    (left,) = sealed_proofs(folder)
    assert left.altered  # its mark is over the one before, which is gone
    assert issue(folder, answers, design="four").number == 4  # no number is given twice


# -- Two at once, and killed

WRITER = """
import sys
from datetime import date
from pathlib import Path
from inksim.colour.viewing import Viewing
from inksim.ledger.promises import issue_proof
from inksim.shop.load import load_shop
from tests.ledger.test_promises import promised
shop, answers = load_shop(Path(sys.argv[1])), promised()
print("ready", flush=True)
for at in range(int(sys.argv[2])):
    issue_proof(shop, answers, design=f"{sys.argv[3]} {at}", viewing=Viewing(), day=date.today())
"""


def writer(folder: Path, count: int, name: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(folder), str(count), name],
        cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def test_two_programs_share_the_numbers_out(folder: Path) -> None:
    both = [writer(folder, 10, name) for name in ("a", "b")]
    for each in both:
        _, said = each.communicate(timeout=120)
        assert each.returncode == 0, said
    proofs = sealed_proofs(folder)
    assert [each.number for each in proofs] == list(range(1, 21))
    assert not any(each.altered for each in proofs)


def test_a_killed_program_leaves_whole_seals(folder: Path, answers: list[Answer]) -> None:
    one = writer(folder, 100_000, "a")
    assert one.stdout is not None
    assert one.stdout.readline() == "ready\n"
    give_up = time.monotonic() + 60
    while len(sealed_proofs(folder)) < 3 and time.monotonic() < give_up:
        time.sleep(0.02)
    one.send_signal(signal.SIGKILL)
    one.communicate()
    proofs = sealed_proofs(folder)
    assert len(proofs) >= 3
    assert not any(each.altered for each in proofs)
    assert issue(folder, answers).number == len(proofs) + 1


def test_who_may_only_read_can_read(
    folder: Path, answers: list[Answer], monkeypatch: pytest.MonkeyPatch
) -> None:
    issue(folder, answers)
    there = sorted(folder.iterdir())
    monkeypatch.setattr("inksim.common.database.os.access", lambda *_: False)
    connect, asked = sqlite3.connect, []

    def connected(address: str, **more: object) -> sqlite3.Connection:
        asked.append(address)
        return connect(address, **more)  # type: ignore[call-overload, no-any-return]

    monkeypatch.setattr("inksim.common.database.sqlite3.connect", connected)
    assert len(sealed_proofs(folder)) == 1
    assert sorted(folder.iterdir()) == there  # no side file was asked for
    assert all(each.endswith("?mode=ro&immutable=1") for each in asked)


def test_a_newer_file_and_a_damaged_one_are_refused(folder: Path, answers: list[Answer]) -> None:
    issue(folder, answers)
    connection = sqlite3.connect(promises_file(folder))
    connection.execute("PRAGMA user_version = 2")
    connection.close()
    for ask in (lambda: issue(folder, answers), lambda: sealed_proofs(folder)):
        with pytest.raises(InputError, match="Use the newer inksim"):
            ask()
    promises_file(folder).write_bytes(b"not a record at all" * 400)
    with pytest.raises(InputError, match="no record of promises of inksim or is damaged"):
        sealed_proofs(folder)


def test_a_shop_without_proofs_has_none(folder: Path) -> None:
    assert (sealed_proofs(folder), missing_numbers(folder)) == ((), ())
    sqlite3.connect(promises_file(folder)).close()
    promises_file(folder).touch()  # what a reader sees while another program makes the file
    assert (sealed_proofs(folder), missing_numbers(folder)) == ((), ())


def test_a_bare_cloth_is_sealed_without_films(folder: Path, answers: list[Answer]) -> None:
    bare = replace(answers[0], build=replace(answers[0].build, layers=(), route="bare"))
    issue(folder, [bare])
    (proof,) = sealed_proofs(folder)
    assert (proof.colours[0].ink, proof.colours[0].layers) == (None, ())
