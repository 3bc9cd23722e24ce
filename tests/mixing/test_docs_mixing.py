"""docs/mixing.md is executed: its commands and its Python."""

from __future__ import annotations

import json
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
    for name, text in re.findall(r"```toml\n# (\S+)\n(.*?)```", PAGE, flags=re.S):
        (folder / name).write_text(text, encoding="utf-8")
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
    if "--leftover" in words and "ink-room" in words and "--json" not in words:
        first = done.stdout.split("\n1. ")[1].split("\n2. ")[0]  # to 2 %, as the other buckets
        for ink, grams in re.findall(r"^ +([^\d\n]+?)  +[\d.]+%  +([\d.]+) g", first, re.MULTILINE):
            wrote = re.search(rf"([\d.]+) g (?:of the )?{ink}", PAGE[PAGE.index("All 120") :], re.I)
            assert wrote is not None
            assert float(wrote[1]) == pytest.approx(float(grams), rel=0.02, abs=0.3)
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


def test_the_two_buckets_are_weighed_and_corrected_as_it_says(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """To 2 %: a search on another machine may end a little beside."""
    monkeypatch.chdir(place)
    tables = re.findall(r"\| weigh in \| g \|\n\| --- \| --- \|\n((?:\|.*\n)+)", PAGE)
    asked = [line for line in COMMANDS if line.endswith(("> moss.json", "> coral.json"))]
    said = [re.search(r"--correct (\S+) --of (?:moss|coral)\.json", PAGE[PAGE.index(line):])
            for line in asked]  # fmt: skip
    assert len(tables) == len(asked) == 2
    for table, line, reading in zip(tables, asked, said, strict=True):
        words = shlex.split(line.partition(" > ")[0])[1:]
        shop = words.index("--shop") if "--shop" in words else len(words)
        done = CliRunner().invoke(main, words[:shop])
        parts = {p["ink"]: p["grams"] for p in json.loads(done.stdout)["recipes"][0]["parts"]}
        told = {ink: float(grams) for ink, grams in re.findall(r"\| (\D+) \| ([\d.]+) \|", table)}
        assert told == pytest.approx(parts, rel=0.02, abs=0.3)
        Path("walked.json").write_text(done.stdout, encoding="utf-8")
        assert reading is not None
        corrected = CliRunner().invoke(
            main, ["mix", "--correct", reading[1], "--of", "walked.json"]
        )
        rows = re.findall(r"^([^\d\n]+?)  +[\d.]+ g +([\d.]+) g", corrected.stdout, re.MULTILINE)
        assert rows
        for ink, grams in rows:
            wrote = re.findall(rf"([\d.]+) g {ink}", PAGE[PAGE.index(line) :])[0]
            assert float(wrote) == pytest.approx(float(grams), rel=0.02, abs=0.3)


@pytest.mark.parametrize(("field", "usual"), re.findall(r"^\| `(\w+)` \| ([\d.]+)", PAGE, re.M))
def test_a_number_it_names_is_the_usual_one(field: str, usual: str) -> None:
    assert float(usual) == getattr(RulesEntry(), field)
