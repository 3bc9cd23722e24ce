"""Each user's whole way through the app, in a real browser."""

from __future__ import annotations

import csv
import re
import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PIL import Image

from tests.browser.actions import Actions
from tests.browser.app_page import opened, pixels, settled, share_of
from tests.browser.artworks import BARS, CMYK, HUGE, LOGO, ON_WHITE, PHOTO, WHITE, walked
from tests.ui.test_client import flat_art

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


def upload(page: Page, name: str = "oars.png") -> None:
    page.get_by_text("Artwork:").first.click()
    page.locator("[data-testid=stFileUploader] input[type=file]").set_input_files(
        {"name": name, "mimeType": "image/png", "buffer": flat_art()}
    )
    page.wait_for_selector(f"img[alt^='{name}']")
    page.keyboard.press("Escape")
    settled(page)


def wait_for_words(page: Page, words: str) -> None:
    page.get_by_text(words).first.wait_for()
    settled(page)


VIEWPORTS = {390: 844, 1280: 900}


@pytest.mark.parametrize(("width", "art"), walked((390, WHITE), (1280, LOGO), (390, HUGE)))
def test_the_rep_reaches_a_proof_sheet_in_five_actions(
    browser: Browser,
    app_address: str,
    tmp_path: Path,
    width: int,
    art: tuple[str, str, bytes],
) -> None:
    with opened(browser, app_address, width=width, height=VIEWPORTS[width]) as page:
        does = Actions(page)
        does.use(*art)
        does.on("Brick Red")
        if art in ON_WHITE:
            does.click(page.get_by_role("button", name="Leave the background out"))
        shown = "" if art is PHOTO else ", as decided"
        page.wait_for_selector(f"img[alt^='{art[0]} on Brick Red{shown}']")
        file = does.take(page.get_by_role("button", name="Proof sheet to sign"), tmp_path)
        assert does.count <= 5
        said = page.locator(".verdict b").inner_text().removesuffix(".")
        row = page.locator("table.colors tbody tr").first.locator("td i")
        codes = [
            re.search("#[0-9a-f]{6}", row.nth(at).get_attribute("style") or "")
            for at in range(0 if art is PHOTO else 2)
        ]
    assert file.name == f"proof-{Path(art[0]).stem}-brick-red.pdf"
    assert file.read_bytes().startswith(b"%PDF-1.7")
    if shutil.which("pdftotext") is None:
        pytest.skip("Poppler is not installed: the proof's words are not read back")
    words = subprocess.run(
        ["pdftotext", "-layout", str(file), "-"], capture_output=True, text=True, check=True
    ).stdout
    assert f"{art[0]} on Brick Red" in words
    assert said in re.sub(r"\s+", " ", words)
    subprocess.run(["pdftoppm", "-r", "144", "-png", str(file), str(tmp_path / "page")], check=True)
    first = np.array(Image.open(sorted(tmp_path.glob("page*.png"))[0]).convert("RGB"))
    for code in codes:
        assert code is not None
        square_cm = (144 / 2.54) ** 2 / first[..., 0].size * (0.6 if art is BARS else 1.0)
        assert share_of(first, code[0]) > square_cm  # the swatch on the sheet


@pytest.mark.parametrize(
    ("width", "art"), walked((390, LOGO), (1280, WHITE), (1280, CMYK), (390, PHOTO))
)
def test_the_separator_reaches_a_ticket_in_six_actions(
    browser: Browser,
    app_address: str,
    tmp_path: Path,
    width: int,
    art: tuple[str, str, bytes],
) -> None:
    with opened(browser, app_address, "base", width=width, height=VIEWPORTS[width]) as page:
        does = Actions(page)
        does.use(*art)
        does.click(page.get_by_role("radio", name="The whole design"))
        if art in ON_WHITE:
            does.click(page.get_by_role("button", name="Leave the background out"))
        does.on("Estuary Navy")
        file = does.take(page.get_by_role("button", name="Press ticket (text)"), tmp_path)
        assert does.count <= 6
    words = file.read_text(encoding="utf-8")
    assert "Chalk White Base" in words
    assert "on Estuary Navy" in words


def test_the_artwork_and_the_garment_stay_when_the_page_is_changed(
    browser: Browser, app_address: str
) -> None:
    with opened(browser, app_address) as page:
        upload(page)
        page.get_by_role("radio", name="Brick Red").click()
        page.wait_for_selector("img[alt^='oars.png on Brick Red, as decided']")
        settled(page)
        page.get_by_role("link", name="Decide about the base").first.click()
        wait_for_words(page, "Decide about the base")
        assert page.get_by_role("radio", name="Brick Red").get_attribute("aria-checked") == "true"
        page.get_by_role("link", name="Show a client").first.click()
        page.wait_for_selector("img[alt^='oars.png on Brick Red']")


