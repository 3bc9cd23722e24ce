"""Colors reach the screen exactly: swatches, pictures, cloth, and both sides of the wipe."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image

from inksim.colour.srgb import hex_code
from inksim.colour.viewing import Viewing, xyz
from inksim.decision.one_colour import advise
from inksim.shop.load import load_shop
from tests.browser.app_page import opened, pixels, settled, share_of
from tests.ui.test_client import flat_art

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator


def background(patch: Locator) -> str:
    """The color that the style of a patch names."""
    found = re.search(r"background:\s*(#[0-9a-f]{6})", patch.get_attribute("style") or "")
    assert found is not None
    return found[1]


def test_a_garment_s_swatch_is_its_cloth(browser: Browser, app_address: str) -> None:
    cloth = load_shop().garment("Brick Red").reflectance
    code, inside = hex_code(xyz(cloth, Viewing()), Viewing())
    assert inside
    with opened(browser, app_address) as page:
        shot = pixels(page.get_by_role("radio", name="Brick Red"))
    assert share_of(shot, code) > 0.6  # the rest is its name


def test_the_print_s_swatch_is_what_the_engine_predicts(browser: Browser, app_address: str) -> None:
    shop = load_shop()
    advice = advise(
        shop,
        garment=shop.garment("Coal Black"),
        ink=shop.ink("Lantern Orange"),
        target=shop.target("Regatta Orange"),
        tolerance=shop.habits.tolerance_de00,
    )
    wanted = advice.best.hex
    with opened(browser, app_address, "base", garment="Coal Black") as page:
        patches = page.locator(".cloth .pads i", has_text="print")
        patch = patches.nth([r.route for r in advice.routes].index(advice.route))
        assert background(patch) == wanted
        shot = pixels(patch)
    assert share_of(shot, wanted) > 0.8


def test_an_uploaded_artwork_shows_its_colors_and_their_prints(
    browser: Browser, app_address: str
) -> None:
    with opened(browser, app_address, garment="Coal Black") as page:
        page.get_by_text("Artwork:").first.click()
        page.locator("[data-testid=stFileUploader] input[type=file]").set_input_files(
            {"name": "oars.png", "mimeType": "image/png", "buffer": flat_art()}
        )
        page.wait_for_selector("img[alt^='oars.png']")
        settled(page)
        page.keyboard.press("Escape")
        drawn = page.locator("img[alt='oars.png on Coal Black, as drawn']")
        shot = pixels(drawn)
        # inside the orange rectangle and the teal disk; edges are blended when it is scaled
        rows, columns, _ = shot.shape
        orange = shot[
            rows * 30 // 200 : rows * 170 // 200, columns * 30 // 300 : columns * 140 // 300
        ]
        teal = shot[
            rows * 70 // 200 : rows * 130 // 200, columns * 190 // 300 : columns * 250 // 300
        ]
        assert share_of(orange, "#e8622c") == 1.0
        assert share_of(teal, "#0f5c63") == 1.0
        page.get_by_text("Numbers: what to expect").click()
        row = page.locator("table.colors tbody tr", has_text="Lantern Orange")
        row.wait_for()
        settled(page)
        row.evaluate("row => row.scrollIntoView({ block: 'center' })")  # clear of the page's edges
        asked, predicted = (row.locator("td").first.locator("i").nth(at) for at in (0, 1))
        assert background(asked) == "#e8622c"
        for patch in (asked, predicted):
            # a patch may begin between two pixels: its rim is left out
            assert share_of(pixels(patch)[2:-2, 2:-2], background(patch)) == 1.0


def test_a_picture_reaches_the_screen_as_it_was_drawn(browser: Browser, app_address: str) -> None:
    with opened(browser, app_address, view="Cloth, pixel for pixel", width=1600) as page:
        image = page.locator("img[alt*='pixel for pixel']").first
        image.scroll_into_view_if_needed()
        sent = page.request.get(str(image.evaluate("image => image.src"))).body()
        shot = pixels(image)
    drawn = np.array(Image.open(io.BytesIO(sent)).convert("RGB"))
    assert Image.open(io.BytesIO(sent)).format == "PNG"
    # the picture may begin between two pixels: the screenshot then has a row or column more
    spare = np.subtract(shot.shape, drawn.shape)
    assert 0 <= spare.min() <= spare.max() <= 1
    rows, columns, _ = drawn.shape
    windows = [
        shot[y : y + rows, x : x + columns]
        for y in range(spare[0] + 1)
        for x in range(spare[1] + 1)
    ]
    assert any(np.array_equal(drawn, window) for window in windows)


def test_both_sides_of_the_wipe_are_the_pictures_themselves(
    browser: Browser, app_address: str
) -> None:
    cloth = load_shop().garment("Brick Red").reflectance
    code, _ = hex_code(xyz(cloth, Viewing()), Viewing())
    with opened(browser, app_address, garment="Brick Red", view="Wipe") as page:
        stage = page.locator(".stage")
        stage.locator("img.over").wait_for()
        page.wait_for_function(
            "() => [...document.querySelectorAll('*')].some(e => e.shadowRoot && "
            "[...e.shadowRoot.querySelectorAll('.stage img')].every(i => i.naturalWidth > 0))"
        )
        slider = page.get_by_role("slider", name=re.compile("^Wipe"))
        slider.press("End")  # all artwork: bare cloth is one flat color
        flat = share_of(pixels(stage), code)
        slider.press("Home")  # all print: the cloth shows its fibers
        printed = share_of(pixels(stage), code)
    assert flat > 0.2
    assert printed < flat / 2
