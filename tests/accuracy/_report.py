"""The accuracy report as text and as a page of the docs."""

from __future__ import annotations

import inspect
import math
import re
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType

from inksim.reports.text import table
from tests.accuracy import STATISTICS, Detail, Row

Results = Sequence[tuple[ModuleType, Sequence[Row]]]
PAGE = Path(__file__).resolve().parents[2] / "docs" / "accuracy.md"
HEAD = ("check", "n", "mean", "median", "p95", "worst", "unit", "promised", "source")

INTRODUCTION = """\
# How near inksim comes to the world outside

Each line compares the program with something it was not made from: a standard, a paper, open data,
an independent solver, or a truth that was known beforehand. `n` is the number of cases; mean,
median, 95th percentile and worst are of the size of the difference, in the unit given. What is
promised is asserted by a test. Make this page again, from the top folder of a checkout:

```sh
.venv/bin/python -m tests.accuracy --write
```

What no line here can tell: how a press of yours prints today, how your cloth takes the ink, how
your lot of a garment was dyed. Calibrate with readings of your own prints, and let the first print
on the real garment decide.
"""


def figure(value: float) -> str:
    """Return a number with three figures: 0.0581, 2.6e-05, 0."""
    if value == 0:
        return "0"
    if not math.isfinite(value):
        return str(value)
    return f"{value:.3g}" if abs(value) >= 1e-3 else f"{value:.1e}"


def promise(row: Row) -> str:
    """Say what a row promises, and whether it misses it."""
    words = ", ".join(f"{name} ≤ {most:g}" for name, most in row.limits.items())
    return f"{words} MISSED" if row.missed else words


def cells(row: Row) -> list[str]:
    """One line of the table."""
    statistics = [figure(getattr(row, name)) for name in STATISTICS]
    check = f"{row.check} ({row.note})" if row.note else row.check
    return [check, str(row.n), *statistics, row.unit, promise(row), row.source]


def text(rows: Sequence[Row]) -> str:
    """All rows as one table for a terminal."""
    return table(HEAD, [cells(row) for row in rows], left_last=True)


def markdown(results: Results) -> str:
    """The whole page: one table of everything, then each chapter with its own tables."""
    table = _table(HEAD, [line for module, rows in results for line in _group(module, rows)])
    return "\n".join([INTRODUCTION, table, *(_chapter(module) for module, _ in results)])


def renewed(page: str, results: Results) -> str:
    """The page with some of its chapters made again.

    Raises
    ------
    ValueError : a chapter that the page does not have yet.
    """
    for module, rows in results:
        name = re.escape(_heading(module))
        fresh = "".join(map(_line, _group(module, rows)))
        for pattern, part in (
            (rf"^\| \*\*{name}\*\* \|.*\n(?:\| (?!\*\*).*\n)*", fresh),
            (rf"^## {name}\n(?:(?!## ).*\n)*?(?=\n## |\Z)", _chapter(module)),
        ):
            page, count = re.subn(pattern, lambda _, part=part: part, page, flags=re.MULTILINE)
            if count != 1:
                raise ValueError(f"the page has no chapter '{_heading(module)}': write all of it")
    return page


def _heading(module: ModuleType) -> str:
    return inspect.cleandoc(module.__doc__ or module.__name__).partition("\n")[0].rstrip(".")


def _group(module: ModuleType, rows: Sequence[Row]) -> list[Sequence[str]]:
    """A chapter's lines of the table, under its heading."""
    return [(f"**{_heading(module)}**", *[""] * (len(HEAD) - 1)), *map(cells, rows)]


def _chapter(module: ModuleType) -> str:
    """A chapter's own part of the page."""
    body = inspect.cleandoc(module.__doc__ or "").partition("\n")[2]
    parts = [f"## {_heading(module)}\n\n{body.strip()}".rstrip() + "\n"]
    details: Sequence[Detail] = getattr(module, "details", list)()
    for detail in details:
        parts.append(f"### {detail.title}\n\n{detail.text}\n")
        parts.append(_table(detail.head, detail.cells))
    return "\n".join(parts)


def _table(head: Sequence[str], body: Sequence[Sequence[str]]) -> str:
    first = next(line for line in body if any(line[1:]))
    rule = ["---"] + ["--:" if _is_number(cell) else "---" for cell in first[1:]]
    return "".join(map(_line, [head, rule, *body]))


def _line(row: Sequence[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |\n"


def _is_number(cell: str) -> bool:
    try:
        float(cell.strip("*%"))
    except ValueError:
        return False
    return True
