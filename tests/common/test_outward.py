"""Text on its way out: every sink has one function, and nothing in the source goes past it."""

from __future__ import annotations

import ast
import csv
import html
import io
import json
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, strategies as st

from inksim.common import outward
from inksim.common.errors import InputError
from inksim.common.fonts import spelled
from inksim.common.outward import Markup

PACKAGE = Path(__file__).parents[2] / "inksim"
HOSTILE = (
    "\x1b]0;title\x07", "\x1b[31mred", "\x9b2J", "a\rb", "tab\tbed", "\u202eevil\u202c", "\u2066x",
    "\u200ehidden\u061c", "zero\u200bwidth", "\ufefflead", "\udcff", "\x00", "\U000e0041tag",
    "line\u2028break",
)  # fmt: skip
FORMULAS = ("=1+1", "+1+cmd", "-2+3", "@SUM(A1)", "\t=1", " =1", "＝1+1", "a;=1+1", "\r=1")
"""Beginnings that spreadsheets take for a formula, as OWASP lists them under 'CSV Injection'."""

# What may be called where; everything else goes through `common.outward`.
ALONE = {
    ("click", "echo"): set(),
    ("click", "secho"): set(),
    ("csv", "writer"): {"common/outward.py"},
    ("csv", "DictWriter"): set(),
    ("json", "dumps"): {
        "artwork/sandbox.py", "artwork/sandbox_child.py",  # between our own two processes
        "calibration/history.py", "ledger/promises.py", "shop/changes.py",  # read by inksim alone
        "shop/fresh.py",  # a name that was checked, quoted
        "ui/parts/wipe.py",  # put in as text by the page's script
        "common/outward.py",
    },
    ("st", "html"): {"ui/style.py"},
    ("pd", "DataFrame"): {"ui/charts.py", "ui/pages/base_builds.py"},  # the latter: numbers alone
    ("html", "escape"): {"common/outward.py"},
    ("tempfile", "mkstemp"): {"common/files.py"},
    ("tempfile", "mkdtemp"): {"common/files.py"},
    ("tempfile", "TemporaryDirectory"): set(),
    ("traceback", "print_exc"): set(),
}  # fmt: skip
BARE = {
    "print": {"artwork/sandbox_child.py"},
    "TemporaryDirectory": set(),
    "NamedTemporaryFile": set(),
}


def calls() -> Iterator[tuple[str, str, str]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        file = path.relative_to(PACKAGE).as_posix()
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call):
                if isinstance(node.func, ast.Name):
                    yield file, "", node.func.id
                elif isinstance(node.func, ast.Attribute) and isinstance(node.func.value, ast.Name):
                    yield file, node.func.value.id, node.func.attr


def test_no_sink_is_used_past_the_one_place() -> None:
    seen: dict[object, set[str]] = {}
    for file, module, name in calls():
        seen.setdefault((module, name) if module else name, set()).add(file)
    past = {
        sink: extra
        for sink, allowed in {**ALONE, **BARE}.items()
        if (extra := seen.get(sink, set()) - allowed)
    }
    assert past == {}
    assert seen[("csv", "writer")], "the walk sees calls"


def imported() -> Iterator[tuple[str, str]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom):
                for each in node.names:
                    yield path.relative_to(PACKAGE).as_posix(), f"{node.module}.{each.name}"


def test_no_sink_is_imported_by_its_own_name() -> None:
    escapes = {
        (file, name)
        for file, name in imported()
        if name in ("html.escape", "xml.sax.saxutils.escape", "csv.writer", "click.echo")
    }
    assert escapes == {("reports/pdf.py", "xml.sax.saxutils.escape")}  # of what is `spelled`


@pytest.mark.parametrize("text", HOSTILE)
def test_what_is_hidden_is_shown(text: str) -> None:
    for made in (
        outward.visible(text),
        outward.terminal(text),
        outward.escape(text),
        outward.markdown(text),
        outward.cell(text),
        spelled(text),
    ):
        assert made.isprintable(), repr(made)
    document = outward.json_text({text: text})
    assert document.replace("\n", "").isprintable()
    assert json.loads(document) == {text: text}


