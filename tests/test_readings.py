"""Instrument files and pasted numbers: every format, dialect and condition comes through."""

from __future__ import annotations

import gzip
import pickle
import re
from datetime import UTC, datetime
from importlib import resources
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inksim.appearance import Viewing, delta_e_2000, lab, lab_from_xyz
from inksim.errors import InputError
from inksim.reading_record import wavelength_nm
from inksim.reading_words import geometry_from, light_from, m_condition_from, observer_from
from inksim.readings import Reading, average, parse_numbers, read_readings
from inksim.spectra import WAVELENGTHS_NM

REFERENCE = Path(__file__).parent.parent / "reference_data"
GRID = [int(nm) for nm in WAVELENGTHS_NM]

# Spectra made up for these tests, as factors: (3, 31), smooth, between 0.02 and 0.9.
SPECTRA = np.round(
    [
        0.05 + 0.8 / (1 + np.exp(-(WAVELENGTHS_NM - 590) / 15)),
        0.9 - 0.4 * np.exp(-(((WAVELENGTHS_NM - 550) / 60) ** 2)),
        0.02 + 0.0001 * np.arange(31),
    ],
    4,
)
NAMES = ("ember", "chalk", "soot")


def wide(
    *,
    mark: str = ",",
    column: str = "R{nm}",
    percent: bool = False,
    comma: bool = False,
    spectra: np.ndarray = SPECTRA,
) -> str:
    """A CSV of the made-up spectra in some dialect."""
    lines = [mark.join(["name", *(column.format(nm=nm) for nm in GRID)])]
    for name, spectrum in zip(NAMES, spectra, strict=False):
        cells = [f"{value * (100 if percent else 1):.4f}" for value in spectrum]
        cells = [cell.replace(".", ",") for cell in cells] if comma else cells
        lines.append(mark.join([name, *cells]))
    return "\n".join(lines) + "\n"


def one(text: str | bytes, **words: object) -> Reading:
    data = text.encode() if isinstance(text, str) else text
    (reading,) = read_readings(data, name="file", **words)  # type: ignore[arg-type]
    return reading


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
@settings(max_examples=60, deadline=None)
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
    assert "light and observer" in one(text).notes[0]
    stated = one(text, light="D50", observer=2)
    assert (stated.light, stated.observer, stated.notes) == ("D50", 2, ())


def test_xyz_columns_and_a_row_that_has_only_its_colour() -> None:
    row = ",".join(map(str, SPECTRA[0]))
    text = f"name,X,Y,Z,{','.join(map(str, GRID))}\na,30,20,10,{row}\nb,31,21,11{',' * 31}\n"
    with_spectrum, without = read_readings(text.encode(), name="file")
    assert with_spectrum.xyz == (30, 20, 10)
    assert with_spectrum.reflectance is not None
    assert (without.xyz, without.reflectance) == ((31, 21, 11), None)
    assert "no spectrum in this row, only its color" in without.notes


# -- What the person states


def test_a_stated_condition_wins_and_a_contradiction_is_noted() -> None:
    text = wide(spectra=SPECTRA[:1]).replace("name,", "name,geometry,backing,")
    text = text.replace("ember,", "ember,d/8 SCI,White,")
    reading = one(text, geometry="45:0", backing="white", m_condition="M2", thickness_um=20.0)
    assert (reading.geometry, reading.m_condition, reading.thickness_um) == ("45:0", "M2", 20.0)
    assert [n for n in reading.notes if "as stated" in n] == [
        "geometry 45:0 as stated; the file says d/8 SCI"
    ]


def test_a_stated_scale_settles_a_file_that_could_be_either() -> None:
    text = wide(percent=True, spectra=SPECTRA[2:] * 0.7)  # 1.4 to 1.6 %
    assert one(text, scale="percent").reflectance == pytest.approx(SPECTRA[2] * 0.7, abs=1e-6)
    assert one(text, scale="factor").reflectance == pytest.approx(SPECTRA[2] * 70, abs=1e-4)


