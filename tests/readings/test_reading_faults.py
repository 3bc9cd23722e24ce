"""What is wrong in a file of readings is said: file, line or sample, the fault, what to do.

Each case is a whole file; the sentence it must raise is part of the promise, so it is spelled out.
"""

from __future__ import annotations

import re
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st

from inksim.common.errors import InputError
from inksim.readings.formats import format_names
from inksim.readings.read import MOST_BYTES, read_readings
from tests.faulty_files import BODY, FLAT, GOOD, SPECTRAL, fault_of
from tests.reading_files import GRID, NAMES, SPECTRA, SPOT, cxf, numbers, wide

HEAD = "name," + ",".join(map(str, GRID))


def row(name: str = "a", values: Sequence[object] = FLAT) -> str:
    return ",".join([name, *map(str, values)])


def with_value(index: int, value: object) -> list[object]:
    values: list[object] = list(FLAT)
    values[index] = value
    return values


# -- Any file


@pytest.mark.parametrize(
    ("data", "fault"),
    [
        (b"", f"file is empty; it needs readings in {format_names()}."),
        (b"\xef\xbb\xbf \r\n\t\n", f"file is empty; it needs readings in {format_names()}."),
        (b"PK\x03\x04 the rest", "file is a workbook or zip archive; save the sheet as CSV."),
        (b"name,400\na,\x00\n", "file, line 2: the file is not text (it holds the control"),
        (b"\x89PNG\r\n\x1a\n", "file, line 2: the file is not text (it holds the control"),
        ("name,400\n".encode("utf-16-le"), "file, line 1: the file is not text"),
        (b" " * (MOST_BYTES + 1), "file has 5 MB; a file of readings may have at most 5 MB."),
    ],
)  # fmt: skip
def test_what_is_not_a_text_file_of_readings(data: bytes, fault: str) -> None:
    assert fault_of(data).startswith(fault)


