"""American spelling in docstrings and comments; names and cited titles keep their own."""

from __future__ import annotations

import io
import re
import tokenize
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "inksim"
OTHER = re.compile(
    r"\b(?:colour(?:s|ed|ing)?|grey\w*|fibre[ds]?|labour|vapours?|sulphur|(?:milli|micro|nano)metres?|centre[ds]?"
    r"|behaviours?|favour\w*|neighbour\w*|labelled|modelled|cancelled|aluminium|uninitialised)\b",
    re.IGNORECASE,
)
OWN = re.compile(
    r"`[^`]*`|\{[^}]*\}|'[^'\n]*'|colour-(?:science|cxf)|Dyers Colour|Oil Colour|Textile\s+Fibres"
    r"|import colour|^\s*[\w, ]+\s?:(?=\s)|\w+[._=(]\w+|\binksim\.\w+",
    re.MULTILINE,
)
"""What is no prose: names in code, of packages and parameters, titles of works."""
AT_START = (tokenize.NEWLINE, tokenize.NL, tokenize.INDENT, tokenize.DEDENT)


def prose(text: str) -> Iterator[tuple[int, str]]:
    """``(line, text)`` of every comment and docstring, what is no prose left out."""
    before, depth = tokenize.NEWLINE, 0
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        depth += (token.string in {*"([{"}) - (token.string in {*")]}"})
        starts = not depth and before in AT_START
        if token.type == tokenize.COMMENT or (token.type == tokenize.STRING and starts):
            yield token.start[0], OWN.sub(lambda each: " " * len(each[0]), token.string)
        before = token.type


def leftovers(text: str) -> list[str]:
    return [f"{line}: {found[0]}" for line, said in prose(text) for found in OTHER.finditer(said)]


def test_docstrings_and_comments_spell_as_americans_do() -> None:
    found = [
        f"{path.relative_to(PACKAGE)}:{each}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for each in leftovers(path.read_text("utf-8"))
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ('"""The colour of a fibre."""', 2),
        ("x = 1  # grey", 1),
        ('"""The color; `colour` is a name, and colour-science a package."""', 0),
        ('colour = "colour"', 0),
    ],
)
def test_the_check_finds_the_other_spelling(text: str, count: int) -> None:
    # spellings as in any dictionary of American English
    assert len(leftovers(text)) == count
