"""Charts by a word and from files."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from inksim.colour import D50, lab as lab_of
from inksim.common import InputError
from inksim.photo.charts import Chart, chart_of


def test_the_24_patches_are_those_of_colour_science() -> None:
    from colour import SDS_COLOURCHECKERS

    chart = chart_of("iso17321")
    table = SDS_COLOURCHECKERS["ISO 17321-1"]
    nm = np.arange(400, 701, 10)
    theirs = np.array([each[nm] for each in table.values()])
    assert chart.reflectance is not None
    np.testing.assert_array_equal(chart.reflectance, theirs)
    np.testing.assert_allclose(chart.lab, lab_of(theirs, D50), atol=1e-12)
    assert (chart.rows, chart.columns, int(chart.neutral.sum())) == (4, 6, 6)
    assert all(ours in name for ours, name in zip(chart.names, table, strict=True))


def test_cards_have_one_patch() -> None:
    grey, white = chart_of("gray"), chart_of("White")
    assert (grey.rows, grey.columns, grey.names) == (1, 1, ("gray",))
    # L* of Y = 18 by the equation of ISO/CIE 11664-4
    assert grey.lab[0, 0] == pytest.approx(116 * 0.18 ** (1 / 3) - 16, abs=0.01)
    assert white.lab[0, 0] > 95


def _csv(folder: Path, head: str, lines: list[str]) -> Path:
    path = folder / "chart.csv"
    path.write_text("\n".join([head, *lines]), encoding="utf-8")
    return path


def test_names_tell_rows_and_columns_in_whatever_order(tmp_path: Path) -> None:
    lines = [f"{row}{column},{10 * column},0,{ord(row)}" for column in (2, 1, 3) for row in "BA"]
    chart = chart_of(_csv(tmp_path, "name,L,a,b", lines))
    assert (chart.rows, chart.columns) == (2, 3)
    assert chart.names == ("A1", "A2", "A3", "B1", "B2", "B3")
    np.testing.assert_allclose(chart.lab[:, 0], [10, 20, 30, 10, 20, 30])


def test_a_layout_is_stated_or_asked_for(tmp_path: Path) -> None:
    path = _csv(tmp_path, "name,L,a,b", [f"patch {i},{10 * i},0,0" for i in range(1, 7)])
    assert (chart_of(path, rows=2).columns, chart_of(path, columns=2).rows) == (3, 3)
    with pytest.raises(InputError, match="state rows and columns"):
        chart_of(path)
    with pytest.raises(InputError, match="do not fill"):
        chart_of(path, rows=4)
    with pytest.raises(InputError, match="there is no chart 'passport'"):
        chart_of("passport")


def test_names_tell_the_order_also_where_rows_are_stated(tmp_path: Path) -> None:
    lines = [f"{row}{column},{10 * column},0,0" for column in (1, 2, 3) for row in "AB"]
    chart = chart_of(_csv(tmp_path, "name,L,a,b", lines), rows=2)
    assert chart.names == ("A1", "A2", "A3", "B1", "B2", "B3")


@pytest.mark.parametrize(
    ("lines", "word"),
    [
        (["A1,9,0,0", "A2,50,0,0", "B1,80,0,0"], "a gap in 2 rows of 2, in row 2, column 2"),
        (["A1,9,0,0", "A2,50,0,0", "A01,80,0,0"], "'A1' and 'A01' are at one place"),
        (["A1,0.1,0,0", "A2,0.5,40,0", "A3,0.9,0,0"], "L on the scale from 0 to 100"),
        (["A1,0,0,0", "A2,0,0,0"], "0.0, and a chart needs one"),
        (["A1,50,1,0", "A2,50,0,0"], "all of one color"),
    ],
)
def test_a_file_of_which_no_camera_can_be_told_is_refused(
    lines: list[str], word: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match=word):
        chart_of(_csv(tmp_path, "name,L,a,b", lines))


def test_a_row_is_a_whole_number(tmp_path: Path) -> None:
    lines = ["p,50,0,0,1.5,1", "q,80,0,0,2,1"]
    with pytest.raises(InputError, match=r"'p': row 1\.5, column 1 is no place"):
        chart_of(_csv(tmp_path, "name,L,a,b,row,column", lines))


@pytest.mark.parametrize("word", ["gray", "iso17321"])
def test_a_word_has_its_own_layout(word: str) -> None:
    with pytest.raises(InputError, match="its own rows and columns"):
        chart_of(word, rows=4)


def test_a_chart_needs_its_own_name_for_each_patch() -> None:
    with pytest.raises(InputError, match="more than one patch 'a'"):
        Chart(name="c", rows=1, columns=2, names=("a", "a"), lab=np.zeros((2, 3)))
