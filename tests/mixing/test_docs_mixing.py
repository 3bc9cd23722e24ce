"""docs/mixing.md is executed: its commands and its Python."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from inksim.cli.commands import main
from inksim.shop.schema import RulesEntry
from tests.small_shop import few_inks

TOP = Path(__file__).resolve().parents[2]
PAGE = (TOP / "docs" / "mixing.md").read_text(encoding="utf-8")
COMMANDS = [line for block in re.findall(r"```sh\n(.*?)```", PAGE, flags=re.S)
            for line in block.splitlines()]  # fmt: skip


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the commands run one after another: what one writes, the next ones read."""
    folder = tmp_path_factory.mktemp("ink-room")
    (folder / "shared").symlink_to(TOP / "shared")
    few_inks(folder / "my-shop", "Kiln Red", "Damson Purple", "Chalk White Base")
    return folder


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_runs(command: str, place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(place)
    command, _, file = command.partition(" > ")
    program, *words = shlex.split(command)
    assert program == "inksim"
    done = CliRunner().invoke(main, words)
    assert done.exit_code in (0, 1), done.stderr
    assert "this run" in done.stdout or "--job" not in words
    if file:
        Path(file).write_text(done.stdout, encoding="utf-8")
    elif "--correct" in words:
        assert "in the bucket" in done.stdout


def test_its_python_runs(capsys: pytest.CaptureFixture[str]) -> None:
    for code in re.findall(r"```python\n(.*?)```", PAGE, flags=re.S):
        exec(compile(code, "mixing.md", "exec"), {})
    said = capsys.readouterr().out.splitlines()
    assert said
    assert all("Chalk White Base" in line or "Discharge" in line for line in said)


@pytest.mark.parametrize(("field", "usual"), re.findall(r"^\| `(\w+)` \| ([\d.]+)", PAGE, re.M))
def test_a_number_it_names_is_the_usual_one(field: str, usual: str) -> None:
    assert float(usual) == getattr(RulesEntry(), field)
