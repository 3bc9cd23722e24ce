"""What a user of the wheel does first, run by the environment that has it: ``walk.py [core]``.

Runs in an empty folder and writes there; this file itself imports nothing of the checkout. It ends
with an AssertionError at the first thing that a release may not do.
"""

from __future__ import annotations

import importlib
import json
import pkgutil
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

APP_ONLY = ("altair", "pandas", "pyarrow", "streamlit")
PROOF_WORDS = ("Coal Black", "--print-width", "250")


def inksim(*words: object, code: int = 0) -> str:
    """Run a command of the installed program and return what it says."""
    program = Path(sys.executable).with_name("inksim")
    done = subprocess.run(
        [program, *map(str, words)], capture_output=True, text=True, timeout=600, check=False
    )
    assert done.returncode == code, (words, done.returncode, done.stdout, done.stderr)
    assert "Traceback" not in done.stderr, done.stderr
    assert "Warning" not in done.stderr, done.stderr
    return done.stdout + done.stderr


def imports(package: Path, *, app: bool) -> int:
    """Import every module, and return how many there were."""
    names = [each.name for each in pkgutil.walk_packages([str(package)], "inksim.")]
    mine = [
        name for name in names
        if not name.startswith(("inksim.app", "inksim.demo"))
        and not name.endswith("__main__") and (app or not name.startswith("inksim.ui"))
    ]  # fmt: skip
    for name in mine:
        importlib.import_module(name)
    return len(mine)


def app_answers() -> None:
    """Serve the app, wait until it is healthy, and stop it."""
    with socket.create_server(("localhost", 0)) as free:
        port = free.getsockname()[1]
    program = Path(sys.executable).with_name("inksim")
    words = [program, "app", "--no-browser", "--port", str(port)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT) as server:
        try:
            until = time.monotonic() + 60
            while True:
                try:
                    with urllib.request.urlopen(f"http://localhost:{port}/_stcore/health") as said:
                        assert said.read() == b"ok"
                    with urllib.request.urlopen(f"http://localhost:{port}/") as page:
                        assert b"<html" in page.read()
                    break
                except OSError:
                    assert server.poll() is None, server.communicate()
                    assert time.monotonic() < until
                    time.sleep(0.3)
        finally:
            server.terminate()


def main() -> None:
    """Walk."""
    import inksim as package

    app = sys.argv[1:] != ["core"]
    home = Path(package.__file__).parent
    assert "site-packages" in home.parts, home
    assert not list(Path.cwd().iterdir())
    version = package.__version__
    assert inksim("--version").split()[-1] == version
    if not app:
        there = [name for name in APP_ONLY if importlib.util.find_spec(name)]
        assert not there, there
        assert "pip install" in inksim("app", "--no-browser", code=2)
    count = imports(home, app=app)

    said = inksim("demo")
    pictures = list(Path("previews").glob("*.png"))
    assert len(pictures) > 5
    assert "Coal Black" in said
    inksim("new", "shop")
    art = home / "demo" / "artwork" / "harvest-regatta.png"
    job = home / "demo" / "jobs" / "harvest-regatta.toml"
    assert json.loads(inksim("shop", "--shop", "shop", "--json"))
    inksim("ticket", job, "--out", "tickets")
    inksim("proof", art, "--garment", *PROOF_WORDS, "--tolerance", "10", "--out", "proofs")
    for kind in ("tickets", "proofs"):
        made = list(Path(kind).rglob("*.pdf"))
        assert made, kind
        assert all(each.read_bytes().startswith(b"%PDF") for each in made), kind
    assert "fpdf2" in inksim("--licenses")
    if app:
        app_answers()
    print(f"inksim {version} on Python {sys.version.split()[0]}: {count} modules imported, "
          f"{len(pictures)} pictures, ticket, proof{', app served' if app else ''}.")  # fmt: skip


if __name__ == "__main__":
    main()
