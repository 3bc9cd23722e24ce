"""The app served for the tests, and a page of it in a browser: open, wait, look at the pixels."""

from __future__ import annotations

import io
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlencode

import numpy as np
from PIL import Image
from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg

from inksim.launch import SERVER, server_environment

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator, Page

ROOT = Path(__file__).parents[2]
IDLE = "[data-testid=stApp][data-test-script-state=notRunning]"
SECONDS = 90
EMPTY = "about:blank"
QUIET_MS = 120


def free_port() -> int:
    with socket.socket() as server:
        server.bind(("localhost", 0))
        return int(server.getsockname()[1])


@contextmanager
def serving(log: Path, **environment: str) -> Iterator[str]:
    """The app on a free port of this machine until the block ends; its address."""
    port = free_port()
    command = [
        sys.executable, "-m", SERVER, "app.py", "--server.address", "localhost",
        "--server.port", str(port), "--server.headless", "true",
        "--server.fileWatcherType", "none", "--browser.gatherUsageStats", "false",
    ]  # fmt: skip
    with log.open("w") as out:
        server = subprocess.Popen(
            command, cwd=ROOT, stdout=out, stderr=out, env={**server_environment(), **environment}
        )
        try:
            address = f"http://localhost:{port}"
            _wait_for_health(f"{address}/_stcore/health", server, log)
            yield address
        finally:
            server.terminate()
            server.wait(timeout=20)


def _wait_for_health(url: str, server: subprocess.Popen[bytes], log: Path) -> None:
    deadline = time.monotonic() + SECONDS
    while time.monotonic() < deadline:
        assert server.poll() is None, f"the app stopped: {log.read_text()}"
        try:
            with urllib.request.urlopen(url, timeout=2) as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.2)
    raise AssertionError(f"the app did not start in {SECONDS} s: {log.read_text()}")


TRAFFIC = (
    """
window.traffic = { sent: 0, got: 0, asked: 0, begun: 0, under_way: 0 };
const fieldsOf = function* (bytes) {  // numbers of a message's fields, as protocol buffers write
  let at = 0;
  const whole = () => {
    let value = 0, shift = 0, byte;
    do { byte = bytes[at++]; value += (byte & 127) * 2 ** shift; shift += 7; } while (byte > 127);
    return value;
  };
  while (at < bytes.length) {
    const tag = whole();
    yield tag >> 3;
    if (tag % 8 === 2) { const size = whole(); at += size; }
    else if (tag % 8) at += tag % 8 === 1 ? 8 : 4;
    else whole();
  }
};
const has = (data, field) => [...fieldsOf(new Uint8Array(data))].includes(field);
window.WebSocket = class extends WebSocket {
  constructor(...words) {
    super(...words);
    this.addEventListener("message", ({ data }) => {
      traffic.got = performance.now();
      if (has(data, NEW_SESSION)) traffic.begun = traffic.got;
    });
  }
  send(data) {
    traffic.sent = performance.now();
    if (has(data, RERUN_SCRIPT)) traffic.asked = traffic.sent;
    super.send(data);
  }
};
""".replace("NEW_SESSION", str(ForwardMsg.NEW_SESSION_FIELD_NUMBER)).replace(
        "RERUN_SCRIPT", str(BackMsg.RERUN_SCRIPT_FIELD_NUMBER)
    )
    + """
const send = XMLHttpRequest.prototype.send;
XMLHttpRequest.prototype.send = function (...words) {
  traffic.under_way += 1;
  this.addEventListener("loadend", () => {
    traffic.under_way -= 1;
    traffic.got = performance.now();
  });
  return send.apply(this, words);
};
"""
)
"""What a page sends to the server and gets from it, when (ms); files go by a request each.

asked: when the script was last asked to run; begun: when it was last heard to begin.
"""
RESTS = f"""began => {{
  const now = performance.now(), {{ sent, got, asked, begun, under_way }} = traffic;
  return document.querySelector("{IDLE}") && !under_way && begun >= asked
    && (got >= sent || now - sent > 2000)
    && now - Math.max(sent, got, began) >= {QUIET_MS}
    && !document.querySelector("[data-stale=true]")
    && document.getAnimations().every(each => each.playState !== "running"
      || each.effect.getComputedTiming().iterations === Infinity)
    && [...document.querySelectorAll("[data-testid=stImage] img")]
      .every(image => image.complete && image.naturalWidth > 0);
}}"""


def settled(page: Page) -> Page:
    """Wait until the script rests, what was sent is answered and drawn, every picture is there."""
    page.wait_for_selector("h1", timeout=1000 * SECONDS)
    # A choice starts its rerun a moment after the click, and what comes is drawn a moment later.
    page.wait_for_function(RESTS, arg=page.evaluate("performance.now()"), timeout=1000 * SECONDS)
    return page


@contextmanager
def opened(
    browser: Browser, address: str, path: str = "", *, width: int = 1280, height: int = 900,
    script: str = "", hear: Mapping[str, Callable[..., object]] | None = None, **query: str,
) -> Iterator[Page]:  # fmt: skip
    """A settled page in a session of its own; script: run in it before anything else; hear: what
    is called at its events.

    A window that is done with is used again, emptied: a new one costs as much as the page in it.
    """
    changed = bool(script or hear)
    page = _new(browser) if changed else _window(browser)
    page.set_viewport_size({"width": width, "height": height})
    page.set_default_timeout(1000 * SECONDS)
    if script:
        page.add_init_script(script)
    for event, called in (hear or {}).items():
        page.on(event, called)  # type: ignore[call-overload]
    try:
        page.goto(f"{address}/{path}" + (f"?{urlencode(query)}" if query else ""))
        yield settled(page)
    except BaseException:
        page.close()
        raise
    if changed:
        page.close()
    else:
        _empty(page)


def _window(browser: Browser) -> Page:
    """One that is empty, each in a context of its own."""
    pages = (page for context in browser.contexts for page in context.pages)
    return next((page for page in pages if page.url == EMPTY), None) or _new(browser)


def _new(browser: Browser) -> Page:
    page = browser.new_page()
    page.add_init_script(TRAFFIC)
    return page


def _empty(page: Page) -> None:
    """Leave nothing for the next one: neither of the session nor of the mouse."""
    page.evaluate("localStorage.clear(), sessionStorage.clear()")
    page.context.clear_cookies()
    page.goto(EMPTY)
    page.mouse.move(0, 0)


def pixels(where: Page | Locator) -> np.ndarray:
    """A screenshot of a page or an element, uint8 (h, w, 3)."""
    return np.array(Image.open(io.BytesIO(where.screenshot())).convert("RGB"))


def share_of(shot: np.ndarray, code: str) -> float:
    """Share of pixels that have exactly this color."""
    wanted = np.frombuffer(bytes.fromhex(code.removeprefix("#")), dtype=np.uint8)
    return float(np.mean(np.all(shot == wanted, axis=-1)))
