"""Pictures of every page at three widths: ``python -m tests.browser.screenshots [WORD|WIDTH ...]``.

Writes screenshots/<page>-<width>.png (ignored by git); with words only the pages whose name holds
one of them, and with numbers only those widths.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from inksim.shop.fresh import new_shop
from tests.browser.acts import DONE, FIRST_RUN
from tests.browser.app_page import ROOT, opened, serving, settled
from tests.browser.conftest import ARGUMENTS, find_chromium

OUT = ROOT / "screenshots"
WIDTHS = {390: 844, 1280: 900, 1920: 1080}
Widths = dict[int, int]
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
    "client-lamp": ("", {"light": "Store tubes"}),
    "base-lamp": ("base", {"light": "Home lamp"}),
    "palette-lamp": ("palette", {"light": "Store tubes"}),
}
TABS = {
    "base": ("All builds", "Other lights", "Spectra and films"),
    "shop": ("Garments", "Screens", "Press", "Record"),
}


def whole(page: Page, width: int, height: int) -> None:
    """Make the window as high as the page, so that one screenshot holds all of it."""
    page.wait_for_timeout(600)
    full = page.evaluate("document.querySelector('[data-testid=stMain]').scrollHeight")
    page.set_viewport_size({"width": width, "height": max(height, min(int(full) + 10, 8000))})
    page.wait_for_timeout(600)


def _take(browser: Browser, address: str, name: str, widths: Widths) -> None:
    path, query = PAGES[name]
    for width, height in widths.items():
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


def _take_done(browser: Browser, address: str, name: str, widths: Widths) -> None:
    path, act = DONE[name]
    for width, height in widths.items():
        with opened(browser, address, path, width=width, height=height) as page:
            act(page)
            settled(page)
            whole(page, width, height)
            page.screenshot(path=OUT / f"{name}-{width}.png")
        print(f"{name} at {width}")


def _take_first(browser: Browser, place: Path, names: Sequence[str], widths: Widths) -> None:
    """An empty shop's first run, a shop for each width."""
    for width, height in widths.items():
        shop = new_shop(place / f"empty-{width}", empty=True)
        with (
            serving(place / "empty.txt", INKSIM_SHOP=str(shop)) as address,
            opened(browser, address, width=width, height=height) as page,
        ):
            for name, act in FIRST_RUN.items():
                act(page)
                settled(page)
                if name in names:
                    whole(page, width, height)
                    page.screenshot(path=OUT / f"{name}-{width}.png")
        print(f"{', '.join(names)} at {width}")


def main(wanted: Sequence[str]) -> int:
    """Take them all; returns an exit code."""
    chromium = find_chromium()
    if chromium is None:
        print("no Chromium that can be driven", file=sys.stderr)
        return 2
    OUT.mkdir(exist_ok=True)
    place = Path(tempfile.mkdtemp())
    shop = new_shop(place / "shop")
    words = [word for word in wanted if not word.isdigit()]
    widths = {each: high for each, high in WIDTHS.items() if str(each) in wanted} or WIDTHS
    asked, done, first = (
        [name for name in names if not words or any(word in name for word in words)]
        for names in (PAGES, DONE, FIRST_RUN)
    )
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=list(ARGUMENTS))
        if asked:
            with serving(place / "log.txt") as address:
                for name in asked:
                    _take(browser, address, name, widths)
        if done:
            with serving(place / "own.txt", INKSIM_SHOP=str(shop)) as address:
                for name in done:
                    _take_done(browser, address, name, widths)
        if first:
            _take_first(browser, place, first, widths)
        browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
