"""A field of a job as somebody typed it, on a command line or in a cell of a table."""

from __future__ import annotations

import math
import re
from datetime import date, time
from typing import Any

from inksim.common import InputError, toml_of

TEXT_FIELDS = {"name", "client", "reference", "again_of", "note", "prefer", "place", "background"}
"""Fields that are text, whatever is typed: an order's number, a client called by a year."""
_DECIMAL_COMMA = re.compile(r"(-?\d+),(\d{1,2}|\d{4,})")
"""'280,5'; with three digits after it the comma may be one of thousands."""


def typed_value(field: str, text: str) -> Any:
    """A value as TOML has it, or else text. No day, time or number that is not finite: no field is.

    field: by the name that it has in a job's file, dotted or not. Spreadsheets write a day for
    '3-4', and a decimal comma where people do.
    """
    found = _DECIMAL_COMMA.fullmatch(text.strip())
    try:
        read = toml_of(f"value = {f'{found[1]}.{found[2]}' if found else text}")["value"]
    except InputError:
        return text
    is_text = field.rpartition(".")[2] in TEXT_FIELDS
    if is_text and not isinstance(read, str):
        return text
    odd = isinstance(read, date | time) or (isinstance(read, float) and not math.isfinite(read))
    return text if odd else read