@pytest.mark.parametrize(
    ("words", "fault"),
    [
        ({"geometry": "d:8"}, "the geometry is 'd:8'; choose one of 45:0, d:8-sce, d:8-sci."),
        ({"m_condition": "M4"}, "the M condition is 'M4'; choose one of M0, M1, M2, M3."),
        ({"light": "candle"}, "the light is 'candle'; choose one of D50, D65"),
        ({"observer": 3}, "the observer is '3'; choose one of 2, 10."),
        ({"scale": "0-100"}, "the scale is '0-100'; choose one of percent, factor."),
        ({"thickness_um": 0.0}, "the thickness is 0 µm; it must be above 0."),
    ],
)
def test_a_stated_condition_must_be_one_of_those_there_are(
    words: dict[str, object], fault: str
) -> None:
    with pytest.raises(InputError, match=re.escape(fault)):
        one(wide(), **words)


# -- The words of conditions


@pytest.mark.parametrize(
    ("text", "expected"),
    [("0:45", "45:0"), ("0/45", "45:0"), ("45/0", "45:0"), ("45°:0°", "45:0"), ("45a:0", "45:0"),
     ("CIE 45/0:c", "45:0"), ("d/8 SCI", "d:8-sci"), ("di:8°", "d:8-sci"),
     ("Specular_Included", "d:8-sci"), ("d:8-sce", "d:8-sce"), ("de:8", "d:8-sce"),
     ("sphere, specular excluded", "d:8-sce"), ("d/8", None), ("145:0", None), ("", None)],
)  # fmt: skip
def test_geometry_words(text: str, expected: str | None) -> None:
    assert geometry_from(text) == expected


@pytest.mark.parametrize(
    ("text", "light", "observer"),
    [("ILLUMINANT, D50; OBSERVER, 2 degree", "D50", 2), ("D65 10°", "D65", 10),
     ("CIE 1964", None, 10), ("1931", None, 2), ("10_Degree", None, 10), ("A", "A", None),
     ("Illuminant A", "A", None), ("N/A", None, None), ("TL84", "F11", None), ("F2", "F2", None),
     ("LED-B3", "LED-B3", None), ("a lamp", None, None), ("", None, None)],
)  # fmt: skip
def test_light_and_observer_words(text: str, light: str | None, observer: int | None) -> None:
    assert (light_from(text), observer_from(text)) == (light, observer)


@pytest.mark.parametrize(
    ("text", "expected"),
    [("M0", "M0"), ("M1_Daylight", "M1"), ("filter m2 (uv cut)", "M2"), ("M30", None), ("", None)],
)
def test_m_condition_words(text: str, expected: str | None) -> None:
    assert m_condition_from(text) == expected


def test_a_condition_that_is_not_understood_is_unknown_and_noted() -> None:
    text = wide(spectra=SPECTRA[:1]).replace("name,", "name,geometry,").replace("ember", "e,d/8")
    reading = one(text)
    assert reading.geometry is None
    assert "geometry 'd/8' is not understood: taken as unknown" in reading.notes


# -- CGATS.17 / ISO 28178


def cgats(fields: str, rows: str, *, head: str = "", sets: int | None = None) -> str:
    count = len(rows.strip().split("\n")) if sets is None else sets
    return (
        f"CGATS.17\n{head}NUMBER_OF_FIELDS {len(fields.split())}\nBEGIN_DATA_FORMAT\n{fields}\n"
        f"END_DATA_FORMAT\nNUMBER_OF_SETS {count}\nBEGIN_DATA\n{rows}\nEND_DATA\n"
    )


def numbers(values: np.ndarray, scale: float = 1.0) -> str:
    return " ".join(f"{value * scale:.6g}" for value in values)


@pytest.mark.parametrize(
    ("file", "count", "backing"), [("TR002", 928, "black"), ("TR005", 1617, "white")]
)
def test_the_published_characterisation_sets_parse_in_full(
    file: str, count: int, backing: str
) -> None:
    # ANSI CGATS TR 002 and TR 005 (NPES 2007), from Debian's icc-profiles-free, zlib license.
    raw = gzip.decompress((REFERENCE / f"{file}.ti3.gz").read_bytes())
    readings = read_readings(raw, name=f"{file}.ti3")
    assert len(readings) == count
    # An independent, plain reading of the same block of numbers.
    block = raw.decode("latin-1").split("BEGIN_DATA\r\n")[1].split("END_DATA")[0]
    table = np.loadtxt(block.strip().splitlines())
    inks = ("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K")
    mine = [
        [float(r.name), *(r.device[i] for i in inks), *(r.xyz or ()), *(r.lab or ())]
        for r in readings
    ]
    assert np.array_equal(np.array(mine), table)
    conditions = {(r.light, r.observer, r.geometry, r.backing) for r in readings}
    assert conditions == {("D50", 2, "45:0", backing)}
    # The sets' own XYZ and Lab agree as far as their two decimals allow.
    listed, xyz = np.array([r.lab for r in readings]), np.array([r.xyz for r in readings])
    apart = delta_e_2000(listed, lab_from_xyz(xyz, Viewing("D50", 2)))
    assert np.median(apart) < 0.02
    assert apart.max() < 0.35


