"""The accuracy report keeps what it promises, and the page in docs/ says the same."""

from __future__ import annotations

import re
from functools import cache
from types import ModuleType

import pytest

from tests.accuracy import Row, chapters, row
from tests.accuracy.__main__ import main
from tests.accuracy._report import PAGE, cells, markdown, renewed, text

CHAPTERS = {module.__name__.rpartition(".")[2]: module for module in chapters()}
QUICK = {name: module for name, module in CHAPTERS.items() if not getattr(module, "SLOW", False)}


@cache
def rows_of(name: str) -> tuple[Row, ...]:
    return tuple(CHAPTERS[name].rows())


def test_what_the_report_has_at_least() -> None:
    assert {"colour_difference", "lights", "films", "recovery", "cloths"} <= set(QUICK)


@pytest.mark.parametrize("name", sorted(QUICK))
def test_a_chapter_keeps_its_promises(name: str) -> None:
    """The limits stand beside each row with their source; none may be missed."""
    rows = rows_of(name)
    assert rows
    assert any(each.limits for each in rows), "a chapter promises something"
    missed = [f"{each.check}: {each.missed} (promised {dict(each.limits)})" for each in rows]
    assert [m for m, each in zip(missed, rows, strict=True) if each.missed] == []


# What was asked of the report beforehand: check, n, statistic, most. A row may promise more.
ASKED = [
    ("colour_difference", "CIEDE2000, 34 pairs", 68, "worst", 1e-4),
    ("colour_difference", "CMC(1:1) and CMC(2:1)", 8, "worst", 1e-4),
    ("lights", "Weights of", 5022, "worst", 1e-12),
    ("lights", "Printed spectra", 144, "median", 0.07),
    ("lights", "Printed spectra", 144, "worst", 0.3),
    ("films", "Film over a backing", 36, "worst", 1e-8),
    ("recovery", "ISO 17321-1", 24, "worst", 0.1),
    ("recovery", "CIE 2017", 99, "worst", 0.1),
    ("recovery", "textiles", 33, "worst", 0.1),
]


@pytest.mark.parametrize(("name", "start", "n", "statistic", "most"), ASKED)
def test_a_row_promises_what_was_asked(
    name: str, start: str, n: int, statistic: str, most: float
) -> None:
    (found,) = [each for each in rows_of(name) if each.check.startswith(start)]
    assert found.n == n
    assert found.limits[statistic] <= most
    assert getattr(found, statistic) <= most


# -- the page


def shown(check: str) -> list[str]:
    """The cells of one line of docs/accuracy.md."""
    page = PAGE.read_text(encoding="utf-8")
    (line,) = re.findall(rf"^\| {re.escape(check)} \|.*$", page, re.MULTILINE)
    return [cell.strip() for cell in line.strip("| ").split(" | ")]


@pytest.mark.parametrize("name", sorted(QUICK))
def test_the_page_shows_what_a_run_gives(name: str) -> None:
    """Rounding differs from machine to machine: 2 % from 0.01 on, below that nothing is held."""
    for each in rows_of(name):
        fresh, printed = cells(each), shown(cells(each)[0])
        assert printed[1] == fresh[1]
        for now, then in zip(fresh[2:6], printed[2:6], strict=True):
            if float(now) > 0.01:
                assert float(then) == pytest.approx(float(now), rel=0.02)
        assert printed[6:] == fresh[6:], "unit, promise and source"


def test_the_page_has_every_chapter() -> None:
    page = PAGE.read_text(encoding="utf-8")
    for name, module in CHAPTERS.items():
        heading = (module.__doc__ or "").partition("\n")[0].rstrip(".")
        assert f"\n## {heading}\n" in page, name


# -- the report itself


def test_statistics_are_of_the_size_of_the_errors() -> None:
    made = row("x", "y", [-4.0, 1.0, 1.0, 2.0], limits={"median": 1.5, "worst": 3.9})
    assert (made.n, made.mean, made.median, made.worst) == (4, 2.0, 1.5, 4.0)
    assert made.missed == {"worst": 3.9}
    assert "MISSED" in text([made])


def test_an_error_that_is_no_number_misses_its_limit() -> None:
    assert row("x", "y", [0.0, float("nan")], limits={"worst": 1.0}).missed


def test_a_row_needs_cases_and_a_limit_a_statistic() -> None:
    with pytest.raises(ValueError, match="nothing to compare"):
        row("x", "y", [])
    with pytest.raises(ValueError, match="most"):
        row("x", "y", [1.0], limits={"most": 1.0})


def test_a_pipe_in_a_cell_does_not_break_the_page() -> None:
    module = ModuleType("chapter", "A heading.\n\nText.")
    page = markdown([(module, [row("a | b", "c", [1.0])])])
    assert "| a \\| b | 1 | 1 |" in page
    assert page.rstrip().endswith("## A heading\n\nText.")


def test_a_chapter_made_again_changes_its_own_part_alone() -> None:
    one, two, three = (ModuleType(name, f"{name}.\n\nText.") for name in ("One", "Two", "Three"))
    before = [(each, [row(f"check {each.__name__}", "c", [1.0])]) for each in (one, two, three)]
    after = [before[0], (two, [row("another", "c", [2.0]), row("more", "c", [3.0])]), before[2]]
    two.__doc__ = "Two.\n\nOther text."
    assert renewed(markdown(before), after[1:2]) == markdown(after)
    assert renewed(markdown(after), after) == markdown(after)
    with pytest.raises(ValueError, match="no chapter 'Four'"):
        renewed(markdown(after), [(ModuleType("four", "Four."), [])])


def test_the_command_tells_what_it_cannot_do(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["nonesuch"]) == 2
    assert "films" in capsys.readouterr().err
    assert main(["colour_diff"]) == 0
    assert "Sharma" in capsys.readouterr().out
