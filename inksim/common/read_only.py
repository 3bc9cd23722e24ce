"""A host that lets people look and change nothing: pages, and every command, hold to it."""

from __future__ import annotations

import os

from inksim.common.errors import InputError

READ_ONLY_VARIABLE = "INKSIM_READ_ONLY"
"""Set to anything, nothing of a shop is changed from there."""


def is_read_only() -> bool:
    """Whether whoever started this lets nothing be changed."""
    return bool(os.environ.get(READ_ONLY_VARIABLE))


def check_may_change(what: str, *, instead: str = "where you may, unset it") -> None:
    """Refuse a change where `READ_ONLY_VARIABLE` is set.

    what: would be changed; instead: what to do about it; both in words.

    Raises
    ------
    InputError : it is set.
    """
    if is_read_only():
        raise InputError(
            f"{what} is for reading only here, as {READ_ONLY_VARIABLE} is set; nothing was "
            f"changed; {instead} and repeat the command."
        )