@pytest.mark.parametrize(
    "column",
    ["SPECTRAL_NM{}", "SPECTRAL_NM_{}", "SPECTRAL_{}", "SPEC_{}", "nm{}", "R_{}", "SPECTRAL_DEC{}"],
)
def test_cgats_spectra_in_each_vendors_spelling(column: str) -> None:
    fields = "SAMPLE_ID SAMPLE_NAME " + " ".join(column.format(nm) for nm in GRID)
    rows = "\n".join(
        f'{i} "{name} one" {numbers(spectrum)}'
        for i, (name, spectrum) in enumerate(zip(NAMES, SPECTRA, strict=True), start=1)
    )
    readings = read_readings(cgats(fields, rows).encode(), name="file")
    assert [r.name for r in readings] == ["ember one", "chalk one", "soot one"]
    assert np.array([r.reflectance for r in readings]) == pytest.approx(SPECTRA)


def test_cgats_percent_by_field_name_pairs_and_norm() -> None:
    low = SPECTRA[2:]  # about 2 %, which no value of the file could settle
    by_name = cgats("SAMPLE_ID " + " ".join(f"SPECTRAL_PCT{nm}" for nm in GRID),
                    "1 " + numbers(low[0], 100))  # fmt: skip
    pairs = " ".join(f"{nm} {v * 100:.6g}" for nm, v in zip(GRID, low[0], strict=True))
    head = "SPECTRAL_BANDS 31\nSPECTRAL_START_NM 400\nSPECTRAL_END_NM 700\n"
    by_pairs = cgats("SAMPLE_ID" + " SPECTRAL_NM SPECTRAL_PCT" * 31, f"1 {pairs}", head=head)
    by_norm = cgats("SAMPLE_ID " + " ".join(f"SPEC_{nm}" for nm in GRID),
                    "1 " + numbers(low[0], 100), head="SPECTRAL_NORM 100.0\n")  # fmt: skip
    for text in (by_name, by_pairs, by_norm):
        assert one(text).reflectance == pytest.approx(low[0])


def test_cgats_numbered_bands_take_their_wavelengths_from_keywords() -> None:
    head = "SPECTRAL_BANDS 36\nSPECTRAL_START_NM 380\nSPECTRAL_END_NM 730\n"
    ramp = 0.1 + np.arange(36) / 100
    text = cgats("SAMPLE_ID " + " ".join(f"SPEC_{i}" for i in range(1, 37)), "1 " + numbers(ramp),
                 head=head)  # fmt: skip
    assert one(text).reflectance == pytest.approx(ramp[2:33])
    named = cgats("SAMPLE_ID " + " ".join(f"SPEC_{380 + 10 * i}" for i in range(36)),
                  "1 " + numbers(ramp), head=head)  # fmt: skip
    assert one(named).reflectance == pytest.approx(ramp[2:33])


@pytest.mark.parametrize(
    "head",
    [
        'ILLUMINANT "D65"\nOBSERVER "10"\nMEASUREMENT_GEOMETRY "d/8 SCE"\nFILTER "M1"\n'
        'SAMPLE_BACKING "Black"\n',
        'KEYWORD "ILLUMINANT"\nILLUMINANT D65\nOBSERVER 10\nMEASUREMENT_GEOMETRY d/8_SCE\n'
        "MEASUREMENT_CONDITION M1\nSAMPLE_BACKING black\n",
        'WEIGHTING_FUNCTION "ILLUMINANT, D65"\nWEIGHTING_FUNCTION "OBSERVER, 10 degree"\n'
        'MEASUREMENT_GEOMETRY "de:8"\nFILTER "M1"\nSAMPLE_BACKING "black"\n',
        'MEASUREMENT_SOURCE "Illumination=D65 ObserverAngle=10 WhiteBase=Absolute M1"\n'
        'GEOMETRY "d:8-sce"\nBACKING "black"\n',
    ],
)
def test_cgats_conditions_quoted_or_not(head: str) -> None:
    reading = one(cgats("SAMPLE_ID LAB_L LAB_A LAB_B", "1 50 10 -10", head=head))
    assert (reading.light, reading.observer) == ("D65", 10)
    assert (reading.geometry, reading.m_condition, reading.backing) == ("d:8-sce", "M1", "black")


