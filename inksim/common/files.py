"""Write files whole, under a lock."""

from __future__ import annotations

import glob
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from inksim.common.errors import InputError
from inksim.common.read_only import check_may_change

PACKAGE = Path(__file__).resolve().parents[1]
DATA = PACKAGE / "data"
"""Tables made by the scripts in tools/, and fonts."""

PATIENCE_S, POLL_S = 5.0, 0.05
UNFINISHED, LITTER_S = ".part", 3600.0
"""Suffix of a file being written, and the age at which one is a leftover."""


def write_whole(path: Path, data: bytes) -> None:
    """Write a file atomically: a reader sees the old one or the new one, never a part.

    A link stays a link: the file it points to is written. What killed programs left
    half written an hour ago is deleted.

    Raises
    ------
    InputError : the folder cannot be written to, or the path is a folder.
    """
    if path.is_symlink():
        path = path.resolve()
    _delete_leftovers(path)
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=UNFINISHED)
    except OSError as error:
        raise InputError(f"'{path}' cannot be written: {error.strerror}.") from None
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            shutil.copymode(path, temporary)
        else:
            temporary.chmod(0o644)
        temporary.replace(path)
    except BaseException as error:
        temporary.unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise InputError(f"'{path}' cannot be written: {error.strerror}.") from None
        raise


def _delete_leftovers(path: Path) -> None:
    """Delete leftovers of programs that were killed while writing this file."""
    old = time.time() - LITTER_S
    for left in path.parent.glob(f".{glob.escape(path.name)}.*{UNFINISHED}"):
        with suppress(OSError):
            if left.stat().st_mtime < old:
                left.unlink()


def _try_lock(handle: int) -> bool:
    """Try to lock an open file; the system unlocks it when its program ends."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True


def _is_current(handle: int, lock: Path) -> bool:
    """Whether the open lock file still has its name: its last holder may have deleted it."""
    try:
        return os.path.samestat(os.fstat(handle), lock.stat())
    except FileNotFoundError:
        return False


@contextmanager
def locked(lock: Path, *, what: str) -> Iterator[None]:
    """Hold a lock file, waiting up to five seconds for it.

    A lock file that a killed program has left is nobody's, and is taken over.

    Raises
    ------
    InputError : somebody else holds it for longer, it cannot be made, or nothing may be changed
        here.
    """
    check_may_change(what)
    give_up = time.monotonic() + PATIENCE_S
    while True:
        try:
            handle = os.open(lock, os.O_CREAT | os.O_RDWR, 0o644)
        except OSError as error:
            raise InputError(f"'{lock}' cannot be written: {error.strerror}.") from None
        try:
            mine = _try_lock(handle) and _is_current(handle, lock)
        except OSError as error:
            os.close(handle)
            raise InputError(f"'{lock}' cannot be locked: {error.strerror}.") from None
        if mine:
            break
        os.close(handle)
        if time.monotonic() > give_up:
            raise InputError(
                f"another program is saving {what}; nothing was saved. Try again when it is done."
            )
        time.sleep(POLL_S)
    try:
        yield
    finally:
        with suppress(OSError):  # where an open file cannot be deleted, it stays, held by nobody
            lock.unlink()
        os.close(handle)
