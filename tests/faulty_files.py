"""Sound files of readings to spoil, and the sentence that a spoiled one raises."""

from __future__ import annotations

import pytest

from inksim.common.errors import InputError
from inksim.readings.read import read_readings
from tests.reading_files import GRID, cgats, cxf_object, spectrum

FLAT = ["0.5"] * 31


def fault_of(data: str | bytes, **words: object) -> str:
    raw = data.encode() if isinstance(data, str) else data
    with pytest.raises(InputError) as caught:
        read_readings(raw, name="file", **words)  # type: ignore[arg-type]
    return str(caught.value)


FIELDS = "SAMPLE_ID LAB_L LAB_A LAB_B"
GOOD = cgats(FIELDS, "1 50 10 -10\n2 60 1 2")
SPECTRAL = cgats("SAMPLE_ID " + " ".join(f"SPEC_{nm}" for nm in GRID), "1 " + " ".join(FLAT))
BODY = cxf_object("a", spectrum())