def test_cgats_tables_keywords_carry_over_until_stated_anew() -> None:
    lab_fields = "SAMPLE_ID LAB_L LAB_A LAB_B"
    first = cgats(lab_fields, "1 50 10 -10\n2 60 1 2", head='ILLUMINANT "D50"\nOBSERVER "2"\n')
    text = first + cgats("SAMPLE_ID CMYK_C", "1 50") + cgats(lab_fields, "3 70 0 0",
                                                            head='ILLUMINANT "A"\n')  # fmt: skip
    readings = read_readings(text.encode(), name="file")
    assert [(r.name, r.light, r.observer) for r in readings] == [
        ("1", "D50", 2), ("2", "D50", 2), ("3", "A", 2),
    ]  # fmt: skip
    assert all(
        "table 2 of the file holds no spectrum or color: left out" in r.notes for r in readings
    )


def test_cgats_wrapped_sets_tabs_comments_and_latin_1() -> None:
    wrapped = cgats("SAMPLE_ID LAB_L LAB_A LAB_B", "# first\n1 50\n 10 -10\n2\n60 1 2", sets=2)
    wrapped = wrapped.replace("BEGIN_DATA\n# first\n", "# first\nBEGIN_DATA\n")
    assert [r.lab for r in read_readings(wrapped.encode(), name="f")] == [(50, 10, -10), (60, 1, 2)]
    tabs = cgats("SAMPLE_NAME LAB_L LAB_A LAB_B", "grün eins\t50\t10\t-10").encode("latin-1")
    reading = one(tabs)
    assert (reading.name, reading.lab) == ("grün eins", (50, 10, -10))
    assert any("not UTF-8" in note for note in reading.notes)


def test_cgats_counts_that_are_not_stated_are_noted() -> None:
    text = re.sub(r"NUMBER_OF_\w+ \d+\n", "", cgats("SAMPLE_ID LAB_L LAB_A LAB_B", "1 50 10 -10"))
    notes = one(text).notes
    assert sum("is not stated, so the count was not checked" in note for note in notes) == 2


# -- CxF3 / ISO 17972


CORE = "http://colorexchangeformat.com/CxF3-core"
SIC = "http://colorexchangeformat.com/CxF3-SpotInkCharacterisation"


def test_colour_cxf_sample_parses_and_its_lab_follows_from_its_spectra() -> None:
    # The sample of colour-cxf (BSD-3): 144 spectra 380-680 nm, each with Lab for D50/2°, ASTM
    # E308 table 5. Tolerance: the 690 and 700 nm bands are extended, and 10 nm weights differ.
    sample = resources.files("colour_cxf") / "tests" / "resources" / "sample.cxf"
    readings = read_readings(sample.read_bytes(), name="sample.cxf")
    assert len(readings) == 144
    first = readings[0]
    assert (first.name, first.light, first.observer, first.geometry) == ("1", "D50", 2, "45:0")
    assert first.lab == (17.64167, 1.076669, 0.3338588)
    assert first.reflectance is not None
    assert first.reflectance[[0, 28]] == pytest.approx([0.0196141, 0.0448929])
    assert first.notes == ("readings end at 680 nm: up to 700 nm the last one is used",)
    listed = np.array([r.lab for r in readings])
    computed = lab(np.array([r.reflectance for r in readings]), Viewing("D50", 2))
    apart = delta_e_2000(listed, computed)
    assert np.median(apart) <= 0.07
    assert apart.max() <= 0.3


def cxf_object(key: str, body: str, *, name: str = "", extra: str = "") -> str:
    return (
        f'<cc:Object ObjectType="Standard" Name="{name or key}" Id="{key}">'
        f"<cc:CreationDate>2024-01-01T00:00:00Z</cc:CreationDate>"
        f"<cc:ColorValues>{body}</cc:ColorValues>{extra}</cc:Object>"
    )


