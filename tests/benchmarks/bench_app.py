"""The app in a real browser: first page, garment and slider to new pictures, memory, ten sessions.

Seconds of a wall clock: they hold on two calm cores, and nowhere are they asserted by a test.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from inksim.ui.pages.client_views import VIEWS
from tests.browser.app_page import opened, serving
from tests.browser.conftest import ARGUMENTS, find_chromium

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

STEPS = 60
MOVES = 40
SESSIONS = 10
Rows = list[tuple[str, float, float | str | None, str]]

# Chooses the next garment and waits until both pictures of the wipe are new and there.
STEP = """async (at) => {
  const find = () => [...document.querySelectorAll('*')].find(
    (e) => e.shadowRoot && e.shadowRoot.querySelector('.stage'));
  // none while another garment's answer is worked out
  const pictures = () => [...(find()?.shadowRoot.querySelectorAll('.stage img') ?? [])];
  const before = pictures().map((image) => image.src);
  const buttons = document.querySelectorAll('.st-key-garment button');
  const start = performance.now();
  buttons[at % buttons.length].click();
  const fresh = (images) => images.length && images.every(
    (one, n) => one.src !== before[n] && one.complete && one.naturalWidth > 0);
  while (!fresh(pictures())) {
    await new Promise((next) => setTimeout(next, 4));
    if (performance.now() - start > 60000) throw new Error('no new picture');
  }
  return performance.now() - start;
}"""


NEW_PICTURE = """(before) => {
  const shown = document.querySelector('[data-testid=stMain] [data-testid=stImage] img');
  return shown && shown.src !== before && shown.complete && shown.naturalWidth > 0;
}"""


def server_of(log: Path) -> int:
    """The process of the one Streamlit server that writes to this log."""
    for process in Path("/proc").glob("[0-9]*"):
        try:
            if (process / "fd" / "1").resolve() == log:
                return int(process.name)
        except OSError:
            continue
    raise AssertionError(f"no process writes to {log}")


def resident_mb(log: Path) -> float:
    """Memory of that server."""
    words = Path(f"/proc/{server_of(log)}/status").read_text(encoding="utf-8")
    return float(words.split("VmRSS:")[1].split()[0]) / 1024


def steps(page: Page, count: int, *, first: int = 0) -> list[float]:
    """Seconds from a choice to two new pictures, each choice after the last one is done."""
    taken = []
    for at in range(first, first + count):
        taken.append(float(page.evaluate(STEP, at)) / 1000)
        page.wait_for_timeout(60)
    return taken


def moves(page: Page, count: int) -> list[float]:
    """Seconds from a key on a slider to its new picture, from one end to the other and back."""
    from playwright.sync_api import TimeoutError

    key = "ArrowRight"
    slider, taken = page.get_by_role("slider", name="Across").first, []
    picture = page.locator("[data-testid=stMain] [data-testid=stImage] img").first
    for _ in range(count):
        now = slider.get_attribute("aria-valuenow")
        key = {slider.get_attribute("aria-valuemax"): "ArrowLeft",
               slider.get_attribute("aria-valuemin"): "ArrowRight"}.get(now, key)  # fmt: skip
        before, start = picture.evaluate("image => image.src"), time.perf_counter()
        slider.press(key)
        try:
            page.wait_for_function(NEW_PICTURE, arg=before, polling="raf", timeout=5000)
            taken.append(time.perf_counter() - start)
        except TimeoutError:  # a window of bare cloth beside one that looks the same
            if picture.evaluate("image => image.src") != before:
                taken.append(time.perf_counter() - start)
        page.wait_for_timeout(60)
    return taken


def sessions_together(browser: Browser, address: str) -> float:
    """Seconds until every one of ten sessions, opened at once, shows its pictures."""
    pages = [browser.new_page() for _ in range(SESSIONS)]
    start = time.perf_counter()
    for page in pages:
        page.goto(address, wait_until="commit")
    for page in pages:
        page.wait_for_selector("img[alt*='too fine']", timeout=120_000)
    taken = time.perf_counter() - start
    for page in pages:
        page.close()
    return taken


def main() -> Rows:
    """Rows of the benchmark; none where no Chromium can be driven."""
    from playwright.sync_api import sync_playwright

    chromium = find_chromium()
    if chromium is None:
        return [("the app in a browser: no Chromium here", 0.0, None, "")]
    log = (Path(tempfile.mkdtemp()) / "log.txt").resolve()
    with serving(log) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=list(ARGUMENTS))
        start = time.perf_counter()
        page = browser.new_page()
        page.goto(address, wait_until="commit")
        page.wait_for_selector("img[alt*='too fine']", timeout=120_000)
        first = time.perf_counter() - start
        page.close()
        with opened(browser, address, view="Wipe") as page:
            page.wait_for_timeout(1500)
            # Chosen one after the other from the first on: the one chosen already would not move.
            once = steps(page, 14)
            memory = resident_mb(log)
            again = steps(page, STEPS, first=14)
            grown = resident_mb(log) - memory
        with opened(browser, address, view=VIEWS[-1]) as page:
            moved = moves(page, MOVES)
        together = sessions_together(browser, address)
        browser.close()
    p95, slider = (statistics.quantiles(each, n=20)[-1] for each in (again, moved))
    return [
        ("first page with all pictures, from a fresh server", first, 2.0, "s"),
        ("garment to two new 1200 px pictures, first time, median", statistics.median(once), None,
         "s"),
        (f"the same, {STEPS} steps, median", statistics.median(again), None, "s"),
        (f"the same, {STEPS} steps, 95th percentile", p95, 0.5, "s"),
        (f"slider to a new window of the cloth, {MOVES} moves, median", statistics.median(moved),
         None, "s"),
        (f"the same, {MOVES} moves, 95th percentile", slider, 0.35, "s"),
        (f"memory those {STEPS} steps add", grown, 100.0, "MB"),
        ("ten sessions opened at once, until the last shows all", together, 8.0, "s"),
    ]  # fmt: skip
