"""History of a shop's readings: an sqlite file beside the shop's text files, and CSV.

One row per reading, by the names it was printed with (`PrintRow`). The same reading is kept once,
however often it is added. Every change is one transaction in write-ahead mode: two programs may
work at once, and one that is killed leaves the file as it was before or after its change.

The CSV has the columns that `read_print_rows` takes, so it can be read back.
"""

from __future__ import annotations

import csv
import datetime
import io
import json
import sqlite3
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inksim.calibration.print_rows import PrintRow
from inksim.colour import WAVELENGTHS_NM
from inksim.common import InputError

FILE = "history.sqlite"
SCHEMA = 2
"""Version of the tables, in `PRAGMA user_version`: raised when a table changes. An older file is
brought up to it by the first change, in one transaction, and read as it is until then."""
PATIENCE_S = 10.0
_STRICT_SINCE = (3, 37, 0)

FIRST = """
CREATE TABLE reading (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    mark TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    garment TEXT NOT NULL,
    route TEXT NOT NULL CHECK (route IN ('straight', 'discharge-base', 'white-base')),
    ink TEXT NOT NULL,
    screen TEXT NOT NULL,
    passes INTEGER NOT NULL CHECK (passes BETWEEN 1 AND 4),
    base TEXT,
    base_screen TEXT,
    base_passes INTEGER CHECK (base_passes BETWEEN 1 AND 4),
    flash INTEGER CHECK (flash IN (0, 1)),
    coverage REAL NOT NULL CHECK (coverage > 0 AND coverage <= 1),
    lines_per_inch REAL,
    weight REAL NOT NULL CHECK (weight > 0),
    reflectance TEXT,
    lab TEXT,
    light TEXT NOT NULL,
    observer INTEGER NOT NULL,
    geometry TEXT,
    date TEXT NOT NULL,
    note TEXT NOT NULL,
    source TEXT NOT NULL,
    CHECK ((reflectance IS NULL) <> (lab IS NULL)),
    CHECK ((base IS NULL) = (base_screen IS NULL) AND (base IS NULL) = (base_passes IS NULL))
) STRICT;
"""
SINCE_2 = (
    "read_by TEXT NOT NULL DEFAULT 'instrument'",
    "sd_de00 REAL CHECK (sd_de00 > 0)",
    "garment_lot TEXT NOT NULL DEFAULT ''",
    "ink_lot TEXT NOT NULL DEFAULT ''",
    "base_lot TEXT NOT NULL DEFAULT ''",
)
"""Columns that a file of version 1 lacks."""
_PLAIN = (
    "name", "garment", "route", "ink", "screen", "passes", "coverage", "lines_per_inch", "weight",
    "read_by", "sd_de00", "garment_lot", "ink_lot", "base_lot", "light", "observer", "geometry",
    "date", "note", "source",
)  # fmt: skip
_COLUMNS = (
    "mark", *_PLAIN, "base", "base_screen", "base_passes", "flash", "reflectance", "lab",
)  # fmt: skip
_CSV_HEAD = (
    "name", "garment", "ink", "route", "screen", "passes", "base", "base_screen", "base_passes",
    "flash", "coverage", "lines_per_inch", "weight", "read_by", "sd_de00", "garment_lot",
    "ink_lot", "base_lot", "geometry", "light", "observer", "date", "note", "L", "a", "b",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class HistoryRow:
    """A row of the history with its number."""

    number: int
    row: PrintRow


def history_file(shop: Path) -> Path:
    """Path of a shop's history."""
    return shop / FILE


def add_rows(shop: Path, rows: Sequence[PrintRow], *, date: str, note: str = "") -> int:
    """Add readings to a shop's history; one that is already there is not added again.

    Parameters
    ----------
    date, note : for the rows that have none.

    Returns
    -------
    The number of new readings.

    Raises
    ------
    InputError : the file cannot be written, is no history, or is a newer inksim's.
    """
    names = ", ".join(_COLUMNS)
    places = ", ".join("?" * len(_COLUMNS))
    statement = f"INSERT INTO reading ({names}) VALUES ({places}) ON CONFLICT (mark) DO NOTHING"
    values = [_values(row, date=row.date or date, note=row.note or note) for row in rows]
    with _change(shop) as connection:
        before = connection.total_changes
        connection.executemany(statement, values)
        return connection.total_changes - before


def rows_kept(shop: Path, *, since: str = "") -> tuple[HistoryRow, ...]:
    """All readings of a shop's history in order of entry; since: a date, YYYY-MM-DD.

    Raises
    ------
    InputError : no such folder, no such day, or a file that is no history of this inksim's.
    """
    if not shop.is_dir():
        raise InputError(f"there is no shop folder '{shop}', and no history of its prints.")
    try:
        since = datetime.date.fromisoformat(since).isoformat() if since else ""
    except ValueError:
        raise InputError(f"'{since}' is no day; write it as 2026-02-10.") from None
    if not history_file(shop).exists():
        return ()
    with _open(shop) as connection:
        # another program may have made the file a moment ago, and not its tables yet
        if not _version(connection):
            return ()
        found = connection.execute(
            "SELECT * FROM reading WHERE date >= ? ORDER BY id", (since,)
        ).fetchall()
    return tuple(HistoryRow(number=each["id"], row=_row(each)) for each in found)


def remove_row(shop: Path, number: int) -> PrintRow:
    """Remove one reading from the history, and return it.

    Raises
    ------
    InputError : no reading of that number.
    """
    with _change(shop) as connection:
        found = connection.execute("SELECT * FROM reading WHERE id = ?", (number,)).fetchone()
        if found is None:
            raise InputError(
                f"the history has no reading {number}; 'inksim history' lists them with numbers."
            )
        connection.execute("DELETE FROM reading WHERE id = ?", (number,))
    return _row(found)


def to_csv(rows: Sequence[PrintRow]) -> str:
    """Readings as CSV with all digits: reading it back gives the same rows.

    A row without a reading has L, a, b left empty, to be filled in.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    bands = [f"factor {nm:.0f}" for nm in WAVELENGTHS_NM]
    spectra = any(row.reflectance for row in rows)
    writer.writerow([*_CSV_HEAD, *bands] if spectra else _CSV_HEAD)
    for row in rows:
        base, base_screen, base_passes, flash = row.base or ("", "", "", None)
        cells: list[Any] = [
            row.name, row.garment, row.ink, row.route, row.screen, row.passes, base, base_screen,
            base_passes, "" if flash is None else ("yes" if flash else "no"),
            "" if row.coverage == 1 else repr(100.0 * row.coverage), row.lines_per_inch or "",
            repr(row.weight), row.read_by, "" if row.sd_de00 is None else repr(row.sd_de00),
            row.garment_lot, row.ink_lot, row.base_lot, row.geometry or "", row.light, row.observer,
            row.date, row.note,
            *(map(repr, row.lab) if row.lab else ("", "", "")),
        ]  # fmt: skip
        if spectra:
            cells += map(repr, row.reflectance) if row.reflectance else [""] * len(bands)
        writer.writerow(cells)
    return text.getvalue()


def _values(row: PrintRow, *, date: str, note: str) -> tuple[Any, ...]:
    plain = {field: getattr(row, field) for field in _PLAIN} | {"date": date, "note": note}
    base = row.base or (None, None, None, None)
    flash = None if base[3] is None else int(base[3])
    spectra = [
        None if numbers is None else json.dumps(list(numbers))
        for numbers in (row.reflectance, row.lab)
    ]
    return (row.mark, *plain.values(), *base[:3], flash, *spectra)


def _row(found: sqlite3.Row) -> PrintRow:
    base = None
    if found["base"] is not None:
        base = (found["base"], found["base_screen"], found["base_passes"], bool(found["flash"]))
    there = found.keys()  # a file of version 1 that was only read has not all of them
    fields: dict[str, Any] = {field: found[field] for field in _PLAIN if field in there}
    for field in ("reflectance", "lab"):
        fields[field] = None if found[field] is None else tuple(json.loads(found[field]))
    return PrintRow(base=base, **fields)


@contextmanager
def _change(shop: Path) -> Iterator[sqlite3.Connection]:
    """A write transaction: committed as a whole, or rolled back."""
    with _open(shop, writing=True) as connection:
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield connection
            connection.execute("COMMIT")
        except BaseException:
            connection.execute("ROLLBACK")
            raise


@contextmanager
def _open(shop: Path, *, writing: bool = False) -> Iterator[sqlite3.Connection]:
    """Connect to a history of the right version; sqlite errors become InputError."""
    path = history_file(shop)
    if sqlite3.sqlite_version_info < _STRICT_SINCE:
        raise InputError(
            f"the history needs sqlite 3.37 or newer, and this Python has {sqlite3.sqlite_version}."
        )
    connection = None
    try:
        connection = sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None)
        connection.row_factory = sqlite3.Row
        _prepare(connection, path, writing=writing)
        yield connection
    except sqlite3.OperationalError as error:
        locked = "locked" in str(error) or "busy" in str(error)
        why = "another program is writing it; try again" if locked else str(error)
        raise InputError(f"the history '{path}' cannot be used: {why}.") from None
    except sqlite3.DatabaseError as error:
        raise InputError(
            f"'{path}' is no history of inksim or is damaged ({error}); nothing was changed. Put "
            "it aside, and bring readings back from CSV with 'inksim history --from FILE'."
        ) from None
    finally:
        if connection is not None:
            connection.close()


def _prepare(connection: sqlite3.Connection, path: Path, *, writing: bool) -> None:
    """Create the tables of a new file, bring an old one up; refuse a file of a newer version."""
    version = _version(connection)
    if version > SCHEMA:
        raise InputError(
            f"the history '{path}' is of version {version}, and this inksim knows {SCHEMA}; "
            "nothing was changed. Use the newer inksim."
        )
    if not writing:
        return
    _write_ahead(connection)
    connection.execute("PRAGMA synchronous = FULL")
    if version == SCHEMA:
        return
    connection.execute("BEGIN IMMEDIATE")
    try:
        for at in range(_version(connection), SCHEMA):  # another program may have done it meanwhile
            _STEPS[at](connection)
        connection.execute(f"PRAGMA user_version = {SCHEMA}")
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise


def _version(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _to_1(connection: sqlite3.Connection) -> None:
    connection.execute(FIRST)


def _to_2(connection: sqlite3.Connection) -> None:
    """How sure a reading is, and of which lots; the marks are of all that a row says."""
    for column in SINCE_2:
        connection.execute(f"ALTER TABLE reading ADD COLUMN {column}")
    for found in connection.execute("SELECT * FROM reading").fetchall():
        mark = _row(found).mark
        connection.execute("UPDATE reading SET mark = ? WHERE id = ?", (mark, found["id"]))


_STEPS = (_to_1, _to_2)
"""What brings a file to each version from the one before."""


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Switch to write-ahead mode, retrying while another process holds the file."""
    give_up = time.monotonic() + PATIENCE_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError:
            if time.monotonic() > give_up:
                raise
            time.sleep(0.02)