@pytest.mark.parametrize("text", HOSTILE)
def test_escaped_text_is_good_xml(text: str) -> None:
    # XML 1.0, 2.2: most control characters may not stand in a document, not even as references
    safe = outward.escape(f"<&\"'>{text}")
    root = ElementTree.fromstring(f'<text words="{safe}">{safe}</text>')
    assert root.text == root.get("words") == f"<&\"'>{outward.visible(text)}"


def test_names_in_any_script_are_left_as_they_are() -> None:
    # Unicode's own names of what joins letters: ZERO WIDTH NON-JOINER in Persian, vowel signs
    for name in ("Größe", "میخواهم", "می\u200cخواهم", "हिंदी", "ไทยดี", "赤いシャツ", "👕 tee"):
        assert outward.visible(name) == name
        assert html.unescape(outward.escape(name)) == name


def test_the_terminal_gets_our_patches_and_no_others(monkeypatch: pytest.MonkeyPatch) -> None:
    assert outward.patch("#ff0000") == ""  # no terminal here
    monkeypatch.setattr(outward.sys, "stdout", type("T", (), {"isatty": lambda _: True})())
    own = outward.patch("#ff0102")
    assert outward.terminal(f"{own}red\nx") == "\x1b[48;2;255;1;2m    \x1b[0m red\nx"
    assert "\x1b" not in outward.terminal("\x1b[48;2;255;1;2m    \x1b[0m red")
    foreign = f"\x1b{'0' * 8}ff0102"  # made as ours are, without this run's mark
    assert outward.terminal(f"{foreign}red") == f"\\x1b{'0' * 8}ff0102red"
    assert outward.width(f"{own}red") == 8


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_begins_as_a_formula(text: str) -> None:
    table = outward.csv_text(["name"], [[text], [-7.5]], first=f"# made for {text}, a shop")
    for separator in ",;":
        for row in csv.reader(io.StringIO(table), delimiter=separator):
            for cell in row:
                assert cell.split(",")[0] == "-7.5" or cell.lstrip()[:1] not in tuple(
                    "=+-@＝＋－＠\t\r"
                ), cell
    assert outward.from_cell(outward.cell(text)) == outward.visible(text).strip()


@pytest.mark.parametrize("number", ["-7.02", "+3", "1e-05", "0.5"])
def test_a_number_stays_one(number: str) -> None:
    assert outward.cell(number) == number


@given(st.text(alphabet="=+-@';a \t1"))
def test_a_cell_is_read_back(text: str) -> None:
    assert outward.from_cell(outward.cell(text)) == outward.visible(text).strip()


def test_markup_goes_by_type() -> None:
    ours = Markup('<div class="pads">x</div>')
    assert outward.escape(ours) == ours
    assert outward.escape(str(ours) + "") == html.escape(ours)


def test_markdown_shows_every_sign() -> None:
    # CommonMark 0.31, 2.4: any ASCII punctuation may be escaped by a backslash; 6.2 of entities
    for sign in "`*_[]<>#!|$:~&{}":
        assert outward.markdown(f"a{sign}b") == f"a\\{sign}b"


def test_letters_of_any_script_make_a_file_name() -> None:
    assert outward.slug("Coal Black / 2") == "coal-black-2"
    assert outward.slug("कि") != outward.slug("की")  # vowel signs are marks, and tell words apart
    assert outward.slug("cafe\u0301") == outward.slug("café")
    assert outward.slug("..\x00/../") == "unnamed"
    assert len(outward.slug("長" * 300).encode()) <= 180  # 255 bytes hold a file's whole name


def test_a_file_that_came_gets_a_name_any_folder_takes() -> None:
    assert outward.file_name("Größe 3.CSV") == "größe-3.csv"
    assert outward.file_name("../../etc/passwd") == "passwd"
    assert outward.file_name("..") == outward.file_name("...") == "unnamed"
    assert outward.file_name("C:\\a\\b.cxf") == "b.cxf"
    assert len(outward.file_name("x" * 300 + "." + "y" * 300)) < 80


def test_two_names_of_one_file_are_told() -> None:
    outward.check_file_names({"Red": "red.png", "Blue": "blue.png"})
    with pytest.raises(InputError, match=r"'Red' and 'RED!' would both be written to 'RED\.png'"):
        outward.check_file_names({"Red": "red.png", "RED!": "RED.png"})
