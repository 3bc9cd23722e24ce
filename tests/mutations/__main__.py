"""Try the changes of changes.toml, or those whose file has a word in it.

``python -m tests.mutations [-n PROCESSES] [WORD ...]``. Exit code: 0 nearly all were killed, 1 too
many survived, one does not apply any more or was not judged, or a test fails without any change.
"""

from __future__ import annotations

import argparse
import sys
import time

from tests.mutations.harness import (
    Result,
    copied,
    enough,
    failing_unchanged,
    judge_all,
    read_changes,
    table,
)


def main() -> int:
    """Run them, tell each as it ends, print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutations", description=__doc__)
    parser.add_argument("words", nargs="*", help="words of files, e.g. job/search")
    parser.add_argument("-n", type=int, default=2, help="processes, a copy each (default 2)")
    given = parser.parse_args()
    changes = [
        change
        for change in read_changes()
        if not given.words or any(word in change.file for word in given.words)
    ]
    if not changes:
        print("no change of that file.", file=sys.stderr)
        return 1
    start = time.perf_counter()
    with copied() as copy:
        failing = failing_unchanged(copy, changes)
    if failing:
        print("fail without any change: " + ", ".join(failing))
        return 1
    unchanged = time.perf_counter() - start

    def tell(result: Result) -> None:
        change = result.change
        print(
            f"{result.outcome:8} {result.seconds:5.1f} s  {change.file}: {change.after}", flush=True
        )

    results = judge_all(changes, processes=given.n, told=tell)
    print(table(results))
    print(f"{time.perf_counter() - start:.0f} s, {unchanged:.0f} of them without a change")
    return 0 if enough(results) else 1


if __name__ == "__main__":
    sys.exit(main())
