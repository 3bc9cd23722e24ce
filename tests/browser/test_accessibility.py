"""axe-core on every page: nothing above minor, at a desk's and a phone's width; the Tab key."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.browser.acts import DONE
from tests.browser.app_page import opened, pixels, settled

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

PACKAGE = "axe-core@4"
SERIOUS = ("moderate", "serious", "critical")  # minor: the role of Streamlit's own dropzone
WIDTHS = (390, 1280)


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """axe-core's script, fetched by npm for this run (MPL-2.0, not copied here)."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("npm is not installed: axe-core cannot be fetched")
    folder = tmp_path_factory.mktemp("axe")
    run = subprocess.run(
        [npm, "install", "--no-save", "--no-audit", "--no-fund", "--ignore-scripts",
         "--prefix", str(folder), PACKAGE],
        capture_output=True, text=True, timeout=180, check=False, env={**os.environ, "CI": "1"},
    )  # fmt: skip
    script = Path(folder) / "node_modules" / "axe-core" / "axe.min.js"
    if run.returncode or not script.is_file():
        pytest.skip(f"npm could not fetch {PACKAGE}: {run.stderr.strip()[-200:]}")
    return script.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "where",
    [
        "",
        "?view=Wipe",
        "?view=On+the+shirt",
        "?view=Cloth%2C+pixel+for+pixel",
        "base",
        "base?about=The+whole+design",
        "palette",
        "shop",
    ],
)
def test_axe_finds_nothing_serious(
    browser: Browser, app_address: str, axe: str, where: str
) -> None:
    with opened(browser, app_address, where, width=WIDTHS[0]) as page:
        bad = [each for _ in at_every_width(page) for each in serious(page, axe)]
    assert not bad, "\n".join(bad)


@pytest.mark.parametrize("name", list(DONE))
def test_axe_finds_nothing_serious_where_work_was_done(
    browser: Browser, app_address: str, own_app: tuple[str, Path], axe: str, name: str
) -> None:
    path, act = DONE[name]
    address = own_app[0] if path == "shop" or "kept" in name else app_address
    with opened(browser, address, path, width=WIDTHS[0]) as page:
        act(page)
        bad = []
        for _ in at_every_width(settled(page)):
            bad += serious(page, axe)
            main = page.locator("[data-testid=stMain]")
            assert main.evaluate("main => main.scrollWidth - main.clientWidth") <= 1
    assert not bad, "\n".join(bad)


HERE = "document.activeElement"


def test_the_tab_key_goes_into_an_opened_box_and_to_what_is_chosen(
    browser: Browser, app_address: str
) -> None:
    """WCAG 2.2, 2.4.3: the focus order preserves meaning and operability."""
    with opened(browser, app_address, "", garment="Brick Red") as page:
        box = page.get_by_role("dialog")
        button = page.get_by_text("Artwork:").first.locator("xpath=ancestor::button")
        button.focus()
        page.keyboard.press("Enter")
        box.get_by_text("Use the demo's").first.wait_for()
        page.keyboard.press("Tab")
        assert box.evaluate(f"box => box.contains({HERE})")
        for _ in range(20):  # through the box, and out of it to what follows its button
            page.keyboard.press("Tab")
            if not box.evaluate(f"box => box.contains({HERE})"):
                break
        chosen = f"[{HERE}.innerText, {HERE}.getAttribute('aria-checked')]"
        assert page.evaluate(chosen) == ["Brick Red", "true"]
        page.keyboard.press("Tab")
        assert page.evaluate(f"{HERE}.innerText").startswith("more")  # garments, in a box
        page.keyboard.press("Shift+Tab")
        assert page.evaluate(chosen) == ["Brick Red", "true"]
        page.keyboard.press("Shift+Tab")
        assert button.evaluate(f"button => button === {HERE}")
        page.keyboard.press("Tab")
        assert box.evaluate(f"box => box.contains({HERE})")
        lights = page.locator(".st-key-light [data-variant]").all()
        dark = [float(pixels(each).mean()) for each in lights]
        assert dark[0] < min(dark[1:]) / 2  # the chosen one is the darkest


def at_every_width(page: Page) -> Iterator[int]:
    """A phone's width, then a desk's, of one session: what was done is done once."""
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        settled(page)
        yield width


def serious(page: Page, axe: str) -> list[str]:
    """What axe-core finds moderate, serious or critical on a page."""
    # What was redrawn fades in; its contrast is that of the finished page.
    page.wait_for_function(
        "!document.querySelector('[data-stale=true]') && "
        "document.getAnimations().every(one => one.playState !== 'running')"
    )
    page.evaluate(axe)
    found = page.evaluate("axe.run(document, { resultTypes: ['violations'] })")
    wide = page.evaluate("innerWidth")
    return [
        f"{wide} px: {each['id']}: {each['help']}: "
        + "; ".join(str(node["html"])[:160] for node in each["nodes"][:3])
        for each in found["violations"]
        if each["impact"] in SERIOUS
    ]
