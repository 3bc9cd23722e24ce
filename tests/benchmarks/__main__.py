"""All benchmarks, or those whose name contains a word: ``python -m tests.benchmarks [WORD ...]``.

A benchmark is a file ``bench_<name>.py`` in this folder with ``main()`` that returns rows
``(name, value, target, unit)``. Target: a number (at most that), ``"<= 2"``, ``">= 20"``, or None
(only informs). Each file runs in an interpreter of its own, one after the other, so that its
imports, caches and peak of memory are its own.

Exit code: 0 all targets met, 1 one missed or a benchmark failed, 2 no benchmark of that name.
"""

from __future__ import annotations

import multiprocessing
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor

from tests.benchmarks.protocol import Row, discover, judge, line, measure


def main(words: Sequence[str]) -> int:
    """Run the benchmarks and print one table."""
    modules = discover(words)
    if not modules:
        print(f"no benchmark of that name; there are: {', '.join(discover())}", file=sys.stderr)
        return 2
    results: list[Row] = []
    failed = False
    spawn = multiprocessing.get_context("spawn")
    for module in modules:
        start = time.perf_counter()
        try:
            with ProcessPoolExecutor(max_workers=1, mp_context=spawn) as fresh:
                results += fresh.submit(measure, module).result()
        except Exception as error:  # told here and by the exit code; the others still run
            failed = True
            print(f"{module} failed: {type(error).__name__}: {error}", file=sys.stderr)
        print(f"{module}: {time.perf_counter() - start:.0f} s", file=sys.stderr)
    width = max((len(row.name) for row in results), default=0)
    for row in results:
        print(line(row, width=width))
    missed = any(judge(row.value, row.target) == "missed" for row in results)
    return 1 if failed or missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
