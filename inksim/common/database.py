"""An sqlite file in a shop's folder, of a version, changed as a whole or not at all.

Every change is one transaction in write-ahead mode: two programs may work at once, and one that is
killed leaves the file as it was before or after its change. Who may only read the folder can read.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from inksim.common.disk import PREVIOUS, make_folder
from inksim.common.errors import InputError
from inksim.common.files import write_whole
from inksim.common.read_only import check_may_change

BUSY_S = 10.0
CANNOT = "look whether its folder may be written to, and whether the disk is full"
_STRICT_SINCE = (3, 37, 0)


@dataclass(frozen=True, kw_only=True)
class Database:
    """An sqlite file.

    what : it is, such as 'history'. rescue: a sentence, what to do when it is damaged.
    steps : what brings a file to each version from the one before, from 0, in one transaction; its
        version is in `PRAGMA user_version`. An older file is brought up by the first change, and
        read as it is until then.
    of_shop : a host may have closed it to changes, as all of a shop.
    """

    path: Path
    what: str
    steps: tuple[Callable[[sqlite3.Connection], None], ...]
    rescue: str
    of_shop: bool = True

    @contextmanager
    def change(self, *, keep: bool = False) -> Iterator[sqlite3.Connection]:
        """A write transaction: committed as a whole, or rolled back.

        keep: a copy of the file as it was is kept in `PREVIOUS`, in place of the one before, as it
        is before a file is brought up to a newer version.

        Raises
        ------
        InputError : the file cannot be written, is none of this kind, is a newer inksim's, or
            nothing may be changed here.
        """
        if self.of_shop:
            check_may_change(f"the {self.what} '{self.path}'")
        with self.open(writing=True) as connection:
            connection.execute("BEGIN IMMEDIATE")
            try:
                if keep:
                    self._keep_copy(connection)
                yield connection
                connection.execute("COMMIT")
            except BaseException:
                connection.execute("ROLLBACK")
                raise

    @contextmanager
    def open(self, *, writing: bool = False) -> Iterator[sqlite3.Connection]:
        """Connect to a file of the right version; sqlite's errors become InputError."""
        if sqlite3.sqlite_version_info < _STRICT_SINCE:
            raise InputError(
                f"the {self.what} needs sqlite 3.37 or newer, and this Python has "
                f"{sqlite3.sqlite_version}."
            )
        connection = None
        try:
            connection = sqlite3.connect(
                self._address(writing=writing), timeout=BUSY_S, isolation_level=None, uri=True
            )
            connection.row_factory = sqlite3.Row
            # a byte that is no UTF-8 spoils its row alone, which does not match its mark then
            connection.text_factory = lambda raw: raw.decode("utf-8", "replace")
            self._prepare(connection, writing=writing)
            yield connection
        except sqlite3.OperationalError as error:
            why = "another program is writing it; try again" if _is_busy(error) else CANNOT
            raise InputError(f"the {self.what} '{self.path}' cannot be used: {why}.") from None
        except (sqlite3.DatabaseError, UnicodeDecodeError):  # the names of its columns are text
            raise InputError(
                f"'{self.path}' is no {self.what} of inksim or is damaged; nothing was changed. "
                f"{self.rescue}"
            ) from None
        finally:
            if connection is not None:
                connection.close()

    def _address(self, *, writing: bool) -> str:
        """The file as a URI.

        Who may only read the folder cannot make the side files of write-ahead mode; where nobody
        has left any, no writer is at work, and the file alone is all there is.
        """
        address = self.path.absolute().as_uri()
        aside = self.path.with_name(f"{self.path.name}-wal")
        if writing or os.access(self.path.parent, os.W_OK) or aside.exists():
            return address
        return f"{address}?mode=ro&immutable=1"

    def _prepare(self, connection: sqlite3.Connection, *, writing: bool) -> None:
        """Create the tables of a new file, bring an old one up; refuse one of a newer version."""
        version, newest = version_of(connection), len(self.steps)
        if version > newest:
            raise InputError(
                f"the {self.what} '{self.path}' is of version {version}, and this inksim knows "
                f"{newest}; nothing was changed. Use the newer inksim."
            )
        if not writing:
            return
        _write_ahead(connection)
        connection.execute("PRAGMA synchronous = FULL")
        if version == newest:
            return
        connection.execute("BEGIN IMMEDIATE")
        try:
            if version:
                self._keep_copy(connection)
            for at in range(version_of(connection), newest):  # another program may have done it
                self.steps[at](connection)
            connection.execute(f"PRAGMA user_version = {newest}")
            connection.execute("COMMIT")
        except BaseException:
            connection.execute("ROLLBACK")
            raise

    def _keep_copy(self, connection: sqlite3.Connection) -> None:
        """Keep the whole file as it is in this transaction."""
        make_folder(self.path.parent / PREVIOUS)
        write_whole(self.path.parent / PREVIOUS / self.path.name, connection.serialize())


def version_of(connection: sqlite3.Connection) -> int:
    """Version of an open file; 0: its tables are not made yet."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _is_busy(error: sqlite3.OperationalError) -> bool:
    """Whether another program is at work, so that trying again may help."""
    return error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Switch to write-ahead mode, retrying while another process holds the file."""
    give_up = time.monotonic() + BUSY_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if not _is_busy(error) or time.monotonic() > give_up:
                raise
            time.sleep(0.02)
