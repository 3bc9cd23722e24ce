"""A damaged history: what is wrong is said of the reading it is wrong with, at once, by number."""

from __future__ import annotations

import json
import os
import sqlite3
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from inksim.calibration.history import add_rows, history_file, marks_ever, remove_row, rows_kept
from inksim.cli.commands import main
from inksim.common.database import BUSY_S
from inksim.common.errors import InputError
from inksim.shop.fresh import new_shop
from tests.calibration.test_history import DAY, ROWS, a_row
from tests.cli.test_every_command import run

DAMAGES: dict[str, tuple[str, Any]] = {
    "a Lab that is text": ("lab", "blue"),
    "a Lab of texts": ("lab", '["41", "3", "-7"]'),
    "a Lab of two": ("lab", "[41, 3]"),
    "a Lab that is a number": ("lab", "41"),
    "a Lab that is a table": ("lab", '{"L": 41, "a": 3, "b": -7}'),
    "yes and no": ("lab", "[true, false, true]"),
    "no numbers": ("lab", "[NaN, Infinity, 1]"),
    "a broken cell": ("lab", "[41.25, 0.33"),
    "an empty cell": ("lab", ""),
    "5 000 digits": ("lab", f"[{'9' * 5000}, 0, 0]"),
    "400 digits": ("lab", f"[{'9' * 400}, 0, 0]"),
    "2 000 deep": ("lab", "[" * 2000 + "]" * 2000),
    "100 000 deep": ("lab", "[" * 100_000),
    "no UTF-8": ("lab", b"[41, 3, \xff]"),
    "another Lab": ("lab", "[41.25, 1.0, -7.5]"),
    "another garment": ("garment", "Coal Black"),
    "a garment that is no UTF-8": ("garment", b"Mist\xff\xfe"),
    "another weight": ("weight", 40.0),
}


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = new_shop(tmp_path / "shop")
    add_rows(folder, ROWS, date=DAY)
    return folder


def damage(shop: Path, number: int, column: str, value: Any) -> None:
    """Change a cell as another program could: text is text of sqlite whatever its bytes."""
    with closing(sqlite3.connect(history_file(shop))) as connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        how = "CAST(? AS TEXT)" if isinstance(value, bytes) else "?"
        connection.execute(f"UPDATE reading SET {column} = {how} WHERE id = ?", (value, number))
        connection.commit()


@pytest.mark.parametrize("name", DAMAGES)
def test_a_damaged_reading_is_told_by_number_and_the_others_are_listed(
    name: str, shop: Path
) -> None:
    damage(shop, 4, *DAMAGES[name])  # the one that is a Lab
    with pytest.raises(InputError, match=r"reading 4 of the history is .*--remove 4") as refusal:
        rows_kept(shop)
    assert len(str(refusal.value)) <= 300
    kept = rows_kept(shop, faulty=True)
    assert [each.number for each in kept if each.fault] == [4]
    assert [each.row for each in kept if not each.fault] == [r for r in ROWS if r is not ROWS[3]]
    assert {row.mark for row in ROWS} <= marks_ever(shop)  # no proof is scored by what was known
    listed = run("history", "--shop", shop)
    assert listed.exit_code == 0
    assert "reading 4 is" in listed.stderr
    assert remove_row(shop, 4).name in ("print 3",)
    assert len(rows_kept(shop)) == len(ROWS) - 1


def test_every_command_that_works_with_it_says_so(shop: Path, tmp_path: Path) -> None:
    damage(shop, 2, "passes", 3)
    for words in (["record"], ["calibrate", tmp_path / "in.csv", "--dry-run"]):
        (tmp_path / "in.csv").write_text("name,garment,ink,L,a,b\nx,Mist Gray,Kiln Red,40,9,9\n")
        done = run(*words, "--shop", shop)
        assert done.exit_code == 2, done.stderr
        assert "reading 2 of the history is not as it was entered" in done.stderr
    out = tmp_path / "out.csv"
    assert run("history", "--csv", out, "--shop", shop).exit_code == 0
    assert len(out.read_text("utf-8").splitlines()) == len(ROWS)  # a head, and all but one
    said = json.loads(run("history", "--json", "--shop", shop).stdout)["readings"]
    assert [each["number"] for each in said if each["fault"]] == [2]


