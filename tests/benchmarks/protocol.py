"""The protocol of a benchmark: how it is found, run, judged and shown."""

from __future__ import annotations

import importlib
import re
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

Target = float | str | None


class Row(NamedTuple):
    """One measured line of a benchmark."""

    name: str
    value: float
    target: Target
    unit: str


def discover(words: Sequence[str] = ()) -> list[str]:
    """Names of the benchmark modules here, of those that contain one of the words if any."""
    names = sorted(path.stem for path in Path(__file__).parent.glob("bench_*.py"))
    return [n for n in names if not words or any(word in n for word in words)]


def judge(value: float, target: Target) -> str:
    """Return ``"ok"`` or ``"missed"``, or nothing where there is no target. NaN always misses."""
    if target is None:
        return ""
    sign, limit = "<=", target
    if isinstance(target, str):
        match = re.fullmatch(r"(<=|>=)\s*([-+.\deE]+)", target.strip())
        if match is None:
            raise ValueError(f"target '{target}' must be a number, '<= number' or '>= number'")
        sign, limit = match[1], float(match[2])
    met = value >= float(limit) if sign == ">=" else value <= float(limit)
    return "ok" if met else "missed"


def measure(module: str) -> list[Row]:
    """Run one benchmark; called in an interpreter of its own."""
    rows = importlib.import_module(f"tests.benchmarks.{module}").main()
    return [Row(*row) for row in rows]


def line(row: Row, *, width: int) -> str:
    """One line of the table."""
    number = isinstance(row.target, int | float)
    target = "" if row.target is None else f"<= {row.target:g}" if number else str(row.target)
    value = f"{row.value:.3g}" if abs(row.value) < 1000 else f"{row.value:,.0f}"
    verdict = judge(row.value, row.target)
    return f"{row.name:<{width}}  {value:>9} {row.unit:<10} {target:>10}  {verdict}".rstrip()