def spectrum(values: np.ndarray = SPECTRA[0], *, specification: str = "CS1", more: str = "") -> str:
    return (
        f'<cc:ReflectanceSpectrum StartWL="400" ColorSpecification="{specification}" {more}>'
        f"{numbers(values)}</cc:ReflectanceSpectrum>"
    )


def specification(
    key: str = "CS1", *, geometry: str = "", device: str = "", step: int | None = 10, more: str = ""
) -> str:
    geometry = geometry or "<cc:SphereGeometry>Specular_Included</cc:SphereGeometry>"
    wavelengths = f'<cc:WavelengthRange StartWL="400" Increment="{step}"/>' if step else ""
    return (
        f'<cc:ColorSpecification Id="{key}"><cc:TristimulusSpec><cc:Illuminant>D65</cc:Illuminant>'
        "<cc:Observer>10_Degree</cc:Observer><cc:Method>E308_Table5</cc:Method>"
        "</cc:TristimulusSpec><cc:MeasurementSpec>"
        "<cc:MeasurementType>Spectrum_Reflectance</cc:MeasurementType>"
        f"<cc:GeometryChoice>{geometry}</cc:GeometryChoice>{wavelengths}{more}"
        f"<cc:Device><cc:Model>any</cc:Model>{device}</cc:Device>"
        "</cc:MeasurementSpec></cc:ColorSpecification>"
    )


def cxf(objects: str, specifications: str | None = None, custom: str = "") -> str:
    given = specification() if specifications is None else specifications
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<cc:CxF xmlns:cc="{CORE}" xmlns:sic="{SIC}">\n'
        f"<cc:Resources><cc:ObjectCollection>\n{objects}\n</cc:ObjectCollection>"
        f"<cc:ColorSpecificationCollection>{given}</cc:ColorSpecificationCollection>"
        f"</cc:Resources><cc:CustomResources>{custom}</cc:CustomResources></cc:CxF>"
    )


LAB = (
    '<cc:ColorCIELab ColorSpecification="CS1"><cc:L>50</cc:L><cc:A>10</cc:A><cc:B>-10</cc:B>'
    "</cc:ColorCIELab>"
)
XYZ = (
    '<cc:ColorCIEXYZ ColorSpecification="CS1"><cc:X>20</cc:X><cc:Y>21</cc:Y><cc:Z>22</cc:Z>'
    "</cc:ColorCIEXYZ>"
)
ANGLE = (
    "<cc:SingleAngle><cc:SingleAngleConfiguration>Annular</cc:SingleAngleConfiguration>"
    "<cc:IlluminationAngle>{}</cc:IlluminationAngle><cc:MeasurementAngle>{}</cc:MeasurementAngle>"
    "</cc:SingleAngle>"
)


@pytest.mark.parametrize(
    ("geometry", "device", "expected"),
    [
        (ANGLE.format(45, 0), "<cc:DeviceIllumination>M1_Daylight</cc:DeviceIllumination>",
         ("45:0", "M1")),
        (ANGLE.format(0, 45), "<cc:DevicePolarization>true</cc:DevicePolarization>",
         ("45:0", "M3")),
        ("<cc:SphereGeometry>Specular_Included</cc:SphereGeometry>",
         "<cc:DeviceIllumination>M0_Incandescent</cc:DeviceIllumination>", ("d:8-sci", "M0")),
        ("<cc:SphereGeometry>Specular_Excluded</cc:SphereGeometry>", "", ("d:8-sce", None)),
        ("<cc:UnknownGeometry>hand held</cc:UnknownGeometry>", "", (None, None)),
        (ANGLE.format(25, 0), "", (None, None)),
    ],
)  # fmt: skip
def test_cxf_conditions(geometry: str, device: str, expected: tuple[str, str]) -> None:
    given = specification(geometry=geometry, device=device, more="<cc:Backing>Black</cc:Backing>")
    reading = one(cxf(cxf_object("a", spectrum() + LAB + XYZ, name="ember"), given))
    assert (reading.geometry, reading.m_condition) == expected
    assert (reading.name, reading.backing) == ("ember", "black")
    assert (reading.light, reading.observer) == ("D65", 10)
    assert (reading.lab, reading.xyz) == ((50, 10, -10), (20, 21, 22))
    assert reading.reflectance == pytest.approx(SPECTRA[0])
    assert any("not understood" in note for note in reading.notes) is (expected[0] is None)
    assert reading.source == "file, line 4"


