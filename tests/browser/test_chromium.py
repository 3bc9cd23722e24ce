"""The browser itself: found or refused by the rule, and true to the pixel."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pytest
from PIL import Image

from tests.browser.conftest import chromium_or_skip

if TYPE_CHECKING:
    from playwright.sync_api import Browser


def test_a_missing_chromium_skips_with_the_reason() -> None:
    with pytest.raises(pytest.skip.Exception, match="no Chromium"):
        chromium_or_skip(None, ci=False)


def test_a_missing_chromium_fails_in_ci() -> None:
    with pytest.raises(pytest.fail.Exception, match="no Chromium"):
        chromium_or_skip(None, ci=True)


@pytest.mark.parametrize("hex_code", ["#3a7d44", "#e10600", "#0047ab"])
def test_a_screenshot_returns_the_pixel_that_was_asked_for(browser: Browser, hex_code: str) -> None:
    page = browser.new_page(viewport={"width": 40, "height": 30})
    try:
        page.set_content(f"<body style='background:{hex_code}'>")
        shot = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    finally:
        page.close()
    wanted = tuple(bytes.fromhex(hex_code[1:]))
    assert shot.getcolors() == [(40 * 30, wanted)]