def test_a_file_that_is_not_there_or_too_large(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.csv cannot be read \(No such file or directory\)"):
        read_readings(tmp_path / "none.csv")
    with pytest.raises(InputError, match=r"cannot be read \(Is a directory\); check the path\."):
        read_readings(tmp_path)
    large = tmp_path / "large.csv"
    with large.open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    with pytest.raises(InputError, match=r"large\.csv has 5 MB"):
        read_readings(large)


def test_blank_lines_are_passed_over_in_no_time() -> None:
    """A search that began anew at each of them would take minutes."""
    start = time.perf_counter()
    assert "no column holds a spectrum" in fault_of("\n" * 1_000_000 + "x")
    assert time.perf_counter() - start < 5.0


# -- CSV


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("# only a comment\n",
         "file is empty; it needs a line of column names and one row a sample."),
        (HEAD + "\n", "file has column names but no samples; add one row a sample."),
        ("name,ink,shift\na,1,2\n",
         "file, line 1: no column holds a spectrum or a color; name wavelength columns like 400 or "
         "R400, or color columns L, a, b. The columns are: name, ink, shift."),
        ("name,L,a\na,1,2\n", "file, line 1: no column holds a spectrum or a color"),
        ("name,400\na,0.5\n", "file, line 1: only 1 wavelength column found, at 400 nm;"),
        # 13 bands are 430, 450, ... 670 nm, the fewest that resample takes: see below.
        ("name,700,400\na,0.5,0.5\n",
         "file, line 1: only 2 wavelength columns found, from 400 to 700 nm; a spectrum needs at "
         "least 13, from 430 nm or below to 670 nm or above in steps of at most 20 nm: export all "
         "bands, or color columns L, a, b."),
        (HEAD + ",ink,ink\n" + row() + ",1,2\n",
         "file, line 1: the column 'ink' appears twice; rename or delete one."),
        ("name,400,410,R410,420\na,1,2,3,4\n",
         "file, line 1: the wavelength 410 nm appears twice; keep one of the two."),
        ("name," + ",".join(map(str, GRID[::-1])) + "\n" + row(),
         "file, line 1: the wavelengths run backwards, from 700 down to 400 nm; put them in rising "
         "order together with their values."),
        ("name,400,420,410,430\na,1,2,3,4\n",
         "file, line 1: the wavelengths must rise, but 410 nm follows 420 nm; put them in rising "
         "order together with their values."),
        ("name,400,410,430,440\na,1,2,3,4\n",
         "file, line 1: bands are missing: 430 nm follows 410 nm where other steps are 10 nm; "
         "export all bands of the instrument."),
        (HEAD.replace(",400", ",R400 %").replace(",410", ",factor 410") + "\n" + row(),
         "file, line 1: some columns say percent and some say factor; use one scale."),
        (HEAD + "\n" + row() + ",0.5\n",
         "file, line 2: the row has 33 cells where the header has 32 columns; add or remove cells "
         "so that they match."),
        (HEAD + "\n" + row(values=FLAT[:-1]) + "\n", "file, line 2: the row has 31 cells where"),
        (HEAD + "\n" + row().replace(".", ",") + "\n",
         "file, line 2: the row has 63 cells where the header has 32 columns; add or remove cells "
         "so that they match. If the commas are decimal, separate the columns by semicolons."),
        (HEAD.replace(",", ";") + "\n" + row() + "\n",
         "file, line 2: the row has 1 cells where the header has 32 columns; add or remove cells "
         "so that they match. Is it separated as the header is?"),
        ("nm,red,blue\n400,0.5,0.4\n410,0.5x,0.4\n420,0.5,\n",
         "file has 2 faults:\n  file, line 3, sample 'red': '0.5x' in column 'red' is not a "
         "number; write it like 0.123 or 12.3.\n  file, line 4, sample 'blue': there is no value"),
        ("nm,red\n400,0.5\n420,0.5\n410,0.5\n",
         "file, column 2, sample 'red': the wavelengths must rise, but 410 nm follows 420 nm"),
        ("sep=;\n", "file is empty"),
        (HEAD + '\n"a,0.5\n', "file, line 2: the row cannot be read; check its quotation marks"),
        (HEAD + "\n" + row(values=with_value(1, "0.5x")) + "\n",
         "file, line 2, sample 'a': '0.5x' at 410 nm is not a number; write it like 0.123 or "
         "12.3."),
        (HEAD + "\n" + row(values=with_value(1, "NaN")) + "\n",
         "file, line 2, sample 'a': 'NaN' at 410 nm is not a number"),
        (HEAD + "\n" + row(values=with_value(1, "1e999")) + "\n",
         "file, line 2, sample 'a': '1e999' at 410 nm is not a number"),
        (HEAD + "\n" + row(values=with_value(30, "")) + "\n",
         "file, line 2, sample 'a': there is no value at 700 nm; fill it in or delete the row."),
        ("name,L,a,b\na,50,x,0\n", "file, line 2, sample 'a': 'x' in column 'a' is not a number"),
        ("name,L,a,b\na,50,,0\n", "file, line 2, sample 'a': there is no value in column 'a'"),
        ("name,L,a,b,thickness_um\na,50,0,0,thin\n",
         "file, line 2, sample 'a': 'thin' in column 'thickness_um' is not a number"),
        ("name,L,a,b\na,50,0,0\nb,101,0,0\n",
         "file, line 3, sample 'b': Lab 101, 0, 0 is out of range; L is 0 to 100, a and b are -150 "
         "to 150."),
        ("name,X,Y,Z\na,50,-1,3\n",
         "file, line 2, sample 'a': XYZ 50, -1, 3 has a negative value; measure it again."),
        ("name,X,Y,Z\na,0.5,0.4,0.3\n",
         "file: XYZ stays below 1.2 in all samples; write it on the scale where white has Y = "
         "100."),
        ("name,L,a,b,thickness_um\na,50,0,0,0\n",
         "file, line 2, sample 'a': the thickness is 0 µm; it must be above 0."),
        ("name,L,a,b,tone\na,50,0,0,120\n",
         "file, line 2, sample 'a': the tone is 120 %; it must be from 0 to 100."),
    ],
)  # fmt: skip
def test_csv_faults(text: str, fault: str) -> None:
    assert fault_of(text).startswith(fault)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("sample,wavelength,value\na,400,0.5\na,400,0.5\n",
         "file, lines 2-3, sample 'a': the wavelength 400 nm appears twice; keep one of the two."),
        ("sample,wavelength,value\na,410,0.5\na,400,0.5\n",
         "file, lines 2-3, sample 'a': the wavelengths run backwards, from 410 down to 400 nm"),
        ("sample,wavelength,value\na,400,0.05\na,410,0.05\n",
         "file, lines 2-3, sample 'a': the spectrum covers 400-410 nm; it must start at 430 nm or "
         "below and end at 670 nm or above"),
        ("sample,wavelength,value\na,400,0.5\na,410,half\n",
         "file, line 3, sample 'a': 'half' in column 'value' is not a number"),
        ("sample,wavelength,value\na,,0.5\n",
         "file, line 2, sample 'a': there is no value in column 'wavelength'"),
        ("sample,backing,wavelength,value\na,white,400,0.5\na,black,410,0.5\n",
         "file, line 3, sample 'a': 'backing' changes from 'white' to 'black' within the sample; "
         "give each sample one name."),
    ],
)  # fmt: skip
def test_long_csv_faults(text: str, fault: str) -> None:
    assert fault_of(text).startswith(fault)


