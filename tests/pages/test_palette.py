"""Check a palette: every color on every chosen garment, with a mark of shape and word."""

from __future__ import annotations

import re

from inksim.appearance import Viewing, hex_code, xyz
from inksim.shop import load_shop
from tests.pages.conftest import open_page, raw_html, words


def test_the_first_screen_shows_the_shop_s_palette() -> None:
    page = open_page("palette")
    assert not page.exception
    shop = load_shop()
    for name in shop.palette:
        assert name in words(page)
    assert re.search(r"serves the palette best: \d+ of 16 colors land", words(page))


def test_every_cell_wears_its_mark_as_shape_and_word() -> None:
    html = raw_html(open_page("palette"))
    marks = re.findall(r"(●|◐|✕) (lands|needs a base|out of reach), (\d+\.\d)", html)
    assert len(marks) == 16 * 5
    shape_of = {"lands": "●", "needs a base": "◐", "out of reach": "✕"}
    assert all(shape_of[word] == shape for shape, word, _ in marks)


def test_cells_stand_on_the_color_of_the_cloth() -> None:
    html = raw_html(open_page("palette"))
    cloth = load_shop().garment("Slate Gray").reflectance
    code, _ = hex_code(xyz(cloth, Viewing()), Viewing())
    assert html.count(f'<td style="background:{code}') == 16


def test_white_serves_without_a_base_what_black_needs_one_for() -> None:
    # Common practice, no source: the lighter the cloth, the more prints straight.
    html = raw_html(open_page("palette", garments="Flour White"))
    white = len(re.findall("● lands", html))
    html = raw_html(open_page("palette", garments="Coal Black"))
    black = len(re.findall("● lands", html))
    assert white > black


def test_no_garment_chosen_is_said() -> None:
    page = open_page("palette")
    page.pills[0].set_value([]).run()
    assert not page.exception
    assert "Choose at least one garment" in words(page)
