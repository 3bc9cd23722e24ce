"""Colors from a photo on the page of the shop: read, marked, used in a form, refused."""

from __future__ import annotations

import csv
import io
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
import streamlit as st
from PIL import Image
from streamlit.testing.v1 import AppTest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import D50, lab
from inksim.shop.load import load_shop
from inksim.ui.pages import shop_photo_fields as fields
from tests.photo.rendered import Taken, outline_words, taken, true_lab
from tests.ui.conftest import open_page, raw_html, words
from tests.ui.test_shop import edit, field, press, save, told, undo


@cache
def shirts() -> tuple[Taken, bytes]:
    """A picture of a chart and two invented cloths, and its file."""
    made = taken()
    with TemporaryDirectory() as folder:
        return made, made.save(Path(folder) / "shirts.jpg").read_bytes()


def with_photo(data: bytes | None = None, *, typed: str = "", **more: str) -> AppTest:
    """The page with a picture and what is typed of it."""
    page = open_page("shop")
    page.file_uploader(key="photo file").upload("shirts.jpg", data or shirts()[1], "image/jpeg")
    page = page.run()
    if typed:
        page.text_area(key=fields.REGIONS).set_value(typed)
    for key, value in more.items():
        page.text_input(key=key.replace("_", " ")).set_value(value)
    return page.run() if typed or more else page


def both() -> str:
    """What to read: the two cloths."""
    return "\n".join(f"{name}={outline_words(at)}" for name, at in shirts()[0].cloths.items())


def test_a_cloth_is_read_shown_and_stored_as_a_garment_with_its_noise(copied_shop: Path) -> None:
    page = with_photo(typed=both())
    assert not page.exception
    assert not page.error
    assert "the chart's corners were found" in words(page).replace("The", "the")
    assert "sage" in raw_html(page)
    before = (copied_shop / "garments.toml").read_bytes()
    page.selectbox(key="photo garment").set_value("rust")
    page = press(page.run(), "Use as a garment …")
    assert (copied_shop / "garments.toml").read_bytes() == before  # nothing until it is saved
    assert field(page, "Name").value == "rust"
    field(page, "Name").set_value("Rust Tee")
    page = save(page)
    assert not page.error
    made = load_shop(copied_shop).garment("Rust Tee")
    assert made.data == "photo"
    assert made.noise is not None
    assert made.noise.picture
    # outside fact: the Lab of the cloth's spectrum; twice what it says of itself
    off = float(delta_e_2000(true_lab("rust"), lab(made.reflectance, D50)))
    assert off < 2.0 * made.noise.whole
    page = undo(page, "take out garment Rust Tee")
    assert (copied_shop / "garments.toml").read_bytes() == before


def test_a_photographed_garment_may_be_given_another_color(copied_shop: Path) -> None:
    page = save(press(with_photo(typed=both()), "Use as a garment …"))
    page = edit(page, "garment", "sage")
    field(page, "Color").set_value("#5b7a5e")
    page = save(page)
    assert not page.error
    assert load_shop(copied_shop).garment("sage").data == "recovered"


def test_a_film_over_both_cards_becomes_an_ink(copied_shop: Path) -> None:
    page = with_photo(typed=both())
    page.selectbox(key="photo black").set_value("rust")
    page = press(page.run(), "Use as an ink …")
    field(page, "Name").set_value("Moss Film")
    field(page, "Solids").set_value("34")
    page = save(page)
    assert not page.error, told(page)
    made = load_shop(copied_shop).ink("Moss Film")
    assert made.data == "photo"
    assert "opacity" not in " ".join(made.assumed)


def test_the_file_of_readings_is_the_commands_own() -> None:
    from inksim.photo.charts import chart_of
    from inksim.photo.geometry import wanted_of
    from inksim.photo.picture import read_picture
    from inksim.photo.read import read_photo
    from inksim.reports.photo_report import photo_csv

    page = with_photo(typed=both())
    read = read_photo(
        read_picture(shirts()[1], name="shirts.jpg"), chart_of("iso17321"),
        regions=wanted_of(both())[0],
    )  # fmt: skip
    rows = list(csv.DictReader(io.StringIO(photo_csv(read).split("\n", 1)[1])))
    for row in rows:
        assert f"{float(row['L_sd']):.1f}" in raw_html(page)
    assert "Not stored" in words(page)  # the demo shop


