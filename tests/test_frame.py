"""The frame stays true: README's commands, settings, licenses, and what no file may say."""

from __future__ import annotations

import ast
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

import pytest

import inksim

ROOT = Path(__file__).parent.parent
START = "python3 -m venv .venv && .venv/bin/pip install -e . && .venv/bin/inksim demo"
TEST = """\
python3 -m venv .venv && .venv/bin/pip install -e '.[dev]' &&
.venv/bin/python -m pytest -n auto -m 'not benchmark' && .venv/bin/python -m pytest -m benchmark"""
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def text_of(path: str) -> str:
    return (ROOT / path).read_text(encoding="utf-8")


# -- README's two commands and the check that runs one of them


@pytest.mark.parametrize(("heading", "command"), [("Start", START), ("Test", TEST)])
def test_ci_reads_the_command_out_of_readme(heading: str, command: str) -> None:
    run = subprocess.run(
        ["bash", ".ci/run", "print", heading],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert run.stdout == command + "\n"


def test_the_install_command_makes_what_readme_calls() -> None:
    assert PROJECT["project"]["scripts"] == {"inksim": "inksim.cli:main"}
    assert "dev" in PROJECT["project"]["optional-dependencies"]
    extra = PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert [source for source in extra if not (ROOT / source).exists()] == []


def test_the_newest_entry_of_the_changelog_is_this_version() -> None:
    newest = re.search(
        r"^## (\S+) \((unreleased|\d{4}-\d\d-\d\d)\)$", text_of("CHANGELOG.md"), re.M
    )
    assert newest is not None
    assert newest[1] == inksim.__version__


# -- Streamlit's settings


def test_the_page_is_served_to_this_machine_only_and_tells_nobody() -> None:
    settings = tomllib.loads(text_of(".streamlit/config.toml"))
    assert settings["server"]["address"] == "localhost"
    assert settings["browser"]["gatherUsageStats"] is False
    # both protections are on by default; nobody turns them off here
    assert not {"enableXsrfProtection", "enableCORS"} & set(settings["server"])


def test_streamlit_knows_every_setting() -> None:
    run = subprocess.run(
        [sys.executable, "-m", "streamlit", "config", "show"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    shown = run.stdout
    assert "is not a valid config option" not in shown + run.stderr
    for section, values in tomllib.loads(text_of(".streamlit/config.toml")).items():
        assert f"[{section}]" in shown
        missing = [key for key in values if not re.search(rf"^{key} = ", shown, re.M)]
        assert missing == []


PAGE = ("background", "secondaryBackground", "text")
BOXES = [f"{kind}Background" for kind in ("red", "yellow", "blue", "green")]  # of a message


@pytest.mark.parametrize("key", [f"{name}Color" for name in (*PAGE, *BOXES)])
def test_the_surround_of_a_swatch_is_neutral(key: str) -> None:
    # ISO 3664 asks for a neutral surround: equal red, green and blue.
    code = tomllib.loads(text_of(".streamlit/config.toml"))["theme"][key]
    assert len(set(bytes.fromhex(code[1:]))) == 1


# -- dependencies and their licenses


def name_of(requirement: str) -> str:
    match = re.match(r"[\w.-]+", requirement)
    assert match is not None
    return match[0].lower().replace("_", "-")


RUNTIME = {name_of(each) for each in PROJECT["project"]["dependencies"]}
DEVELOPMENT = {name_of(each) for each in PROJECT["project"]["optional-dependencies"]["dev"]}


def license_rows() -> dict[str, str]:
    section = text_of("DEVELOPERS.md").split("\n## Dependencies\n")[1].split("\n## ")[0]
    rows = re.findall(r"^\| (\w[\w-]*) \| [^|]+ \| ([^|]+?) \|$", section, re.M)
    return {package.lower(): words for package, words in rows if package != "package"}


def declared_license(package: str) -> str:
    """Everything that the installed package itself says of its license."""
    about = metadata.metadata(package)
    fields = ("License-Expression", "License", "Classifier")
    lines = [line for field in fields for line in about.get_all(field) or []]
    return "\n".join(lines)


def test_the_guide_lists_the_dependencies_there_are() -> None:
    assert set(license_rows()) == RUNTIME


@pytest.mark.parametrize("package", sorted(RUNTIME))
def test_the_guide_names_the_license_that_the_package_declares(package: str) -> None:
    # outside fact: the metadata of the installed release
    said = license_rows()[package].split(",")[0]
    declared = declared_license(package)
    family = "BSD License" if said.startswith("BSD") else said
    assert said in declared or family in declared


def third_party(folder: Path) -> Iterator[tuple[str, str]]:
    """Yield ``(file, top-level package)`` of all imports from outside Python and this project."""
    scripts = {each.stem for each in (ROOT / "tools").iterdir()}  # they find one another by name
    for path in sorted(folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names: list[str] = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names = [node.module]
            for name in {each.split(".")[0] for each in names}:
                if name not in {*sys.stdlib_module_names, "inksim", "tests", "tools", *scripts}:
                    yield path.relative_to(ROOT).as_posix(), name


@pytest.mark.parametrize(
    ("folder", "declared"),
    [("inksim", RUNTIME), ("tests", RUNTIME | DEVELOPMENT), ("tools", RUNTIME | DEVELOPMENT)],
)
def test_what_is_imported_is_declared(folder: str, declared: set[str]) -> None:
    providers = metadata.packages_distributions()
    undeclared = {
        f"{file}: {name}"
        for file, name in third_party(ROOT / folder)
        if not {name_of(each) for each in providers.get(name, [])} & declared
    }
    assert not undeclared, "\n".join(sorted(undeclared))


# -- what no committed file may say or be called; in pieces, so that this file does not say it

FORBIDDEN = [
    "tran" + "script",
    "seed" + r"[\s_-]?" + "document",
    "/wo" + "rk/",
    "/fa" + "rm/",
    r"\.\./" + "shared",
    "python" + "hosted",
    "registry" + r"\.npm",
    "deb" + r"\.debian\.org",
]
PATTERN = re.compile("|".join(FORBIDDEN).encode(), re.IGNORECASE)
NEVER = re.compile(r"(^|/)(uv\.lock|\.venv|__pycache__|\.DS_Store)(/|$)")


def committed() -> list[Path]:
    """Files that git tracks; in an unpacked archive, all but what the tools leave behind."""
    if shutil.which("git") and (ROOT / ".git").exists():
        run = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True)
        files = [ROOT / name for name in run.stdout.decode().split("\0") if name]
        return [file for file in files if file.is_file()]
    hidden = {".venv", ".git", ".mypy_cache", ".ruff_cache", ".pytest_cache", "__pycache__"}
    return [p for p in ROOT.rglob("*") if p.is_file() and not hidden & set(p.parts)]


def breach(name: str, content: bytes) -> str | None:
    """What a file says, or is called, that it may not; None if nothing."""
    if NEVER.search(name):
        return f"{name}: must not be committed"
    match = PATTERN.search(name.encode() + b"\n" + content)
    return f"{name}: {match[0].decode(errors='replace')}" if match else None


def test_no_committed_file_speaks_of_what_is_outside_the_project() -> None:
    files = committed()
    assert {"README.md", "tests/test_frame.py"} <= {f.relative_to(ROOT).as_posix() for f in files}
    found = [breach(file.relative_to(ROOT).as_posix(), file.read_bytes()) for file in files]
    said = list(filter(None, found))
    assert not said, "\n".join(said)


@pytest.mark.parametrize(
    ("name", "content", "wrong"),
    [
        ("a.py", "see the Tran" + "script", True),
        ("tran" + "script.md", "", True),
        ("a.md", "/wo" + "rk/main", True),
        ("a.md", "seed" + "_document", True),
        ("uv.lock", "", True),
        ("a.md", "the first seed of a fixed network", False),
    ],
)
def test_the_check_finds_a_forbidden_word(name: str, content: str, wrong: bool) -> None:
    assert (breach(name, content.encode()) is not None) is wrong


# -- the guide


def test_the_glossary_has_every_parameter_of_the_press() -> None:
    from inksim.stock.press import MEANINGS

    glossary = text_of("DEVELOPERS.md").split("\n## Glossary\n")[1].split("\n## ")[0]
    assert [name for name in MEANINGS if f"`{name}`" not in glossary] == []


# -- benchmarks


def test_every_benchmark_keeps_the_protocol() -> None:
    from tests.benchmarks.protocol import discover

    folder = ROOT / "tests" / "benchmarks"
    assert [f"{name}.py" for name in discover()] == sorted(f.name for f in folder.glob("bench_*"))
    for name in discover():
        tree = ast.parse((folder / f"{name}.py").read_text(encoding="utf-8"))
        mains = [n for n in tree.body if isinstance(n, ast.FunctionDef) and n.name == "main"]
        assert len(mains) == 1, f"{name} needs one main()"
        required = len(mains[0].args.args) - len(mains[0].args.defaults)
        assert required == 0, f"{name}: main() is called without arguments"


@pytest.mark.parametrize(
    ("value", "target", "verdict"),
    [
        (1.0, 1.0, "ok"),
        (1.1, 1.0, "missed"),
        (30.0, ">= 20", "ok"),
        (19.0, ">= 20", "missed"),
        (2.0, "<= 2", "ok"),
        (5.0, None, ""),
        (float("nan"), 1.0, "missed"),
        (float("nan"), ">= 1", "missed"),
    ],
)
def test_a_benchmark_is_held_to_its_target(
    value: float, target: float | str | None, verdict: str
) -> None:
    from tests.benchmarks.protocol import judge

    assert judge(value, target) == verdict


def test_a_target_that_cannot_be_read_is_refused() -> None:
    from tests.benchmarks.protocol import judge

    with pytest.raises(ValueError, match="'fast'"):
        judge(1.0, "fast")
