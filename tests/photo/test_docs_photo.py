"""docs/photo.md is executed: its commands, on the picture that it shows."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from inksim.cli.commands import main
from tests.photo.rendered import taken
from tests.small_shop import few_inks

PAGE = (Path(__file__).parents[2] / "docs" / "photo.md").read_text(encoding="utf-8")


def test_its_commands_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    taken().save(tmp_path / "shirts.jpg")
    few_inks(tmp_path / "my-shop", "Kiln Red", "Chalk White Base")
    blocks = re.findall(r"```sh\n(.*?)```", PAGE, flags=re.S)
    assert len(blocks) == 2
    for block in blocks:
        program, *words = shlex.split(block.replace("\\\n", ""))
        assert program == "inksim"
        done = CliRunner().invoke(main, words)
        assert done.exit_code == 0, done.stderr
    assert "Sage Tee" in (tmp_path / "my-shop" / "garments.toml").read_text(encoding="utf-8")
