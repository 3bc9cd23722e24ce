"""One table of reading formats: a row and a module make a format known wherever formats are."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from inksim.cli.commands import main
from inksim.common import InputError
from inksim.readings.formats import FORMATS, ReadingFormat, format_names, reading_suffixes
from inksim.readings.palette_file import palette_from_file
from inksim.readings.read import read_readings
from inksim.readings.record import Parsed, Record
from inksim.shop.load import load_shop
from inksim.shop.targets import target_of
from inksim.ui.pages import shop_colour
from tests.reading_files import GRID, SPECTRA, cxf, wide

PAGE = (Path(__file__).parents[2] / "docs" / "readings.md").read_text(encoding="utf-8")
TALLY = b"\xffTALLY leaf " + " ".join(f"{value:.4f}" for value in SPECTRA[0]).encode()


def read_tally(data: bytes, *, file: str) -> Parsed:
    """A format of this test: a mark, a name and 31 factors."""
    _, name, *values = data[1:].decode().split()
    bands = tuple((float(nm), float(value)) for nm, value in zip(GRID, values, strict=True))
    return Parsed(records=(Record(name=name, source=file, bands=bands, scale="factor"),))


@pytest.fixture
def tally(monkeypatch: pytest.MonkeyPatch) -> Iterator[ReadingFormat]:
    module = ModuleType("inksim_tally")
    module.read_tally = read_tally  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "inksim_tally", module)
    row = ReadingFormat(
        name="Tally",
        standard="Tally sheets",
        suffixes=(".tally",),
        known_by=re.compile(rb"\A\xffTALLY"),
        reader="inksim_tally:read_tally",
    )
    FORMATS.append(row)
    yield row
    FORMATS.remove(row)


def test_a_format_registered_is_read(tally: ReadingFormat, tmp_path: Path) -> None:
    (reading,) = read_readings(TALLY, name="leaf.tally")
    assert (reading.name, reading.source) == ("leaf", "leaf.tally")
    assert reading.reflectance is not None
    np.testing.assert_allclose(reading.reflectance, SPECTRA[0], atol=1e-4)
    assert len(read_readings(wide().encode(), name="x.tally")) == len(SPECTRA)  # content decides
    (target,) = palette_from_file(TALLY, name="leaf.tally")
    assert target.name == "leaf"
    path = tmp_path / "leaf.tally"
    path.write_bytes(TALLY)
    assert target_of(load_shop(), str(path)).name == "leaf"


def test_a_format_registered_is_known_by_its_suffix(tally: ReadingFormat) -> None:
    with pytest.raises(InputError, match=r"lost\.tally cannot be read"):
        target_of(load_shop(), "lost.tally")


def test_a_format_registered_is_offered_and_said(
    tally: ReadingFormat, monkeypatch: pytest.MonkeyPatch
) -> None:
    *others, last = re.split(", | or ", format_names())
    assert {"CSV", "CGATS", "CxF"} <= set(others)
    assert last == "Tally"
    with pytest.raises(InputError, match=f"needs readings in {format_names()}"):
        read_readings(b"", name="empty")
    offered: dict[str, Any] = {}

    class Place:
        def text_input(self, *_: object, **__: object) -> None: ...
        def selectbox(self, *_: object, **__: object) -> None: ...
        def file_uploader(self, label: str, **given: Any) -> None:
            offered.update(label=label, **given)

    monkeypatch.setattr(shop_colour.st, "columns", lambda _: (Place(), Place()))
    shop_colour.ask_colour({}, "new")
    assert offered["label"] == f"Or a reading: {format_names()}"
    assert offered["type"] == reading_suffixes()
    assert ".tally" in offered["type"]


def test_each_format_has_a_reader_and_its_files_are_known_by_content() -> None:
    samples = {"CSV": wide().encode(), "CxF": cxf("").encode(), "CGATS": b"\n BEGIN_DATA_FORMAT\n"}
    assert set(samples) == {each.name for each in FORMATS}
    for each in FORMATS:
        assert callable(each.read)
        data = samples[each.name]
        assert each.known_by.search(data if each.is_binary else data.decode())  # type: ignore[arg-type]
    assert len(set(reading_suffixes())) == len(reading_suffixes())


def test_the_page_and_the_help_name_every_format() -> None:
    said = " ".join(PAGE.split())
    for each in FORMATS:
        assert each.standard in said
        assert ", ".join(f"`{suffix}`" for suffix in each.suffixes) in said
    for words in (["characterize"], ["add", "garment"]):
        shown = CliRunner().invoke(main, [*words, "--help"]).stdout
        assert format_names() in " ".join(shown.split())


def test_no_other_module_lists_the_formats() -> None:
    package = Path(__file__).parents[2] / "inksim"
    listed = re.compile(r"""["'][^"'\n]*(?:\.?cgats["']|CGATS,? (?:or|and|CxF))""")
    found = [
        f"{path.relative_to(package)}: {match[0]}"
        for path in sorted(package.rglob("*.py"))
        if path.name != "formats.py"
        for match in listed.finditer(path.read_text(encoding="utf-8"))
    ]
    assert found == []
