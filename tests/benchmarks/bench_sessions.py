"""Visitors at once: a flat job beside two photographs, and the work of one who closes the page."""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from tests.benchmarks.bench_app import Rows, server_of
from tests.browser.app_page import serving
from tests.browser.conftest import ARGUMENTS, find_chromium

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

PHOTOGRAPH = "river-morning"
CALM, LOOK_S = 0.15, 0.3
"""Share of a core below which the server rests, over so many seconds."""
MOST_S = 120.0


@contextmanager
def visiting(browser: Browser, address: str, garment: str, artwork: str = "") -> Iterator[Page]:
    """A page of a session of its own that has just been asked for."""
    page = browser.new_page()
    page.set_default_timeout(1000 * MOST_S)
    query = {"garment": garment, **({"artwork": artwork} if artwork else {})}
    page.goto(f"{address}/?{urlencode(query)}", wait_until="commit")
    try:
        yield page
    finally:
        page.close()


def shown(page: Page, start: float) -> float:
    """Seconds until its pictures are there."""
    page.wait_for_selector("[data-testid=stImage] img[alt*=' on ']")
    return time.perf_counter() - start


def processor_s(process: int) -> float:
    fields = Path(f"/proc/{process}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def until_calm(process: int) -> float:
    """Seconds until the server does nothing any more."""
    start = time.perf_counter()
    while time.perf_counter() - start < MOST_S:
        before = processor_s(process)
        time.sleep(LOOK_S)
        if processor_s(process) - before < CALM * LOOK_S:
            return time.perf_counter() - start - LOOK_S
    raise AssertionError(f"the server is not calm after {MOST_S} s")


def main() -> Rows:
    """Rows of the benchmark; none where no Chromium can be driven."""
    from playwright.sync_api import sync_playwright

    chromium = find_chromium()
    if chromium is None:
        return [("visitors at once: no Chromium here", 0.0, None, "")]
    log = (Path(tempfile.mkdtemp()) / "log.txt").resolve()
    with serving(log) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=list(ARGUMENTS))
        process = server_of(log)
        for garment, artwork in (("Coal Black", ""), ("Coal Black", PHOTOGRAPH)):
            with visiting(browser, address, garment, artwork) as page:
                shown(page, 0.0)
        until_calm(process)
        start = time.perf_counter()
        with visiting(browser, address, "Slate Gray") as page:
            alone = shown(page, start)
        with ExitStack() as many:
            start = time.perf_counter()
            photographs = [
                many.enter_context(visiting(browser, address, garment, PHOTOGRAPH))
                for garment in ("Brick Red", "Clover Green")
            ]
            for page in photographs:
                page.get_by_text("Stop", exact=True).wait_for()
            asked = time.perf_counter()
            flat = many.enter_context(visiting(browser, address, "Mist Gray"))
            beside = shown(flat, asked)
            first, second = sorted(shown(page, start) for page in photographs)
        until_calm(process)
        with visiting(browser, address, "Estuary Navy", PHOTOGRAPH) as page:
            page.get_by_text("Separating the picture").first.wait_for()
        left = until_calm(process)
        browser.close()
    return [
        ("a flat job on another shirt, alone", alone, None, "s"),
        ("the same beside two visitors' photographs", beside, None, "s"),
        ("the first of the two photographs", first, None, "s"),
        ("the second of them", second, None, "s"),
        ("a visitor closes the page: until his work has ended", left, 2.0, "s"),
    ]
