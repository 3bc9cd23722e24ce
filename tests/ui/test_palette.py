"""Check a palette: every color on every chosen garment, with a mark of shape and word."""

from __future__ import annotations

import csv
import io
import json
import re
from typing import Any

import numpy as np
import pytest
from PIL import ImageCms
from streamlit.testing.v1 import AppTest

from inksim.colour.srgb import hex_code, rgb8_from_hex
from inksim.colour.viewing import Viewing, xyz
from inksim.decision.palette_by_garment import answers_on, reach
from inksim.mixing.instead import recipes_instead
from inksim.reports.palette_files import COLUMNS, matrix_csv, matrix_picture
from inksim.shop.load import load_shop
from inksim.stock.target import target_from_hex
from inksim.ui.download_look import look_bytes
from tests.ui.conftest import open_page, words


def shown_map(page: AppTest) -> dict[str, Any]:
    """What the map's component is given to draw."""
    for each in page.get("bidi_component"):
        if each.proto.component_name == "inksim_map":
            data: dict[str, Any] = json.loads(each.proto.json)
            return data
    raise AssertionError("the page shows no map")


def test_the_first_screen_shows_the_shop_s_palette() -> None:
    page = open_page("palette")
    assert not page.exception
    drawn = shown_map(page)
    assert [colour["name"] for colour in drawn["colors"]] == list(load_shop().palette)
    assert "On Flour White 10 of 16 are nominally inside it" in words(page) or (
        "serves the palette best:" in words(page)
    )
    assert "Regatta Orange on" in words(page)  # the chosen cell's build


def test_every_cell_wears_its_mark_as_shape_and_word() -> None:
    drawn = shown_map(open_page("palette"))
    shapes = {"lands": "●", "should land": "◐", "cannot promise": "✕"}
    found = [cell for colour in drawn["colors"] for cell in colour["cells"]]
    assert len(found) == 16 * 5
    for cell in found:
        *said, distance = cell["words"].split(", ")
        assert float(distance) >= 0.0
        if said == ["left bare"]:
            assert not cell["lands"]
            continue
        mark, way = said
        shape, word = mark.split(" ", 1)
        assert shape == shapes[word]
        assert cell["lands"] is (word == "lands")
        assert way in ("straight", "over discharge", "over white")


def test_what_only_a_mixture_reaches_is_marked_and_a_recipe_is_found_for_it() -> None:
    page = open_page("palette", garments="Coal Black")
    drawn = shown_map(page)
    marked = [c["name"] for c in drawn["colors"] if c["cells"][0]["mixed"].startswith("◇ only")]
    assert "Moss" in marked
    assert "Regatta Orange" not in marked  # an ink comes within the tolerance by itself
    assert "Lilac" not in marked  # nothing does
    shop = load_shop()
    found = reach(shop, garment=shop.garment("Coal Black"), viewing=Viewing())
    (cell,) = answers_on(found, [shop.target("Moss")], tolerance=3.0)
    instead = recipes_instead(shop, cell, viewing=Viewing())  # by a search of its own
    assert instead is not None
    assert instead.mix_reaches
    assert not cell.nominal


def test_the_cloth_s_own_color_is_left_bare_and_white_prints_white() -> None:
    # Nobody prints a shirt's color on it; a white logo is printed with white (common practice).
    page = open_page("palette", garments="Flour White,Coal Black")
    page.text_area[0].set_value("white, #ffffff").run()
    next(each for each in page.button if "pasted" in each.label).click().run()
    drawn = shown_map(page)
    by = dict(zip((g["name"] for g in drawn["garments"]), drawn["colors"][0]["cells"], strict=True))
    assert by["Flour White"]["words"].startswith("left bare")
    assert "over white" in by["Coal Black"]["words"]
    light = [int(by["Coal Black"]["hex"][at : at + 2], 16) for at in (1, 3, 5)]
    assert min(light) > 200
    assert max(light) - min(light) < 16  # not cream


