"""CGATS files of readings: published sets, spellings and conditions come through."""

from __future__ import annotations

import gzip
import re
from pathlib import Path

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab_from_xyz
from inksim.readings.read import read_readings
from tests.reading_files import GRID, NAMES, SPECTRA, cgats, numbers, one

REFERENCE = Path(__file__).parents[2] / "reference_data"


@pytest.mark.parametrize(
    ("file", "count", "backing"), [("TR002", 928, "black"), ("TR005", 1617, "white")]
)
def test_the_published_characterization_sets_parse_in_full(
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
