"""Run the commands of the console blocks of README and docs, and write their output below them.

Run from the top of the project after a change that moves numbers:
``python tools/refresh_readme.py``.
Read the difference before you commit it: the words around it must still be true.
"""

from __future__ import annotations

import re
import shlex
from pathlib import Path

from click.testing import CliRunner

from inksim.cli.commands import main as inksim

TOP = Path(__file__).resolve().parent.parent
PAGES = (TOP / "README.md", TOP / "docs" / "calibration.md")


def _run(block: re.Match[str]) -> str:
    parts = re.split(r"^\$ ", block.group(1), flags=re.M)[1:]
    said = []
    for part in parts:
        command = part.partition("\n")[0]
        output = CliRunner().invoke(inksim, shlex.split(command)[1:]).stdout.strip("\n")
        said.append(f"$ {command}\n{output}\n")
    return "```console\n" + "".join(said) + "```"


def main() -> None:
    """Rewrite the pages in place."""
    for page in PAGES:
        text = page.read_text(encoding="utf-8")
        page.write_text(re.sub(r"```console\n(.*?)```", _run, text, flags=re.S), encoding="utf-8")


if __name__ == "__main__":
    main()
