"""Forty inks out of their drawdowns: masstones and tints over black and over white, one fit.

The matrices are small, so threads of the linear algebra only get in each other's way on a busy
machine; the time is that of the process on all its cores, the least of three.
"""

from __future__ import annotations

import time

from inksim.drawdowns.characterisation import characterise
from inksim.drawdowns.drawdown import Drawdown
from tests.accuracy._studio import Studio, World

RUNS = 3
INKS, DRAWDOWNS = 40, 200


def _drawdowns() -> list[Drawdown]:
    """Each ink alone and a tint of each color, then tints of another strength up to 200."""
    studio = Studio(World(colours=INKS - 2, unseen=(0.4,)), 1)
    return [*studio.fitted, *studio.unseen][:DRAWDOWNS]


def main() -> list[tuple[str, float, float | str | None, str]]:
    """Rows (name, value, target, unit)."""
    drawdowns = _drawdowns()
    took, busy = [], []
    for _ in range(RUNS):
        start, cpu = time.perf_counter(), time.process_time()
        inks = characterise(drawdowns)
        took.append(time.perf_counter() - start)
        busy.append(time.process_time() - cpu)
    name = f"characterise {len(inks.inks)} inks from {len(drawdowns)} drawdowns"
    return [(name, min(took), 10.0, "s"), (f"{name}, processor time", min(busy), None, "s")]
