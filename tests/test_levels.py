"""Who may import whom. The levels are read out of DEVELOPERS.md, so the guide stays true."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "inksim"
TOP = "ui"  # its modules may import each other
HEAVY = ("colour", "colour_cxf", "matplotlib", "pandas", "scipy.optimize", "skimage")


def read_levels(guide: str) -> dict[str, int]:
    """``{module: level}`` from the rows ``| level | `module` ... |`` under '## Levels'."""
    section = guide.partition("\n## Levels\n")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| (\d+) \| ([^|]+)\|", section, flags=re.MULTILINE)
    pairs = [(name, int(level)) for level, cell in rows for name in re.findall(r"`(\w+)/?`", cell)]
    names = [name for name, _ in pairs]
    assert len(set(names)) == len(names), f"a module stands twice in the table: {names}"
    return dict(pairs)


def modules(package: Path) -> dict[str, Path]:
    """``{dotted name below the package: file}``, e.g. ``spectra`` and ``ui.swatches``."""
    found = {}
    for path in sorted(package.rglob("*.py")):
        parts = path.relative_to(package).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def imported(name: str, path: Path, known: Mapping[str, Path]) -> Iterator[tuple[str, int]]:
    """Yield ``(dotted name below the package, line)`` of each import of the package itself.

    Imports inside functions and under TYPE_CHECKING count like any other.
    """
    parents = name.split(".") if name else []
    if path.name != "__init__.py":
        parents = parents[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            for alias in node.names:
                if alias.name.split(".")[0] == "inksim":
                    yield alias.name.partition(".")[2], node.lineno
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                base = [*parents[: len(parents) - node.level + 1], *(node.module or "").split(".")]
            elif node.module and node.module.split(".")[0] == "inksim":
                base = node.module.split(".")[1:]
            else:
                continue
            origin = ".".join(filter(None, base))
            for alias in node.names:
                inner = f"{origin}.{alias.name}".lstrip(".")
                yield (inner if inner in known else origin), node.lineno


def faults(package: Path, levels: Mapping[str, int]) -> list[str]:
    """Every breach of the levels in the package, each with its file and line."""
    known = modules(package)
    found: list[str] = []
    inside_top: dict[str, set[str]] = {}
    for name, path in known.items():
        own = name.split(".")[0]
        where = path.relative_to(package.parent)
        if name and own not in levels:
            found.append(f"{where}: '{own}' is missing from the table of levels in DEVELOPERS.md")
            continue
        for target, line in imported(name, path, known):
            head = target.split(".")[0]
            if not target:
                continue  # `import inksim`: the package itself, which imports nothing
            if not name:
                found.append(f"{where}:{line}: the package itself imports nothing of its own")
            elif head not in levels:
                found.append(f"{where}:{line}: imports '{head}', which no level lists")
            elif own == head == TOP:
                inside_top.setdefault(name, set()).add(target)
            elif levels[head] >= levels[own]:
                found.append(
                    f"{where}:{line}: level {levels[own]} '{own}' imports "
                    f"level {levels[head]} '{head}'"
                )
    try:
        TopologicalSorter(inside_top).prepare()
    except CycleError as error:
        found.append(f"{package.name}/{TOP}: imports go round: {' -> '.join(error.args[1])}")
    return found


LEVELS = read_levels((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))


def test_a_module_imports_only_from_strictly_lower_levels() -> None:
    found = faults(PACKAGE, LEVELS)
    assert not found, "\n".join(found)


def test_every_module_in_the_table_exists() -> None:
    here = {name.split(".")[0] for name in modules(PACKAGE)}
    absent = sorted(set(LEVELS) - here)
    assert not absent, f"DEVELOPERS.md lists modules that are not there: {', '.join(absent)}"


@pytest.mark.parametrize(
    ("file", "text", "fault"),
    [
        ("high.py", "from inksim.mid import x", None),
        ("high.py", "from inksim import mid, __version__", None),
        ("ui/page.py", "from inksim.ui.parts import x\nfrom inksim import high", None),
        ("mid.py", "from inksim.twin import x", "level 1 'mid' imports level 1 'twin'"),
        ("mid.py", "import inksim.high", "level 1 'mid' imports level 2 'high'"),
        ("mid.py", "from inksim import high", "level 1 'mid' imports level 2 'high'"),
        ("mid.py", "from . import high", "level 1 'mid' imports level 2 'high'"),
        ("mid.py", "from .high import x", "level 1 'mid' imports level 2 'high'"),
        ("mid.py", "def f():\n    from inksim.high import x", "mid.py:2: level 1 'mid' imports"),
        ("mid.py", "from inksim.ui import parts", "level 1 'mid' imports level 3 'ui'"),
        ("mid.py", "from inksim.lost import x", "imports 'lost', which no level lists"),
        ("ui/page.py", "from inksim.cli import x", "level 3 'ui' imports level 3 'cli'"),
        ("ui/page.py", "from ..cli import x", "level 3 'ui' imports level 3 'cli'"),
        ("ui/parts.py", "from .page import x", "imports go round"),
        ("stray.py", "", "'stray' is missing from the table"),
        ("__init__.py", "from inksim.mid import x", "the package itself imports nothing"),
    ],
)
def test_the_check_finds_a_breach(tmp_path: Path, file: str, text: str, fault: str | None) -> None:
    package = tmp_path / "inksim"
    (package / "ui").mkdir(parents=True)
    for name in ("__init__", "mid", "twin", "high", "cli", "ui/__init__", "ui/parts"):
        (package / f"{name}.py").write_text("")
    (package / "ui/page.py").write_text("from inksim.ui.parts import x")
    (package / file).write_text(text)
    levels = read_levels(
        "\n## Levels\n| 1 | `mid` `twin` | |\n| 2 | `high` | |\n| 3 | `cli` `ui/` |"
    )
    found = faults(package, levels)
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
    wanted = sorted(f"inksim.{n}" for n in modules(PACKAGE) if n and n.split(".")[0] != TOP)
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
    assert len(calls) <= 1, f"more than the one helper calls st.image: {calls}"
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
