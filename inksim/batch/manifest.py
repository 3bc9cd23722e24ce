"""The manifest of a batch: an sqlite file that knows of every job what became of it.

A job is claimed before it is worked, for a time; what its worker does not finish in that time, or
leaves behind with its program, is free again. What is found is written once.
"""

from __future__ import annotations

import json
import os
import re
import socket
import sqlite3
import sys
import time
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from inksim.batch.listing import Listed
from inksim.batch.task import ItemOutcome, digest
from inksim.common import Database, InputError, json_text

LEASE_S = 120.0
RENEW_S = 30.0
PAGE = 2000
OPEN, DONE, FAILED = "open", "done", "failed"
SEALED = ("key", "state", "found", "files", "fault")
LISTED = ("list", "number", "source", "name", "art", "said", "in_memory", "fault")
ROW = ", ".join(f"row.{name}" for name in (*LISTED, "mark", "key"))
OWNER = re.compile(r"(.*) ([0-9]{1,9}) [0-9a-f]+")
"""Host, program, and a word of its own."""


def _tables(connection: sqlite3.Connection) -> None:
    connection.execute(
        """CREATE TABLE item (
            key TEXT PRIMARY KEY,
            state TEXT NOT NULL DEFAULT 'open',
            owner TEXT,
            lease REAL NOT NULL DEFAULT 0,
            found TEXT NOT NULL DEFAULT '{}',
            files TEXT NOT NULL DEFAULT '[]',
            fault TEXT NOT NULL DEFAULT '',
            seconds REAL NOT NULL DEFAULT 0,
            mark TEXT NOT NULL DEFAULT ''
        ) STRICT, WITHOUT ROWID"""
    )
    connection.execute("CREATE INDEX owned ON item (owner) WHERE owner IS NOT NULL")
    connection.execute(
        """CREATE TABLE list (
            id TEXT PRIMARY KEY, whole INTEGER NOT NULL, seen REAL NOT NULL
        ) STRICT"""
    )
    connection.execute(
        """CREATE TABLE row (
            list TEXT NOT NULL, number INTEGER NOT NULL, source TEXT NOT NULL, name TEXT NOT NULL,
            art TEXT NOT NULL, said TEXT NOT NULL, in_memory INTEGER NOT NULL,
            fault TEXT NOT NULL, mark TEXT NOT NULL, key TEXT,
            PRIMARY KEY (list, number)
        ) STRICT, WITHOUT ROWID"""
    )
    connection.execute("CREATE INDEX by_art ON row (list, art, number)")


