"""The mutation harness: it kills, reports what survives, and tells a line that is gone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.mutations.harness import (
    ROOT,
    Change,
    Result,
    applied,
    enough,
    judge_all,
    read_changes,
    table,
)
from tests.test_rooms import ROOMS

CHANGES = read_changes()
SMALL = (
    "inksim/common/days.py",
    "inksim/optics/halftone.py",
    "inksim/stock/screen.py",
    "inksim/job/merge.py",
    "inksim/separation/dots.py",
)
"""Files of which the first change is tried whenever the tests run; the whole list on demand."""


def test_the_list_applies_and_names_tests_that_are_there() -> None:
    # A rewritten line is told by the whole run, which fails for it; here only a list grown stale.
    assert len(CHANGES) >= 80
    gone = [c for c in CHANGES if applied((ROOT / c.file).read_text("utf-8"), c) is None]
    assert len(gone) <= 0.05 * len(CHANGES), gone
    for change in CHANGES:
        for test in change.tests:
            file, _, name = test.partition("::")
            text = (ROOT / file).read_text("utf-8")
            assert not name or f"def {name.partition('[')[0]}(" in text, test


def test_every_room_is_in_the_list() -> None:
    assert {change.room for change in CHANGES} == set(ROOMS)


def test_known_changes_are_killed_and_one_that_no_test_sees_survives() -> None:
    known = [next(each for each in CHANGES if each.file == file) for file in SMALL]
    first = known[0]
    unseen = replace(
        next(each for each in CHANGES if each.file == "inksim/optics/halftone.py"),
        tests=first.tests,  # of another module
    )
    before = (ROOT / first.file).read_text("utf-8")
    results = judge_all([*known, unseen], processes=1)
    assert [each.outcome for each in results] == ["killed"] * len(known) + ["survived"]
    assert (ROOT / first.file).read_text("utf-8") == before  # only the copy is changed
    assert f"survived: {unseen.file}" in table(results)
    assert not enough(results)


def test_a_line_that_is_gone_or_there_twice_is_no_change(tmp_path: Path) -> None:
    change = Change(file="a.py", before="x = 1", after="x = 2", tests=("t.py",), why="")
    assert applied("if y:\n    x = 1\n", change) == "if y:\n    x = 2\n"
    assert applied("x = 12\n", change) is None
    assert applied("x = 1\nx = 1\n", change) is None
    gone = replace(change, file="inksim/common/days.py", before="nothing like it")
    (result,) = judge_all([gone], processes=1, root=tmp_path)
    assert result.outcome == "does not apply"
    killed = Result(change=gone, outcome="killed")
    assert enough([killed] * 19 + [Result(change=gone, outcome="survived")])
    assert not enough([killed] * 18 + [Result(change=gone, outcome="survived")])
    assert not enough([killed] * 99 + [result])


def test_a_list_that_says_a_thing_twice_is_refused(tmp_path: Path) -> None:
    row = '[[change]]\nfile = "a.py"\nbefore = "x"\nafter = "{}"\ntests = ["t"]\nwhy = ""\n'
    path = tmp_path / "changes.toml"
    for text in (2 * row.format("y"), row.format("x")):
        path.write_text(text, "utf-8")
        with pytest.raises(ValueError, match="twice"):
            read_changes(path)
