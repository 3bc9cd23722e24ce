"""``python -m tests.accuracy [--write] [WORD ...]``: all chapters, or those named by a word.

--write makes docs/accuracy.md, or the part of the named chapters again.

Exit code: 0 all promises kept, 1 one missed or a chapter failed, 2 no chapter of that name.
"""

from __future__ import annotations

import sys
import time
import warnings
from collections.abc import Sequence


def main(arguments: Sequence[str]) -> int:
    """Make the report; see the module."""
    write = "--write" in arguments
    words = [each for each in arguments if each != "--write"]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # colour-science says that it goes without Matplotlib
        from tests.accuracy import chapters
        from tests.accuracy._report import PAGE, markdown, renewed, text

        names = {module.__name__.rpartition(".")[2]: module for module in chapters()}
    chosen = {n: m for n, m in names.items() if not words or any(word in n for word in words)}
    if not chosen:
        print(f"no chapter of that name; there are: {', '.join(names)}", file=sys.stderr)
        return 2
    results, failed = [], False
    for name, module in chosen.items():
        start = time.perf_counter()
        try:
            results.append((module, module.rows()))
        except Exception as error:  # told here and by the exit code; the others still run
            failed = True
            print(f"{name} failed: {type(error).__name__}: {error}", file=sys.stderr)
        print(f"{name}: {time.perf_counter() - start:.1f} s", file=sys.stderr)
    rows = [row for _, chapter_rows in results for row in chapter_rows]
    if rows:
        print(text(rows))
    missed = [row for row in rows if row.missed]
    if write and not failed:
        whole = len(chosen) == len(names)
        page = markdown(results) if whole else renewed(PAGE.read_text(encoding="utf-8"), results)
        PAGE.write_text(page, encoding="utf-8")
        print(f"\nwritten: {PAGE.name} in {PAGE.parent.name}/", file=sys.stderr)
    return 1 if missed or failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
