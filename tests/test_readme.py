"""README and the first steps are executed: examples give the output they show, files exist."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from inksim.cli.commands import main

TOP = Path(__file__).resolve().parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")
STEPS = (TOP / "docs" / "first_steps.md").read_text(encoding="utf-8")


def examples() -> list[tuple[str, str]]:
    """Commands of the console blocks, each with the output shown below it."""
    found = []
    for block in re.findall(r"```console\n(.*?)```", README + STEPS, flags=re.S):
        for part in re.split(r"^\$ ", block, flags=re.M)[1:]:
            command, _, shown = part.partition("\n")
            found.append((command, shown.strip("\n")))
    return list(dict.fromkeys(found))


def test_there_is_a_worked_example() -> None:
    assert examples()


@pytest.mark.parametrize(("command", "shown"), examples())
def test_a_worked_example_gives_what_it_shows(command: str, shown: str) -> None:
    program, *words = shlex.split(command)
    assert program.endswith("inksim")
    result = CliRunner().invoke(main, words)
    assert result.exit_code in (0, 1), result.stderr
    assert result.stdout.strip("\n") == shown


def test_the_python_it_shows_is_the_first_script_and_prints_what_it_says(
    capsys: pytest.CaptureFixture[str],
) -> None:
    (shown,) = re.findall(r"```python\n(.*?)```\n\nIt says `(.*?)`", STEPS, flags=re.S)
    code, said = shown
    (script,) = (TOP / "docs" / "examples").glob("01_*.py")
    _, _, body = script.read_text(encoding="utf-8").partition('"""\n\n')
    assert code == body
    exec(compile(code, "README.md", "exec"), {})
    assert capsys.readouterr().out.strip() == said
    count = len(list((TOP / "docs" / "examples").glob("*.py")))
    assert count == 6, "it says how many scripts there are"


def test_every_file_it_points_at_exists() -> None:
    links = re.findall(r"\]\(([^)#:]+)\)", README) + re.findall(r'src="([^":]+)"', README)
    assert links
    for link in links:
        assert (TOP / link).exists(), link
