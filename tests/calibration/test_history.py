"""The kept readings: round trips, one of each, two writers, a killed writer, other versions."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from inksim.calibration.history import (
    FILE,
    STEPS,
    add_rows,
    history_file,
    marks_ever,
    remove_row,
    rows_kept,
    to_csv,
)
from inksim.calibration.print_rows import PrintRow, read_print_rows, reading_of
from inksim.common.errors import InputError
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop

ROOT = Path(__file__).parents[2]
DAY = "2026-03-04"


def a_row(at: int = 0, **changed: object) -> PrintRow:
    spectrum = tuple(float(v) for v in np.random.default_rng(at).uniform(0.05, 0.8, 31))
    row = PrintRow(
        name=f"print {at}", garment="Mist Gray", route="white-base", ink="Kiln Red", screen="230",
        passes=1, base=("Chalk White Base", "110", 1, True), reflectance=spectrum,
        geometry="45:0", date=DAY, note='second "pull", at noon', source="a.csv, line 2",
    )  # fmt: skip
    return replace(row, **changed)  # type: ignore[arg-type]


ROWS = (
    a_row(0),
    a_row(1, base=None, route="straight", passes=2, screen="160", weight=3.0, note=""),
    a_row(2, coverage=0.3, lines_per_inch=45.0),
    a_row(3, reflectance=None, lab=(41.25, 1.0 / 3.0, -7.5), light="D65", observer=10),
    a_row(4, read_by="eye", weight=2.0),
    a_row(5, read_by="old densitometer", sd_de00=4.25),
    a_row(6, garment_lot="A-17", ink_lot="3rd bucket", base_lot="12/25"),
)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return new_shop(tmp_path / "shop")


def test_what_is_kept_comes_back_to_the_last_digit(shop: Path) -> None:
    assert rows_kept(shop) == ()
    assert add_rows(shop, ROWS, date="2026-01-01") == len(ROWS)
    assert tuple(kept.row for kept in rows_kept(shop)) == ROWS


def test_the_tables_are_strict_and_written_ahead(shop: Path) -> None:
    add_rows(shop, ROWS, date=DAY)
    connection = sqlite3.connect(history_file(shop))
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert connection.execute("PRAGMA user_version").fetchone() == (len(STEPS),)
    # a STRICT table refuses text in a number's column (sqlite's own words)
    with pytest.raises(sqlite3.IntegrityError, match="cannot store TEXT value in INTEGER"):
        connection.execute("UPDATE reading SET passes = 'two'")
    with pytest.raises(sqlite3.IntegrityError, match="CHECK constraint"):
        connection.execute("UPDATE reading SET passes = 9")
    connection.close()


def test_the_same_reading_is_kept_once(shop: Path) -> None:
    add_rows(shop, ROWS, date=DAY)
    again = [replace(row, name="another name", date="2027-01-01", note="x") for row in ROWS]
    assert add_rows(shop, again, date=DAY) == 0
    assert len(rows_kept(shop)) == len(ROWS)
    assert add_rows(shop, [a_row(9)], date=DAY) == 1


def test_csv_out_is_csv_in(shop: Path, tmp_path: Path) -> None:
    file = tmp_path / "out.csv"
    file.write_text(to_csv(ROWS), encoding="utf-8")
    read = read_print_rows(file, shop=load_shop(shop)).rows
    assert [replace(row, source="") for row in read] == [replace(row, source="") for row in ROWS]
    assert [row.mark for row in read] == [row.mark for row in ROWS]
    assert to_csv(read) == to_csv(ROWS)


def test_a_row_knows_its_build(shop: Path) -> None:
    reading = reading_of(ROWS[0], shop=load_shop(shop))
    assert [layer.ink.name for layer in reading.build.layers] == ["Chalk White Base", "Kiln Red"]
    gone = replace(ROWS[0], garment="A shirt that was sold out")
    with pytest.raises(InputError, match="no garment"):
        reading_of(gone, shop=load_shop(shop))


def test_since_and_remove(shop: Path) -> None:
    add_rows(shop, [a_row(0, date="2026-01-01"), a_row(1, date="2026-06-01")], date=DAY)
    assert [kept.row.name for kept in rows_kept(shop, since="2026-03-01")] == ["print 1"]
    assert remove_row(shop, rows_kept(shop)[0].number).name == "print 0"
    assert [kept.row.name for kept in rows_kept(shop)] == ["print 1"]
    with pytest.raises(InputError, match="no reading 99"):
        remove_row(shop, 99)


def test_since_reads_days_as_they_were_written(shop: Path) -> None:
    """As text, 27.11.2024 comes after 2026 and 11/27/2026 before it."""
    days = ("27.11.2024", "11/27/2026", "5 Jan 2026", "2025-12-31")
    add_rows(shop, [a_row(at, date=day) for at, day in enumerate(days)], date=DAY)
    for since in ("2026-01-01", "1.1.2026", "Jan 1, 2026"):
        found = [kept.row.name for kept in rows_kept(shop, since=since)]
        assert found == ["print 1", "print 2"]
    with pytest.raises(InputError, match="may be 4 March 2026 or 3 April 2026"):
        rows_kept(shop, since="03/04/2026")
    add_rows(shop, [a_row(9, date="03/04/2026")], date=DAY)
    assert len(rows_kept(shop)) == 5
    with pytest.raises(InputError, match=r"reading 5 of the history: '03/04/2026' may be .*--from"):
        rows_kept(shop, since="2026-01-01")


# -- Many writers, and one that dies

WRITER = """
import sys
from pathlib import Path
from tests.calibration.test_history import a_row
from inksim.calibration.history import add_rows
shop, first, count = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
print("ready", flush=True)
for at in range(first, first + count):
    add_rows(shop, [a_row(at), a_row(at + 100_000)], date="2026-03-04")