def test_it_says_that_each_color_is_printed_by_itself() -> None:
    assert "Each color is printed by itself here" in words(open_page("palette"))


def test_cells_stand_on_the_color_of_the_cloth() -> None:
    drawn = shown_map(open_page("palette", garments="Slate Gray"))
    cloth = load_shop().garment("Slate Gray").reflectance
    assert drawn["garments"][0]["cloth"] == hex_code(xyz(cloth, Viewing()), Viewing())[0]


def test_garments_are_sorted_by_how_many_colors_land() -> None:
    drawn = shown_map(open_page("palette"))
    landed = [int(garment["serves"].split()[0]) for garment in drawn["garments"]]
    assert landed == sorted(landed, reverse=True)
    # white cloth serves more colors than black (common practice, no source)
    names = [garment["name"] for garment in drawn["garments"]]
    assert names.index("Flour White") < names.index("Coal Black")


def test_no_garment_chosen_is_said() -> None:
    page = open_page("palette")
    page.pills[0].set_value([]).run()
    assert not page.exception
    assert "Choose at least one garment" in words(page)


def pasted(text: str) -> AppTest:
    page = open_page("palette")
    page.text_area[0].set_value(text).run()
    button = next(each for each in page.button if each.label == "Use the pasted colors")
    return button.click().run()


def test_pasted_colors_replace_the_palette_until_it_is_asked_back() -> None:
    page = pasted("Fog, #cccccc\nOven Red: 46, 58, 39")
    assert not page.exception
    assert [colour["name"] for colour in shown_map(page)["colors"]] == ["Fog", "Oven Red"]
    next(b for b in page.button if b.label == "Back to the shop's palette").click().run()
    assert len(shown_map(page)["colors"]) == 16


def test_pasted_names_are_the_shops_own() -> None:
    shop = load_shop()
    name = next(iter(shop.targets))
    drawn = shown_map(pasted(f"{name}\nwhite, #ffffff"))
    asked = {colour["name"]: colour["hex"] for colour in drawn["colors"]}
    assert asked[name] == shop.targets[name].hex(Viewing())[0]


def test_faulty_lines_are_told_and_the_palette_stays() -> None:
    page = pasted("Fog, #cccccc\nnothing\nSnow: 120, 0, 0")
    assert not page.exception
    assert len(page.error) == 1
    assert "line 2" in words(page)
    assert "line 3" in words(page)
    assert len(shown_map(page)["colors"]) == 16


@pytest.mark.parametrize(
    ("name", "data", "colours"),
    [
        ("brand.csv", b"name,hex\nFog,#cccccc\nMoss,#6f7d3a\n", ["Fog", "Moss"]),
        (
            "read.csv",
            ("name," + ",".join(f"factor {nm}" for nm in range(400, 701, 10)) + "\nChalk,")
            .encode() + b",".join([b"0.8"] * 31) + b"\n",
            ["Chalk"],
        ),
    ],
)  # fmt: skip
def test_a_palette_file_is_read(name: str, data: bytes, colours: list[str]) -> None:
    page = open_page("palette")
    page.file_uploader(key="palette-file").upload(name, data, "text/csv").run()
    assert not page.exception
    assert [colour["name"] for colour in shown_map(page)["colors"]] == colours


def test_a_bad_palette_file_gets_its_faults() -> None:
    page = open_page("palette")
    page.file_uploader(key="palette-file").upload("odd.csv", b"\x00\x01\x02", "text/csv").run()
    assert not page.exception
    assert len(page.error) == 1


def test_markup_in_a_name_stays_text() -> None:
    page = pasted("<img src=x onerror=alert(1)> *b*, #cccccc")
    assert not page.exception
    assert shown_map(page)["colors"][0]["name"] == "<img src=x onerror=alert(1)> *b*"
    assert all("<img src=x" not in each.proto.body for each in page.get("html"))


