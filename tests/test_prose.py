"""American spelling in what is read and typed, the libraries' in names of code.

What a person reads or types is docstrings, comments, words in strings, pages, files and their
fields. Names in code spell as the libraries beside them do, but for fields of files.
"""

from __future__ import annotations

import ast
import io
import re
import tokenize
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

from inksim.job import JobEntry
from inksim.shop import FILES

TOP = Path(__file__).parent.parent
OTHER = re.compile(
    r"\b(?:(?:re|dis)?colour(?!imet|ist)\w*|grey\w*|fibre\w*|(?:centi|milli|micro|nano|kilo)?metres?"
    r"|centre[ds]?|behaviours?|favour\w*|neighbour\w*|labour\w*|vapours?|odours?|honour\w*|sulphur"
    r"|label(?:led|ling)|model(?:led|ling)|cancelled|aluminium|licence[ds]?|litres?|moulds?"
    r"|artefacts?|analys(?:e[ds]?|ing)|judgements?|grammes?|programmes?"
    r"|(?:character|recogn|organ|normal|optim|minim|maxim|summar|(?:un)?initial|linear|standard"
    r"|neutral|general|real|special|equal)is(?:e[ds]?|ing|ations?))\b",
    re.IGNORECASE,
)
OWN = re.compile(
    r"`[^`]*`|\{[^}]*\}|'[^'\n]*'|colour-(?:science|cxf)|Dyers\s+Colour|Oil\s+Colour|Colourful"
    r"|Textile\s+Fibres|Computational\s+Colour\s+Science|Colour\s+difference"
    r"|import colour|^\s*[\w, ]+\s?:(?=\s)|\w+[._=(/]\w+|\binksim\.\w+",
    re.MULTILINE,
)
"""What is no prose: names in code, of packages and parameters, titles of works."""
OF_CODE = re.compile(r"\w+[._=]\w+|colour-(?:science|cxf)")
CODE = re.compile(r"^```(?:python|\{.*).*?^```|`[^`\n]*`|\]\([^)]*\)", re.MULTILINE | re.DOTALL)
NAMES_IN_STRINGS = {
    "inksim/__init__.py characterise": "a name of the face",
    "inksim/__init__.py colour": "the room that a name comes from",
    "inksim/cli/add.py fibres": "an option's name in code",
    "inksim/cli/drawdowns.py characterise": "the other spelling, taken as well",
    "inksim/cli/drawdowns.py colour": "the other spelling, taken as well",
    "inksim/ledger/promises.py colours": "the key in every proof that was ever sealed",
    "inksim/readings/palette_file.py colour": "the other spelling, read as well",
    "inksim/reports/json_documents.py Characterisation": "a class, by its name",
    "inksim/reports/json_documents.py ColourReasons": "a class, by its name",
    "inksim/shop/spelling.py colour": "the other spelling, read as well",
    "inksim/shop/spelling.py fibres": "the other spelling, read as well",
}
"""Words in strings that are no prose, by file, each with what it is."""


@cache
def sources(*tops: str) -> tuple[Path, ...]:
    return tuple(sorted(path for top in tops for path in (TOP / top).rglob("*.py*")
                        if path.suffix in (".py", ".pyi")))  # fmt: skip


class Source(NamedTuple):
    """What a file of code says: each `(line, words)`; names with whether it is a field's."""

    prose: list[tuple[int, str]]
    strings: list[tuple[int, str]]
    names: list[tuple[int, str, bool]]


@cache
def source(text: str) -> Source:
    """Comments and docstrings; the other strings; all that is given a name."""
    said = Source([], [], [])
    if any(OTHER.search(line.partition("#")[2]) for line in text.splitlines()):
        said.prose.extend(
            (token.start[0], OWN.sub(" ", token.string))
            for token in tokenize.generate_tokens(io.StringIO(text).readline)
            if token.type == tokenize.COMMENT
        )
    told, fields = set(), set()
    for node in ast.walk(ast.parse(text)):  # parents come before what is in them
        match node:
            case ast.Expr(value=ast.Constant(value=str(words))):
                told.add(id(node.value))
                said.prose.append((node.lineno, OWN.sub(" ", words)))
            case ast.Constant(value=str(words)) if id(node) not in told:
                said.strings.append((node.lineno, OF_CODE.sub("", words)))
            case ast.ClassDef(name=name, body=body):
                said.names.append((node.lineno, name, False))
                fields |= {id(line.target) for line in body if isinstance(line, ast.AnnAssign)}
            case ast.FunctionDef(name=name):
                said.names.append((node.lineno, name, False))
            case ast.arg(arg=name) | ast.alias(asname=str(name)):
                said.names.append((node.lineno, name, False))
            case ast.Name(id=name, ctx=ast.Store()):
                said.names.append((node.lineno, name, id(node) in fields))
    return said


def prose(text: str) -> Iterable[tuple[int, str]]:
    """Comments and docstrings, by line."""
    return source(text).prose


def strings(text: str) -> Iterable[tuple[int, str]]:
    """All other strings, by line."""
    return source(text).strings