@dataclass(frozen=True, kw_only=True)
class Row:
    """One listed job. key: what it is known by, '' until its artwork was read."""

    number: int
    listed: Listed
    key: str


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A row and what is known of its job."""

    row: Row
    state: str
    found: Mapping[str, Any]
    files: Sequence[Mapping[str, str]]
    fault: str


@dataclass(kw_only=True)
class Manifest:
    """The manifest at a path, for one run over one list."""

    path: Path
    list_id: str
    owner: str = field(
        default_factory=lambda: f"{socket.gethostname()} {os.getpid()} {uuid.uuid4().hex}"
    )

    @property
    def base(self) -> Database:
        """The sqlite file."""
        return Database(
            path=self.path,
            what="manifest",
            steps=(_tables,),
            rescue="Move it away to begin anew, or name another folder for --out.",
            of_shop=False,
        )

    # --- the list -------------------------------------------------------------------------------

    def keep_list(self, listing: Iterator[Listed]) -> None:
        """Write the list, unless it is there whole; lists nobody has seen for long go."""
        with self.base.change() as con:
            now = time.time()
            old = con.execute(
                "SELECT id FROM list WHERE id <> ? AND seen < ?", (self.list_id, now - LEASE_S)
            )
            for gone in [each["id"] for each in old]:
                con.execute("DELETE FROM row WHERE list = ?", (gone,))
                con.execute("DELETE FROM list WHERE id = ?", (gone,))
            if con.execute("SELECT 1 FROM list WHERE id = ? AND whole", (self.list_id,)).fetchone():
                con.execute("UPDATE list SET seen = ? WHERE id = ?", (now, self.list_id))
                return
            con.executemany(
                "INSERT INTO row VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, NULL)",
                (
                    (*values, _mark(values))
                    for number, each in enumerate(listing)
                    for values in [(
                        self.list_id, number, each.source, each.name, each.art,
                        json_text(each.said, indent=None), int(each.in_memory), each.fault,
                    )]
                ),
            )  # fmt: skip
            con.execute("INSERT INTO list VALUES (?, 1, ?)", (self.list_id, now))

    def counted(self) -> dict[str, int]:
        """Rows by state; those that cannot be tried are failed."""
        with self.base.open(writing=True) as con:
            return {
                each["state"]: each["rows"]
                for each in con.execute(
                    "SELECT CASE WHEN row.fault <> '' THEN 'failed' "
                    "ELSE coalesce(item.state, 'open') END AS state, count(*) AS rows "
                    "FROM row LEFT JOIN item ON item.key = row.key WHERE list = ? GROUP BY 1",
                    (self.list_id,),
                )
            }

    def broken(self) -> int:
        """Rows that cannot be tried at all."""
        with self.base.open(writing=True) as con:
            sql = "SELECT count(*) FROM row WHERE list = ? AND fault <> ''"
            return int(con.execute(sql, (self.list_id,)).fetchone()[0])

    def rows(self, *, left: bool = False) -> Iterator[Row]:
        """The rows that can be tried, by artwork, read a page at a time. left: not done yet."""
        art, number = "", -1
        some = "AND coalesce(item.state, 'open') = 'open' " if left else ""
        while True:
            with self.base.open(writing=True) as con:
                page = con.execute(
                    f"SELECT {ROW} FROM row LEFT JOIN item ON item.key = row.key "
                    "WHERE list = ? AND (art, number) > (?, ?) AND row.fault = '' "
                    f"{some}ORDER BY art, number LIMIT ?",
                    (self.list_id, art, number, PAGE),
                ).fetchall()
            if not page:
                return
            yield from map(self._row, page)
            art, number = page[-1]["art"], page[-1]["number"]

    def kept(self) -> Iterator[Kept]:
        """Every row in order, with what became of it."""
        number = -1
        while True:
            with self.base.open(writing=True) as con:
                page = con.execute(
                    f"SELECT {ROW}, item.state, item.found, item.files, item.fault AS why, "
                    "item.mark AS sealed FROM row LEFT JOIN item ON item.key = row.key "
                    "WHERE list = ? AND number > ? ORDER BY number LIMIT ?",
                    (self.list_id, number, PAGE),
                ).fetchall()
            if not page:
                return
            for each in page:
                row = self._row(each)
                found = [row.key, *(each[n] for n in ("state", "found", "files", "why"))]
                sound = each["sealed"] == _mark(found)
                fault = row.listed.fault or (each["why"] if sound else "")
                yield Kept(
                    row=row,
                    state=FAILED if fault else DONE if sound else OPEN,
                    found=json.loads(each["found"]) if sound else {},
                    files=json.loads(each["files"]) if sound else [],
                    fault=fault,
                )
            number = page[-1]["number"]

    def _row(self, each: sqlite3.Row) -> Row:
        if each["mark"] != _mark([each[name] for name in LISTED]):
            raise InputError(f"'{self.path}' is damaged. {self.base.rescue}")
        return Row(
            number=each["number"],
            key=str(each["key"] or ""),
            listed=Listed(
                source=each["source"],
                name=each["name"],
                art=each["art"],
                said=json.loads(each["said"]),
                in_memory=bool(each["in_memory"]),
                fault=each["fault"],
            ),
        )

    # --- the jobs -------------------------------------------------------------------------------

    def claim(self, keys: Mapping[int, str], *, again: bool = False) -> tuple[set[str], set[str]]:
        """Note the keys of rows by number, and claim what is open: mine to work, and what failed.

        again: what failed counts as open too.
        """
        with self.base.change() as con:
            con.executemany(
                "UPDATE row SET key = ? WHERE list = ? AND number = ?",
                [(key, self.list_id, number) for number, key in keys.items()],
            )
            mine: set[str] = set()
            failed: set[str] = set()
            for key in dict.fromkeys(keys.values()):
                con.execute("INSERT OR IGNORE INTO item (key) VALUES (?)", (key,))
                at = con.execute(
                    f"SELECT {', '.join(SEALED)}, mark, owner, lease FROM item WHERE key = ?",
                    (key,),
                ).fetchone()
                state = self._state(at)
                free = state == OPEN or (again and state == FAILED)
                if free and self._free(at["owner"], at["lease"]):
                    con.execute(
                        "UPDATE item SET state = 'open', fault = '', owner = ?, lease = ? "
                        "WHERE key = ?",
                        (self.owner, time.time() + LEASE_S, key),
                    )
                    mine.add(key)
                elif state == FAILED:
                    failed.add(key)
            return mine, failed

    def _state(self, item: sqlite3.Row) -> str:
        """State of a job; open where its record is damaged or a file of it is gone."""
        if item["mark"] != _mark([item[name] for name in SEALED]):
            return OPEN
        files = json.loads(item["files"])
        there = all((self.path.parent / each["file"]).is_file() for each in files)
        return FAILED if item["state"] == FAILED else DONE if there else OPEN

    def _free(self, owner: Any, lease: Any) -> bool:
        """Whether nobody works on a job: never claimed, the lease over, or the program gone."""
        found = OWNER.fullmatch(str(owner))
        if found is None or not isinstance(lease, float) or lease < time.time():
            return True
        return found[1] == socket.gethostname() and not _runs(int(found[2]))

    def renew(self) -> None:
        """Renew the lease on what is claimed."""
        with self.base.change() as con:
            now = time.time()
            con.execute("UPDATE item SET lease = ? WHERE owner = ?", (now + LEASE_S, self.owner))
            con.execute("UPDATE list SET seen = ? WHERE id = ?", (now, self.list_id))

    def finish(self, done: Sequence[tuple[ItemOutcome, Sequence[Mapping[str, str]]]]) -> None:
        """Write what became of some jobs and where their files are; whoever is first."""
        with self.base.change() as con:
            con.executemany(
                "UPDATE item SET state = ?, owner = NULL, found = ?, files = ?, fault = ?, "
                "seconds = ?, mark = ? WHERE key = ? AND state = 'open'",
                [
                    (*sealed[1:], each.seconds, _mark(sealed), each.key)
                    for each, files in done
                    for sealed in [(
                        each.key, FAILED if each.fault else DONE,
                        json_text(each.found or {}, indent=None),
                        json_text(list(files), indent=None), each.fault,
                    )]
                ],
            )  # fmt: skip

    def release(self) -> None:
        """Let go of what is claimed and not done."""
        with self.base.change() as con:
            con.execute("UPDATE item SET owner = NULL WHERE owner = ?", (self.owner,))

    def take_over(self, other: Path) -> None:
        """Take what another manifest in the same folder has done, such as a shard's."""
        theirs = Manifest(path=other, list_id="").base
        last = ""
        while True:
            with theirs.open() as con:
                page = con.execute(
                    f"SELECT {', '.join(SEALED)}, mark, seconds FROM item "
                    "WHERE state <> 'open' AND key > ? ORDER BY key LIMIT ?",
                    (last, PAGE),
                ).fetchall()
            if not page:
                return
            with self.base.change() as con:
                con.executemany(
                    "INSERT OR IGNORE INTO item (key, state, found, files, fault, mark, seconds) "
                    "VALUES (?, ?, ?, ?, ?, ?, ?)",
                    [tuple(e[n] for n in (*SEALED, "mark", "seconds")) for e in page],
                )
            last = page[-1]["key"]


def _mark(values: Iterable[Any]) -> str:
    """Checksum of a record's values, by which a damaged one is known."""
    return digest(*map(repr, values))


def _runs(number: int) -> bool:
    """Whether a program of this machine still runs."""
    if sys.platform == "win32":  # where the same call would end it
        return True
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    except OSError:  # somebody else's
        return True
    return True
