"""How near the model comes to the world outside: one table, which anyone can make again.

``python -m tests.accuracy`` prints it, ``--write`` also writes docs/accuracy.md.

The protocol: each module of this package, but those with a leading underscore, is one chapter.
It has

- a docstring: its first line is the chapter's heading, the rest stands below it in the docs;
- ``rows() -> list[Row]``: its lines of the table, made with ``row()`` from the errors themselves;
- ``details() -> list[Detail]``, optional: tables of their own for the docs;
- ``SLOW = True``, optional: left out of the quick run of tests/published/test_accuracy.py;
- ``ORDER``, optional: place among the chapters, 50 if not given.

A module is found by its file: dropping one in is enough. What a row promises are its ``limits``;
the test asserts them and the table says where one is missed.
"""

from __future__ import annotations

import importlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType

import numpy as np
from numpy.typing import ArrayLike

STATISTICS = ("mean", "median", "p95", "worst")


@dataclass(frozen=True, kw_only=True)
class Row:
    """One check: how far off, over n cases. ``limits`` are the most a statistic may be."""

    check: str
    source: str
    n: int
    mean: float
    median: float
    p95: float
    worst: float
    unit: str = "ΔE00"
    limits: Mapping[str, float] = field(default_factory=dict)
    note: str = ""

    def __post_init__(self) -> None:
        strange = set(self.limits) - set(STATISTICS)
        if strange:
            raise ValueError(f"{self.check}: no such statistic: {', '.join(sorted(strange))}")

    @property
    def missed(self) -> dict[str, float]:
        """The limits that are not kept; a statistic that is no number keeps none."""
        return {k: most for k, most in self.limits.items() if not getattr(self, k) <= most}


def row(
    check: str,
    source: str,
    errors: ArrayLike,
    *,
    unit: str = "ΔE00",
    limits: Mapping[str, float] | None = None,
    note: str = "",
) -> Row:
    """A Row from the errors (any shape) of its cases, taken without their signs."""
    size = np.abs(np.asarray(errors, dtype=float)).ravel()
    if not size.size:
        raise ValueError(f"{check}: there is nothing to compare")
    return Row(
        check=check,
        source=source,
        n=int(size.size),
        mean=float(size.mean()),
        median=float(np.median(size)),
        p95=float(np.percentile(size, 95)),
        worst=float(size.max()),
        unit=unit,
        limits=dict(limits or {}),
        note=note,
    )


@dataclass(frozen=True, kw_only=True)
class Detail:
    """A table of its own: title, a sentence or two, and cells as they are shown."""

    title: str
    text: str
    head: Sequence[str]
    cells: Sequence[Sequence[str]]


def chapters() -> list[ModuleType]:
    """The modules of this package that hold rows, in their order."""
    names = [
        path.stem for path in Path(__file__).parent.glob("*.py") if not path.stem.startswith("_")
    ]
    found = [importlib.import_module(f"{__name__}.{name}") for name in sorted(names)]
    return sorted(found, key=lambda module: getattr(module, "ORDER", 50))
