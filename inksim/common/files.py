"""Write files whole, under a lock."""

from __future__ import annotations

import os
import shutil
import stat
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from inksim.common.disk import sync_folder
from inksim.common.errors import InputError
from inksim.common.outward import tell_bytes
from inksim.common.read_only import check_may_change

PACKAGE = Path(__file__).resolve().parents[1]
DATA = PACKAGE / "data"
"""Tables made by the scripts in tools/, and fonts."""

PATIENCE_S, POLL_S = 5.0, 0.05
MARK, PART = "inksim-", ".part"
"""Names of what is being made begin and end so; in a user's folder a dot stands before them."""
UNFINISHED = f".{MARK}*{PART}"
LITTER_S = 3600.0
"""Age at which it is a leftover, where the system does not tell whether its program still runs."""
STDOUT = Path("-")
"""In place of a file: standard output."""


def write_whole(path: Path, data: bytes | Iterable[bytes]) -> None:
    """Write a file atomically: a reader sees the old one or the new one, never a part.

    data: all of it, or piece after piece where it may be larger than memory.

    Once this has returned, the new one is there after a loss of power too.
    A link stays a link: the file it points to is written. `STDOUT` is standard output. What killed
    programs left half written beside it is deleted.

    Raises
    ------
    InputError : the folder cannot be written to, or the path is a folder, a device or a pipe.
    """
    if path == STDOUT:
        tell_bytes(data if isinstance(data, bytes) else b"".join(data))
        return
    target = writable_file(path)
    sweep(target.parent, UNFINISHED)
    handle, temporary = _temporary_file(target)
    try:
        with os.fdopen(handle, "wb") as file:
            file.writelines((data,) if isinstance(data, bytes) else data)
            file.flush()
            os.fsync(file.fileno())
            if target.exists():
                shutil.copymode(target, temporary)
            else:
                temporary.chmod(0o644)
            if sys.platform != "win32":  # still locked: nobody sweeps it
                temporary.replace(target)
        if sys.platform == "win32":  # which renames no open file
            temporary.replace(target)
        sync_folder(target.parent)
    except BaseException as error:
        temporary.unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise InputError(f"'{path}' cannot be written: {error.strerror}.") from None
        raise


def writable_file(path: Path) -> Path:
    """The file that a path leads to, which is a regular one or not there yet.

    Raises
    ------
    InputError : a folder, a device, a pipe, or a link that leads in a circle.
    """
    try:
        target = path.resolve() if path.is_symlink() else path
        mode = target.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        return target
    except (OSError, RuntimeError, ValueError):
        raise InputError(f"'{path}' cannot be written; name another file.") from None
    if stat.S_ISDIR(mode):
        raise InputError(f"'{path}' is a folder; name a file to write.")
    if not stat.S_ISREG(mode):
        raise InputError(
            f"'{path}' is a device or a pipe, and is not replaced; name a file, or '-' for "
            "standard output where a command writes one file."
        )
    return target


def _temporary_file(target: Path) -> tuple[int, Path]:
    """A new file beside the target, locked for as long as it is open."""
    while True:
        try:
            handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{MARK}", suffix=PART)
        except OSError as error:
            raise InputError(f"'{target}' cannot be written: {error.strerror}.") from None
        if _held(handle, Path(name)):
            return handle, Path(name)
        os.close(handle)


def _held(handle: int, path: Path) -> bool:
    """Lock what was just made; False if it was swept between its making and its lock."""
    try:
        return _try_lock(handle) and _is_current(handle, path)
    except OSError:  # a file system without locks
        return True


@contextmanager
def temporary_folder(beside: Path | None = None) -> Iterator[Path]:
    """A folder that is gone afterwards: among the system's temporary files, or inside another.

    What killed programs left there is deleted first.

    Raises
    ------
    InputError : it cannot be made.
    """
    home, dot = (Path(tempfile.gettempdir()), "") if beside is None else (beside, ".")
    sweep(home, f"{dot}{MARK}*{PART}")
    handle = None
    while True:
        try:
            made = Path(tempfile.mkdtemp(dir=home, prefix=f"{dot}{MARK}", suffix=PART))
        except OSError as error:
            raise InputError(f"'{home}' cannot be written to: {error.strerror}.") from None
        if sys.platform == "win32":  # where a folder cannot be opened, its age tells
            break
        with suppress(FileNotFoundError):
            handle = os.open(made, os.O_RDONLY)
            if _held(handle, made):
                break
            os.close(handle)
    try:
        yield made
    finally:
        shutil.rmtree(made, ignore_errors=True)
        if handle is not None:
            os.close(handle)


def sweep(folder: Path, pattern: str) -> None:
    """Delete what killed programs left unfinished: what nobody holds locked."""
    for left in folder.glob(pattern):
        with suppress(OSError):
            if sys.platform == "win32":
                if time.time() - left.stat().st_mtime > LITTER_S:
                    _delete(left)
                continue
            handle = os.open(left, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK)
            try:
                if os.fstat(handle).st_uid == os.getuid() and _try_lock(handle):
                    _delete(left)
            finally:
                os.close(handle)


def _delete(left: Path) -> None:
    if left.is_dir():
        shutil.rmtree(left, ignore_errors=True)
    else:
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
