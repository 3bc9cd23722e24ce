"""What is wrong in a CGATS file is said: file, line or sample, the fault, what to do."""

from __future__ import annotations

import re

import pytest

from tests.faulty_files import FIELDS, GOOD, SPECTRAL, fault_of
from tests.reading_files import cgats


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (GOOD.replace("SETS 2", "SETS 3"),
         "file: NUMBER_OF_SETS is 3 but the table holds 2 rows of data; rows are missing or the "
         "number is wrong."),
        (GOOD.replace("FIELDS 4", "FIELDS 5"),
         "file, line 3: NUMBER_OF_FIELDS is 5 but the data format names 4 columns; correct one of "
         "the two."),
        (GOOD.replace("SETS 2", "SETS two"),
         "file, line 6: NUMBER_OF_SETS is 'two'; it must be a whole number."),
        (GOOD.replace("SETS 2", "SETS " + "9" * 5000),
         f"file, line 6: NUMBER_OF_SETS is '{'9' * 40}'; it must be a whole number."),
        (GOOD.replace("1 50 10 -10", "1 50 10"),
         "file, line 8: the row has 3 values where the data format names 4 columns; values are "
         "missing or too many."),
        (GOOD.replace("2 60 1 2", "2 60 1 2 3"), "file, line 9: the row has 5 values where"),
        (GOOD.replace("2 60 1 2", "2 60 1"), "file, line 9: the row has 3 values where"),
        (GOOD.replace("1 50 10", "1 50 ten"),
         "file, line 8, sample '1': 'ten' in column 'LAB_A' is not a number"),
        (GOOD.replace("\nEND_DATA\n", "\n"),
         "file: BEGIN_DATA at line 7 has no END_DATA; the file is cut short."),
        (GOOD.replace("END_DATA_FORMAT\n", ""),
         "file, line 6: BEGIN_DATA stands before END_DATA_FORMAT."),
        (GOOD.split("NUMBER_OF_SETS")[0],
         "file: a data format is given but no data; the file is cut short."),
        (re.sub(r"NUMBER_OF_FIELDS[^$]*END_DATA_FORMAT\n", "", GOOD),
         "file: data begin without BEGIN_DATA_FORMAT; name the columns first."),
        (cgats(FIELDS, "", sets=0), "file: a table has no rows of data; export the samples too."),
        (cgats("SAMPLE_ID CMYK_C", "1 50"),
         "file holds no table with spectral, LAB or XYZ columns; export one of those."),
        (SPECTRAL.replace("SPEC_410", "SPEC_400"),
         "file, line 3: the wavelength 400 nm appears twice; keep one of the two."),
        (SPECTRAL.replace("0.5\n", "-0.5\n"),
         "file, line 8, sample '1': reads -0.5 at 700 nm, but a reflectance is never negative"),
        (SPECTRAL.replace(
            "CGATS.17", "CGATS.17\nSPECTRAL_BANDS 36\nSPECTRAL_START_NM 380\nSPECTRAL_END_NM 730"),
         "file, line 6: SPECTRAL_BANDS, START_NM and END_NM state 36 bands 380-730 nm, but the "
         "columns are 31 bands 400-700 nm; correct one of the two."),
        (cgats("SAMPLE_ID SPEC_1 SPEC_2", "1 0.5 0.5",
               head="SPECTRAL_BANDS 3\nSPECTRAL_START_NM 400\nSPECTRAL_END_NM 700\n"),
         "file, line 6: SPECTRAL_BANDS, START_NM and END_NM state 3 bands 400-700 nm, but 2 "
         "spectral columns are named; correct one."),
    ],
)  # fmt: skip
def test_cgats_faults(text: str, fault: str) -> None:
    assert fault_of(text).startswith(fault)