"""


def writer(shop: Path, first: int, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(shop), str(first), str(count)],
        cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def test_two_programs_write_at_once(shop: Path) -> None:
    both = [writer(shop, first, 25) for first in (0, 1000)]
    for each in both:
        _, said = each.communicate(timeout=120)
        assert each.returncode == 0, said
    assert len(rows_kept(shop)) == 100


def test_a_killed_writer_leaves_whole_changes(shop: Path) -> None:
    one = writer(shop, 0, 100_000)
    assert one.stdout is not None
    assert one.stdout.readline() == "ready\n"
    give_up = time.monotonic() + 60
    while len(rows_kept(shop)) < 6 and time.monotonic() < give_up:
        time.sleep(0.02)
    one.send_signal(signal.SIGKILL)
    one.communicate()
    kept = rows_kept(shop)
    assert len(kept) >= 6
    assert len(kept) % 2 == 0  # each change added two readings: both are there or neither
    connection = sqlite3.connect(history_file(shop))
    assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()
    assert add_rows(shop, [a_row(777_777)], date=DAY) == 1


def test_a_change_that_fails_changes_nothing(shop: Path) -> None:
    add_rows(shop, [a_row(0)], date=DAY)
    with pytest.raises(InputError):
        add_rows(shop, [a_row(1), a_row(2, passes=9)], date=DAY)
    assert [kept.row.name for kept in rows_kept(shop)] == ["print 0"]


def test_a_file_without_tables_yet_is_an_empty_history(shop: Path) -> None:
    # what a reader sees while another program makes the file
    sqlite3.connect(history_file(shop)).close()
    history_file(shop).touch()
    assert rows_kept(shop) == ()
    assert add_rows(shop, [a_row(0)], date=DAY) == 1


# -- Files that are not a history of this version

FIRST_VERSION = """
CREATE TABLE reading (
    id INTEGER PRIMARY KEY AUTOINCREMENT, mark TEXT NOT NULL UNIQUE, name TEXT NOT NULL,
    garment TEXT NOT NULL,
    route TEXT NOT NULL CHECK (route IN ('straight', 'discharge-base', 'white-base')),
    ink TEXT NOT NULL, screen TEXT NOT NULL,
    passes INTEGER NOT NULL CHECK (passes BETWEEN 1 AND 4), base TEXT, base_screen TEXT,
    base_passes INTEGER CHECK (base_passes BETWEEN 1 AND 4), flash INTEGER CHECK (flash IN (0, 1)),
    coverage REAL NOT NULL CHECK (coverage > 0 AND coverage <= 1), lines_per_inch REAL,
    weight REAL NOT NULL CHECK (weight > 0), reflectance TEXT, lab TEXT, light TEXT NOT NULL,
    observer INTEGER NOT NULL, geometry TEXT, date TEXT NOT NULL, note TEXT NOT NULL,
    source TEXT NOT NULL, CHECK ((reflectance IS NULL) <> (lab IS NULL)),
    CHECK ((base IS NULL) = (base_screen IS NULL) AND (base IS NULL) = (base_passes IS NULL))
) STRICT;
INSERT INTO reading VALUES (7, 'an-old-mark', 'one', 'Mist Gray', 'white-base', 'Kiln Red', '230',
    1, 'Chalk White Base', '110', 1, 1, 1.0, NULL, 2.0, NULL, '[41.25, 0.5, -7.5]', 'D50', 2,
    '45:0', '2026-03-04', 'noon', 'a.csv');
INSERT INTO reading VALUES (9, 'another', 'two', 'Coal Black', 'straight', 'Kiln Red', '160', 2,
    NULL, NULL, NULL, NULL, 0.5, 45.0, 1.0, NULL, '[20.0, 1.0, 2.0]', 'D65', 10, NULL,
    '2026-03-05', '', 'a.csv');
