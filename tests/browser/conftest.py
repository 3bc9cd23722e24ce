"""A real Chromium for the tests in this folder: the machine's own, never one fetched by a test."""

from __future__ import annotations

import ctypes
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from inksim.shop.fresh import new_shop
from tests.browser.app_page import serving
from tests.conftest import IN_CI

if TYPE_CHECKING:
    from playwright.sync_api import Browser

AXE = "axe-core@4"
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
ARGUMENTS = (
    "--no-sandbox",  # CI runs as root
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--force-color-profile=srgb",  # a pixel on a screenshot is the pixel that was asked for
)


def find_chromium() -> str | None:
    """The path of this machine's Chromium, None if it or what drives it cannot run."""
    if sys.platform == "linux":
        try:
            ctypes.CDLL("libatomic.so.1")  # playwright's driver is linked to it
        except OSError:
            return None
    return next(filter(None, map(shutil.which, NAMES)), None)


def chromium_or_skip(found: str | None, *, ci: bool) -> str:
    """The path found; without one the test skips, but in CI a missing browser is a failure."""
    if found:
        return found
    reason = "no Chromium that can be driven (Debian: apt-get install chromium libatomic1)"
    if ci:
        pytest.fail(reason, pytrace=False)
    pytest.skip(reason)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium() -> str:
    return chromium_or_skip(find_chromium(), ci=IN_CI)


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=chromium, args=list(ARGUMENTS))
        yield launched
        launched.close()


@pytest.fixture(scope="session")
def app_address(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The app on the demo shop, served once for all tests that find a Chromium."""
    with serving(tmp_path_factory.mktemp("app") / "log.txt") as address:
        yield address


@pytest.fixture(scope="session")
def own_app(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """The app on a shop that may be changed, and that shop's folder."""
    folder = tmp_path_factory.mktemp("own")
    shop = new_shop(folder / "shop")
    with serving(folder / "log.txt", INKSIM_SHOP=str(shop)) as address:
        yield address, shop


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """axe-core's script, fetched by npm for this run (MPL-2.0, not copied here); else the reason
    why there is none, as a comment.
    """
    npm = shutil.which("npm")
    if npm is None:
        return "// npm is not installed: axe-core cannot be fetched"
    folder = tmp_path_factory.mktemp("axe")
    run = subprocess.run(
        [npm, "install", "--no-save", "--no-audit", "--no-fund", "--ignore-scripts",
         "--prefix", str(folder), AXE],
        capture_output=True, text=True, timeout=180, check=False, env={**os.environ, "CI": "1"},
    )  # fmt: skip
    script = Path(folder) / "node_modules" / "axe-core" / "axe.min.js"
    if run.returncode or not script.is_file():
        return f"// npm could not fetch {AXE}: {' '.join(run.stderr[-200:].split())}"
    return script.read_text(encoding="utf-8")