def test_cxf_several_spectra_lab_only_and_device_values() -> None:
    device = (
        '<cc:DeviceColorValues><cc:ColorCMYKPlusN ColorSpecification="CS1"><cc:Cyan>10</cc:Cyan>'
        "<cc:Magenta>20</cc:Magenta><cc:Yellow>30</cc:Yellow><cc:Black>0</cc:Black>"
        "<cc:SpotColor><cc:Name>ember</cc:Name><cc:Percentage>70</cc:Percentage></cc:SpotColor>"
        '</cc:ColorCMYKPlusN><cc:ColorRecipe Units="g" Name="mix">'
        '<cc:Colorant Name="base"><cc:Value>90.5</cc:Value></cc:Colorant></cc:ColorRecipe>'
        '</cc:DeviceColorValues><cc:TagCollection Name="shop"><cc:Tag Name="shift" Value="late"/>'
        "</cc:TagCollection>"
    )
    two = spectrum() + spectrum(SPECTRA[1], specification="CS2")
    given = specification(device="<cc:DeviceIllumination>M0_Incandescent</cc:DeviceIllumination>")
    given += specification(
        "CS2", device="<cc:DeviceIllumination>M2_UVExcluded</cc:DeviceIllumination>"
    )
    objects = cxf_object("a", two, extra=device) + cxf_object("b", LAB) + cxf_object("c", "")
    readings = read_readings(cxf(objects, given).encode(), name="file")
    assert [(r.name, r.m_condition) for r in readings] == [("a", "M0"), ("a", "M2"), ("b", "M0")]
    assert readings[1].reflectance == pytest.approx(SPECTRA[1])
    assert readings[0].device == {
        "CMYK_C": 10, "CMYK_M": 20, "CMYK_Y": 30, "CMYK_K": 0, "ember": 70, "base": 90.5,
    }  # fmt: skip
    assert readings[0].labels == {"shift": "late", "Id": "a"}
    assert readings[2].lab == (50, 10, -10)
    assert readings[2].reflectance is None
    assert any("1 objects hold no reflectance" in note for note in readings[0].notes)


def test_cxf_without_a_stated_step_says_what_it_assumed() -> None:
    reading = one(cxf(cxf_object("a", spectrum()), specification(step=None)))
    assert "the wavelength step is not stated: 10 nm assumed" in reading.notes


def test_cxf_written_by_colour_cxf_itself_in_utf_16() -> None:
    import colour_cxf
    from colour_cxf import cxf3
    from xsdata.models.datatype import XmlDateTime

    made = cxf3.Object(
        creation_date=cxf3.CreationDate(
            value=XmlDateTime.from_datetime(datetime(2024, 1, 1, tzinfo=UTC))
        ),
        color_values=cxf3.ColorValues(
            choice=[
                cxf3.ReflectanceSpectrum(
                    value=[float(v) for v in SPECTRA[0]], start_wl=400, color_specification="CS1"
                )
            ]
        ),
        object_type="Standard", name="Größe", id="x",
    )  # fmt: skip
    written = colour_cxf.write_cxf(
        cxf3.CxF(
            resources=cxf3.Resources(object_collection=cxf3.ObjectCollection(object_value=[made]))
        )
    ).decode()
    reading = one(written.replace("UTF-8", "UTF-16").encode("utf-16"))
    assert reading.name == "Größe"
    assert reading.reflectance == pytest.approx(SPECTRA[0])


SPOT = """
<sic:SpotInkCharacterisation SpotInkName="Ember" PrintProcess="Screen">
 <sic:MeasurementSet Background="Substrate">
  <sic:Measurement TintLevel="0" ObjectRef="s0"/><sic:Measurement TintLevel="50" ObjectRef="s50"/>
  <sic:Measurement TintLevel="100" ObjectRef="s100" ReflectanceSpectrumNameRef="second"/>
 </sic:MeasurementSet>
 <sic:MeasurementSet Background="Black">
  <sic:Measurement TintLevel="0" ObjectRef="k0"/><sic:Measurement TintLevel="100" ObjectRef="k100"/>
 </sic:MeasurementSet>
</sic:SpotInkCharacterisation>"""


