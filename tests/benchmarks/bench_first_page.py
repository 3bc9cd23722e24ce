"""The first page's cost in processor seconds: the server's by itself, then beside a browser.

A session is what a browser's page opens: a socket, asked for the page, listened to until it is
drawn. `bench_app` has the seconds that a person waits; there the browser works on the same cores,
and it takes ten times what the server does: six tenths of that for an empty page of Streamlit.
"""

from __future__ import annotations

import asyncio
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg

from tests.benchmarks.bench_app import SESSIONS, Rows, server_of
from tests.benchmarks.bench_sessions import processor_s, until_calm
from tests.browser.app_page import free_port, serving
from tests.browser.conftest import ARGUMENTS, find_chromium

if TYPE_CHECKING:
    from playwright.sync_api import Browser

PAGES, IN_BROWSER = 10, 5
EMPTY = "import streamlit as st\nst.set_page_config(layout='wide')\nst.title('Nothing')\n"
AFTER_S = 0.7
"""A page is not quite done when its last picture is there."""


async def first_page(address: str) -> int:
    """Open a session and wait until its page is drawn; bytes that came."""
    import websockets

    url = address.replace("http", "ws", 1) + "/_stcore/stream"
    protocols = [websockets.Subprotocol("streamlit")]
    got, message = 0, BackMsg()
    message.rerun_script.query_string = ""
    async with websockets.connect(
        url, subprotocols=protocols, max_size=None, origin=websockets.Origin(address)
    ) as socket:
        await socket.send(message.SerializeToString())
        async for data in socket:
            assert isinstance(data, bytes)
            got += len(data)
            if ForwardMsg.FromString(data).WhichOneof("type") == "script_finished":
                break
    return got


async def at_once(address: str, count: int) -> None:
    """Open so many sessions at the same moment."""
    await asyncio.gather(*(first_page(address) for _ in range(count)))


@contextmanager
def empty_page(folder: Path) -> Iterator[tuple[str, int]]:
    """A page of Streamlit with nothing on it, served: its address and process."""
    script, port = folder / "empty.py", free_port()
    script.write_text(EMPTY, encoding="utf-8")
    command = [
        sys.executable, "-m", "streamlit", "run", str(script), "--server.port", str(port),
        "--server.address", "localhost", "--server.headless", "true",
        "--server.fileWatcherType", "none", "--browser.gatherUsageStats", "false",
    ]  # fmt: skip
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as server:
        time.sleep(5)
        try:
            yield f"http://localhost:{port}", server.pid
        finally:
            server.terminate()


def below(process: int) -> float:
    """Processor seconds of a process and of all it has begun, those that have ended too."""
    found = dict[int, tuple[int, float]]()
    for each in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = each.read_text(encoding="utf-8").rpartition(")")[2].split()
        except OSError:  # it has ended meanwhile
            continue
        ticks = sum(map(int, fields[11:15]))
        found[int(each.parent.name)] = int(fields[1]), ticks / os.sysconf("SC_CLK_TCK")
    family, grown = {process}, True
    while grown:
        more = {one for one, (parent, _) in found.items() if parent in family} - family
        family, grown = family | more, bool(more)
    return sum(found[one][1] for one in family)


def in_browser(browser: Browser, address: str, shows: str, *, server: int) -> tuple[float, float]:
    """Processor seconds of server and browser for one more page, the least of some."""
    taken = []
    for _ in range(IN_BROWSER):
        mine, its = processor_s(server), below(os.getpid()) - below(server)
        page = browser.new_page()
        page.goto(address, wait_until="commit")
        page.wait_for_selector(shows, timeout=120_000)
        page.wait_for_timeout(1000 * AFTER_S)
        taken.append((processor_s(server) - mine, below(os.getpid()) - below(server) - its))
        page.close()
        time.sleep(AFTER_S)
    return min(one for one, _ in taken), min(other for _, other in taken)


def with_browser(address: str, process: int) -> Rows:
    """Rows of a browser's page, and of one with nothing on it; none without a Chromium."""
    from playwright.sync_api import sync_playwright

    chromium = find_chromium()
    if chromium is None:
        return [("a page in a browser: no Chromium here", 0.0, None, "")]
    with (
        sync_playwright() as playwright,
        empty_page(Path(tempfile.mkdtemp())) as (empty, other),
        playwright.chromium.launch(executable_path=chromium, args=list(ARGUMENTS)) as browser,
    ):
        ours = in_browser(browser, address, "img[alt*='too fine']", server=process)
        bare = in_browser(browser, empty, "h1", server=other)
    return [
        ("one more page in a browser, the server's processor", ours[0], 0.3, "s"),
        ("the same of a page with nothing on it", bare[0], None, "s"),
        ("one more page in a browser, the browser's processor", ours[1], None, "s"),
        ("the same of a page with nothing on it", bare[1], None, "s"),
        ("ours / nothing, the browser's", ours[1] / bare[1], 1.8, "×"),
    ]


def main() -> Rows:
    """Rows of the benchmark."""
    log = (Path(tempfile.mkdtemp()) / "log.txt").resolve()
    with serving(log) as address:
        process = server_of(log)
        asyncio.run(first_page(address))
        until_calm(process)
        fresh, each = processor_s(process), []
        for _ in range(PAGES):
            before = processor_s(process)
            got = asyncio.run(first_page(address))
            time.sleep(0.2)
            each.append(processor_s(process) - before)
        before = processor_s(process)
        asyncio.run(at_once(address, SESSIONS))
        time.sleep(0.5)
        together = processor_s(process) - before
        shown = with_browser(address, process)
    return [
        ("a fresh server and its first page, processor", fresh, None, "s"),
        ("another session's first page, processor, median", statistics.median(each), 0.3, "s"),
        ("what is sent for it, without pictures", got / 1000, None, "kB"),
        (f"{SESSIONS} sessions at once, processor of each", together / SESSIONS, 0.3, "s"),
        *shown,
    ]
