"""What another choice gave is gone while this one's answer is worked out, on every such page."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.browser.app_page import opened, settled

if TYPE_CHECKING:
    from playwright.sync_api import Browser

# Looks at every change of the page: what is said while work can be stopped, and whether it can be.
WATCH = """() => {
  window.beside = []; window.stops = 0;
  new MutationObserver(() => {
    const stop = document.querySelector('[class*=st-key-stop-work] button');
    if (!stop) return;
    window.stops += 1;
    window.beside.push(...[...document.querySelectorAll(
      '.verdict, [data-testid=stMain] table, [data-testid=stImage], .chips')]
      .filter((each) => each.checkVisibility()).map((each) => each.innerText));
    window.stopAt = stop.getBoundingClientRect().bottom;
  }).observe(document.body, { childList: true, subtree: true, attributes: true });
}"""
CHOICES = [
    ("base", {"garment": "Coal Black", "about": "The whole design"}, "Slate Gray"),
    ("palette", {"garments": "Coal Black"}, "Flour White"),
]


@pytest.mark.parametrize(("path", "query", "garment"), CHOICES, ids=["base", "palette"])
def test_no_old_verdict_stands_beside_work(
    browser: Browser, app_address: str, path: str, query: dict[str, str], garment: str
) -> None:
    with opened(browser, app_address, path, **query) as page:
        before = page.locator(".verdict").first.inner_text()
        page.evaluate(WATCH)
        name = page.get_by_role("radio" if path == "base" else "button", name=garment)
        name.first.click()
        page.wait_for_function("window.stops > 0")
        settled(page)
        assert page.locator(".verdict").first.inner_text() != before
        assert page.evaluate("window.beside") == []
        assert page.evaluate("window.stopAt") <= 900