def page(text: str) -> Iterator[tuple[int, str]]:
    """``(line, text)`` of every line of a page or a file, code and titles left out."""
    blank = CODE.sub(lambda each: re.sub(r"[^\n]", " ", each[0]), text)
    for line, words in enumerate(blank.splitlines(), start=1):
        yield line, OWN.sub(" ", words.replace("'", " ") if "colour-" not in words else words)


def leftovers(text: str, *, of: Callable[[str], Iterable[tuple[int, str]]] = prose) -> list[str]:
    return [f"{line}: {found[0]}" for line, said in of(text) for found in OTHER.finditer(said)]


def in_files(paths: tuple[Path, ...], of: Callable[[str], Iterable[tuple[int, str]]]) -> list[str]:
    return [
        f"{path.relative_to(TOP)}:{each}"
        for path in paths
        for each in leftovers(path.read_text("utf-8"), of=of)
    ]


def test_docstrings_and_comments_spell_as_americans_do() -> None:
    found = in_files(sources("inksim", "tests", "tools", "docs"), prose)
    assert not found, "\n".join(found)


def test_what_is_said_and_typed_spells_as_americans_do() -> None:
    """Words of pages, commands, messages, keys of JSON and heads of tables are strings."""
    found = {
        f"{each.split(':')[0]} {each.split()[-1]}" for each in in_files(sources("inksim"), strings)
    }
    assert found - NAMES_IN_STRINGS.keys() == set()
    assert NAMES_IN_STRINGS.keys() - found == set()


def test_pages_and_data_files_spell_as_americans_do() -> None:
    paths = [*TOP.glob("*.md"), *TOP.glob("docs/**/*.md"), *TOP.glob("shared/**/*.md")]
    paths += [*TOP.glob("shared/**/*.toml"), *TOP.glob("shared/**/*.csv")]
    paths += [TOP / "reference_data" / name for name in ("manifest.toml", "check_values.json")]
    found = in_files(tuple(sorted(paths)), page)
    assert len(paths) > 30
    assert not found, "\n".join(found)


def fields_of_files() -> set[str]:
    """Every field that a shop's file or a job's may state."""
    models = [*(model for model, _ in FILES.values()), JobEntry]
    schemas = [each.model_json_schema() for each in models]
    tables = [each for s in schemas for each in (s, *s.get("$defs", {}).values())]
    return {field for table in tables for field in table.get("properties", ())}


def test_fields_of_files_spell_as_americans_do() -> None:
    fields = fields_of_files()
    assert {"fibers", "labor_per_hour", "color"} <= fields
    assert [each for each in fields if OTHER.search(each.replace("_", " "))] == []


# -- names in code

AMERICAN = re.compile(r"color(?!im)|gray|fiber|center|neighbor|behavior|characteriz", re.IGNORECASE)


def wrongly_named(text: str, *, fields: set[str]) -> list[str]:
    """Names in American spelling but fields of files; tests, which are sentences, in the other."""
    wrong = []
    for line, name, is_field in source(text).names:
        if name.startswith("test_"):
            said = re.sub("colour_(?:science|cxf)[a-z]*", "", name).replace("_", " ")
            bad = OTHER.search(said)
        else:
            bad = AMERICAN.search(name) if not (is_field and name in fields) else None
        if bad:
            wrong.append(f"{line}: {name}")
    return wrong


def test_names_in_code_spell_as_the_libraries_do() -> None:
    fields = fields_of_files()
    found = [
        f"{path.relative_to(TOP)}:{each}"
        for path in sources("inksim", "tests", "tools", "docs")
        for each in wrongly_named(path.read_text("utf-8"), fields=fields)
    ]
    assert not found, "\n".join(found)


# -- the checks themselves; spellings as in any dictionary of American English


@pytest.mark.parametrize(
    ("of", "text", "count"),
    [
        (prose, '"""The colour of a fibre."""', 2),
        (prose, "x = 1  # grey", 1),
        (prose, '"""The color; `colour` is a name, and colour-science a package."""', 0),
        (prose, 'colour = "colour"', 0),
        (strings, 'say(f"a {gray} grey; job.colour.name")', 1),
        (strings, 'row = {"licence": 1}', 1),
        (page, "The shop's `colour` and\n```python\ncolour = 1\n```\nits colours, its centre", 2),
    ],
)
def test_the_check_finds_the_other_spelling(
    of: Callable[[str], Iterable[tuple[int, str]]], text: str, count: int
) -> None:
    assert len(leftovers(text, of=of)) == count


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("def gray_of(color, *, colour): center = 1", 3),
        ("class Garment:\n    fibers: int", 0),
        ("class Garment:\n    def of(self, fibers): ...", 1),
        ("chart.mark(color=1, labelColor=2); self.fibers", 0),
        ("def test_a_color_is_gray(): ...\ndef test_a_colour_is_colour_sciences(): ...", 1),
    ],
)
def test_the_check_finds_names_in_the_wrong_spelling(text: str, count: int) -> None:
    assert len(wrongly_named(text, fields={"fibers"})) == count
