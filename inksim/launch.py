"""Start the app: Streamlit on this machine only, with the project's settings."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

from inksim.common import PACKAGE, InksimError, InputError

SHOP_VARIABLE = "INKSIM_SHOP"
SERVER = "inksim.ui.serve"
GRACE_S = 5.0
HOSTS = ("localhost", "127.0.0.1", "::1")
"""Names that this machine answers to, by itself."""
_NAME = re.compile(r"(?!-)[a-z0-9.:-]{1,253}", re.IGNORECASE)


def entry_script() -> Path:
    """Return the app's entry script: beside the package in a checkout, inside it once installed."""
    for script in (PACKAGE.parent / "app.py", PACKAGE / "app" / "app.py"):
        if script.is_file():
            return script
    raise InksimError("the app is not part of this installation; install inksim from its folder.")


def server_environment() -> dict[str, str]:
    """Environment of the app's server: its work goes side by side by threads of its own.

    Where the linear algebra under it starts threads too, small products wait for each other: a
    photograph's halftones take twice to three times as long on two cores.
    """
    return {"OPENBLAS_NUM_THREADS": "1", **os.environ}


def serve(*, port: int, browser: bool, shop_folder: Path | None, hosts: Sequence[str] = ()) -> int:
    """Run the app until it ends, and return its exit code; what stops this stops the app.

    hosts: further names that browsers reach it by, as a reverse proxy passes them on; a page that
    comes by another name is not answered.

    Raises
    ------
    InputError : a host that is no name, or the app's packages are not installed.
    """
    script = entry_script()
    if find_spec("streamlit") is None:
        raise InputError(
            "the app needs Streamlit, which is not installed here; 'pip install inksim' from the "
            "wheel, or 'pip install -e .' in its folder, brings it with all the app needs."
        )
    for host in hosts:
        if not _NAME.fullmatch(host):
            raise InputError(f"'{host}' is no name of a host; write it as inks.example, no port.")
    environment = server_environment()
    if shop_folder is not None:
        environment[SHOP_VARIABLE] = str(shop_folder.resolve())
    command = [
        sys.executable, "-m", SERVER, str(script),
        "--server.address", "localhost",
        "--server.port", str(port),
        "--server.headless", "false" if browser else "true",
        "--browser.gatherUsageStats", "false",
        *(word for host in (*HOSTS, *hosts) for word in ("--server.allowedHosts", host)),
    ]  # fmt: skip
    # The settings beside the script are read from its folder.
    with subprocess.Popen(command, env=environment, cwd=script.parent) as server:
        try:
            return server.wait()
        except BaseException:  # Ctrl-C, SIGTERM: the server is not left behind
            server.terminate()
            try:
                server.wait(GRACE_S)
            except subprocess.TimeoutExpired:
                server.kill()
            raise
