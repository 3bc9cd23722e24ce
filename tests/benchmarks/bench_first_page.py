"""The first page's cost to the server: processor seconds, without a browser beside it.

A session is what a browser's page opens: a socket, asked for the page, listened to until it is
drawn. `bench_app` has the seconds that a person waits, with a browser on the same cores.
"""

from __future__ import annotations

import asyncio
import statistics
import tempfile
import time
from pathlib import Path

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg

from tests.benchmarks.bench_app import SESSIONS, Rows, server_of
from tests.benchmarks.bench_sessions import processor_s, until_calm
from tests.browser.app_page import serving

PAGES = 10


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
    return [
        ("a fresh server and its first page, processor", fresh, None, "s"),
        ("another session's first page, processor, median", statistics.median(each), 0.3, "s"),
        ("what is sent for it, without pictures", got / 1000, None, "kB"),
        (f"{SESSIONS} sessions at once, processor of each", together / SESSIONS, 0.3, "s"),
    ]