def test_a_step_too_wide_for_the_grid_is_refused() -> None:
    nm = range(400, 701, 25)
    text = f"name,{','.join(map(str, nm))}\na,{','.join(['0.05'] * len(nm))}\n"
    assert fault_of(text).startswith("file, line 2, sample 'a': the spectrum has a gap of 25 nm")


# -- Values that no surface has, and scales


@pytest.mark.parametrize(
    ("values", "fault"),
    [
        (with_value(3, -0.002),
         "file, line 2, sample 'a': reads -0.002 at 430 nm, but a reflectance is never negative; "
         "calibrate the instrument and measure it again."),
        (with_value(3, 0),
         "file, line 2, sample 'a': reads exactly 0 at 430 nm, as no surface does; bands that were "
         "not measured are filled with zeros: delete them or measure again."),
        ([0, 0, *FLAT[:-4], 0, 0],
         "file, line 2, sample 'a': reads exactly 0 at 4 bands from 400 nm, as no surface does"),
    ],
)  # fmt: skip
def test_values_that_are_no_reflectance(values: list[object], fault: str) -> None:
    assert fault_of(f"{HEAD}\n{row(values=values)}\n").startswith(fault)


def test_the_fewest_bands_are_as_many_as_is_said() -> None:
    fewest = list(range(430, 671, 20))
    assert len(fewest) == 13
    text = f"name,{','.join(map(str, fewest))}\n{row(values=FLAT[:13])}\n"
    (reading,) = read_readings(text.encode(), name="file", scale="factor")
    assert reading.reflectance == pytest.approx(np.full(31, 0.5))
    text = f"name,{','.join(map(str, fewest[:12]))}\n{row(values=FLAT[:12])}\n"
    assert "the spectrum covers 430-650 nm" in fault_of(text, scale="factor")


NEAR_BLACK = [0.8 + 0.01 * band for band in range(31)]  # percent of a black shirt, or a white one


def test_a_file_that_could_be_factor_or_percent_is_asked_about() -> None:
    text = f"{HEAD}\n{row(values=NEAR_BLACK)}\n"
    assert fault_of(text) == (
        "file: the values are 0.8 to 1.1, which may be factors of light samples or percent of "
        "near-black ones; state which: scale 'factor' or scale 'percent' (--scale, or the field of "
        "the form), or write it into the columns' names, such as '400 %' or 'factor 400'."
    )
    for scale, times in (("percent", 0.01), ("factor", 1.0)):
        named = HEAD.replace("400", "400 %" if scale == "percent" else "factor 400")
        stated = read_readings(text.encode(), name="file", scale=scale)
        for reading in (*stated, *read_readings(text.replace(HEAD, named).encode(), name="file")):
            assert reading.reflectance == pytest.approx(times * np.array(NEAR_BLACK))


@pytest.mark.parametrize(
    ("other", "scale"), [(1.6, "percent"), (45.0, "percent"), (0.19, "factor"), (0.02, "factor")]
)
def test_a_file_of_which_only_one_is_possible_is_not_asked_about(other: float, scale: str) -> None:
    """No sample reads 160 %, nor 0.19 % (black velvet has about 0.3; from memory)."""
    bright = [other] * 31 if other > 1.5 else NEAR_BLACK
    dark = [1.2] * 31 if other > 1.5 else [other] * 31
    text = f"{HEAD}\n{row('a', bright)}\n{row('b', dark)}\n"
    readings = read_readings(text.encode(), name="file")
    expected = np.array([bright, dark]) * (0.01 if scale == "percent" else 1.0)
    assert np.array([r.reflectance for r in readings]) == pytest.approx(expected)