PRAGMA user_version = 1;
"""


def test_a_history_of_the_first_version_is_read_and_brought_up(shop: Path) -> None:
    connection = sqlite3.connect(history_file(shop))
    connection.executescript(FIRST_VERSION)
    connection.close()
    before = history_file(shop).read_bytes()
    old = rows_kept(shop)
    assert history_file(shop).read_bytes() == before  # reading changes nothing
    assert [each.number for each in old] == [7, 9]
    assert old[0].row == PrintRow(
        name="one", garment="Mist Gray", route="white-base", ink="Kiln Red", screen="230",
        passes=1, base=("Chalk White Base", "110", 1, True), weight=2.0, lab=(41.25, 0.5, -7.5),
        geometry="45:0", date="2026-03-04", note="noon", source="a.csv",
    )  # fmt: skip
    # the first change brings it up: nothing is lost, and what is there is not added again
    assert add_rows(shop, [old[0].row, a_row(5, read_by="eye", ink_lot="B")], date=DAY) == 1
    new = rows_kept(shop)
    assert new[:2] == old
    assert (new[2].row.read_by, new[2].row.ink_lot) == ("eye", "B")
    connection = sqlite3.connect(history_file(shop))
    assert connection.execute("PRAGMA user_version").fetchone() == (len(STEPS),)
    with pytest.raises(sqlite3.IntegrityError, match="CHECK constraint"):
        connection.execute("UPDATE reading SET sd_de00 = -1.0")
    connection.close()


def test_a_newer_history_is_refused_and_left(shop: Path) -> None:
    add_rows(shop, [a_row(0)], date=DAY)
    connection = sqlite3.connect(history_file(shop))
    connection.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    connection.close()
    with pytest.raises(InputError, match="Use the newer inksim"):
        add_rows(shop, [a_row(1)], date=DAY)
    connection = sqlite3.connect(history_file(shop))
    assert connection.execute("SELECT count(*) FROM reading").fetchone() == (1,)
    connection.close()


def test_what_is_no_history_is_refused_and_left(shop: Path) -> None:
    data = b"not a database, but long enough to be looked at as one " * 40
    (shop / FILE).write_bytes(data)
    with pytest.raises(InputError, match="no history of inksim or is damaged"):
        add_rows(shop, [a_row(0)], date=DAY)
    assert (shop / FILE).read_bytes() == data


def test_marks_of_removed_readings_stay(shop: Path) -> None:
    assert marks_ever(shop) == frozenset()
    add_rows(shop, [a_row(0), a_row(1)], date=DAY)
    both = {each.row.mark for each in rows_kept(shop)}
    remove_row(shop, rows_kept(shop)[0].number)
    assert marks_ever(shop) == both
    assert len(rows_kept(shop)) == 1


def test_a_history_of_an_older_version_has_its_marks(shop: Path) -> None:
    connection = sqlite3.connect(history_file(shop))
    connection.executescript(FIRST_VERSION)
    connection.close()
    assert marks_ever(shop) == {each.row.mark for each in rows_kept(shop)}  # of the new making
    assert len(marks_ever(shop)) == 2


def test_a_number_no_database_counts_to_is_no_reading(shop: Path) -> None:
    add_rows(shop, [a_row(0)], date=DAY)
    for number in (2**63, -(2**70)):
        with pytest.raises(InputError, match="has no reading"):
            remove_row(shop, number)


@pytest.mark.parametrize(
    ("column", "value"), [("coverage", None), ("weight", "#"), ("sd_de00", "x")]
)
def test_a_number_that_another_program_took_out_is_a_fault(
    shop: Path, column: str, value: str | None
) -> None:
    add_rows(shop, [a_row(0)], date=DAY)
    with closing(sqlite3.connect(history_file(shop), isolation_level=None)) as base:
        base.execute("CREATE TABLE loose AS SELECT * FROM reading")
        base.execute("DROP TABLE reading")
        base.execute("ALTER TABLE loose RENAME TO reading")
        base.execute(f"UPDATE reading SET {column} = ?", (value,))
    with pytest.raises(InputError, match="is no number"):
        rows_kept(shop)
    (kept,) = rows_kept(shop, faulty=True)
    assert "is no number" in kept.fault


def test_a_file_without_a_column_is_one_sentence(shop: Path) -> None:
    add_rows(shop, [a_row(0)], date=DAY)
    with closing(sqlite3.connect(history_file(shop), isolation_level=None)) as base:
        base.execute("ALTER TABLE reading DROP COLUMN ink")
    with pytest.raises(InputError, match="cannot be used"):
        rows_kept(shop)
