"""The rooms of the package: who may import whom, through which door, and what is never imported."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from graphlib import CycleError, TopologicalSorter
from importlib import import_module
from pathlib import Path
from typing import NamedTuple

import pytest

import inksim

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "inksim"
ROOMS = (
    "common",
    "colour",
    "optics",
    "stock",
    "printing",
    "readings",
    "shop",
    "drawdowns",
    "artwork",
    "photo",
    "decision",
    "mixing",
    "job",
    "calibration",
    "ledger",
    "separation",
    "picture",
    "preview",
    "reports",
    "batch",
    "launch",
    "cli",
    "ui",
)
"""Lowest first: a room imports only from rooms before it. `launch` is a module, the app's start."""
APART = {"cli", "ui"}
"""Neither knows the other."""
TOP = "ui"
HEAVY = ("colour", "colour_cxf", "matplotlib", "pandas", "scipy.optimize", "skimage")


class Imported(NamedTuple):
    """One imported name: from which module below the package ('' is the package), on which line."""

    module: str
    name: str
    line: int


def modules(package: Path) -> dict[str, Path]:
    """``{dotted name below the package: file}``, e.g. ``colour.cielab`` and ``ui.pages.client``."""
    found = {}
    for path in sorted(package.rglob("*.py")):
        parts = path.relative_to(package).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


@cache
def imported(name: str, path: Path) -> tuple[Imported, ...]:
    """Every import of the package itself, those in functions and under TYPE_CHECKING too."""
    return tuple(_imported(name, path))