def test_whole_numbers_are_the_same_reading(shop: Path) -> None:
    row = a_row(50, weight=3, coverage=1, reflectance=None, lab=(50, 1, 0), sd_de00=2)
    assert add_rows(shop, [row], date=DAY) == 1
    assert rows_kept(shop)[-1].row == row


@pytest.mark.parametrize(
    "data", [b"", b"text", b"SQLite format 3\0" + b"\xff" * 4096], ids=["empty", "text", "cut"]
)
def test_a_file_that_is_no_history_is_a_sentence(data: bytes, shop: Path) -> None:
    for aside in shop.glob("history.sqlite-*"):
        aside.unlink()
    history_file(shop).write_bytes(data)
    done = run("history", "--shop", shop)
    assert done.exit_code == (2 if data else 0)
    assert "Traceback" not in done.stderr


# -- Who may only read


def as_reader(folder: Path, act: Callable[[], object], *, closed: Path | None = None) -> None:
    """Act as a user who may read a folder and write nothing: root, who may all, becomes nobody.

    closed: a file of it that this user may not even read.
    """
    paths = [folder, *folder.rglob("*")]
    above = [each for each in folder.parents if each.stat().st_uid == os.getuid()]
    before = {path: path.stat().st_mode for path in (*paths, *above)}
    for path in above:
        path.chmod(before[path] | 0o055)
    for path in paths:
        path.chmod(0o555 if path.is_dir() else 0o000 if path == closed else 0o444)
    try:
        if os.getuid():
            act()
            return
        child = os.fork()
        if child == 0:  # every way out of the child is below
            try:
                os.setgroups([])
                os.setgid(65534)
                os.setuid(65534)
                act()
                os._exit(0)
            except BaseException as error:
                os.write(2, f"as nobody: {error!r}\n".encode())
                os._exit(1)
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    finally:
        for path, mode in before.items():
            path.chmod(mode)


needs_users = pytest.mark.skipif(sys.platform == "win32", reason="it has no such users")


@needs_users
@pytest.mark.parametrize("left", ["nothing", "side files"])
def test_who_may_only_read_reads_at_once(left: str, shop: Path) -> None:
    writer = sqlite3.connect(history_file(shop))  # while it is open its side files stay
    writer.execute("SELECT count(*) FROM reading").fetchone()
    if left == "nothing":
        writer.close()
        assert not [*shop.glob("history.sqlite-*")]

    def look() -> None:
        began = time.monotonic()
        with pytest.raises(PermissionError):
            (shop / "mine").write_text("")
        assert tuple(each.row for each in rows_kept(shop)) == ROWS
        assert marks_ever(shop) == {row.mark for row in ROWS}
        main(["history", "--shop", str(shop)], standalone_mode=False)
        with pytest.raises(InputError, match="cannot be used"):
            add_rows(shop, [a_row(70)], date=DAY)
        assert time.monotonic() - began < BUSY_S / 2

    run("history", "--shop", shop)  # what a command loads, nobody may not be able to read
    as_reader(shop, look)
    writer.close()
    assert len(rows_kept(shop)) == len(ROWS)


@needs_users
def test_a_retry_that_cannot_help_is_not_waited_for(shop: Path) -> None:
    for each in shop.glob("history.sqlite*"):
        each.unlink()
    history_file(shop).touch()  # not write-ahead yet, and nobody here may make it so

    def look() -> None:
        began = time.monotonic()
        with pytest.raises(InputError, match="cannot be used"):
            add_rows(shop, [a_row(70)], date=DAY)
        assert time.monotonic() - began < BUSY_S / 2

    as_reader(shop, look)


@needs_users
def test_a_file_that_one_may_not_read_is_a_sentence(shop: Path) -> None:
    def look() -> None:
        with pytest.raises(InputError, match=r"history '.*' cannot be used"):
            rows_kept(shop)

    as_reader(shop, look, closed=history_file(shop))
