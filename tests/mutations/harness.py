"""Apply one-line changes to a copy of the checkout, one by one, and run the tests meant for each.

A change is *killed* where one of its tests fails, *survived* where all of them pass. All tests of
the list pass without any change first: a test that fails anyway kills nothing.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue
from typing import Literal

ROOT = Path(__file__).resolve().parents[2]
LIST = Path(__file__).with_name("changes.toml")
LEAST_KILLED = 0.95
TIMEOUT_S = 300
COPIED = ("inksim", "tests", "shared", "reference_data", "docs", "tools", ".streamlit")
PYTEST = ("-m", "pytest", "-x", "-q", "--no-header", "--tb=no", "-p", "no:cacheprovider")
PASSED, FAILED = 0, 1  # pytest's exit codes; all others mean that nothing was judged

Outcome = Literal["killed", "survived", "does not apply", "not judged"]


@dataclass(frozen=True, kw_only=True)
class Change:
    """One changed line.

    file: below the checkout. before, after: the line without its indent; before stands there
    exactly once. tests: pytest ids that should fail. why: what would go wrong with it.
    """

    file: str
    before: str
    after: str
    tests: tuple[str, ...]
    why: str

    @property
    def room(self) -> str:
        """The room of the package that it is in."""
        return Path(self.file).parts[1].removesuffix(".py")


@dataclass(frozen=True, kw_only=True)
class Result:
    """What became of a change, and how long its tests took."""

    change: Change
    outcome: Outcome
    seconds: float = 0.0


def read_changes(path: Path = LIST) -> list[Change]:
    """The changes of a list.

    Raises
    ------
    ValueError : two of one file and line that make the same of it; one that changes nothing.
    """
    rows = tomllib.loads(path.read_text("utf-8"))["change"]
    changes = [Change(**{**row, "tests": tuple(row["tests"])}) for row in rows]
    seen = set()
    for change in changes:
        key = change.file, change.before, change.after
        if key in seen or change.before == change.after or not change.tests:
            raise ValueError(f"{change.file}: {change.after!r} stands twice, or changes nothing.")
        seen.add(key)
    return changes


def applied(text: str, change: Change) -> str | None:
    """The file's text with its one line changed; None where that line is not there just once."""
    lines = text.splitlines(keepends=True)
    at = [n for n, line in enumerate(lines) if line.strip() == change.before]
    if len(at) != 1:
        return None
    line = lines[at[0]]
    lines[at[0]] = line.replace(change.before, change.after)
    return "".join(lines)


@contextmanager
def copied(root: Path = ROOT) -> Iterator[Path]:
    """A copy of what the tests need, in a folder that goes away again."""
    with tempfile.TemporaryDirectory(prefix="mutations-") as folder:
        copy = Path(folder)
        for name in COPIED:
            if (root / name).is_dir():
                ignored = shutil.ignore_patterns("__pycache__", ".*_cache")
                shutil.copytree(root / name, copy / name, ignore=ignored)
        for file in root.iterdir():
            if file.is_file():
                shutil.copy2(file, copy)
        # Compiled once and known by what is in a file: by its time, a change within the same second
        # would go unseen.
        subprocess.run(
            [sys.executable, "-m", "compileall", "-q", "--invalidation-mode", "checked-hash",
             "inksim", "tests"],
            cwd=copy, check=False, capture_output=True,
        )  # fmt: skip
        yield copy


def run_tests(copy: Path, tests: Sequence[str], *, timeout_s: float = TIMEOUT_S) -> int | None:
    """Run tests in a copy until one fails: pytest's exit code; None where they take too long."""
    environment = {
        **os.environ,
        "PYTHONPATH": str(copy),
        "PYTHONDONTWRITEBYTECODE": "1",
        "OPENBLAS_NUM_THREADS": "1",
    }
    try:
        return subprocess.run(
            [sys.executable, *PYTEST, *tests],
            cwd=copy, env=environment, capture_output=True, check=False, timeout=timeout_s,
        ).returncode  # fmt: skip
    except subprocess.TimeoutExpired:
        return None


def judge(copy: Path, change: Change) -> Result:
    """Try one change in a copy, which is as it was afterwards."""
    file = copy / change.file
    text = file.read_text("utf-8") if file.is_file() else ""
    changed = applied(text, change)
    if changed is None:
        return Result(change=change, outcome="does not apply")
    start = time.perf_counter()
    try:
        file.write_text(changed, "utf-8")
        code = run_tests(copy, change.tests)
    finally:
        file.write_text(text, "utf-8")
    outcome: Outcome = (
        "killed" if code == FAILED else "survived" if code == PASSED else "not judged"
    )
    return Result(change=change, outcome=outcome, seconds=time.perf_counter() - start)


def failing_unchanged(copy: Path, changes: Sequence[Change]) -> list[str]:
    """Tests of the changes that do not pass without any."""
    tests = list(dict.fromkeys(test for change in changes for test in change.tests))
    whole = {test for test in tests if "::" not in test}
    tests = [t for t in tests if t in whole or t.partition("::")[0] not in whole]
    if run_tests(copy, tests, timeout_s=4 * TIMEOUT_S) == PASSED:
        return []
    return [test for test in tests if run_tests(copy, [test]) != PASSED]


def judge_all(
    changes: Sequence[Change],
    *,
    processes: int,
    root: Path = ROOT,
    told: Callable[[Result], None] = lambda result: None,
) -> list[Result]:
    """Judge changes in copies of a checkout, one a process, in the order given."""
    free: SimpleQueue[Path] = SimpleQueue()
    stack = [copied(root) for _ in range(max(1, min(processes, len(changes))))]
    for each in stack:
        free.put(each.__enter__())

    def one(change: Change) -> Result:
        copy = free.get()
        try:
            result = judge(copy, change)
        finally:
            free.put(copy)
        told(result)
        return result

    try:
        with ThreadPoolExecutor(len(stack)) as pool:
            return list(pool.map(one, changes))
    finally:
        for each in stack:
            each.__exit__(None, None, None)


def table(results: Sequence[Result]) -> str:
    """Killed of all, a room a line, and every change that was not killed."""
    rooms = sorted({result.change.room for result in results})
    lines = [f"{'room':12}  killed  of"]
    for room in rooms:
        own = [result for result in results if result.change.room == room]
        lines.append(f"{room:12}  {_killed(own):6}  {len(own):2}")
    lines.append(f"{'all':12}  {_killed(results):6}  {len(results):2}")
    for result in results:
        if result.outcome != "killed":
            change = result.change
            lines.append(f"{result.outcome}: {change.file}: {change.after}  ({change.why})")
    return "\n".join(lines)


def enough(results: Sequence[Result]) -> bool:
    """Whether as many were killed as should be, and every change could be tried."""
    tried = all(result.outcome in {"killed", "survived"} for result in results)
    return tried and _killed(results) >= LEAST_KILLED * len(results)


def _killed(results: Sequence[Result]) -> int:
    return sum(result.outcome == "killed" for result in results)