def _imported(name: str, path: Path) -> Iterator[Imported]:
    parents = name.split(".") if name else []
    if path.stem != "__init__":
        parents = parents[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            for alias in node.names:
                if alias.name.split(".")[0] == "inksim":
                    yield Imported(alias.name.partition(".")[2], "", node.lineno)
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                base = [*parents[: len(parents) - node.level + 1], *(node.module or "").split(".")]
            elif node.module and node.module.split(".")[0] == "inksim":
                base = node.module.split(".")[1:]
            else:
                continue
            for alias in node.names:
                yield Imported(".".join(filter(None, base)), alias.name, node.lineno)


def face(room: str, package: Path) -> dict[str, str]:
    """``{public name: module of the room that has it}``, as the room's stub says."""
    stub = package / room / "__init__.pyi"
    if not stub.is_file():
        return {}
    return {each.name: each.module.split(".", 1)[1] for each in imported(room, stub)}


def room_faults(package: Path, rooms: tuple[str, ...]) -> list[str]:  # noqa: PLR0912
    """Every import against the order of the rooms, or past a room's door, with file and line."""
    known = modules(package)
    found: list[str] = []
    doors = {room: {(room, each) for each in face(room, package)} for room in rooms}
    doors["launch"] = {("launch", each) for each in ("SHOP_VARIABLE", "serve", "entry_script")}
    inside: dict[str, dict[str, set[str]]] = {}
    for name, path in known.items():
        own = name.split(".")[0]
        where = path.relative_to(package.parent)
        if name and own not in rooms:
            found.append(f"{where}: '{own}' is no room; a module goes into one of {rooms}")
            continue
        for target, wanted, line in imported(name, path):
            full = f"{target}.{wanted}".strip(".")
            room = (target or wanted).split(".")[0]
            if not name:
                found.append(f"{where}:{line}: the package itself imports nothing when it is")
            elif not target and room not in {n.split(".")[0] for n in known}:
                continue  # a name of the front door, such as the version
            elif room not in rooms:
                found.append(f"{where}:{line}: imports '{room}', which is no room")
            elif room == own:
                inner = full if full in known else target
                if inner != own:
                    inside.setdefault(own, {}).setdefault(name, set()).add(inner)
                elif wanted:
                    found.append(f"{where}:{line}: goes through its own room's door for {wanted}")
            elif {room, own} == APART or rooms.index(room) > rooms.index(own):
                found.append(f"{where}:{line}: '{own}' imports '{room}', which it must not know")
            elif (package / room).is_dir() and (
                target != room or wanted not in face(room, package)
            ):
                found.append(f"{where}:{line}: {full} is not in the face of '{room}'")
    for room, graph in inside.items():
        try:
            TopologicalSorter(graph).prepare()
        except CycleError as error:
            found.append(f"{package.name}/{room}: imports go round: {' -> '.join(error.args[1])}")
    return found


def test_imports_between_rooms_run_one_way_and_through_their_doors() -> None:
    found = room_faults(PACKAGE, ROOMS)
    assert not found, "\n".join(found)


def test_every_room_exists_and_nothing_else_lies_at_the_top() -> None:
    here = {name.split(".")[0] for name in modules(PACKAGE) if name}
    assert here == set(ROOMS)
    assert {p.stem for p in PACKAGE.glob("*.py")} == {"__init__", "launch"}


@pytest.mark.parametrize("room", [room for room in ROOMS if room != "launch"])
def test_a_room_says_what_it_is_for_and_shows_only_what_others_use(room: str) -> None:
    module = import_module(f"inksim.{room}")
    sentences = re.findall(r"\.\s", f"{module.__doc__}\n")
    assert len(sentences) > 1, "say in two or three sentences what the room is for"
    shown = face(room, PACKAGE)
    assert sorted(getattr(module, "__all__", [])) == sorted(shown)
    for name in shown:
        assert getattr(module, name) is not None
    own_modules = {path.stem for path in (PACKAGE / room).glob("*.py")}
    assert not own_modules & set(shown), "a name that is also a module's hides one or the other"
    used = {
        each.name
        for name, path in [*modules(PACKAGE).items(), ("app", ROOT / "app.py")]
        if name.split(".")[0] != room
        for each in imported(name, path)
        if each.module == room
    }
    front = {name for name, source in getattr(inksim, "_FACE", {}).items() if source == room}
    assert set(shown) - used - front - {"main"} == set(), "nobody outside uses these"


@pytest.mark.parametrize(
    ("file", "text", "fault"),
    [
        ("high/a.py", "from inksim.mid import x", None),
        ("high/a.py", "from inksim import __version__", None),
        ("high/a.py", "from inksim.high.b import x", None),
        ("ui/page.py", "from inksim.high import y\nfrom inksim.ui.parts import x", None),
        ("high/a.py", "from inksim.mid import hidden", "not in the face of 'mid'"),
        ("high/a.py", "from inksim.mid.deep import x", "not in the face of 'mid'"),
        ("high/a.py", "import inksim.mid.deep", "not in the face of 'mid'"),
        ("high/a.py", "from inksim.high import y", "its own room's door"),
        ("mid/deep.py", "from inksim.high import y", "'mid' imports 'high'"),
        ("mid/deep.py", "from inksim import high", "'mid' imports 'high'"),
        ("mid/deep.py", "from ..high import y", "'mid' imports 'high'"),
        ("mid/deep.py", "def f():\n    from inksim.high import y", "deep.py:2: 'mid' imports"),
        ("mid/deep.py", "from inksim.lost import x", "imports 'lost', which is no room"),
        ("ui/page.py", "from inksim.cli import x", "'ui' imports 'cli'"),
        ("cli/a.py", "from inksim.ui import x", "'cli' imports 'ui'"),
        ("ui/parts.py", "from inksim.ui.page import x", "imports go round"),
        ("stray.py", "", "'stray' is no room"),
        ("__init__.py", "from inksim.mid import x", "the package itself imports nothing"),
    ],
)
def test_the_check_finds_a_breach(tmp_path: Path, file: str, text: str, fault: str | None) -> None:
    package = tmp_path / "inksim"
    for name in ("mid/deep", "high/a", "high/b", "cli/a", "ui/parts"):
        path = package / f"{name}.py"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("")
        (path.parent / "__init__.py").write_text("")
    (package / "__init__.py").write_text("")
    (package / "mid/__init__.pyi").write_text("from .deep import x as x")
    (package / "high/__init__.pyi").write_text("from .a import y as y")
    (package / "ui/page.py").write_text("from inksim.ui.parts import x")
    (package / file).write_text(text)
    found = room_faults(package, ("mid", "high", "cli", "ui"))
    assert (found == []) if fault is None else (len(found) == 1 and fault in found[0]), found


def top_level_imports(tree: ast.Module) -> Iterator[tuple[str, int]]:
    """Yield ``(module, line)`` of what is imported when the file itself is."""
    waiting: list[ast.AST] = list(tree.body)
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module, node.lineno
            yield from ((f"{node.module}.{alias.name}", node.lineno) for alias in node.names)
        elif isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            waiting.extend(node.orelse)
        elif not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            waiting.extend(ast.iter_child_nodes(node))


def heavy_imports(name: str, source: str) -> list[str]:
    """Slow libraries that a module imports at its top."""
    heavy = HEAVY if name.partition(".")[0] == TOP else (*HEAVY, "streamlit", "altair")
    return sorted(
        f"{name}:{line}: {module}"
        for module, line in top_level_imports(ast.parse(source))
        if any(module == each or module.startswith(f"{each}.") for each in heavy)
    )


def test_slow_libraries_are_imported_inside_the_functions_that_need_them() -> None:
    found = [
        fault
        for name, path in modules(PACKAGE).items()
        for fault in heavy_imports(name, path.read_text(encoding="utf-8"))
    ]
    assert found == []


@pytest.mark.parametrize(
    ("name", "source", "count"),
    [
        ("mid", "import colour", 1),
        ("mid", "from scipy import optimize, special", 1),
        ("mid", "try:\n    import skimage.color\nexcept ImportError:\n    pass", 1),
        ("mid", "class A:\n    import pandas", 1),
        ("mid", "import streamlit", 1),
        ("ui.page", "import streamlit", 0),
        ("mid", "def f():\n    import colour", 0),
        ("mid", "if TYPE_CHECKING:\n    import colour", 0),
        ("mid", "import colours", 0),
    ],
)
def test_the_check_finds_a_slow_import(name: str, source: str, count: int) -> None:
    assert len(heavy_imports(name, source)) == count


def test_importing_all_but_the_pages_loads_no_slow_library_and_says_nothing() -> None:
    left = {TOP, "cli.__main__", "artwork.sandbox_child"}
    names = [n for n in modules(PACKAGE) if n and not {n, n.split(".")[0]} & left]
    wanted = sorted(f"inksim.{name}" for name in names)
    code = f"import sys, {', '.join(wanted)}\nprint(*sys.modules)"
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (run.returncode, run.stderr) == (0, ""), run.stderr
    assert sorted({*HEAVY, "streamlit", "altair"} & set(run.stdout.split())) == []


def image_calls(source: str) -> list[ast.Call]:
    """Calls of Streamlit's ``image``, on the module or on any container."""
    return [
        node
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr == "image"
    ]


def is_png(call: ast.Call) -> bool:
    given = {word.arg: word.value for word in call.keywords}
    value = given.get("output_format")
    return isinstance(value, ast.Constant) and value.value == "PNG"


def test_pictures_reach_the_page_through_one_helper_as_png() -> None:
    # Streamlit re-encodes to JPEG by default: flat colors come out visibly wrong.
    pages = [*(PACKAGE / "ui").rglob("*.py"), *ROOT.glob("app.py")]
    calls = [
        (path.relative_to(ROOT).as_posix(), call.lineno, is_png(call))
        for path in pages
        for call in image_calls(path.read_text(encoding="utf-8"))
    ]
    assert len(calls) == 1, f"one helper calls st.image, and nothing else: {calls}"
    assert all(png for *_, png in calls), f"the helper must pass output_format='PNG': {calls}"
    assert all(path.startswith("inksim/ui/") for path, *_ in calls)


@pytest.mark.parametrize(
    ("source", "count", "png"),
    [
        ("st.image(a)", 1, False),
        ("left, right = st.columns(2)\nleft.image(a, output_format='JPEG')", 1, False),
        ("st.image(a, output_format='PNG')", 1, True),
        ("from PIL import Image", 0, False),
    ],
)
def test_the_check_finds_a_bare_image(source: str, count: int, png: bool) -> None:
    calls = image_calls(source)
    assert (len(calls), any(map(is_png, calls))) == (count, png)
