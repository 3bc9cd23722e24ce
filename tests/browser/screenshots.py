"""Pictures of every page at three widths: ``python -m tests.browser.screenshots [WORD ...]``.

Writes screenshots/<page>-<width>.png (ignored by git); with words only the pages whose name holds
one of them.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from inksim.history import to_csv
from inksim.shop_edit import new_shop
from tests.browser.app_page import ROOT, opened, serving, settled
from tests.browser.conftest import ARGUMENTS, find_chromium
from tests.pages.test_shop import drawdown_file
from tests.test_cli_calibrate import rows

OUT = ROOT / "screenshots"
WIDTHS = {390: 844, 1280: 900, 1920: 1080}
PAGES: dict[str, tuple[str, dict[str, str]]] = {
    "client": ("", {}),
    "client-white": ("", {"garment": "Flour White"}),
    "client-wipe": ("", {"view": "Wipe", "garment": "Slate Gray"}),
    "client-shirt": ("", {"view": "On the shirt", "garment": "Brick Red"}),
    "client-cloth": ("", {"view": "Cloth, pixel for pixel"}),
    "base": ("base", {}),
    "base-none": ("base", {"ink": "Foxglove Pink", "target": "Mint", "garment": "Ferry Royal"}),
    "job": ("base", {"about": "The whole design"}),
    "palette": ("palette", {}),
    "shop": ("shop", {}),
}
TABS = {
    "base": ("All builds", "Other lights", "Spectra and films"),
    "shop": ("Garments", "Screens", "Press"),
}


def open_tonal(page: Page) -> None:
    page.get_by_text("Artwork:").first.click()
    page.get_by_role("button", name="Use the demo's river-morning.png").click()
    page.get_by_text("Tonal artwork, printed as halftones").first.wait_for()
    page.keyboard.press("Escape")


def open_tonal_shirt(page: Page) -> None:
    open_tonal(page)
    page.get_by_role("radio", name="On the shirt").click()


def open_tonal_close(page: Page) -> None:
    open_tonal(page)
    page.get_by_role("radio", name="Close up").click()


def open_calibration(page: Page) -> None:
    page.get_by_role("tab", name="Press").click()
    settled(page)
    page.get_by_text("Calibrate to readings of real prints").click()
    field = page.get_by_label("Or paste them")
    field.fill(to_csv(rows()))
    field.press("Control+Enter")
    page.get_by_text("Half of new prints").wait_for()


def open_drawdowns(page: Page) -> None:
    page.get_by_text("Find inks from drawdowns").click()
    page.locator(".st-key-drawdowns input[type=file]").set_input_files(
        {"name": "drawdowns.csv", "mimeType": "text/csv", "buffer": drawdown_file()}
    )
    page.get_by_text("the fit lies").wait_for()


def open_costs(page: Page) -> None:
    page.get_by_role("tab", name="Costs").click()
    settled(page)
    page.get_by_text("Change the costs").click()


def open_rules(page: Page) -> None:
    page.get_by_role("tab", name="Rules").click()


# Pages that somebody has done something on, in a shop of one's own.
DONE: dict[str, tuple[str, Callable[[Page], None]]] = {
    "client-tonal": ("", open_tonal),
    "client-tonal-shirt": ("", open_tonal_shirt),
    "client-tonal-close": ("", open_tonal_close),
    "shop-calibrated": ("shop", open_calibration),
    "shop-drawdowns": ("shop", open_drawdowns),
    "shop-costs": ("shop", open_costs),
    "shop-rules": ("shop", open_rules),
}


def whole(page: Page, width: int, height: int) -> None:
    """Make the window as high as the page, so that one screenshot holds all of it."""
    page.wait_for_timeout(600)
    full = page.evaluate("document.querySelector('[data-testid=stMain]').scrollHeight")
    page.set_viewport_size({"width": width, "height": max(height, min(int(full) + 10, 8000))})
    page.wait_for_timeout(600)


def _take(browser: Browser, address: str, name: str) -> None:
    path, query = PAGES[name]
    for width, height in WIDTHS.items():
        with opened(browser, address, path, width=width, height=height, **query) as page:
            page.screenshot(path=OUT / f"{name}-{width}-first.png")
            whole(page, width, height)
            page.screenshot(path=OUT / f"{name}-{width}.png")
            for tab in TABS.get(name, ()):
                page.get_by_role("tab", name=tab).click()
                settled(page)
                whole(page, width, height)
                page.screenshot(path=OUT / f"{name}-{tab.split()[0].lower()}-{width}.png")
        print(f"{name} at {width}")


def _take_done(browser: Browser, address: str, name: str) -> None:
    path, act = DONE[name]
    for width, height in WIDTHS.items():
        with opened(browser, address, path, width=width, height=height) as page:
            act(page)
            settled(page)
            whole(page, width, height)
            page.screenshot(path=OUT / f"{name}-{width}.png")
        print(f"{name} at {width}")


def main(wanted: Sequence[str]) -> int:
    """Take them all; returns an exit code."""
    chromium = find_chromium()
    if chromium is None:
        print("no Chromium that can be driven", file=sys.stderr)
        return 2
    OUT.mkdir(exist_ok=True)
    place = Path(tempfile.mkdtemp())
    shop = new_shop(place / "shop")
    asked = [name for name in PAGES if not wanted or any(word in name for word in wanted)]
    done = [name for name in DONE if not wanted or any(word in name for word in wanted)]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=list(ARGUMENTS))
        if asked:
            with serving(place / "log.txt") as address:
                for name in asked:
                    _take(browser, address, name)
        if done:
            with serving(place / "own.txt", INKSIM_SHOP=str(shop)) as address:
                for name in done:
                    _take_done(browser, address, name)
        browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
