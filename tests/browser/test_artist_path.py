"""The artist's whole way: from an artwork to a sheet of its colors on the stock."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PIL import Image

from tests.browser.actions import Actions
from tests.browser.app_page import opened, share_of
from tests.browser.artworks import BARS, CMYK, HUGE, LOGO, ON_WHITE, PHOTO, WHITE, walked
from tests.browser.test_paths import VIEWPORTS

if TYPE_CHECKING:
    from playwright.sync_api import Browser


COLOURS = {BARS: 12, LOGO: 1, CMYK: 1, WHITE: 1, HUGE: 2}


@pytest.mark.parametrize(("width", "art"), walked((390, BARS), (1280, LOGO)))
def test_the_artist_reaches_a_palette_sheet_in_five_actions_and_one_a_garment(
    browser: Browser,
    app_address: str,
    tmp_path: Path,
    width: int,
    art: tuple[str, str, bytes],
) -> None:
    garments = ["Brick Red", "Oat Natural"] if art is LOGO else ["Brick Red"]
    with opened(browser, app_address, "palette", width=width, height=VIEWPORTS[width]) as page:
        does = Actions(page)
        does.use(*art)
        if art in ON_WHITE:
            does.click(page.get_by_role("button", name="Leave the background out"))
        for garment in garments:
            does.click(page.get_by_role("button", name=garment, exact=True))
        if art is LOGO:
            does.click(page.get_by_text(re.compile("^Recipes for the .* that no ink can promise")))
            page.locator("table.colors, [data-testid=stCaptionContainer]").get_by_text(
                re.compile(r"\d g .*through|No mix is worth it")
            ).first.wait_for()
        file = does.take(page.get_by_role("button", name="Palette sheet (PDF)"), tmp_path)
        assert does.count <= 5 + len(garments)
        said = page.locator(".verdict b").inner_text().removesuffix(".")
        cells = page.get_by_role("button", name=re.compile(r"^\S.* on .*: "))
        assert art not in COLOURS or cells.count() == COLOURS[art] * (5 + len(garments))
        told = [cells.nth(at).locator("span").inner_text() for at in range(cells.count())]
        first = cells.first.locator("i").evaluate("e => getComputedStyle(e).backgroundColor")
    named = f"{Path(art[0]).stem}-{Path(art[0]).suffix[1:]}"
    if art is PHOTO:  # it has no colors of its own
        named = "the-shop-s"
    assert file.name == f"palette-{named}.pdf"
    if shutil.which("pdftotext") is None:
        pytest.skip("Poppler is not installed: the sheet is not read back")
    words = subprocess.run(
        ["pdftotext", "-raw", str(file), "-"], capture_output=True, text=True, check=True
    ).stdout
    flat = re.sub(r"\s+", " ", words)
    assert said in flat
    # every cell of the page stands on the sheet, in the same words and as often
    assert {each: flat.count(each) for each in set(told)} == {
        each: told.count(each) for each in told
    }
    subprocess.run(["pdftoppm", "-r", "72", "-png", str(file), str(tmp_path / "page")], check=True)
    shot = np.array(Image.open(sorted(tmp_path.glob("page*.png"))[0]).convert("RGB"))
    code = "#" + bytes(int(v) for v in re.findall(r"\d+", first)).hex()
    assert share_of(shot, code) > 0.5 * (72 / 2.54) ** 2 / shot[..., 0].size  # half a cm²
