"""What is wrong in a CxF file is said, and what may attack its reader is refused."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.readings.formats import format_names
from tests.faulty_files import BODY, fault_of
from tests.reading_files import (
    LAB,
    SPECTRA,
    SPOT,
    cxf,
    cxf_object,
    specification,
    spectrum,
    spot_objects,
)

ATTACK = "<!DOCTYPE cc:CxF [{}]>\n<cc:CxF "


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("<svg/>",
         "file is XML but not CxF3 (its outermost element is 'svg'); export readings as "
         f"{format_names()}."),
        ("<cc:CxF xmlns:cc='http://other'/>", "file is XML but not CxF3"),
        ("<cc:CxF", "file, line 1: the XML is broken (unclosed token); export the file anew."),
        (cxf(BODY)[:-5], "file, line 5: the XML is broken (unclosed token)"),
        (cxf(BODY).replace("UTF-8", "EBCDIC-9"),
         "file: its XML encoding cannot be read; save it as UTF-8."),
        (cxf(""),
         "file is CxF but no object holds a reflectance spectrum, Lab or XYZ; export those."),
        (cxf(cxf_object("a", "")), "file is CxF but no object holds a reflectance spectrum"),
        (cxf(BODY + BODY), "file: two objects have the Id 'a'; each needs its own."),
        (cxf(BODY.replace("0.0", "nought", 1)),
         "file, line 4, sample 'a': 'nought5' at 400 nm is not a number; export the file anew."),
        (cxf(cxf_object("a", spectrum(np.array([np.nan] + [0.5] * 30)))),
         "file, line 4, sample 'a': the value at 400 nm is not a number; measure it again."),
        (cxf(cxf_object("a", spectrum(np.array([])))),
         "file, line 4, sample 'a': its reflectance spectrum is empty; measure it again."),
        (cxf(cxf_object("a", spectrum(SPECTRA[0] * 100))),
         "file, line 4, sample 'a': reads 5 at 400 nm, too much for a factor (highest 2); correct"),
        (cxf(BODY.replace('StartWL="400"', 'StartWL="380"')),
         "file, line 4, sample 'a': the start of the spectrum must be stated once, in StartWL or "
         "in the WavelengthRange, but it is stated as 380 and 400; correct the file."),
        (cxf(BODY, specification(step=None)).replace('StartWL="400"', ""),
         "file, line 4, sample 'a': the start of the spectrum must be stated once, in StartWL or "
         "in the WavelengthRange, but it is stated as nowhere; correct the file."),
        (cxf(BODY, specification().replace('Increment="10"', 'Increment="0"')),
         "file, line 4, sample 'a': the wavelength Increment '0' is not a step in nm."),
        (cxf(BODY, specification(step=-10)),
         "file, line 4, sample 'a': the wavelength Increment '-10' is not a step in nm."),
        (cxf(cxf_object("a", LAB.replace("<cc:A>10", "<cc:A>ten"))),
         "file, line 4, sample 'a': Lab needs three numbers, but the file has [50.0, 'ten', "),
        (cxf(cxf_object("a", LAB.replace("<cc:A>10</cc:A>", ""))),
         "file, line 4, sample 'a': Lab needs three numbers, but the file has [50.0, None, -10.0]"),
        (cxf(BODY, specification(geometry="<cc:SphereGeometry><cc:X/></cc:SphereGeometry>")),
         "file is not valid CxF3; export"),
        (cxf(BODY, custom=spectrum()),
         "file holds 2 reflectance spectra but only 1 stand where CxF3 puts them, in an Object's "
         "ColorValues; export the file anew."),
    ],
)  # fmt: skip
def test_cxf_faults(text: str, fault: str) -> None:
    assert fault_of(text).startswith(fault)


@pytest.mark.parametrize(
    ("before", "after", "fault"),
    [
        ('ObjectRef="s50"', 'ObjectRef="s51"',
         "file, spot ink 'Ember', background 'Substrate': a measurement refers to the object "
         "'s51', which is not in the file or holds no reading; export the file anew."),
        ('TintLevel="50"', 'TintLevel="150"',
         "file, spot ink 'Ember', background 'Substrate': the tone value of the object 's50' is "
         "'150'; it must be a number from 0 to 100 %."),
        ('TintLevel="50"', "",
         "file, spot ink 'Ember', background 'Substrate': the tone value of the object 's50' is "
         "''"),
        ('NameRef="second"', 'NameRef="third"',
         "file, spot ink 'Ember', background 'Substrate': the object 's100' has 2 spectra and none "
         "is named 'third'; export the file anew."),
    ],
)  # fmt: skip
def test_spot_ink_faults(before: str, after: str, fault: str) -> None:
    assert before in SPOT
    text = cxf(spot_objects(), custom=SPOT.replace(before, after))
    assert fault_of(text).startswith(fault)


LAUGHS = "".join(f'<!ENTITY l{i + 1} "{f"&l{i};" * 10}">' for i in range(9))


@pytest.mark.parametrize(
    "declaration",
    [
        '<!ENTITY l0 "ha">' + LAUGHS,
        '<!ENTITY secret SYSTEM "file:///etc/hostname">',
        '<!ENTITY % far SYSTEM "http://127.0.0.1:9/x.dtd"> %far;',
    ],
    ids=["entity bomb", "local file", "external DTD"],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_document_types_are_refused_before_anything_is_expanded(
    declaration: str, encoding: str
) -> None:
    # The known attacks on XML readers: OWASP's XML External Entity and entity expansion pages.
    text = cxf(BODY).replace("<cc:CxF ", ATTACK.format(declaration), 1).replace(">0.0", ">&l9;", 1)
    text = text.replace("UTF-8", encoding)
    assert fault_of(text.encode(encoding)) == (
        "file, line 2: the XML declares a document type, which may hide entities; a color file "
        "needs none. Remove the DOCTYPE or export the file anew."
    )


def test_deep_nesting_is_refused() -> None:
    deep = "<cc:a>" * 10_000 + "</cc:a>" * 10_000
    assert fault_of(cxf(BODY, custom=deep)).startswith(
        "file, line 5: elements are nested more than 64 deep, which no color file needs"
    )