def spot_objects() -> str:
    two = spectrum(SPECTRA[1], more='Name="first"') + spectrum(SPECTRA[0], more='Name="second"')
    return "\n".join(
        cxf_object(key, body)
        for key, body in [
            ("s0", spectrum(SPECTRA[1])), ("s50", spectrum((SPECTRA[0] + SPECTRA[1]) / 2)),
            ("s100", two), ("k0", spectrum(SPECTRA[2])), ("k100", spectrum(SPECTRA[0] / 2)),
            ("extra", spectrum()),
        ]
    )  # fmt: skip


def test_spot_ink_gradation_over_substrate_and_over_black() -> None:
    readings = read_readings(cxf(spot_objects(), custom=SPOT).encode(), name="file")
    assert [(r.name, r.tone_percent, r.backing) for r in readings[:5]] == [
        ("Ember 0 % over substrate", 0, "substrate"),
        ("Ember 50 % over substrate", 50, "substrate"),
        ("Ember 100 % over substrate", 100, "substrate"),
        ("Ember 0 % over black", 0, "black"),
        ("Ember 100 % over black", 100, "black"),
    ]
    assert readings[2].reflectance == pytest.approx(SPECTRA[0])  # the spectrum named 'second'
    assert readings[4].reflectance == pytest.approx(SPECTRA[0] / 2, rel=1e-5)
    assert readings[0].labels["PrintProcess"] == "Screen"
    assert readings[0].labels["spot ink"] == "Ember"
    # What the characterisation does not use stays in: the other spectrum of s100, and 'extra'.
    assert [r.name for r in readings[5:]] == ["s100", "extra"]


def test_spot_ink_data_in_child_elements_and_near_spellings() -> None:
    custom = (
        "<sic:SpotInkCharacterization><sic:SpotInkName>Ember</sic:SpotInkName><sic:MeasurementSet>"
        "<sic:Background>Black</sic:Background><sic:Measurement><sic:ObjectRef>a</sic:ObjectRef>"
        "<sic:TintValue>100</sic:TintValue></sic:Measurement></sic:MeasurementSet>"
        "</sic:SpotInkCharacterization>"
    )
    reading = one(cxf(cxf_object("a", spectrum()), custom=custom))
    assert (reading.name, reading.backing) == ("Ember 100 % over black", "black")
    assert reading.reflectance == pytest.approx(SPECTRA[0])


# -- Pasted numbers


def test_pasted_spectra_of_usual_lengths_are_placed_and_it_is_said() -> None:
    # Usual exports: 400-700, 380-730, 360-740, 380-780 nm at 10 nm, and finer (common practice).
    for count, first, step in [(31, 400, 10), (36, 380, 10), (39, 360, 10), (41, 380, 10),
                               (61, 400, 5), (81, 380, 5), (401, 380, 1)]:  # fmt: skip
        nm = first + step * np.arange(count)
        reading = parse_numbers(" ".join(f"{0.1 + (x - 360) / 1000:.4f}" for x in nm))
        assert reading.reflectance == pytest.approx(0.1 + (WAVELENGTHS_NM - 360) / 1000, abs=1e-6)
        expected = f"{count} values: taken as {nm[0]}-{nm[-1]} nm every {step} nm"
        assert expected in reading.notes


RAMP = [f"{0.1 + i / 100:.2f}" for i in range(31)]


@pytest.mark.parametrize(
    "text",
    [
        " ".join(RAMP),
        ", ".join(RAMP),
        ",".join(RAMP),
        "\n".join(RAMP),
        ";".join(value.replace(".", ",") for value in RAMP),
        " ".join(value.replace(".", ",") for value in RAMP),
        "400-700 nm: " + " ".join(RAMP),
        "start 400 step 10\n" + " ".join(RAMP),
        "\n".join(f"{400 + 10 * i}\t{value}" for i, value in enumerate(RAMP)),
        "\n".join(f"{400 + 10 * i} nm: {value}".replace(" nm", "") for i, value in enumerate(RAMP)),
        " ".join(f"{float(value) * 100:g}%" for value in RAMP),
    ],
)
def test_pasted_spectra_in_many_hands(text: str) -> None:
    assert parse_numbers(text).reflectance == pytest.approx(0.1 + np.arange(31) / 100)


def test_pasted_spectrum_with_a_stated_start() -> None:
    values = " ".join(f"{0.1 + i / 100:.2f}" for i in range(35))
    for reading in (
        parse_numbers("380 – 720 nm " + values),
        parse_numbers(values, start_nm=380, step_nm=10),
        parse_numbers(values, start_nm=380),
    ):
        assert reading.reflectance == pytest.approx(0.12 + np.arange(31) / 100)
    assert "the wavelength step is not stated: 10 nm assumed" in reading.notes


