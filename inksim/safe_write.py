"""Writing files so that nobody ever sees half of one: in one step, and under a lock."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from inksim.errors import InputError

PATIENCE_S, POLL_S = 5.0, 0.05


def write_whole(path: Path, data: bytes) -> None:
    """Write a file in one step: its readers see the old one or the new one, never a part.

    A link stays a link: the file it points to is written.

    Raises
    ------
    InputError : the folder cannot be written to, or the path is a folder.
    """
    if path.is_symlink():
        path = path.resolve()
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
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


def _left_behind(lock: Path) -> bool:
    """Whether the program that wrote the lock is gone from this machine."""
    try:
        process = int(lock.read_text())
        os.kill(process, 0)
    except ProcessLookupError:
        return True
    except (OSError, ValueError):
        return False  # not written yet, somebody else's, or of another machine
    return False


@contextmanager
def locked(lock: Path, *, what: str) -> Iterator[None]:
    """Hold a lock file; wait up to five seconds for whoever holds it now.

    Raises
    ------
    InputError : somebody else holds it for longer, or left it behind.
    """
    give_up = time.monotonic() + PATIENCE_S
    while True:
        try:
            handle = os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY)
            break
        except FileExistsError:
            if _left_behind(lock):
                lock.unlink(missing_ok=True)
                continue
            if time.monotonic() > give_up:
                raise InputError(
                    f"another program is saving {what}; nothing was saved. If none is, delete the "
                    f"file '{lock}' and try again."
                ) from None
            time.sleep(POLL_S)
        except OSError as error:
            raise InputError(f"'{lock}' cannot be written: {error.strerror}.") from None
    try:
        os.write(handle, f"{os.getpid()}\n".encode())
        yield
    finally:
        os.close(handle)
        lock.unlink(missing_ok=True)
