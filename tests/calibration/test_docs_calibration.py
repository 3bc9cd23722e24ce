"""docs/calibration.md is true: its example gives what it shows, its commands run on its table; and
the demo's readings are those that their tool makes."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from inksim.calibration.print_rows import read_print_rows
from inksim.cli.commands import main
from inksim.shop.load import load_shop
from tools import make_demo_readings

TOP = Path(__file__).parents[2]
PAGE = (TOP / "docs" / "calibration.md").read_text(encoding="utf-8")


def blocks(kind: str) -> list[str]:
    return re.findall(rf"^```{kind}\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)


def test_the_example_gives_what_it_shows() -> None:
    (block,) = blocks("console")
    command, _, shown = block.removeprefix("$ ").partition("\n")
    result = CliRunner().invoke(main, shlex.split(command)[1:])
    assert result.exit_code == 0, result.stderr
    assert result.stdout.strip("\n") == shown.strip("\n")


def test_the_commands_run_on_its_table(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (table,), (commands, recorded) = blocks("csv"), blocks("sh")
    Path("prints.csv").write_text(table, encoding="utf-8")
    read = read_print_rows(Path("prints.csv"), shop=load_shop())
    assert len(read.rows) == 4
    assert read.unread == ("pink half",)
    for line in commands.splitlines():
        result = CliRunner().invoke(main, shlex.split(line)[1:])
        assert result.exit_code == 0, f"{line}\n{result.stderr}"
    assert load_shop(tmp_path / "mill-lane").press.calibrated  # --to 1, after --back
    assert "1 of 4 readings is new" in result.stderr
    for line in recorded.splitlines():
        result = CliRunner().invoke(main, shlex.split(line)[1:])
        assert result.exit_code == 0, f"{line}\n{result.stderr}"


def test_the_demos_readings_are_what_their_tool_makes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = make_demo_readings.OUT
    monkeypatch.setattr(make_demo_readings, "OUT", tmp_path / "readings" / "made.csv")
    make_demo_readings.main()
    made, shown = (
        read_print_rows(path, shop=load_shop()).rows for path in (make_demo_readings.OUT, kept)
    )
    assert "INVENTED" in kept.read_text(encoding="utf-8").splitlines()[0]
    assert len(made) == len(shown)
    for one, two in zip(made, shown, strict=True):
        assert one.lab is not None
        assert one.lab == pytest.approx(two.lab, abs=0.011)
