"""A printed sheet leaves no font file open, whether it is finished or given up half way."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from inksim.reports.pdf import Sheet

OPEN_FILES = Path("/proc/self/fd")


def open_fonts() -> int:
    return sum(each.resolve().suffix == ".ttf" for each in OPEN_FILES.iterdir())


def sheet() -> Sheet:
    return Sheet(title="any", made=datetime(2026, 1, 1, tzinfo=UTC))


@pytest.mark.skipif(not OPEN_FILES.is_dir(), reason="the system does not list open files")
@pytest.mark.parametrize("finished", [True, False])
def test_no_font_file_stays_open(finished: bool) -> None:
    before = open_fonts()
    made = sheet()
    assert open_fonts() > before
    if finished:
        made.bytes()
    del made
    assert open_fonts() == before
