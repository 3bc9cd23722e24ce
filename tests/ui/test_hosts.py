"""Who may talk to the app: this machine by its own names, and the names its host has added.

A page of the internet whose name is made to mean this machine (DNS rebinding) sends its own name as
Host; one that connects across sends its own Origin (RFC 6454, section 7; RFC 6455, section 10.2).
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from http.client import HTTPConnection
from socket import create_server

import pytest

from inksim.common.errors import InputError
from inksim.launch import HOSTS, serve
from inksim.ui import serve as server

WS = {
    "Connection": "Upgrade", "Upgrade": "websocket", "Sec-WebSocket-Version": "13",
    "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ==",  # RFC 6455, section 1.3
}  # fmt: skip


def asked(port: int, path: str, method: str = "GET", **headers: str) -> int:
    """The status of a request with these headers; Host and Origin are whatever is claimed."""
    connection = HTTPConnection("localhost", port, timeout=20)
    try:
        connection.putrequest(method, path, skip_host=True)
        for name, value in headers.items():
            connection.putheader(name, value)
        connection.endheaders()
        return connection.getresponse().status
    finally:
        connection.close()


@pytest.fixture(scope="module")
def port() -> Iterator[int]:
    with create_server(("localhost", 0)) as free:
        number = int(free.getsockname()[1])
    command = ["-m", "inksim.cli", "app", "--no-browser", "--port", str(number)]
    running = subprocess.Popen(
        [sys.executable, *command, "--host", "inks.example"],
        env=dict(os.environ), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        start_new_session=True,
    )  # fmt: skip
    try:
        give_up = time.monotonic() + 60
        while True:
            try:
                if asked(number, "/_stcore/health", Host="localhost") == 200:
                    break
            except OSError:
                assert time.monotonic() < give_up, "the app does not come up"
                assert running.poll() is None, "the app has ended"
                time.sleep(0.2)
        yield number
    finally:
        os.killpg(running.pid, 15)
        running.wait(20)


@pytest.mark.parametrize("host", ["localhost:{}", "127.0.0.1:{}", "[::1]:{}", "inks.example"])
def test_the_app_answers_to_its_own_names_and_those_added(port: int, host: str) -> None:
    host = host.format(port)
    assert asked(port, "/_stcore/stream", Host=host, Origin=f"http://{host}", **WS) == 101


@pytest.mark.parametrize(
    ("host", "origin"),
    [
        ("rebound.example:{}", "http://rebound.example:{}"),  # DNS rebinding
        ("rebound.example:{}", "http://localhost:{}"),
        ("inks.example.rebound.example", "https://inks.example.rebound.example"),
        ("localhost.rebound.example:{}", "http://localhost.rebound.example:{}"),
        ("localhost:{}", "http://elsewhere.example"),  # a page elsewhere that connects across
        ("localhost:{}", "null"),  # from a sandboxed frame or a file
    ],
)
def test_a_page_from_elsewhere_is_not_let_in(port: int, host: str, origin: str) -> None:
    host, origin = host.format(port), origin.format(port)
    assert asked(port, "/_stcore/stream", Host=host, Origin=origin, **WS) == 403


def test_nothing_of_the_shop_is_had_without_the_connection(port: int) -> None:
    # what HTTP alone gives, by whatever name, is Streamlit's own empty page: an upload needs the
    # token of a connection, a picture its 224-bit name
    foreign = {"Host": "rebound.example", "Origin": "http://rebound.example"}
    assert asked(port, "/media/" + "0" * 64 + ".png", **foreign) == 404
    for method in ("PUT", "DELETE"):
        assert asked(port, "/_stcore/upload_file/0/0", method, **foreign) in (400, 403)


def test_a_refusal_asks_nobody_on_the_internet(monkeypatch: pytest.MonkeyPatch) -> None:
    from streamlit import net_util
    from streamlit.web import cli
    from streamlit.web.server import server_util

    def never(*_: object, **__: object) -> None:
        raise AssertionError("the internet was asked for this machine's address")

    monkeypatch.setattr(net_util, "get_external_ip", never)
    monkeypatch.setattr(cli, "main", lambda: None)
    monkeypatch.setattr(server, "before_visitors", lambda: None)
    monkeypatch.setattr(sys, "argv", ["serve", "app.py"])
    server.main()
    assert not server_util.is_url_from_allowed_origins("http://elsewhere.example")


@pytest.mark.parametrize("host", ["", "https://inks.example", "a b", "*", "-x", "x" * 5000])
def test_a_name_that_is_none_is_refused_before_the_start(host: str) -> None:
    with pytest.raises(InputError, match="no name of a host"):
        serve(port=8765, browser=False, shop_folder=None, hosts=[host])


def test_the_settings_file_has_the_same_names() -> None:
    import tomllib

    from inksim.launch import entry_script

    file = entry_script().parent / ".streamlit" / "config.toml"
    assert tomllib.loads(file.read_text("utf-8"))["server"]["allowedHosts"] == list(HOSTS)
