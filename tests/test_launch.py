"""How the app is started: on this machine only, with the shop that was named."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from inksim import launch


def test_the_app_is_served_to_this_machine_only(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    # A shop's pages change its files and show its clients' artwork: nobody else on a network may
    # open them.
    called: dict[str, Any] = {}

    started = subprocess.Popen

    def start(command: list[str], **how: Any) -> subprocess.Popen[bytes]:
        called.update(how, command=command)
        return started([sys.executable, "-c", "raise SystemExit(3)"])

    monkeypatch.setattr(subprocess, "Popen", start)
    assert launch.serve(port=8765, browser=False, shop_folder=tmp_path) == 3
    options = dict(zip(called["command"][4::2], called["command"][5::2], strict=True))
    assert options["--server.address"] == "localhost"
    assert options["--server.port"] == "8765"
    assert options["--browser.gatherUsageStats"] == "false"
    assert called["env"][launch.SHOP_VARIABLE] == str(tmp_path)