def test_a_reload_brings_back_what_the_address_holds(browser: Browser, app_address: str) -> None:
    with opened(browser, app_address) as page:
        page.get_by_role("radio", name="Estuary Navy").click()
        wait_for_words(page, "Estuary Navy, ")
        page.get_by_role("radio", name="Home lamp").click()
        page.wait_for_function("location.search.includes('Home')")
        address = page.url
        assert "Estuary" in address
        assert ".png" not in address  # no artwork in a shared address
        page.reload()
        settled(page)
        wait_for_words(page, "Estuary Navy, ")
        lamp = page.get_by_role("radio", name="Home lamp")
        assert lamp.get_attribute("aria-checked") == "true"


def test_two_people_at_once_do_not_see_each_other_s_work(
    browser: Browser, app_address: str
) -> None:
    with opened(browser, app_address) as one, opened(browser, app_address) as other:
        upload(one, "first.png")
        upload(other, "second.png")
        one.get_by_role("radio", name="Flour White").click()
        wait_for_words(one, "Flour White, straight")
        settled(other)
        assert other.locator("img[alt^='second.png on Coal Black']").count() > 0
        assert other.locator("img[alt^='first.png']").count() == 0


def test_the_separator_moves_the_verdict_and_tries_a_build(
    browser: Browser, app_address: str
) -> None:
    with opened(browser, app_address, "base", garment="Mist Gray", ink="Kiln Red",
                target="Oven Red") as page:  # fmt: skip
        before = page.locator(".verdict").inner_text()
        slider = page.get_by_role("slider", name=re.compile("Tolerance"))
        slider.focus()
        slider.press("End")
        wait_for_words(page, "chance within 10")
        assert page.locator(".verdict").inner_text() != before
        tried = page.get_by_role("tabpanel").locator(".cloth")
        old = tried.inner_html()
        page.get_by_role("radiogroup", name="Route").get_by_text("Over a white base").click()
        page.wait_for_function(
            "old => document.querySelector('[role=tabpanel] .cloth').innerHTML !== old", arg=old
        )
        settled(page)
        page.get_by_role("tab", name="All builds").click()
        page.get_by_text("builds of this shop's screens").wait_for()
        assert page.locator("[data-testid=stVegaLiteChart] canvas, .vega-embed").count() > 0
        assert page.locator("[data-testid=stDataFrame]").count() == 1


def test_the_artist_pastes_a_palette_and_takes_a_table_away(
    browser: Browser, app_address: str, tmp_path: Path
) -> None:
    with opened(browser, app_address, "palette") as page:
        page.get_by_text("Palette:").first.click()
        page.get_by_role("textbox").first.fill("Fog, #cccccc\nOven Red: 46, 58, 39")
        page.get_by_role("button", name="Use the pasted colors").click()
        page.get_by_role("button", name=re.compile("^Oven Red on Coal Black")).wait_for()
        page.keyboard.press("Escape")
        settled(page)
        cell = page.get_by_role("button", name=re.compile("^Oven Red on Coal Black"))
        cell.click()
        wait_for_words(page, "Oven Red on Coal Black")
        assert cell.get_attribute("aria-pressed") == "true"
        style = re.search(r"rgb\((\d+), (\d+), (\d+)\)", str(
            cell.locator("i").evaluate("patch => getComputedStyle(patch).backgroundColor")
        ))  # fmt: skip
        assert style is not None
        code = "#" + bytes(int(v) for v in style.groups()).hex()
        assert share_of(pixels(cell.locator("i"))[2:-2, 2:-2], code) == 1.0
        with page.expect_download() as arriving:
            page.get_by_role("button", name="Table (CSV)").click()
        file = tmp_path / "palette.csv"
        arriving.value.save_as(file)
    rows = list(csv.DictReader(file.read_text(encoding="utf-8").splitlines()))
    found = next(r for r in rows if (r["color"], r["garment"]) == ("Oven Red", "Coal Black"))
    assert found["print_hex"] == code


def test_the_map_is_walked_with_the_arrow_keys(browser: Browser, app_address: str) -> None:
    with opened(browser, app_address, "palette") as page:
        row = page.get_by_role("button", name=re.compile("^Regatta Orange on "))
        row.first.focus()
        beside = row.nth(1).get_attribute("aria-label") or ""  # the garments go by what they serve
        garment = beside.removeprefix("Regatta Orange on ").partition(":")[0]
        page.keyboard.press("ArrowDown")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("Enter")
        wait_for_words(page, f"Oven Red on {garment}")