def test_factors_among_percent_are_found_in_rows() -> None:
    text = f"{HEAD}\n{row('a', [50] * 31)}\n{row('b')}\n"
    fault = fault_of(text)
    assert fault == (
        "file, line 3, sample 'b': stays below 1 where sample 'a' reaches 50: factors and percent "
        "seem mixed; write all in one scale, or state scale 'percent' if this sample is that dark."
    )
    assert len(read_readings(text.encode(), name="file", scale="percent")) == 2


def test_factors_among_percent_are_found_within_a_row() -> None:
    half = [40] * 15 + [0.4] * 16
    assert fault_of(f"{HEAD}\n{row(values=half)}\n") == (
        "file, line 2, sample 'a': jumps from 40 to 0.4 after 540 nm, as if factor and percent "
        "were mixed; correct the values or measure again."
    )


@pytest.mark.parametrize(("scale", "times"), [("factor", 1.0), ("percent", 100.0)])
def test_a_near_black_may_read_a_trifle_below_0(scale: str, times: float) -> None:
    """Noise about 0 is what was measured: it is kept and said, where more of it is a fault."""
    levels = [0.004, -0.0009, -0.0005, *([0.004] * 28)]
    text = HEAD + "\n" + row(values=[f"{times * v:g}" for v in levels]) + "\n"
    (reading,) = read_readings(text.encode(), name="file", scale=scale)
    assert reading.reflectance is not None
    np.testing.assert_allclose(reading.reflectance, levels, atol=1e-12)
    assert any("below 0 at 410 nm and 1 more bands" in note for note in reading.notes)
    levels[1] = -0.0015
    text = HEAD + "\n" + row(values=[f"{times * v:g}" for v in levels]) + "\n"
    assert fault_of(text, scale=scale).startswith(
        f"file, line 2, sample 'a': reads {times * -0.0015:g} at 410 nm, but a reflectance is never"
    )


def test_values_too_high_for_their_scale() -> None:
    high = f"{HEAD}\n{row(values=with_value(2, 250))}\n"
    assert fault_of(high.replace("0.5", "50")).startswith(
        "file, line 2, sample 'a': reads 250 at 420 nm, too much for a percent (highest 200)"
    )
    assert fault_of(high, scale="factor").startswith(
        "file, line 2, sample 'a': reads 250 at 420 nm, too much for a factor (highest 2); correct "
        "the value, or state the other scale if the whole file is in it."
    )


def test_all_faults_of_a_file_are_said_at_once_up_to_twenty() -> None:
    bad = "\n".join(row(f"s{i}", with_value(0, "x" if i % 2 else -1)) for i in range(30))
    lines = fault_of(f"{HEAD}\n{row()}\n{bad}\n").split("\n")
    assert lines[0] == "file has 30 faults:"
    assert len(lines) == 22
    assert lines[-1] == "  and 10 more."
    assert all(re.match(r"  file, line \d+, sample 's\d+': ", line) for line in lines[1:-1])


SEEDS = (wide().encode(), GOOD.encode(), SPECTRAL.encode(), cxf(BODY, custom=SPOT).encode())


# -- Whatever comes: an InputError or readings, never another error


@given(seed=st.sampled_from(SEEDS), data=st.data())
@settings(max_examples=150)
def test_damaged_files_end_in_readings_or_in_a_sentence(seed: bytes, data: st.DataObject) -> None:
    damaged = bytearray(seed)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(damaged) - 1))
        piece = data.draw(st.binary(max_size=3) | st.sampled_from([b"\n", b",", b'"', b"<", b"0"]))
        damaged[at : at + data.draw(st.integers(0, 40))] = piece
        if not damaged:
            break
    try:
        readings = read_readings(bytes(damaged), name="file")
    except InputError:
        return
    assert readings
    for reading in readings:
        assert reading.reflectance is None or np.all(reading.reflectance > 0)


def test_the_made_up_spectra_are_sound() -> None:
    assert len(read_readings(wide().encode(), name="file")) == len(NAMES)
    assert numbers(SPECTRA[0]).count(" ") == 30
