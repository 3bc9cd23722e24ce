"""TOML and JSON as a hand or a broken disk has left them: a table, or a sentence on what is wrong.

Beside what their readers refuse by themselves, a text may be no UTF-8, nested deeper than Python
follows, or hold a number of more digits than Python converts.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable
from typing import Any

from inksim.common.errors import InputError

MOST_TEXT = 2**23
"""Characters of a file that is read: the largest of a shop have some hundred thousand."""
MOST_NAMES = 100
"""Of one key, with dots between; Python's reader takes time with the square of their number."""
_QUOTED = re.compile("\"[^\"\n]*\"|'[^'\n]*'")
_PLACE = re.compile(r"line (\d+),? column (\d+)")


def text_of(data: bytes) -> str:
    """The text of a file; a byte order mark is left out.

    Raises
    ------
    InputError : 'not UTF-8 text …'.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"not UTF-8 text (byte {error.start}); save it as UTF-8") from None


def toml_of(data: bytes | str) -> dict[str, Any]:
    """What a TOML file says.

    Raises
    ------
    InputError : 'not UTF-8 text …' or 'not TOML …'.
    """
    found: dict[str, Any] = _parsed(data, _loads, what="TOML", known=tomllib.TOMLDecodeError)
    return found


def _loads(text: str) -> dict[str, Any]:
    for line in _QUOTED.sub("", text).splitlines():
        key = line.partition("=")[0]
        if key.count(".") - key.count(",") > MOST_NAMES:  # numbers of a list have commas between
            raise ValueError
    return tomllib.loads(text)


def json_of(data: bytes | str) -> dict[str, Any]:
    """What a JSON file that holds one object says.

    Raises
    ------
    InputError : 'not UTF-8 text …' or 'not JSON …'.
    """
    found = _parsed(data, json.loads, what="JSON", known=json.JSONDecodeError)
    if not isinstance(found, dict):
        raise InputError("not a JSON object")
    return found


def _where(error: ValueError) -> str:
    """Where a file was given up, of what Python says about it."""
    found = _PLACE.search(str(error))
    return f"line {found[1]}, column {found[2]}" if found else "its end"


def _parsed(
    data: bytes | str, read: Callable[[str], Any], *, what: str, known: type[ValueError]
) -> Any:
    text = data if isinstance(data, str) else text_of(data)
    if len(text) > MOST_TEXT:
        raise InputError(f"not {what} of at most {MOST_TEXT:,} characters")
    try:
        return read(text)
    except known as error:
        raise InputError(f"not {what}: {_where(error)} is not understood") from None
    except (ValueError, RecursionError):
        raise InputError(
            f"not {what} that anybody can mean: too deep, or a number too long"
        ) from None
