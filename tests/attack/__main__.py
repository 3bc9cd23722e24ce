"""``python -m tests.attack [--cases N] [--seed S] [--only WORD]``: see the package.

Prints a table; writes each failure once, with the smallest file that fails in the same way. Exit
code: 0 nothing failed, 1 something did.
"""

from __future__ import annotations

import argparse
import itertools
import random
import re
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.attack import commands, extremes, kills, readers, registered
from tests.attack.engine import Result, Suite, of_children, results
from tests.attack.world import World, warmed

FIXED_CASES, FIXED_SEED = 1200, 1
SHRINK_RUNS, SHRINK_AT_ONCE, SHRINK_S = 600, 24, 20.0


@dataclass(kw_only=True)
class Tally:
    """What became of the cases of a suite; faults: the first case of each, by where."""

    cases: int = 0
    failed: int = 0
    cpu_s: float = 0.0
    slowest_s: float = 0.0
    most_mb: float = 0.0
    faults: dict[str, Result] = field(default_factory=dict)

    def add(self, result: Result) -> bool:
        """Count a case; whether it failed in a new way."""
        self.cases += 1
        self.cpu_s += result.cpu_s
        self.slowest_s = max(self.slowest_s, result.cpu_s)
        self.most_mb = max(self.most_mb, result.grown_mb)
        self.failed += bool(result.fault)
        new = bool(result.fault) and result.where not in self.faults
        if new:
            self.faults[result.where] = result
        return new


def every_suite(world: World, *, seed: int) -> list[Suite]:
    """All cases of a seed, by suite."""
    found = [
        *readers.suites(world, seed=seed),
        *commands.suites(world, seed=seed),
        *extremes.suites(world, seed=seed),
        *kills.suites(world, seed=seed),
    ]
    registered.check_registered(found)
    return found


def shares(suites: Sequence[Suite], cases: int) -> dict[str, int]:
    """How many cases each suite has, of so many in all."""
    whole = sum(suite.weight for suite in suites)
    return {each.name: max(2, round(cases * each.weight / whole)) for each in suites}


def batches(suites: Sequence[Suite], counts: dict[str, int]) -> Iterator[tuple[Suite, range]]:
    """The cases in batches, of all suites in turn, so that a stopped run has tried them all."""
    todo = [
        (
            start / counts[suite.name],
            suite,
            range(start, min(start + suite.batch, counts[suite.name])),
        )
        for suite in suites
        for start in range(0, counts[suite.name], suite.batch)
    ]
    for _, suite, indices in sorted(todo, key=lambda each: each[0]):
        yield suite, indices


def _until(end: float, work: Iterator[tuple[Suite, range]]) -> Iterator[tuple[Suite, range]]:
    """The batches that are begun before an end."""
    return itertools.takewhile(lambda _: time.monotonic() < end, work)


def smallest(suite: Suite, result: Result, *, home: Path) -> bytes | None:
    """The smallest file found that fails in the same way; None where no file is at fault.

    Pieces are cut out, each half as long as the last; of those tried at once the first that still
    fails is gone on with.
    """
    attempt = suite.attempt_with
    if suite.content is None or attempt is None:
        return None
    best = suite.content(result.at)
    size, start, runs = max(1, len(best) // 2), 0, 0
    give_up = time.monotonic() + SHRINK_S
    while size and runs < SHRINK_RUNS and time.monotonic() < give_up:
        places = range(start, len(best), size)[:SHRINK_AT_ONCE]
        tried = [best[:at] + best[at + size :] for at in places]
        runs += len(tried)
        found = of_children(
            suite, range(len(tried)), home=home,
            run=lambda at, folder, tried=tried: attempt(result.at, tried[at], folder),  # type: ignore[misc]
        )  # fmt: skip
        good = [at for at in range(len(tried)) if found[at].where == result.where]
        if good:
            best, start = tried[good[0]], places[good[0]]
        elif tried:
            start = places[-1] + size
        if not tried:
            size, start = size // 2, 0
    return best


def write_failure(out: Path, suite: Suite, result: Result, *, seed: int, home: Path) -> Path:
    """Write what failed, and the file that it failed on."""
    out.mkdir(parents=True, exist_ok=True)
    stem = re.sub(r"[^\w.-]+", "-", f"{suite.name}-{result.where}")[:90].strip("-")
    data = smallest(suite, result, home=home)
    if data is not None:
        (out / f"{stem}{suite.suffix}").write_bytes(data)
    told = out / f"{stem}.txt"
    told.write_text(
        f"{suite.name}, case {result.at} of seed {seed}\n{result.where}\n\n{result.fault}\n",
        encoding="utf-8", errors="backslashreplace",
    )  # fmt: skip
    return told


def table(tallies: dict[str, Tally]) -> str:
    """The table of a run."""
    lines = [f"{'':30}{'cases':>8}{'failed':>8}{'ways':>6}{'CPU s':>9}{'slowest':>9}{'MB':>7}"]
    for name, t in tallies.items():
        lines.append(
            f"{name:30}{t.cases:8}{t.failed:8}{len(t.faults):6}{t.cpu_s:9.1f}{t.slowest_s:9.2f}"
            f"{t.most_mb:7.0f}"
        )
    whole = tallies.values()
    lines.append(
        f"{'all':30}{sum(t.cases for t in whole):8}{sum(t.failed for t in whole):8}"
        f"{sum(len(t.faults) for t in whole):6}{sum(t.cpu_s for t in whole):9.1f}"
        f"{max(t.slowest_s for t in whole):9.2f}{max(t.most_mb for t in whole):7.0f}"
    )
    return "\n".join(lines)


def main(argv: Sequence[str] | None = None) -> int:
    """Attack, and tell."""
    parser = argparse.ArgumentParser(prog="python -m tests.attack", description=__doc__)
    parser.add_argument("--cases", type=int, default=FIXED_CASES)
    parser.add_argument("--seed", type=int, default=FIXED_SEED)
    parser.add_argument(
        "--minutes", type=float, default=1e9, help="begin no more cases after these"
    )
    parser.add_argument("--only", default="", help="suites whose name has this word")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--out", type=Path, default=Path("attack-failures"))
    given = parser.parse_args(argv)
    random.seed(given.seed)
    start = time.monotonic()
    with warmed() as world:
        suites = [s for s in every_suite(world, seed=given.seed) if given.only in s.name]
        if not suites:
            parser.error(f"no suite has '{given.only}' in its name")
        ready = time.monotonic() - start
        tallies = {suite.name: Tally() for suite in suites}
        counts = shares(suites, given.cases)
        found: list[tuple[Suite, Result]] = []
        told = time.monotonic()
        for suite, result in results(
            _until(start + 60 * given.minutes, batches(suites, counts)),
            home=world.home,
            processes=given.processes,
        ):
            if tallies[suite.name].add(result):
                found.append((suite, result))
                print(f"FAILED {suite.name}, case {result.at}: {result.where}", flush=True)
            if time.monotonic() - told > 60:
                told = time.monotonic()
                done = sum(t.cases for t in tallies.values())
                print(f"{done} cases, {told - start:.0f} s", file=sys.stderr, flush=True)
        for suite, result in found:
            path = write_failure(given.out, suite, result, seed=given.seed, home=world.home)
            print(f"wrote {path}")
    print(table(tallies))
    print(f"seed {given.seed}; {ready:.0f} s to warm, {time.monotonic() - start:.0f} s in all")
    return 1 if any(t.failed for t in tallies.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
