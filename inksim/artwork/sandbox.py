"""Render untrusted artwork in a sandboxed child process, with limits of time and memory.

Renderers of SVG, PDF and layered pictures abort, hang or take all memory on hostile files; here
only the child ends (`sandbox_child`), and the file gets one sentence.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from inksim.common import InputError

Fault = Callable[[str], InputError]

DRAW_DPI = 300
TIMEOUT_S = 60
MEMORY_GB = 4
REASONS = {1: "it is damaged, or no such file", 2: "not enough memory"}
"""Of the child's exit codes; any other is the system's."""
CHILD = Path(__file__).with_name("sandbox_child.py")


def need(package: str, what: str, fault: Fault) -> None:
    """Refuse a file whose optional package is not installed, and say how to get it."""
    if find_spec(package) is None:
        raise fault(
            f"is {what}, which needs more packages: pip install 'inksim[artwork]', "
            f"or export it as PNG with transparency at {DRAW_DPI} dpi."
        )


def render_in_child(
    data: bytes, task: dict[str, Any], fault: Fault, *, memory_gb: int = MEMORY_GB
) -> tuple[dict[str, Any], bytes]:
    """Render a file in the child process: what it tells of the file, and its pixels."""
    task = {**task, "memory_gb": memory_gb}
    command = [sys.executable, "-P", str(CHILD), json.dumps(task)]
    try:
        child = subprocess.run(
            command, input=data, capture_output=True, timeout=TIMEOUT_S, check=False
        )
    except subprocess.TimeoutExpired:
        raise fault(
            f"takes more than {TIMEOUT_S} seconds to draw; simplify it or export it as PNG."
        ) from None
    if child.returncode != 0:
        why = REASONS.get(child.returncode, "its renderer gave up")
        raise fault(f"cannot be drawn ({why}); simplify it or export it as PNG.")
    told, _, pixels = child.stdout.partition(b"\n")
    return json.loads(told), pixels
