"""No pattern of inksim takes more than linear time, whatever text it is given."""

from __future__ import annotations

import re
from functools import partial
from typing import Any

import pytest

from tests.growth import worse_than_linear
from tests.patterns import ENDS, ROOT, Pattern, found_patterns, hostile_parts, run

PATTERNS = found_patterns()


def slow_text(pattern: re.Pattern[Any], method: str) -> str:
    """The first text on which it is worse than linear, in words; '' where none is."""
    for start, part, other in sorted(hostile_parts(pattern)):
        for end in ENDS:

            def made(count: int, start: str = start, part: str = part, other: str = other,
                     end: str = end) -> str | bytes:  # fmt: skip
                text = start + part * count + other * count + end
                return (
                    text.encode("latin-1", "replace")
                    if isinstance(pattern.pattern, bytes)
                    else text
                )

            ratio = worse_than_linear(partial(run, pattern, method), made)
            if ratio:
                return f"{start!r} + n × {part!r} + n × {other!r} + {end!r}: {ratio:.0f} times"
    return ""


@pytest.mark.parametrize("pattern", PATTERNS, ids=lambda each: each.where)
def test_no_pattern_is_worse_than_linear(pattern: Pattern) -> None:
    assert pattern.compiled is not None, "state it as a constant, so that it is measured here"
    for method in sorted(pattern.methods):
        assert not slow_text(pattern.compiled, method), method


@pytest.mark.parametrize(
    ("text", "method"),
    [
        (r"^(?P<name>.*?)[\s,]*(?P<color>#[0-9a-f]+|\(?\d+[\s,]+\d+\)?)$", "match"),  # cubic
        (r"\d*\.?\d+", "fullmatch"),
        (r"\s+$", "search"),
        (r"proof\W*(?:no)?\W*\d", "match"),
        (r"(?:a|a)*", "fullmatch"),  # exponential
    ],
)
def test_slow_patterns_are_found(text: str, method: str) -> None:
    assert slow_text(re.compile(text), method)


def test_all_patterns_are_found() -> None:
    """As many as a plain search for the calls finds."""
    calls = re.compile(r"\bre\.(?:compile|match|search|fullmatch|split|findall|finditer|subn?)\(")
    texts = [path.read_text("utf-8") for path in ROOT.rglob("*.py")]
    fields = sum(text.count("Field(pattern=") for text in texts)
    assert sum(len(calls.findall(text)) for text in texts) + fields == len(PATTERNS)
    assert fields


def test_the_scripts_of_pages_have_no_patterns() -> None:
    """What runs in a browser is not measured here, so it has none."""
    words = re.compile(r"RegExp|\.(?:match|matchAll|search|split|test|exec|replaceAll|replace)\(/")
    for path in (ROOT / "ui" / "parts").glob("*.py"):
        assert not words.search(path.read_text("utf-8")), path
