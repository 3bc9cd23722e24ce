"""CSV files of readings: every dialect and shape of table comes through."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, strategies as st

from inksim.colour.grid import WAVELENGTHS_NM
from inksim.readings.read import read_readings
from inksim.readings.record import wavelength_nm
from tests.reading_files import GRID, NAMES, SPECTRA, one, wide

# -- CSV, wide


@pytest.mark.parametrize(
    "column",
    ["{nm}", "{nm}.0", "{nm}nm", "{nm} nm", "nm{nm}", "R{nm}", "R_{nm}", "r{nm}", "R[{nm}]",
     "SPECTRAL_NM_{nm}", "SPECTRAL_NM{nm}", "SPECTRAL_{nm}", "SPEC_{nm}", "λ{nm}",
     "Reflectance {nm} nm", "wl_{nm}", "lambda {nm}"],
)  # fmt: skip
def test_wavelength_columns_are_known_in_every_common_spelling(column: str) -> None:
    readings = read_readings(wide(column=column).encode(), name="file")
    assert [r.name for r in readings] == list(NAMES)
    assert np.array([r.reflectance for r in readings]) == pytest.approx(SPECTRA, abs=1e-12)


@pytest.mark.parametrize(
    "column", ["name", "K400", "batch400", "99", "1500", "400x", "L", "LAB_L", "CMYK_C", "D_400"]
)
def test_other_columns_are_no_wavelengths(column: str) -> None:
    assert wavelength_nm(column) is None


@pytest.mark.parametrize(
    ("mark", "comma", "percent"),
    [c for c in product(",;\t", (False, True), (False, True)) if not (c[0] == "," and c[1])],
)
def test_delimiters_decimal_marks_and_scales(mark: str, comma: bool, percent: bool) -> None:
    text = wide(mark=mark, comma=comma, percent=percent)
    readings = read_readings(text.encode(), name="file")
    assert np.array([r.reflectance for r in readings]) == pytest.approx(SPECTRA, abs=1e-12)
    word = "percent" if percent else "factor"
    assert all(any(note.endswith(f"read as {word}") for note in r.notes) for r in readings)


def test_quoted_decimal_commas_and_names_with_delimiters() -> None:
    cells = ",".join(f'"{v:.3f}"'.replace(".", ",") for v in SPECTRA[0])
    reading = one(f'name,{",".join(map(str, GRID))}\n"ember, two\npasses",{cells}\n')
    assert reading.name == "ember, two passes"
    assert reading.reflectance == pytest.approx(SPECTRA[0], abs=6e-4)


@pytest.mark.parametrize(
    ("encoding", "noted"),
    [("utf-8", False), ("utf-8-sig", False), ("utf-16", False), ("latin-1", True),
     ("cp1252", True)],
)  # fmt: skip
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(encoding: str, noted: bool, newline: str) -> None:
    text = wide(spectra=SPECTRA[:1]).replace("ember", "Glut für Größe 5").replace("\n", newline)
    reading = one(text.encode(encoding))
    assert reading.name == "Glut für Größe 5"
    assert any("not UTF-8" in note for note in reading.notes) is noted


def test_what_a_row_says_besides_its_spectrum_is_kept() -> None:
    # The recipe columns and conditions that a drawdown needs later.
    head = "Sample ID,Name,Backing,Geometry,M condition,thickness_um,tone %,ember,clear base,shift"
    row = "7,red 10 in base,Black,45/0,M1,25.5,100,10,90,late"
    text = f"{head},{','.join(map(str, GRID))}\n{row},{','.join(map(str, SPECTRA[0]))}\n"
    reading = one(text)
    assert reading.name == "red 10 in base"
    assert (reading.backing, reading.geometry, reading.m_condition) == ("black", "45:0", "M1")
    assert (reading.thickness_um, reading.tone_percent) == (25.5, 100.0)
    assert reading.device == {"ember": 10.0, "clear base": 90.0, "Sample ID": 7.0}
    assert reading.labels == {"shift": "late"}
    assert reading.source == "file, line 2"


def test_leading_comments_blank_lines_and_trailing_delimiters_are_passed_over() -> None:
    text = "# from the lab\n\n" + wide(spectra=SPECTRA[:1]).replace("\n", ",,\n") + ",,\n\n"
    reading = one(text)
    assert reading.source == "file, line 4"
    assert reading.reflectance == pytest.approx(SPECTRA[0])


@pytest.mark.parametrize("step", [1, 2, 5, 10, 20])
def test_a_straight_spectrum_comes_back_from_any_step(step: int) -> None:
    # Resampling itself is spectra's business; a straight line has one right answer at each band.
    nm = np.arange(380, 781, step)
    line = 0.1 + (nm - 380) / 1000
    text = f"name,{','.join(map(str, nm))}\nramp,{','.join(map(str, line))}\n"
    assert one(text).reflectance == pytest.approx(0.1 + (WAVELENGTHS_NM - 380) / 1000, abs=1e-9)


def test_a_short_end_is_extended_and_the_reading_says_so() -> None:
    text = f"name,{','.join(map(str, GRID[:-1]))}\nramp,{','.join(map(str, SPECTRA[0][:-1]))}\n"
    reading = one(text)
    assert reading.reflectance is not None
    assert reading.reflectance[-1] == SPECTRA[0][-2]
    assert any("end at 690 nm" in note for note in reading.notes)


@given(
    spectra=st.lists(
        st.lists(st.integers(300, 9000), min_size=31, max_size=31), min_size=1, max_size=3
    ),
    mark=st.sampled_from(",;\t"),
    column=st.sampled_from(["{nm}", "R{nm}", "SPECTRAL_NM_{nm}"]),
    percent=st.booleans(),
    comma=st.booleans(),
)
def test_any_dialect_gives_back_the_same_numbers(
    spectra: list[list[int]], mark: str, column: str, percent: bool, comma: bool
) -> None:
    factors = np.array(spectra) / 10_000
    text = wide(mark=mark, column=column, percent=percent, comma=comma and mark != ",",
                spectra=factors)  # fmt: skip
    readings = read_readings(text.encode(), name="file")
    assert np.array([r.reflectance for r in readings]) == pytest.approx(factors, abs=1e-9)


def test_columns_that_mean_something_only_in_a_long_table_are_kept_in_a_wide_one() -> None:
    text = wide(spectra=SPECTRA[:1], column="{nm}").replace("name,", "name,R,G,B,")
    assert one(text.replace("ember,", "ember,200,30,10,")).device == {"R": 200, "G": 30, "B": 10}


# -- CSV, long and Lab only


def test_long_csv_groups_rows_by_sample() -> None:
    rows = [
        f"{name};{backing};{nm};{value:.4f}".replace(".", ",")
        for name, backing, spectrum in zip(NAMES, ("white", "black", "black"), SPECTRA, strict=True)
        for nm, value in zip(GRID, spectrum, strict=True)
    ]
    text = "\n".join(["sample;backing;wavelength (nm);reflectance factor", *rows])
    readings = read_readings(text.encode(), name="file")
    assert [(r.name, r.backing) for r in readings] == [
        ("ember", "white"), ("chalk", "black"), ("soot", "black"),
    ]  # fmt: skip
    assert np.array([r.reflectance for r in readings]) == pytest.approx(SPECTRA)
    assert readings[1].source == "file, lines 33-63"


@pytest.mark.parametrize("first", ["", "sep=;\n", '"SEP=;"\n'])
def test_a_column_for_each_sample_beside_the_wavelengths(first: str) -> None:
    lines = ["nm;" + ";".join(NAMES)]
    for nm, values in zip(GRID, SPECTRA.T, strict=True):
        lines.append(";".join([str(nm), *(f"{v:.4f}".replace(".", ",") for v in values)]))
    read = read_readings((first + "\n".join(lines) + "\n").encode(), name="file")
    assert tuple(r.name for r in read) == NAMES
    assert read[1].source == "file, column 3"
    np.testing.assert_allclose([r.reflectance for r in read], SPECTRA, atol=1e-9)


def test_a_name_is_one_line_that_reads_as_written() -> None:
    """A line break, a terminal's control code and a mark that turns the text around."""
    text = wide(spectra=SPECTRA[:1]).replace("ember", '"em\nber\x85\u009b31m\u202eX"')
    assert one(text).name == "em ber 31m X"


