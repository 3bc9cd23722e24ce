"""Days as spreadsheets write them: read when there is one reading, refused when there are two."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, strategies as st

from inksim.common.days import day_of
from inksim.common.errors import InputError


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-27", "2026/11/27", "20261127", "27.11.2026", "27. 11. 2026", "27/11/2026",
        "11/27/2026", "11-27-2026", "27-Nov-2026", "27-Nov-26", "27 nov 2026", "27 November 2026",
        "Nov 27, 2026", "November 27, 2026", "11/27/26",
        "2026-11-27T10:15:00+01:00", "2026-11-27 10:15", "11/27/2026 10:15 AM", " 27.11.26 ",
    ],
)  # fmt: skip
def test_spellings_of_one_day(text: str) -> None:
    assert day_of(text) == "2026-11-27"


@pytest.mark.parametrize(
    ("text", "either"),
    [
        ("03/04/2026", "4 March 2026 or 3 April 2026; write it as 2026-03-04"),
        ("3-4-2026", "4 March 2026 or 3 April 2026"),
        ("27/11/26", "27 November 2026 or 26 November 2027"),
        ("01/02/03", "3 February 2001 or 2 January 2003 or 1 February 2003"),
    ],
)
def test_two_readings_are_named_and_refused(text: str, either: str) -> None:
    with pytest.raises(InputError, match=f"'{text}' may be {either}"):
        day_of(text)


def test_the_same_day_both_ways_is_no_doubt() -> None:
    assert day_of("05/05/2026") == "2026-05-05"
    assert day_of("03.04.2026") == "2026-04-03"  # dots are day first


@pytest.mark.parametrize(
    "text",
    ["", "soon", "2026-13-01", "31.02.2026", "27.11", "2026", "27 Nov", "27 Nuv 2026", "45987",
     "27/11-2026", "00/00/0000", "2026-11-27 and 28"],
)  # fmt: skip
def test_what_is_no_day(text: str) -> None:
    with pytest.raises(InputError, match="is no day; write it as"):
        day_of(text)


@given(st.dates(min_value=date(1970, 1, 1), max_value=date(2199, 12, 31)))
def test_what_python_writes_is_read_back(day: date) -> None:
    """strftime is the other side: no spelling of it is ever read as another day."""
    for spelling in ("%Y-%m-%d", "%d.%m.%Y", "%d %b %Y", "%B %d, %Y", "%Y/%m/%d", "%d-%b-%Y"):
        assert day_of(day.strftime(spelling)) == day.isoformat()
    for spelling in ("%d/%m/%Y", "%m/%d/%Y"):
        try:
            assert day_of(day.strftime(spelling)) == day.isoformat()
        except InputError as error:
            assert day.day <= 12 and "may be" in str(error)  # noqa: PT017, PT018
