"""Days as people and spreadsheets write them, to ISO; refused where a day could be another one."""

from __future__ import annotations

import re
from datetime import date, datetime

from inksim.common.errors import InputError, shortened

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NAMES = dict(zip(
    _MONTHS,
    ("January", "February", "March", "April", "May", "June", "July", "August", "September",
     "October", "November", "December"),
    strict=True,
))  # fmt: skip
_TIME = re.compile(
    r"(?:T|\s)\d{1,2}:\d\d(?::\d\d(?:[.,]\d+)?)?(?:\s*[AaPp][Mm])?(?:\s*(?:Z|[+-]\d\d:?\d\d))?$"
)
_NUMBERS = re.compile(r"(\d{1,4})([./-])\s?(\d{1,2})\2\s?(\d{1,4})")
_CENTURY = 2000
"""Of a year written with two digits."""


def now() -> str:
    """The local date and time, ISO, to the second."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


def day_of(text: str) -> str:
    """The ISO day, YYYY-MM-DD, of a day as spreadsheets write it; a time behind it is left out.

    Read are 2026-11-27, 2026/11/27, 27.11.2026, 27/11/2026, 11/27/2026, 27-Nov-26, 27 Nov 2026,
    November 27, 2026 and their like. Dots are day first (common practice, no source); strokes and
    dashes are whichever is a day, and refused where both are.

    Raises
    ------
    InputError : no day, or one that may be two, which are named.
    """
    plain = _TIME.sub("", text.strip()).strip()
    days = sorted({day for day in (_made(*each) for each in _readings(plain)) if day})
    if not days:
        raise InputError(f"'{shortened(text)}' is no day; write it as 2026-02-10.")
    if len(days) > 1:
        either = " or ".join(f"{d.day} {_NAMES[_MONTHS[d.month - 1]]} {d.year}" for d in days)
        raise InputError(f"'{text}' may be {either}; write it as {days[0].isoformat()}.")
    return days[0].isoformat()


def _readings(plain: str) -> list[tuple[str, int | str, str]]:
    """What year, month and day it may say."""
    if re.fullmatch(r"\d{8}", plain):
        return [(plain[:4], plain[4:6], plain[6:])]
    if found := _NUMBERS.fullmatch(plain):
        first, mark, second, third = found.groups()
        if len(first) == 4:
            return [(first, second, third)]
        if mark == ".":
            return [(third, second, first)]
        both = [(third, second, first), (third, first, second)]
        return both if len(third) == 4 else [*both, (first, second, third)]
    words = re.findall(r"[^\W\d_]+|\d+", plain)
    names = [word for word in words if not word.isdecimal()]
    if len(words) != 3 or len(names) != 1 or not _is_month(names[0].lower()):
        return []
    month = 1 + _MONTHS.index(names[0][:3].lower())
    one, other = (word for word in words if word.isdecimal())
    return [(one, month, other)] if len(one) == 4 else [(other, month, one)]


def _is_month(name: str) -> bool:
    whole = _NAMES.get(name[:3], "").lower()
    return name == "sept" or (bool(whole) and name in (name[:3], whole))


def _made(year: int | str, month: int | str, day: int | str) -> date | None:
    """The day of them, None if it is none."""
    if len(str(year)) not in (2, 4) or len(str(day)) > 2:
        return None
    full = int(year) + (_CENTURY if len(str(year)) == 2 else 0)
    try:
        return date(full, int(month), int(day))
    except ValueError:
        return None