@pytest.mark.parametrize(
    ("text", "light", "observer"),
    [
        ("52.3 12.1 -4", "D50", 2),
        ("L*=52,3; a*=12,1; b*=-4,0", "D50", 2),
        ("52.3, 12.1, -4", "D50", 2),
        ("Lab(52.3; 12.1; -4)", "D50", 2),
        ("CIE L*a*b* D65/10°: 52.3 12.1 -4", "D65", 10),
        ("L 52.3\na 12.1\nb -4", "D50", 2),
    ],
)
def test_pasted_lab(text: str, light: str, observer: int) -> None:
    reading = parse_numbers(text, name="target")
    assert reading.name == "target"
    assert reading.lab == pytest.approx((52.3, 12.1, -4.0))
    assert (reading.light, reading.observer) == (light, observer)
    assert any("assumed" in note for note in reading.notes) is (light == "D50")


# -- Averages


def sample(values: np.ndarray, **more: object) -> Reading:
    return Reading(name="a", source="made", reflectance=values, **more)  # type: ignore[arg-type]


def test_average_of_equal_readings_is_the_reading_with_perfect_repeatability() -> None:
    mean, repeatability = average([sample(SPECTRA[0])] * 3)
    assert mean.reflectance == pytest.approx(SPECTRA[0])
    assert repeatability == pytest.approx(0, abs=1e-6)
    assert not any("measure again" in note for note in mean.notes)


def test_average_says_when_repeats_scatter() -> None:
    # Lab two units of L* apart at L* 50, where CIEDE2000's lightness weight is 1 (published:
    # S_L = 1 at L* = 50): each lies 1.00 from the mean.
    pair = [
        Reading(name="a", source=f"line {i}", lab=(value, 0, 0), light="D50", observer=2)
        for i, value in enumerate((49.0, 51.0))
    ]
    mean, repeatability = average(pair)
    assert mean.lab == (50, 0, 0)
    assert repeatability == pytest.approx(1.0, abs=1e-3)
    assert mean.source == "line 0, line 1"
    assert "the repeats differ by more than 0.5 ΔE00: measure again on more places" in mean.notes


def test_average_of_spectra_and_of_xyz() -> None:
    mean, _ = average(
        [sample(SPECTRA[0]), sample(SPECTRA[1], lab=(1, 2, 3), light="A", observer=2)]
    )
    assert mean.reflectance == pytest.approx((SPECTRA[0] + SPECTRA[1]) / 2)
    assert (mean.lab, mean.light) == (None, None)
    white = Viewing("D50", 2).white
    grey = Reading(name="g", source="", xyz=tuple(white * 0.184187), light="D50", observer=2)
    mean, _ = average([grey, grey])  # Y = 18.4187 is L* = 50 (CIE 1976 L* inverted)
    assert mean.lab == pytest.approx((50, 0, 0), abs=1e-3)


@pytest.mark.parametrize(
    ("pair", "fault"),
    [
        ([sample(SPECTRA[0])], "an average needs two readings or more, but there is 1."),
        ([sample(SPECTRA[0]), Reading(name="b", source="", lab=(1, 2, 3))],
         "'a' and 'b' cannot be averaged: one has a spectrum and one only a color."),
        ([sample(SPECTRA[0], backing="black"), sample(SPECTRA[0], backing="white")],
         "'a' and 'a' cannot be averaged: backing is 'black' and 'white'."),
        ([Reading(name="b", source="", xyz=(1, 2, 3))] * 2,
         "'b' cannot be averaged: it has no spectrum and no Lab, and its XYZ has no stated light"),
    ],
)  # fmt: skip
def test_average_refuses_what_is_not_alike(pair: list[Reading], fault: str) -> None:
    with pytest.raises(InputError, match=re.escape(fault)):
        average(pair)


# -- The reading itself


def test_a_reading_is_read_only_and_travels_between_processes() -> None:
    reading = one(wide(spectra=SPECTRA[:1]))
    assert reading.reflectance is not None
    with pytest.raises(ValueError, match="read-only"):
        reading.reflectance[0] = 1.0
    copy = pickle.loads(pickle.dumps(reading))
    assert np.array_equal(copy.reflectance, reading.reflectance)
    assert copy.notes == reading.notes