def test_what_is_marked_stands_in_the_fields(monkeypatch: pytest.MonkeyPatch) -> None:
    state: dict[str, object] = {fields.SIZE: (640, 480), fields.NAME: "fern"}
    monkeypatch.setattr(st, "session_state", state)
    fields.marked(fields.AREA, [(0.5, 0.75), (0.25, 0.5)])
    fields.marked(fields.AREA, [(0.5, 0.5), (0.75, 0.75)])
    state[fields.NAME] = "1, 2, 3"
    fields.marked(fields.ROW, [(0.1, 0.1), (0.3, 0.1)])
    assert state[fields.REGIONS] == (
        "fern=160,240,160,120\nswatch 1=320,240,160,120\n1, 2, 3=64,48 192,48"
    )
    assert isinstance(given := fields.asked(), fields.Asked)
    assert [each.name for each in given.regions] == ["fern", "swatch 1"]
    assert list(given.rows[0][0]) == ["1", "2", "3"]
    fields.marked(fields.PLACE_OF_SHEET, [(0, 0), (0.1, 0.1)])
    fields.marked(fields.CHART, [(0, 0), (1, 0), (1, 1), (0, 1)])
    assert isinstance(given := fields.asked(), fields.Asked)
    assert given.corners == [(0, 0), (640, 0), (640, 480), (0, 480)]
    assert len(given.surround) == 1
    fields.forget_marks()
    assert fields.asked() == fields.Asked(None, [], [], [])


def test_a_chart_that_is_not_found_is_pointed_at() -> None:
    """A gray card is one patch of many that a picture may have."""
    page = open_page("shop")
    page.selectbox(key="photo chart").set_value("gray")
    page.file_uploader(key="photo file").upload("shirts.jpg", shirts()[1], "image/jpeg")
    page = page.run()
    (fault,) = page.error
    assert "give its four corners" in fault.value
    corners = dict(zip(fields.CORNERS, ("300,205", "330,205", "330,235", "300,235"), strict=True))
    for key, value in corners.items():
        page.text_input(key=key).set_value(value)
    page.text_area(key=fields.REGIONS).set_value(both())
    page = page.run()
    assert not page.exception
    page = press(page, "Find the chart by itself")
    assert "give its four corners" in page.error[0].value


def test_what_cannot_be_read_is_said_at_its_field_and_the_chart_stays() -> None:
    page = with_photo()
    for typed, says in (
        ("90,300,90,90", "is no region with a name"),
        ("far=600,400,100,100", "not all inside"),
        ("dot=300,330,8,8", "pixels in the region"),
        ("a=90,300,90,90\na=90,300,90,90", "two regions named"),
        ("a,a=90,300 190,300", "needs two names or more"),
    ):
        page.text_area(key=fields.REGIONS).set_value(typed)
        page = page.run()
        assert not page.exception
        (fault,) = page.error
        assert says in fault.value.replace("\\", "")
        assert "found, not given" in words(page)  # the picture is shown, its chart in it


def png(pixels: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG")
    return out.getvalue()


def test_a_picture_that_tells_nothing_gets_one_sentence() -> None:
    page = open_page("shop")
    for data, says in (
        (png(np.full((300, 400, 3), 255, np.uint8)), "shows no chart"),
        (png(np.full((300, 400), 90, np.uint8)), "is gray"),
        (shirts()[1][:3000], "cut short or damaged"),
        (b"\x00\x00\x00\x18ftypheic" + bytes(64), "export or share the photo as JPEG"),
        (b"no picture", "shirts.jpg"),
    ):
        page.file_uploader(key="photo file").upload("shirts.jpg", data, "image/jpeg")
        page = page.run()
        assert not page.exception
        (fault,) = page.error
        assert says in fault.value.replace("\\", "")


def test_half_of_the_corners_are_no_corners() -> None:
    page = with_photo(photo_corner_0="80,65", photo_corner_1="544,53")
    assert ["all four corners" in each.value for each in page.error] == [True]
