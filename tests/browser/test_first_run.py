"""The owner's first minutes: an empty shop, its three steps, the demo beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from tests.browser.actions import Actions
from tests.browser.app_page import opened, pixels, serving, settled, share_of
from tests.browser.test_accessibility import serious

if TYPE_CHECKING:
    from playwright.sync_api import Browser

MOST = 12
"""Actions that a first prediction may take: a promise of this project."""


@pytest.mark.parametrize(
    ("size", "start"), [((390, 844), ""), ((1280, 900), "base")], ids=["phone", "desk"]
)
def test_an_owner_goes_from_an_empty_shop_to_a_prediction_of_his_own(
    browser: Browser, tmp_path: Path, axe: str, size: tuple[int, int], start: str
) -> None:
    folder = new_shop(tmp_path / "shop", name="Mill Lane Prints", empty=True)
    with (
        serving(tmp_path / "log.txt", INKSIM_SHOP=str(folder)) as address,
        opened(browser, address, start, width=size[0], height=size[1]) as page,
    ):
        does = Actions(page)
        if start:  # the demo first, and back
            does.click(page.get_by_role("button", name="Look at the invented demo shop"))
            page.get_by_text("nothing here is yours").wait_for()
            page.get_by_role("radio", name="Coal Black").wait_for()
            does.click(page.get_by_role("button", name="Back to my shop"))
        bad = serious(page, axe)
        does.click(page.get_by_role("button", name="This is my press"))
        page.get_by_text("Manual press, 6 stations, with 4 usual screens, assumed.").wait_for()
        bad += serious(settled(page), axe)
        does.fill(page.get_by_label("Its color printed over white"), "#e8622c")
        does.fill(page.get_by_label("Name", exact=True), "Lantern")
        does.click(page.get_by_role("button", name="Save my ink"))
        page.get_by_text("Lantern is saved").wait_for()
        bad += serious(settled(page), axe)
        does.fill(page.get_by_label("The color of its cloth"), "#1f4d52")
        does.fill(page.get_by_label("Name", exact=True).last, "Tarn")
        does.click(page.get_by_role("button", name="Save my shirt and predict"))
        page.get_by_text("Your first prediction: Lantern on Tarn").wait_for()
        assert does.count <= MOST
        bad += serious(settled(page), axe)
        assert not bad, "\n".join(bad)
        assert "Over a white base" in page.locator(".verdict b").inner_text()
        page.locator(".cloth").last.scroll_into_view_if_needed()
        assert share_of(pixels(page), "#1f4d52") > 0.005  # the cloth that was typed
        main = page.locator("[data-testid=stMain]")
        assert main.evaluate("main => main.scrollWidth - main.clientWidth") <= 1
        does.click(page.get_by_role("button", name="Go on with this shop"))
        if not start:
            page.wait_for_selector("img[alt*='on Tarn, as decided']")
    shop = load_shop(folder)
    assert set(shop.inks) == {"Lantern", "Usual white, assumed"}
    assert set(shop.garments) == {"Tarn"}
    assert not (folder / "jobs").exists()
