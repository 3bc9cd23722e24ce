"""History of a shop's readings: an sqlite file beside the shop's text files, and CSV.

One row per reading, by the names it was printed with (`PrintRow`). The same reading is kept once,
however often it is added. How the file is kept whole: see `Database`.

The CSV has the columns that `read_print_rows` takes, so it can be read back.
"""

from __future__ import annotations

import json
import math
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from inksim.calibration.print_rows import PrintRow
from inksim.calibration.row_words import proof_and_note
from inksim.colour import WAVELENGTHS_NM
from inksim.common import Database, InputError, csv_text, day_of, version_of

FILE = "history.sqlite"

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
MARKED_ALIKE_SINCE, SINCE_REMOVED = 2, 3
_MENDED = """SELECT id, mark, source FROM reading WHERE scores_only AND mark <> :mark
    AND name = :name AND garment = :garment AND route = :route AND ink = :ink AND date = :date
    AND note = :note"""
"""A reading of the same print under the same name, to which no press was fitted."""
_PLAIN = (
    "name", "garment", "route", "ink", "screen", "passes", "coverage", "lines_per_inch", "weight",
    "read_by", "sd_de00", "garment_lot", "ink_lot", "base_lot", "light", "observer", "geometry",
    "date", "note", "source", "shared_de00", "picture",
)  # fmt: skip
_COLUMNS = (
    "mark", *_PLAIN, "base", "base_screen", "base_passes", "flash", "reflectance", "lab",
    "scores_only",
)  # fmt: skip
_CSV_HEAD = (
    "name", "garment", "ink", "route", "screen", "passes", "base", "base_screen", "base_passes",
    "flash", "coverage", "lines_per_inch", "weight", "read_by", "sd_de00", "shared_de00", "picture",
    "garment_lot", "ink_lot", "base_lot", "geometry", "light", "observer", "date", "proof", "note",
    "scores_only",
    "L", "a", "b",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class HistoryRow:
    """A row of the history with its number.

    fault: what is wrong with it, in words; '' if it is as it was entered. A row whose reading
    cannot be read has neither spectrum nor Lab.
    """

    number: int
    row: PrintRow
    fault: str = ""

    @property
    def noted(self) -> str:
        """Last column of a list: what is wrong with it, else its note."""
        return f"it {self.fault}" if self.fault else self.row.note


def history_file(shop: Path) -> Path:
    """Path of a shop's history."""
    return shop / FILE


def add_rows(shop: Path, rows: Sequence[PrintRow], *, date: str, note: str = "") -> int:
    """Add readings to a shop's history; one that is already there is not added again.

    One that scored proofs only becomes one that a press is fitted to, if it comes again as that;
    and it gives way to another reading of its name, print, day and file: whoever gives a table
    again has mended it.

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
    statement = (
        f"INSERT INTO reading ({names}) VALUES ({places}) ON CONFLICT (mark) DO UPDATE "
        "SET scores_only = 0 WHERE scores_only > excluded.scores_only"
    )
    said = [replace(row, date=row.date or date, note=row.note or note) for row in rows]
    with _history(shop).change() as connection:
        for row in said:
            for found in connection.execute(_MENDED, vars(row) | {"mark": row.mark}).fetchall():
                if _file(found["source"]) == _file(row.source):
                    _take_out(connection, found["id"], mark=found["mark"])
        before = connection.total_changes
        connection.executemany(statement, [_values(row) for row in said])
        return connection.total_changes - before


def rows_kept(shop: Path, *, since: str = "", faulty: bool = False) -> tuple[HistoryRow, ...]:
    """All readings of a shop's history in order of entry; since: a day, as `day_of` reads it.

    faulty: with those that are damaged or were changed by another program, to be listed with their
    fault; nothing is worked out from such a reading.

    Raises
    ------
    InputError : no such folder, no such day, a reading from which no day can be told since when
        days are asked for, one with a fault, or a file that is no history of this inksim's.
    """
    if not shop.is_dir():
        raise InputError(f"there is no shop folder '{shop}', and no history of its prints.")
    since = day_of(since) if since else ""
    if not history_file(shop).exists():
        return ()
    with _history(shop).open() as connection:
        # another program may have made the file a moment ago, and not its tables yet
        version = version_of(connection)
        if not version:
            return ()
        connection.execute(f"SELECT {', '.join(_ALWAYS)} FROM reading LIMIT 0")  # it has them
        found = connection.execute("SELECT * FROM reading ORDER BY id").fetchall()
    kept = [_history_row(each, marked=version >= MARKED_ALIKE_SINCE) for each in found]
    if (faults := [each for each in kept if each.fault]) and not faulty:
        more = f", and {len(faults) - 1} more with a fault" if faults[1:] else ""
        raise InputError(
            f"reading {faults[0].number} of the history {faults[0].fault}{more}; 'inksim history' "
            f"lists all, --remove {faults[0].number} takes it out, --from FILE puts it back from a "
            "file of readings."
        )
    return tuple(each for each in kept if not since or _day(each) >= since)


def _day(kept: HistoryRow) -> str:
    """The day of a reading; an older inksim kept days as they were written."""
    try:
        return day_of(kept.row.date)
    except InputError as error:
        raise InputError(
            f"reading {kept.number} of the history: {error} 'inksim history --csv FILE' writes all "
            f"readings, --remove {kept.number} takes it out, --from FILE puts it back mended."
        ) from None


def remove_row(shop: Path, number: int) -> PrintRow:
    """Remove one reading from the history, and return it; the file as it was is kept.

    Raises
    ------
    InputError : no reading of that number.
    """
    key = number if number.bit_length() < 64 else -1  # sqlite counts no further
    with _history(shop).change(keep=True) as connection:
        found = connection.execute("SELECT * FROM reading WHERE id = ?", (key,)).fetchone()
        if found is None:
            raise InputError(
                f"the history has no reading {number}; 'inksim history' lists them with numbers."
            )
        _take_out(connection, number, mark=found["mark"])
    return _row(found)[0]


def _file(source: str) -> str:
    """The file that a reading was in: 'prints.csv' of 'prints.csv, line 3'."""
    return source.partition(", line ")[0]


def _take_out(connection: sqlite3.Connection, number: int, *, mark: str) -> None:
    connection.execute("DELETE FROM reading WHERE id = ?", (number,))
    connection.execute("INSERT OR IGNORE INTO removed VALUES (?)", (mark,))


def marks_ever(shop: Path) -> frozenset[str]:
    """Marks of all readings that the history has or had: the press may have been fitted to any.

    Raises
    ------
    InputError : a file that is no history of this inksim's.
    """
    # as of now too: a file of version 1 has others, and one that was changed had another
    kept = {each.row.mark for each in rows_kept(shop, faulty=True)}
    if not history_file(shop).exists():
        return frozenset(kept)
    with _history(shop).open() as connection:
        tables = ["reading"] if version_of(connection) >= MARKED_ALIKE_SINCE else []
        tables += ["removed"] if version_of(connection) >= SINCE_REMOVED else []
        for table in tables:
            kept |= {str(row["mark"]) for row in connection.execute(f"SELECT mark FROM {table}")}
    return frozenset(kept)


def to_csv(rows: Sequence[PrintRow]) -> str:
    """Readings as CSV with all digits: reading it back gives the same rows.

    A row without a reading has L, a, b left empty, to be filled in.
    """
    bands = [f"factor {nm:.0f}" for nm in WAVELENGTHS_NM]
    spectra = any(row.reflectance for row in rows)
    made = []
    for row in rows:
        base, base_screen, base_passes, flash = row.base or ("", "", "", None)
        cells: list[Any] = [
            row.name, row.garment, row.ink, row.route, row.screen, row.passes, base, base_screen,
            base_passes, "" if flash is None else ("yes" if flash else "no"),
            "" if row.coverage == 1 else repr(100.0 * row.coverage), row.lines_per_inch or "",
            repr(row.weight), row.read_by, "" if row.sd_de00 is None else repr(row.sd_de00),
            "" if row.shared_de00 is None else repr(row.shared_de00), row.picture,
            row.garment_lot, row.ink_lot, row.base_lot, row.geometry or "", row.light, row.observer,
            row.date, *proof_and_note(row.note), "yes" if row.scores_only else "",
            *(map(repr, row.lab) if row.lab else ("", "", "")),
        ]  # fmt: skip
        if spectra:
            cells += map(repr, row.reflectance) if row.reflectance else [""] * len(bands)
        made.append(cells)
    return csv_text([*_CSV_HEAD, *bands] if spectra else _CSV_HEAD, made)


def _values(row: PrintRow) -> tuple[Any, ...]:
    plain = [getattr(row, field) for field in _PLAIN]
    base = row.base or (None, None, None, None)
    flash = None if base[3] is None else int(base[3])
    spectra = [
        None if numbers is None else json.dumps(list(numbers))
        for numbers in (row.reflectance, row.lab)
    ]
    return (row.mark, *plain, *base[:3], flash, *spectra, int(row.scores_only))


def _history_row(found: sqlite3.Row, *, marked: bool) -> HistoryRow:
    """A row as it is kept; marked: whether its mark is of the kind that `PrintRow` makes."""
    row, fault = _row(found)
    if marked and not fault and found["mark"] != row.mark:
        fault = "is not as it was entered: its content does not match its mark"
    return HistoryRow(number=found["id"], row=row, fault=fault)


_ALWAYS = (
    "id", "mark", "name", "garment", "route", "ink", "screen", "passes", "base", "base_screen",
    "base_passes", "flash", "reflectance", "lab",
)  # fmt: skip
"""Columns of every version without which no reading is told."""
_NUMBERS = (
    ("coverage", "coverage", 1.0), ("weight", "weight", 1.0),
    ("lines_per_inch", "line count", None), ("sd_de00", "sureness", None),
    ("shared_de00", "picture's sureness", None),
)  # fmt: skip
"""Columns of numbers that another program may have filled with anything; the usual value."""


def _row(found: sqlite3.Row) -> tuple[PrintRow, str]:
    """A row, and what is wrong with its reading; '' if nothing is."""
    base = None
    if found["base"] is not None:
        base = (found["base"], found["base_screen"], found["base_passes"], bool(found["flash"]))
    there = set(map(str.lower, found.keys()))  # a file of version 1 that was only read has fewer
    fields: dict[str, Any] = {field: found[field] for field in _PLAIN if field in there}
    if "scores_only" in there:
        fields["scores_only"] = bool(found["scores_only"])
    fault = ""
    for field, called, count in (
        ("reflectance", "spectrum", len(WAVELENGTHS_NM)), ("lab", "Lab", 3),
    ):  # fmt: skip
        fields[field] = numbers = None if found[field] is None else _numbers(found[field], count)
        if found[field] is not None and numbers is None:
            fault = f"is damaged: its {called} is no list of {count} numbers"
    for field, called, usual in _NUMBERS:
        value = fields.get(field, usual)
        if value != usual and not isinstance(value, int | float):
            fields[field], fault = usual, f"is damaged: its {called} is no number"
    return PrintRow(base=base, **fields), fault


def _numbers(cell: str, count: int) -> tuple[float, ...] | None:
    """The numbers of a cell; None if it is not a JSON list of so many."""
    try:
        found = json.loads(cell)
        whole = tuple(float(each) for each in found if type(each) in (int, float))
    except (TypeError, ValueError, OverflowError, RecursionError):
        return None
    right = len(whole) == count == len(found) and all(map(math.isfinite, whole))
    return whole if right else None


def _to_1(connection: sqlite3.Connection) -> None:
    connection.execute(FIRST)


def _to_2(connection: sqlite3.Connection) -> None:
    """How sure a reading is, and of which lots; the marks are of all that a row says."""
    for column in SINCE_2:
        connection.execute(f"ALTER TABLE reading ADD COLUMN {column}")
    for found in connection.execute("SELECT * FROM reading").fetchall():
        mark = _row(found)[0].mark
        connection.execute("UPDATE reading SET mark = ? WHERE id = ?", (mark, found["id"]))


def _to_3(connection: sqlite3.Connection) -> None:
    """What was taken out is not forgotten: a press fitted to it may still be the shop's."""
    connection.execute("CREATE TABLE removed (mark TEXT PRIMARY KEY) STRICT")


def _to_4(connection: sqlite3.Connection) -> None:
    """Readings that a calibration left out score proofs all the same."""
    connection.execute(
        "ALTER TABLE reading ADD COLUMN scores_only INTEGER NOT NULL DEFAULT 0 "
        "CHECK (scores_only IN (0, 1))"
    )


def _to_5(connection: sqlite3.Connection) -> None:
    """What the readings of one picture have in common; a mark of before stays what it was."""
    connection.execute("ALTER TABLE reading ADD COLUMN shared_de00 REAL CHECK (shared_de00 > 0)")
    connection.execute("ALTER TABLE reading ADD COLUMN picture TEXT NOT NULL DEFAULT ''")


STEPS = (_to_1, _to_2, _to_3, _to_4, _to_5)
"""What brings a file to each version from the one before."""


def _history(shop: Path) -> Database:
    return Database(
        path=history_file(shop),
        what="history",
        steps=STEPS,
        rescue="Put it aside, and bring readings back from CSV with 'inksim history --from FILE'.",
    )