def test_long_csv_of_one_sample_takes_the_name_of_its_file(tmp_path: Path) -> None:
    rows = [f"{nm}\t{value * 100:.2f}" for nm, value in zip(GRID, SPECTRA[0], strict=True)]
    path = tmp_path / "ember over black.txt"
    path.write_text("\n".join(["nm\tR %", *rows]), encoding="utf-8")
    (reading,) = read_readings(path)
    assert reading.name == "ember over black"
    assert reading.reflectance == pytest.approx(SPECTRA[0])


@pytest.mark.parametrize("head", ["L,a,b", "L*,a*,b*", "LAB_L,LAB_A,LAB_B", "CIE_L,CIE_A,CIE_B"])
def test_lab_only_csv(head: str) -> None:
    reading = one(f"name,{head},light,observer\nember,52.3,61.2,40.1,D65,10\n")
    assert reading.reflectance is None
    assert reading.lab == (52.3, 61.2, 40.1)
    assert (reading.light, reading.observer, reading.notes) == ("D65", 10, ())


def test_lab_without_a_light_says_so_and_takes_the_stated_one() -> None:
    text = "name,L,a,b\nember,52.3,61.2,40.1\n"
    assert one(text).light is None
    assert one(text).notes == (
        "the light and observer of the listed color are not stated: D50/2° assumed",
    )
    assert one(text, light="D65").notes == (
        "the observer of the listed color is not stated: 2° assumed",
    )
    stated = one(text, light="D50", observer=2)
    assert (stated.light, stated.observer, stated.notes) == ("D50", 2, ())


def test_xyz_columns_and_a_row_that_has_only_its_color() -> None:
    row = ",".join(map(str, SPECTRA[0]))
    text = f"name,X,Y,Z,{','.join(map(str, GRID))}\na,30,20,10,{row}\nb,31,21,11{',' * 31}\n"
    with_spectrum, without = read_readings(text.encode(), name="file")
    assert with_spectrum.xyz == (30, 20, 10)
    assert with_spectrum.reflectance is not None
    assert (without.xyz, without.reflectance) == ((31, 21, 11), None)
    assert "no spectrum in this row, only its color" in without.notes
