"""A printed sheet leaves no font file open, whether it is finished or given up half way."""

from __future__ import annotations

import re
import unicodedata
from datetime import UTC, datetime
from pathlib import Path
from xml.etree import ElementTree

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


def test_what_others_wrote_is_text_on_the_sheet_and_in_its_metadata() -> None:
    pypdfium2 = pytest.importorskip("pypdfium2", reason="reads the PDF back")
    hostile = "\u202eevil\x1b[31m\u2066 </rdf:li><x/> **b** (a) Tj \\) =1+1"
    made = Sheet(title=hostile, made=datetime(2026, 1, 1, tzinfo=UTC))
    made.text(hostile)
    made.heading(hostile)
    made.points([hostile])
    made.patch("#aabbcc", x=20, y=200, width=150, height=10, words=hostile)
    data = made.bytes()
    document = pypdfium2.PdfDocument(data)
    said = document[0].get_textpage().get_text_range()
    hidden = {c for c in said if unicodedata.category(c) in ("Cc", "Cf")} - {"\r", "\n"}
    assert hidden == set()
    shown = "\\u202eevil\\x1b[31m\\u2066 </rdf:li><x/> **b** (a) Tj \\) =1+1"
    assert " ".join(said.split()).count(shown) == 4
    document.close()
    [xmp] = re.findall(rb"<x:xmpmeta.*?</x:xmpmeta>", data, re.DOTALL)
    titles = [each.text for each in ElementTree.fromstring(xmp).iter() if each.tag.endswith("}li")]
    assert titles == [shown]
