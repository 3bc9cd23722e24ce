"""A palette from lines, a small table or a reading file; faulty lines all at once."""

from __future__ import annotations

import numpy as np
import pytest

from inksim.common.errors import InputError
from inksim.readings.palette_file import MOST_COLOURS, palette_from_file, parse_palette
from inksim.shop.load import load_shop


def test_every_way_to_write_a_line() -> None:
    found = parse_palette(
        "Regatta Orange, #e8622c\n#0f5c63\n\nOven Red: 46, 58, 39\nFog 81 -1.5 2\n"
        'Barley\t#F2C230\nLab 50 0 0\n"Moss, dark", #6f7d3a'
    )
    assert [t.name for t in found] == [
        "Regatta Orange", "#0f5c63", "Oven Red", "Fog", "Barley", "Lab 50 0 0", "Moss, dark",
    ]  # fmt: skip
    assert found[0].hex()[0] == "#e8622c"
    assert found[4].hex()[0] == "#f2c230"
    assert np.allclose(found[2].lab_d50, [46, 58, 39])
    assert np.allclose(found[3].lab_d50, [81, -1.5, 2])


def test_a_head_is_not_a_color() -> None:
    assert [t.name for t in parse_palette("name,hex\nFog,#cccccc")] == ["Fog"]
    assert [t.name for t in parse_palette("Name;L;a;b\nFog;81;-1;2")] == ["Fog"]


def test_all_faulty_lines_are_told_at_once() -> None:
    with pytest.raises(InputError) as error:
        parse_palette("#e8622c\nsomething\nFog, #12345\nSnow: 120, 0, 0\n#E8622C")
    said = str(error.value)
    assert "4 faulty lines" in said
    for part in ("line 2: 'something'", "line 3:", "line 4:", "out of range", "line 5:"):
        assert part in said


@pytest.mark.parametrize("text", ["", "\n\n", "name,hex"])
def test_nothing_is_said(text: str) -> None:
    with pytest.raises(InputError, match="no color"):
        parse_palette(text)


def test_too_many_are_refused() -> None:
    with pytest.raises(InputError, match=f"at most {MOST_COLOURS}"):
        parse_palette("\n".join(f"#{n:06x}" for n in range(MOST_COLOURS + 1)))


def test_a_file_of_lines_and_a_file_of_readings() -> None:
    lines = palette_from_file(b"\xef\xbb\xbfname,hex\r\nFog,#cccccc\r\n", name="p.csv")
    assert [(t.name, t.hex()[0]) for t in lines] == [("Fog", "#cccccc")]
    # a spectrum table: the demo shop's own white, written as a reading file
    white = load_shop().garment("Flour White").reflectance
    head = "name," + ",".join(f"factor {nm}" for nm in range(400, 701, 10))
    row = "Flour White," + ",".join(f"{v:.5f}" for v in white)
    read = palette_from_file(f"{head}\n{row}\n".encode(), name="white.csv")
    assert [t.name for t in read] == ["Flour White"]
    assert read[0].reflectance is not None
    assert np.allclose(read[0].reflectance, white, atol=1e-5)


@pytest.mark.parametrize("data", [b"\x00\x01\x02", b"", b"just words"])
def test_a_file_that_is_neither_gets_a_sentence(data: bytes) -> None:
    with pytest.raises(InputError):
        palette_from_file(data, name="odd.bin")


def test_a_quoted_name_keeps_what_it_holds() -> None:
    # RFC 4180: a cell with a comma or a quote is quoted, a quote in it is doubled
    line = '"a,b ""q""",#ff0000'
    for read in (
        parse_palette(line),
        palette_from_file(f"name,color\n{line}\n".encode(), name="p.csv"),
    ):
        assert [target.name for target in read] == ['a,b "q"']
    (lab,) = parse_palette('"Brick","50,40,30"')
    assert lab.name == "Brick"


SHOP = load_shop()
OVEN, CHOIR = SHOP.target("Oven Red"), SHOP.target("Choir Plum")


@pytest.mark.parametrize(
    "text",
    [
        "name,color\nFog,#cccccc\nMoss,46,58,39\nOven Red\nclub,Choir Plum\n",
        'name,color\nFog,cccccc\nMoss,"46,58,39"\nOven Red,\nclub,choir plum\n',
        "color,name\n#cccccc,Fog\n46 58 39,Moss\nOven Red\nChoir Plum,club\n",
        "name,hex,L,a,b\nFog,#cccccc,,,\nMoss,,46,58,39\nOven Red,,,,\nclub,Choir Plum,,,\n,,,,\n",
        "name;hex;L;a;b\r\nFog;#CCC\r\nMoss;;46,0;58,0;39\r\nOven Red\r\nclub;Choir Plum\r\n",
        "Fog, #cccccc\nMoss: 46, 58, 39\nOven Red\nclub, Choir Plum\n",
    ],
)  # fmt: skip
def test_a_table_mixes_names_hex_and_lab_by_row(text: str) -> None:
    read = palette_from_file(text.encode(), name="p.csv", look_up=SHOP.target)
    assert [t.name for t in read] == ["Fog", "Moss", "Oven Red", "club"]
    fog, moss, oven, club = read
    assert fog.hex()[0] == "#cccccc"
    assert np.allclose(moss.lab_d50, [46, 58, 39])
    np.testing.assert_array_equal(oven.lab_d50, OVEN.lab_d50)
    assert oven.data == OVEN.data == "invented"  # as the shop knows it, not as a mere code
    np.testing.assert_array_equal(club.lab_d50, CHOIR.lab_d50)


def test_every_row_has_its_own_fault() -> None:
    table = (
        "name,hex,L,a,b\nFog,#cccccc,46,58,39\nMoss,,46,58,\nOven Rad,,,,\n"
        "Snow,,120,0,0\nRust,#12345,,,\nFine,#123456,,,\n"
    )
    with pytest.raises(InputError) as error:
        palette_from_file(table.encode(), name="p.csv", look_up=SHOP.target)
    said = str(error.value)
    assert "5 faulty lines" in said
    for part in (
        "line 2: 'Fog,#cccccc,46,58,39' gives a color and L, a, b",
        "line 3: L, a and b are three numbers; this row has '46, 58'",
        "line 4: there is no target color 'Oven Rad'", "did you mean 'Oven Red'",
        "line 5: ", "out of range", "line 6: '#12345' is not a color",
    ):  # fmt: skip
        assert part in said


def test_a_name_that_nobody_looks_up_is_no_color() -> None:
    with pytest.raises(InputError, match=r"'Oven Red' is no color"):
        parse_palette("#cccccc\nOven Red")


def test_a_color_that_is_a_name_beside_lab_stays_a_name() -> None:
    assert [t.name for t in parse_palette("color,L,a,b\nFog,81,-1,2\n#123456")] == [
        "Fog", "#123456",
    ]  # fmt: skip
