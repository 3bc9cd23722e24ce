"""Drawdowns on the page of the shop: fitted, shown, saved, refused."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from inksim.shop.load import load_shop
from tests.ui.conftest import open_page, raw_html, words
from tests.ui.test_shop import field, press, undo


def drawdown_file() -> bytes:
    """The guide's example of a sheet of drawdowns (simulated numbers)."""
    guide = (Path(__file__).parents[2] / "docs" / "readings.md").read_text(encoding="utf-8")
    found = re.search(r"```csv\n(name,ink,backing,thickness_um.*?)```", guide, re.DOTALL)
    assert found is not None
    return found[1].encode()


def with_drawdowns(data: bytes) -> AppTest:
    page = open_page("shop")
    page.file_uploader(key="drawdowns").upload("drawdowns.csv", data, "text/csv")
    return page.run()


def test_drawdowns_are_fitted_shown_and_saved(copied_shop: Path) -> None:
    page = with_drawdowns(drawdown_file())
    assert not page.exception
    assert not page.error
    assert re.search(r"Ember, Chalk: the fit lies 0\.\d\d ΔE00 from the 6 drawdowns", words(page))
    shown = re.findall(r'alt="([^"]+), measured and fitted: ΔE00 ([0-9.]+)"', raw_html(page))
    assert len(shown) == 6
    assert [float(off) for _, off in shown] == sorted([float(o) for _, o in shown], reverse=True)
    assert f"at worst {shown[0][1]} from {shown[0][0]}." in words(page).replace("\\", "")
    field(page, "Chalk: kind", kind="selectbox").set_value("white-base")
    field(page, "Ember: price").set_value("31,5")
    field(page, "Ember: density").set_value("1.2")
    page = page.run()
    page = press(page, "Save 2 inks to the shop")
    assert not page.error
    made = load_shop(copied_shop).ink("Ember")
    assert (made.kind, made.price_per_kg, made.density_g_cm3) == ("color", 31.5, 1.2)
    white = load_shop(copied_shop).ink("Chalk")
    assert (white.kind, white.price_per_kg) == ("white-base", None)
    assert made.data == "measured"
    assert made.source.startswith("drawdowns.csv (45:0): 4 drawdowns")
    assert made.solids_by_volume == pytest.approx(0.34)
    # the example's own truth: an orange absorbs the blue and lets the red through
    assert made.K[5] > 10 * made.K[-5]
    page = undo(page, "take out ink Ember and ink Chalk")
    assert "Ember" not in load_shop(copied_shop).inks


def test_drawdowns_replace_an_ink_only_with_leave(copied_shop: Path) -> None:
    old = load_shop(copied_shop).ink("Kiln Red")
    data = drawdown_file().replace(b"Ember", b"kiln red")
    page = with_drawdowns(data)
    assert "The shop has kiln red already" in words(page)
    assert not [b for b in page.button if b.label.startswith("Save 2")]
    assert not [b for b in page.text_input if b.label.startswith("kiln red")]  # nothing is asked
    (replace,) = (b for b in page.checkbox if "opacity of kiln red" in b.label)
    page = replace.check().run()
    page = press(page, "Save 2 inks to the shop")
    assert not page.error
    new = load_shop(copied_shop).ink("Kiln Red")
    assert (new.K != old.K).any()
    assert (new.kind, new.price_per_kg, new.solids_by_volume) == (
        old.kind, old.price_per_kg, old.solids_by_volume,
    )  # fmt: skip


def test_a_sheet_with_a_film_to_read_again_is_saved_only_if_it_is_asked_for(
    copied_shop: Path,
) -> None:
    """The example's Chalk, 12 µm, typed as 120."""
    typed = re.sub(rb",Chalk,(black|white),12,", rb",Chalk,\1,120,", drawdown_file())
    page = with_drawdowns(typed)
    assert "again\\: Chalk over black" in page.error[0].value
    assert not [b for b in page.button if b.label.startswith("Save 2")]
    page = page.checkbox(key="drawdown-anyway").check().run()
    page = press(page, "Save 2 inks to the shop")
    made = load_shop(copied_shop).ink("Chalk")
    assert "saved although: read this film again: Chalk" in made.source
    assert made.error is not None


def test_drawdowns_are_shown_but_not_saved_in_the_demo_shop() -> None:
    page = with_drawdowns(drawdown_file())
    assert "the fit lies" in words(page)
    assert "Not saved" in words(page)
    assert not [b for b in page.button if b.label.startswith("Save")]


@pytest.mark.parametrize("data", [b"\x00\x01", b"name,400,500\nx,1,2\n", b""])
def test_bad_drawdowns_get_a_sentence(copied_shop: Path, data: bytes) -> None:
    page = with_drawdowns(data)
    assert not page.exception
    assert len(page.error) == 1
