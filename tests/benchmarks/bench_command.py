"""Commands as whole processes: start-up against numpy's import, and the memory of a preview.

Times are the CPU seconds (user + system) of a finished child as the operating system counts them,
the least of several runs taken in turn, so that other work on the machine hardly counts.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence

from inksim.shop.load import demo_shop_folder

RUNS = 7
DOOR_RUNS = 20
GARMENT = ["--garment", "Coal Black"]


def _child(words: Sequence[str], *, bytecode: str) -> tuple[float, float]:
    """CPU seconds and peak memory (GB) of one run.

    It keeps its bytecode in a folder of the benchmark's, as anybody's Python does: where the
    environment forbids that, each start would compile inksim, and nothing of the rest.
    """
    kept = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": bytecode}
    child = subprocess.Popen(
        [sys.executable, *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**os.environ, **kept},
    )
    _, status, usage = os.wait4(child.pid, 0)
    if status:
        raise RuntimeError(f"{' '.join(words)} ended with {status}")
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss * 1024 / 1e9


def main() -> list[tuple[str, float, float | str | None, str]]:
    """Rows (name, value, target, unit)."""
    inksim = ["-m", "inksim.cli"]
    commands = {
        "numpy": ["-c", "import numpy"],
        "help": [*inksim, "--help"],
        "predict": [*inksim, "predict", *GARMENT, "--ink", "Lantern Orange", "--target", "#e8622c"],
    }
    with tempfile.TemporaryDirectory() as bytecode:
        best = dict.fromkeys(commands, float("inf"))
        for _ in range(RUNS):
            for name, words in commands.items():
                best[name] = min(best[name], _child(words, bytecode=bytecode)[0])
        bare = door = float("inf")
        for _ in range(DOOR_RUNS):  # a start is short: more of them, by turns
            bare = min(bare, _child(["-c", "pass"], bytecode=bytecode)[0])
            door = min(door, _child(["-c", "import inksim"], bytecode=bytecode)[0])
        artwork = demo_shop_folder() / "artwork" / "harvest-regatta.png"
        with tempfile.TemporaryDirectory() as out:
            words = [*inksim, "preview", str(artwork), *GARMENT, "--out", out]
            _, peak = _child(words, bytecode=bytecode)
    return [
        ("import inksim / bare interpreter", door / bare, 1.2, "×"),
        ("inksim --help / import numpy", best["help"] / best["numpy"], 4.0, "×"),
        ("inksim predict / import numpy", best["predict"] / best["numpy"], 4.0, "×"),
        ("inksim preview, 15 megapixels, three routes: peak memory", peak, 1.5, "GB"),
    ]
