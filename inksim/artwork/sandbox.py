"""Parse and render untrusted artwork in a sandboxed child process, with limits of time and memory.

Parsers and renderers of SVG, PDF and layered pictures abort, hang or take all memory on hostile
files; here only the child ends (`sandbox_child`), and the file gets one sentence.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from importlib.util import find_spec
from pathlib import Path
from typing import IO, Any

from inksim.common import InputError

Fault = Callable[[str], InputError]

DRAW_DPI = 300
TIMEOUT_S = 60
MEMORY_GB = 4
AT_ONCE = 2
BYTES_PER_PIXEL = 5  # four inks and an opacity
MOST_BESIDE = 2**26  # a profile
MOST_LINE = 2**16
REASONS = {1: "it is damaged, or no such file", 2: "not enough memory"}
"""Of the child's exit codes; any other is the system's."""
CHILD = Path(__file__).with_name("sandbox_child.py")
_TURN = threading.BoundedSemaphore(AT_ONCE)
_PIPES: dict[str, Any] = {
    "stdin": subprocess.PIPE,
    "stdout": subprocess.PIPE,
    "stderr": subprocess.DEVNULL,  # a renderer's own words are not for a user
}


def need(package: str, what: str, fault: Fault) -> None:
    """Refuse a file whose optional package is not installed, and say how to get it."""
    if find_spec(package) is None:
        raise fault(
            f"is {what}, which needs more packages: pip install 'inksim[artwork]', "
            f"or export it as PNG with transparency at {DRAW_DPI} dpi."
        )


def render_in_child(
    data: bytes, task: dict[str, Any], fault: Fault, *, memory_gb: int = MEMORY_GB
) -> tuple[dict[str, Any], bytearray]:
    """Parse and render a file in the child process: what it tells of the file, and its pixels.

    At most `AT_ONCE` files are drawn at a time, whoever asks; others wait for their turn.

    Raises
    ------
    InputError : by `fault`: the child took too long or too much memory, told more than pixels, or
        ended with a reason; the file holds more than is read.
    """
    task = {**task, "memory_gb": memory_gb, "seconds": TIMEOUT_S}
    command = [sys.executable, "-P", str(CHILD), json.dumps(task)]
    late = threading.Event()
    with _TURN, subprocess.Popen(command, **_PIPES) as child:
        assert child.stdin is not None
        assert child.stdout is not None
        timer = threading.Timer(TIMEOUT_S, _kill, args=(child, late))
        feeder = threading.Thread(target=_feed, args=(child.stdin, data))
        for each in (timer, feeder):
            each.daemon = True
            each.start()
        try:
            told, pixels = _told(child.stdout, most=task.get("most", 0) * BYTES_PER_PIXEL)
        finally:
            child.stdout.close()  # what it still writes is refused, so that it ends
            child.wait()
            timer.cancel()
            feeder.join()
    if late.is_set():
        raise fault(
            f"takes more than {TIMEOUT_S} seconds to draw; simplify it or export it as PNG."
        )
    if child.returncode != 0 or told is None:
        why = REASONS.get(child.returncode, "its renderer gave up")
        raise fault(f"cannot be drawn ({why}); simplify it or export it as PNG.")
    if "too_much" in told:
        raise fault(f"holds more than {told['too_much']}; simplify it or export it as PNG.")
    return told, pixels


def _kill(child: subprocess.Popen[bytes], late: threading.Event) -> None:
    late.set()
    child.kill()


def _feed(pipe: IO[bytes], data: bytes) -> None:
    """Hand over the file; a child that has ended early takes no more of it."""
    with suppress(OSError), pipe:
        pipe.write(data)


def _told(pipe: IO[bytes], *, most: int) -> tuple[dict[str, Any] | None, bytearray]:
    """The line of JSON, and exactly as many bytes as it says; None for less or more."""
    try:
        told = json.loads(pipe.readline(MOST_LINE))
        count = told["bytes"]
    except (ValueError, KeyError, TypeError):
        return None, bytearray()
    if not 0 <= count <= most + MOST_BESIDE:
        return None, bytearray()
    pixels = bytearray(count)
    room, at = memoryview(pixels), 0
    while at < count and (got := pipe.readinto(room[at:])):  # type: ignore[attr-defined]
        at += got
    return (told if at == count else None), pixels