def test_the_table_and_the_picture_hold_every_cell() -> None:
    shop, viewing = load_shop(), Viewing()
    targets = [target_from_hex("#e8622c", name="=Orange()"), target_from_hex("#0f5c63")]
    columns = [
        answers_on(reach(shop, garment=shop.garment(name)), targets, tolerance=3.0)
        for name in ("Flour White", "Coal Black")
    ]
    rows = list(csv.DictReader(io.StringIO(matrix_csv(columns, viewing=viewing))))
    assert tuple(rows[0])[:-1] == COLUMNS  # the last one says what made it
    assert list(rows[0])[-1] == "inksim"
    assert len(rows) == 4
    assert rows[0]["color"] == "'=Orange()"  # no spreadsheet takes it for a formula
    for row, cell in zip(rows, [cell for column in columns for cell in column], strict=True):
        assert row["print_hex"] == cell.hex
        assert float(row["nominal_de00"]) == pytest.approx(cell.delta_e_2000, abs=0.006)
        assert row["light"] == "D50/2°"
    shot = matrix_picture(columns, title="Palette", note="x", viewing=viewing)
    assert shot.dtype == np.uint8
    for cell in (cell for column in columns for cell in column):
        assert np.all(shot == rgb8_from_hex(cell.hex), axis=-1).sum() > 3000
    wide = (shot.shape[1] - 290) // len(columns)
    for at in range(len(columns)):
        edge = shot[150 + 58 : 150 + 85, 250 + at * wide + wide - 18 : 250 + at * wide + wide - 8]
        assert np.all(edge == edge[0, 0])  # cloth beside the words: they end before it


def test_the_look_of_a_garment_is_offered_and_made_when_asked_for() -> None:
    page = open_page("palette")
    offered = {each.label for each in page.get("download_button")}
    assert {"Look table (.cube)", "Profile (.icc)"} <= offered
    cube, icc = (
        look_bytes(
            load_shop(), ending, garment="Mist Gray", inks=["Kiln Red"], route="white-base",
            viewing=Viewing(),
        )
        for ending in (".cube", ".icc")
    )  # fmt: skip
    assert b"LUT_3D_SIZE 33" in cube
    assert icc[36:40] == b"acsp"  # ICC.1, the signature of a profile
    profile = ImageCms.ImageCmsProfile(io.BytesIO(icc))
    assert profile.profile.connection_space.strip() in ("Lab", "XYZ")


def test_what_no_ink_reaches_may_be_mixed() -> None:
    """Rust lies between an orange and a blue: outside of every ink, inside of their mixtures."""
    page = open_page("palette", garments="Coal Black", tolerance="0.75")
    page.session_state["map"] = {"cell": [9, 0]}
    page = page.run()
    assert not page.exception
    said = words(page)
    assert "Rust on Coal Black" in said
    assert "Mix it" in said
    assert re.search(r"Mixed: .*nominally ΔE00 0\.\d", said)
    shown = next(each.proto.body for each in page.get("html") if "Weigh in" in each.proto.body)
    [total] = re.findall(r">In (\d+\.\d) g of the mix</th>", shown)
    grams = re.findall(r">(\d+\.\d) g</td>", shown)
    assert len(grams) > 1
    assert sum(map(float, grams)) == pytest.approx(float(total), abs=0.05)
    [card] = [each for each in page.get("download_button") if "Recipe card" in each.label]
    assert card


def test_the_colors_of_the_job_are_a_palette() -> None:
    page = open_page("palette")
    label = "Use the colors of harvest-regatta.png"
    next(each for each in page.button if each.label.replace("\\", "") == label).click().run()
    assert not page.exception
    assert {colour["name"] for colour in shown_map(page)["colors"]} == {
        "#0f5c63", "#e8622c", "#ead9b5", "#f2c230",
    }  # fmt: skip
