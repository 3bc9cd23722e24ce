"""Text is bounded before it is parsed, and parsed in time that grows with it and no faster."""

from __future__ import annotations

import gzip
from collections.abc import Callable
from contextlib import suppress

import pytest

from inksim.common.errors import InputError
from inksim.readings import cgats as cgats_reader, cxf as cxf_reader, cxf_xml
from inksim.readings.palette_file import (
    LONGEST_NAME,
    MOST_CHARACTERS,
    MOST_LINES,
    palette_from_file,
    parse_palette,
)
from inksim.readings.read import MOST_BYTES, read_readings
from inksim.readings.record import MOST_CELLS, MOST_SAMPLES
from inksim.shop import load_shop
from tests.faulty_files import FIELDS, GOOD, fault_of
from tests.growth import worse_than_linear
from tests.reading_files import LAB, cgats, cxf, cxf_object, spectrum

SIZES = (80, 320, 1280, 5120, 20_480)
LAB_HEAD = "name,L,a,b\n"


def refused(text: str) -> list[str]:
    """What a palette is refused with, pasted and as a file."""
    said = []
    for read in (
        lambda: parse_palette(text),
        lambda: palette_from_file(text.encode(), name="palette.csv"),
    ):
        with pytest.raises(InputError) as caught:
            read()
        said.append(str(caught.value))
        assert len(said[-1]) <= 300
    return said


def test_a_long_palette_is_refused_before_it_is_parsed() -> None:
    for said in refused("#aabbcc\n" * (MOST_CHARACTERS // 8 + 1)):
        assert f"100,008 characters, and at most {MOST_CHARACTERS:,} are read" in said
    for said in refused("#aabbcc\n" * (MOST_LINES + 1)):
        assert f"1,001 lines, and at most {MOST_LINES:,} are read" in said
    for said in refused(f"{'a' * (LONGEST_NAME + 1)}, #aabbcc"):
        assert f"the name has 201 characters, and at most {LONGEST_NAME} are kept" in said


def test_a_long_line_is_told_shortened() -> None:
    for text in ("a" * 50_000, "#" + "a" * 50_000, "a " * 20_000):
        with pytest.raises(InputError) as caught:
            parse_palette(text, look_up=load_shop().target)
        assert len(str(caught.value)) < 400


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (LAB_HEAD + "s,50,1,2\n" * (MOST_SAMPLES + 1), f"samples .*{MOST_SAMPLES:,}"),
        (LAB_HEAD + f"{',' * 19}\n" * (MOST_CELLS // 20 + 1), f"cells .*{MOST_CELLS:,}"),
        ("L,a,b" + ",x" * MOST_CELLS, "cells"),
        ("sample,wavelength,value\n" + "".join(f"{i},400,1\n" for i in range(10_001)), "samples"),
        (
            "wavelength," + ",".join(f"s{i}" for i in range(10_001)) + "\n400" + ",1" * 10_001,
            "samples",
        ),
        (cgats(FIELDS, "1 50 10 -10\n" * (MOST_SAMPLES + 1)), "samples"),
        ("A 1\n" * (cgats_reader.MOST_KEYWORDS + 1) + GOOD, "keywords .*1,000"),
        (cgats("A", "1") * (cgats_reader.MOST_TABLES + 1), "tables .*100"),
        (cxf("<cc:Object/>" * (cxf_xml.MOST_PARTS + 1)), "elements and attributes .*100,000"),
        (cxf("<cc:O " + " ".join(f"a{i}=''" for i in range(101)) + "/>"), "attributes of one"),
        (cxf(cxf_object("a", spectrum() + LAB * (cxf_reader.MOST_OF_ONE + 1))), "colors .*100"),
    ],
    ids=["rows", "empty cells", "columns", "long", "across", "sets", "keywords", "tables",
         "elements", "attributes", "one object"],
)  # fmt: skip
def test_a_file_of_too_much_is_refused(text: str, words: str) -> None:
    assert len(text) < MOST_BYTES
    said = fault_of(text)
    assert len(said) <= 300
    with pytest.raises(InputError, match=words):
        read_readings(text.encode(), name="file")


def test_packed_readings_are_refused() -> None:
    """Nothing of readings is unpacked, so nothing can unpack to more than the file is."""
    for packed in (gzip.compress(cxf(cxf_object("a", spectrum())).encode()), b"PK\3\4" + bytes(40)):
        assert "not text" in fault_of(packed) or "zip archive" in fault_of(packed)


def _try(read: Callable[[bytes], object]) -> Callable[[bytes], None]:
    def tried(data: bytes) -> None:
        with suppress(InputError):
            read(data)

    return tried


def _readings(data: bytes) -> object:
    return read_readings(data, name="file")


def _palette(data: bytes) -> object:
    return parse_palette(data.decode()), palette_from_file(data, name="palette.csv")


GROWING: dict[str, tuple[Callable[[bytes], object], Callable[[int], str]]] = {
    "blanks in a palette": (_palette, lambda n: f"a{' ' * n}b, #aabbcc"),
    "blanks without a color": (_palette, lambda n: f"a{' ' * n}b"),
    "numbers in a palette": (_palette, lambda n: f"a {'1 ' * n}"),
    "quotes in a palette": (_palette, lambda n: '"' * n),
    "bands of a spectrum": (
        _readings,
        lambda n: cxf(cxf_object("a", spectrum().replace("0.05", "1 " * n + "0.05", 1))),
    ),
    "keywords": (_readings, lambda n: f"{'A 1' * 9}\n" * min(n, 999) + GOOD),
    "rows": (_readings, lambda n: LAB_HEAD + "s,50,1,2\n" * (n // 4)),
    "columns": (_readings, lambda n: "".join(f"c{i}," for i in range(n)) + "L,a,b\n" + "1," * n),
    "quotes in a row": (_readings, lambda n: LAB_HEAD + '"' * n),
    "faulty rows": (_readings, lambda n: LAB_HEAD + "s\n" * (n // 4)),
}


@pytest.mark.parametrize("what", GROWING)
def test_reading_text_is_no_worse_than_linear(what: str) -> None:
    read, made = GROWING[what]
    assert not worse_than_linear(_try(read), lambda n: made(n).encode(), SIZES)
