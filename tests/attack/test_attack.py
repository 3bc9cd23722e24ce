"""The fixed part of the attack finds nothing, the harness does find faults, every reader has a row.

What it runs against is inksim's own rule: bad input is an `InputError` in a sentence, and a program
that is killed leaves everything as before or after.
"""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from inksim.common import InputError
from tests.attack import mutators, registered
from tests.attack.__main__ import FIXED_CASES
from tests.attack.engine import ROOT, Suite, judged, message_fault, of_children, results
from tests.attack.mutators import spoiled

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="children are forked")


def test_the_fixed_part_finds_nothing(tmp_path: Path) -> None:
    """Run as it is documented, in a program of its own: pytest's is large to fork."""
    before = {path.name for path in ROOT.iterdir()}
    done = subprocess.run(
        [sys.executable, "-m", "tests.attack", "--out", str(tmp_path / "failures")],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=900,
    )  # fmt: skip
    said = "\n".join(
        path.read_text("utf-8")[:1500] for path in sorted((tmp_path / "failures").glob("*.txt"))
    )
    assert done.returncode == 0, f"{done.stdout}\n{done.stderr[-2000:]}\n{said}"
    found = re.search(r"^all +(\d+) +0 +0 ", done.stdout, re.MULTILINE)
    assert found, done.stdout
    assert int(found[1]) > 0.97 * FIXED_CASES
    made = {path.name for path in ROOT.iterdir() if path.name[0] != "."} - before
    assert not made, "a case wrote beside its own folder"


def test_what_has_no_row_is_named() -> None:
    """The fixed part begins with this check; here is that it sees what there is."""
    needed = registered.needed()
    assert {"picture PNG", "readings CxF", "shop inks.toml", "ledger/promises.py"} <= needed
    assert {"readings:read_readings", "job:load_job", "artwork:read_mapping"} <= needed
    rows = [suite(None, covers=tuple(needed - {"readings CxF"}))]
    with pytest.raises(LookupError, match=r"covers readings CxF$"):
        registered.check_registered(rows)


def suite(attempt: object, **more: object) -> Suite:
    return Suite(name="any", weight=1, attempt=attempt, **more)  # type: ignore[arg-type]


def _raise(error: BaseException) -> None:
    raise error


ENDS = {
    "a sentence": (lambda: _raise(InputError("give a number above 0.")), ""),
    "nothing": (lambda: None, ""),
    "a fault of Python": (lambda: {}["x"], "KeyError"),
    "Python's words": (lambda: _raise(InputError("'NoneType' object has no x")), "Python's"),
    "an end": (lambda: sys.exit(3), "SystemExit"),
    "a warning": (lambda: __import__("warnings").warn("x", stacklevel=1), "UserWarning"),
}


@pytest.mark.parametrize("name", ENDS)
def test_a_case_is_judged(name: str) -> None:
    action, word = ENDS[name]
    fault, where = judged(action)
    assert bool(fault) == bool(word)
    assert word in where


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("x" * 310, "310 characters"),
        ("x" * 300 + "\n" + "y" * 300, ""),
        ("a\x1bb", "U+001B"),
        ("a\u202eb", "RIGHT-TO-LEFT"),
        ("of /tmp/made-here/x", "temporary"),
    ],
)
def test_words_of_a_message_are_judged(text: str, word: str) -> None:
    found = message_fault(text, scratch="/tmp/made-here")
    assert word in found
    assert bool(found) == bool(word)


def _hostile(at: int, _: Path) -> None:
    if at == 2:
        os.kill(os.getpid(), signal.SIGSEGV)
    if at == 4:
        while True:
            pass
    if at == 5:
        held = bytearray(300 * 2**20)
        held[::4096] = b"x" * len(held[::4096])


def test_a_case_that_ends_its_process_is_told_and_the_others_go_on(tmp_path: Path) -> None:
    one = suite(_hostile, cpu_s=2.0, memory_mb=100)
    told = {result.at: result.fault for _, result in results(
        [(one, range(7))], home=tmp_path, processes=1)}  # fmt: skip
    assert told == {
        0: "", 1: "", 2: "its process ends with -11", 3: "", 4: "takes more than 2 s",
        5: "takes more than 100 MB", 6: "",
    }  # fmt: skip
    assert list(tmp_path.iterdir()) == []


def test_the_smallest_file_that_fails_is_found(tmp_path: Path) -> None:
    from tests.attack.__main__ import smallest

    def fails(at: int, data: bytes, folder: Path) -> None:
        if b"!" in data:
            raise ValueError

    one = suite(
        lambda at, folder: fails(at, b"", folder),
        content=lambda at: b"some words before ! and after", attempt_with=fails,
    )  # fmt: skip
    result = of_children(one, [0], home=tmp_path, run=lambda at, folder: fails(at, b"!", folder))[0]
    assert smallest(one, result, home=tmp_path) == b"!"


def test_a_seed_makes_the_same_files() -> None:
    import random

    for by in (mutators.PNG, mutators.TOML, mutators.JSON):
        one, two = (
            [spoiled(random.Random(at), b'a = 1\nb = "x"\n', by) for at in range(40)]
            for _ in range(2)
        )
        assert one == two
        assert len(set(one)) > 20
