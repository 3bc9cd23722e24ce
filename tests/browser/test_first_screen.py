"""The first screen: the answer is in it, and it stands still while it comes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.browser.app_page import opened

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

SHIFTS = """
window.moved = 0;
new PerformanceObserver((list) => {
  for (const each of list.getEntries()) if (!each.hadRecentInput) window.moved += each.value;
}).observe({ type: "layout-shift", buffered: true });
"""
"""The Layout Instability API's shifts, as W3C's draft defines them, summed from the start."""


def lower_edge(page: Page, selector: str) -> float:
    box = page.locator(selector).first.bounding_box()
    assert box is not None
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= (page.viewport_size or {"width": 0})["width"]
    return box["y"] + box["height"]


def test_a_phone_s_first_screen_has_the_print_and_the_verdict(
    browser: Browser, app_address: str
) -> None:
    with opened(browser, app_address, width=390, height=844) as page:
        picture = "img[alt*=' on Coal Black, as decided']"
        size = page.locator(picture).bounding_box()
        assert size is not None
        assert size["width"] >= 200  # a thumbnail is no picture
        assert lower_edge(page, picture) <= 844
        assert lower_edge(page, ".verdict") <= 844
        words = page.locator(".verdict").inner_text()
        assert words.count(".") == 1  # one sentence
        assert "ΔE" not in words
        assert page.get_by_text("Chance to land").first.is_hidden()  # until it is asked for
        page.get_by_text("Numbers: what to expect").click()
        page.get_by_text("Compared under D50").first.wait_for()
        # the chosen garment is seen, though the row of them scrolls
        chosen = page.get_by_role("radio", name="Coal Black").bounding_box()
        assert chosen is not None
        assert 0 <= chosen["x"] <= 390 - chosen["width"]


def test_nothing_moves_once_it_is_there(browser: Browser, app_address: str) -> None:
    with opened(browser, app_address, script=SHIFTS) as page:
        page.locator(".chips").wait_for()
        assert page.evaluate("window.moved") <= 0.02
