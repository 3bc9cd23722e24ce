"""The shop that is attacked: made once in the parent, with one sound file of every kind."""

from __future__ import annotations

import copy
import importlib
import io
import os
import pkgutil
import shutil
import signal
import sys
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NoReturn

from click.testing import CliRunner

import inksim
from inksim.artwork import sandbox, sandbox_child
from inksim.cli.commands import main
from inksim.colour import Viewing
from inksim.decision import answer_of
from inksim.ledger import issue_proof, open_job
from inksim.printing import predict
from inksim.shop import Shop, load_shop, save_press, usual_build
from tests.cli.test_every_command import Place

DAY = date(2026, 3, 4)
LIBRARIES = (
    "colour", "colour_cxf.cxf3", "pandas", "psd_tools", "psd_tools.api.utils", "pypdfium2",
    "resvg_py", "scipy.ndimage", "scipy.optimize", "scipy.sparse", "scipy.special",
    "skimage.color", "skimage.measure", "skimage.segmentation", "tifffile", "tomlkit",
    "xsdata.formats.dataclass.parsers", "fpdf", "PIL.ImageCms",
)  # fmt: skip
"""What inksim imports when it first needs it: loaded once, in the parent."""
DRAWING_S = 15


class World:
    """A place of `test_every_command`, and more: proofs sealed, a decision kept, a press kept."""

    def __init__(self, home: Path) -> None:
        self.home = home
        (home / "place").mkdir()
        self.place = Place(home / "place")
        self.place.keep_readings()
        self.place.keep_job(changed=True)
        self.run("add", "target", "--name", "Lichen", "--hex", "#6f7d3a")
        self.run("advise", "mill-logo")  # keeps what it decided
        self.shop: Shop = load_shop(self.place.shop)
        issue_proof(
            self.shop, self.promised(), design="any", viewing=Viewing(), day=DAY, job="mill-logo"
        )
        save_press(self.place.shop, self.shop.press, day=DAY.isoformat(), readings=2)
        self.shop = load_shop(self.place.shop)
        self.kept = open_job(self.place.shop, "mill-logo")

    def run(self, *words: object) -> None:
        """A command that has to do."""
        told = [str(word) for word in (*words, "--shop", self.place.shop)]
        done = CliRunner().invoke(main, told)
        assert done.exit_code in (0, 1), done.output

    def promised(self) -> list[Any]:
        """Answers to seal: one color over white, one straight."""
        found = []
        for garment, route, code in (
            ("Coal Black", "white-base", "#e8622c"), ("Flour White", "straight", "#c9342f"),
        ):  # fmt: skip
            build = usual_build(
                self.shop, garment=self.shop.garment(garment), ink=self.shop.ink("Kiln Red"),
                route=route,  # type: ignore[arg-type]
            )  # fmt: skip
            target = self.shop.target(code)
            (said,) = predict([build], press=self.shop.press, target=target, tolerance=4.0)
            found.append(answer_of(said, target=target, nominal=True))
        return found

    def file(self, name: str) -> bytes:
        """A file of the shop."""
        return (self.place.shop / name).read_bytes()

    def shop_in(self, folder: Path) -> Path:
        """A copy of the shop; what is never written in place is the same file."""

        def same(source: str, target: str) -> None:
            if ".sqlite" in source:
                shutil.copyfile(source, target)
            else:
                os.link(source, target)

        shutil.copytree(self.place.shop, folder / "shop", copy_function=same)
        return folder / "shop"

    def place_in(self, folder: Path) -> Place:
        """A copy of the whole place."""
        shutil.copytree(self.place.folder, folder / "place")
        moved = copy.copy(self.place)
        for name, path in vars(self.place).items():
            setattr(moved, name, folder / "place" / path.relative_to(self.place.folder))
        return moved


def _modules() -> list[str]:
    """All modules of inksim but the pages: what is loaded late is loaded by one parent only."""
    found = pkgutil.walk_packages(inksim.__path__, "inksim.")
    return [m.name for m in found if not m.name.startswith("inksim.ui") and "__" not in m.name]


@contextmanager
def warmed() -> Iterator[World]:
    """The world in a folder that goes away; renderers draw in forks instead of new programs."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # one library says at its import that it lacks another
        for name in (*LIBRARIES, *_modules()):
            importlib.import_module(name)
    home = Path(tempfile.mkdtemp(prefix="attack-"))
    real = sandbox.subprocess, sandbox.TIMEOUT_S
    try:
        made = World(home)
        sandbox.subprocess = SimpleNamespace(Popen=_Forked)  # type: ignore[assignment]
        sandbox.TIMEOUT_S = DRAWING_S
        yield made
    finally:
        sandbox.subprocess, sandbox.TIMEOUT_S = real
        shutil.rmtree(home, ignore_errors=True)


class _Forked:
    """What `subprocess.Popen` is to the sandbox, without loading the renderers anew."""

    def __init__(self, command: list[str], **_: Any) -> None:
        takes, give = os.pipe()
        read, tells = os.pipe()
        self.returncode: int | None = None
        self.pid = os.fork()
        if self.pid == 0:
            os.close(give)
            os.close(read)
            _draw(command, takes=takes, tells=tells)
        os.close(takes)
        os.close(tells)
        self.stdin, self.stdout = os.fdopen(give, "wb"), os.fdopen(read, "rb")

    def __enter__(self) -> _Forked:
        return self

    def __exit__(self, *_: object) -> None:
        self.stdout.close()
        with suppress(OSError):
            self.stdin.close()
        self.wait()

    def wait(self) -> int:
        """Wait for its end; its exit code."""
        if self.returncode is None:
            self.returncode = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
        return self.returncode

    def kill(self) -> None:
        """End it."""
        if self.returncode is None:
            os.kill(self.pid, signal.SIGKILL)


def _draw(command: list[str], *, takes: int, tells: int) -> NoReturn:
    """Be the sandbox's child."""
    code = 1
    try:
        signal.setitimer(signal.ITIMER_PROF, 0)
        os.dup2(takes, 0)
        os.dup2(tells, 1)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        os.close(takes)
        os.close(tells)
        sys.argv = command[-2:]
        sys.stdin = io.TextIOWrapper(io.FileIO(0, closefd=False))  # type: ignore[type-var]
        sys.stdout = os.fdopen(1, "w", encoding="utf-8", closefd=False)
        code = sandbox_child.main()
        sys.stdout.flush()
    finally:
        os._exit(code)
