"""Try a release as a user gets it: ``python -m tests.release newest|lowest|core [OPTIONS]``.

Builds the sdist and from it the wheel, installs the wheel in an environment of its own with the
newest or the lowest versions that pyproject.toml allows (core: without the app's packages, as
requirements-core.txt has them), and from an empty folder runs commands, imports and the app (see
walk.py). Then the unpacked sdist passes its own tests there, a few by default. ``build`` only
builds, into dist/. Exit code: 0 all of it passed.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

from tests.release.requirements import ROOT, asked_for, lowest

TESTS = (
    "tests/test_frame.py", "tests/test_rooms.py", "tests/colour", "tests/readings",
    "tests/reports/test_pdf.py", "tests/photo/test_photo_command.py", "tests/ui/test_base.py",
    "tests/ui/test_job.py",
)  # fmt: skip
"""Few files that touch every dependency."""
WALK = Path(__file__).with_name("walk.py")


def run(*words: object, folder: Path, **environment: str) -> None:
    """Run a command there, with nothing of this process's Python; SystemExit if it fails."""
    own = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    print("+", *words, flush=True)
    done = subprocess.run([*map(str, words)], cwd=folder, env=own | environment, check=False)
    if done.returncode:
        raise SystemExit(done.returncode)


def build(into: Path) -> tuple[Path, Path]:
    """Build ``(sdist, wheel)`` into a folder, the wheel from the sdist."""
    with tempfile.TemporaryDirectory() as folder:
        tools = Path(folder) / "tools"
        run(sys.executable, "-m", "venv", tools, folder=ROOT)
        run(tools / "bin" / "pip", "install", "--quiet", "build", folder=ROOT)
        run(tools / "bin" / "python", "-m", "build", "--outdir", into, ROOT, folder=ROOT)
    (sdist,), (wheel,) = into.glob("*.tar.gz"), into.glob("*.whl")
    return sdist, wheel


def install(where: Path, *, python: str, wheel: Path, source: Path, kind: str) -> Path:
    """Install the wheel as this kind in a new environment, and return its Python."""
    run(python, "-m", "venv", where, folder=where.parent)
    pip = (where / "bin" / "pip", "install", "--quiet")
    if kind == "core":
        run(*pip, "-r", source / "requirements-core.txt", folder=where.parent)
        run(*pip, "--no-deps", wheel, folder=where.parent)
    else:
        run(*pip, *_held(where, kind), f"{wheel}[artwork]", folder=where.parent)
    return where / "bin" / "python"


def _held(where: Path, kind: str) -> list[object]:
    """Words for pip that hold it to the lowest versions, if this kind does."""
    if kind != "lowest":
        return []
    held = where.with_name("lowest.txt")
    held.write_text("\n".join(lowest(asked_for("artwork"))), encoding="utf-8")
    return ["-c", held]


def main() -> None:
    """Build, install, walk, test."""
    parser = argparse.ArgumentParser(prog="python -m tests.release", description=__doc__)
    parser.add_argument("kind", choices=["newest", "lowest", "core", "build"])
    parser.add_argument("--python", default=sys.executable, help="the interpreter to install for")
    parser.add_argument("--tests", nargs="*", default=TESTS, help="paths in the sdist; none: none")
    given = parser.parse_args()
    if given.kind == "build":
        shutil.rmtree(ROOT / "dist", ignore_errors=True)
        print(*build(ROOT / "dist"), sep="\n")
        return
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sdist, wheel = build(folder / "dist")
        with tarfile.open(sdist) as packed:
            packed.extractall(folder, filter="data")
        source = folder / sdist.name.removesuffix(".tar.gz")
        python = install(
            folder / "installed", python=given.python, wheel=wheel, source=source, kind=given.kind
        )
        empty = folder / "empty"
        empty.mkdir()
        core = ["core"] if given.kind == "core" else []
        run(python, "-I", WALK, *core, folder=empty, HOME=str(folder))
        if given.tests and not core:
            pip = (python.with_name("pip"), "install", "--quiet")
            run(*pip, *_held(folder / "installed", given.kind), f"{wheel}[dev]", folder=folder)
            run(python, "-m", "pytest", "-p", "no:cacheprovider", *given.tests, folder=source)


if __name__ == "__main__":
    main()
