"""What was written is there after a loss of power: folders reach the disk as their files do.

A file system may keep the new content of a file and forget its name, or the other way round, until
both were synced (POSIX.1-2017, fsync; rename(2) alone promises order to programs, not to the disk).
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

PREVIOUS = ".previous"
"""Folder beside a file that keeps what its writes replace."""


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder to the disk: what was made, renamed or deleted there stays so."""
    if sys.platform == "win32":  # which opens no folder, and writes names through by itself
        return
    # A folder one may write to and not list, or a network's that syncs by itself: the file in it
    # is written all the same.
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def make_folder(folder: Path) -> None:
    """Make a folder that is not there yet, with those above it, to stay.

    Raises
    ------
    OSError : it cannot be made.
    """
    fresh = [each for each in (folder, *folder.parents) if not each.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    for each in fresh:
        sync_folder(each.parent)
