"""Every regular expression of inksim, found in its source, and texts made to hurt each."""

from __future__ import annotations

import ast
import importlib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1] / "inksim"
CALLS = {"compile", "match", "search", "fullmatch", "split", "findall", "finditer", "sub", "subn"}
CHARACTERS = [*' \t\n",;:.=-+#%(/_\'"', *"019aAfgkzZ", "é", "\x01"]
"""Of each class of characters, those of these that are in it stand for it."""
ENDS = ("", "\x01", "\n\x01")
_MAY_USE = re.compile(rf"\.\s*({'|'.join(sorted(CALLS))})\b|\b(pattern|regex)\s*=|\bre\s+import")
"""In the text of every module that has a pattern or uses one; the others need no parsing."""
_PARSE: Any = importlib.import_module("re._parser").parse


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """A pattern and the methods it is used by; `compiled` is None where it cannot be told."""

    where: str
    compiled: re.Pattern[Any] | None
    methods: frozenset[str]


def found_patterns() -> list[Pattern]:
    """All patterns, in the order of files and lines."""
    texts = {path: path.read_text("utf-8") for path in sorted(ROOT.rglob("*.py"))}
    trees = {path: ast.parse(text) for path, text in texts.items() if _MAY_USE.search(text)}
    nodes = {path: list(ast.walk(tree)) for path, tree in trees.items()}
    used: dict[str, set[str]] = {}
    for node in chain.from_iterable(nodes.values()):
        if isinstance(node, ast.Attribute) and node.attr in CALLS:
            owner = node.value
            name = getattr(owner, "id", getattr(owner, "attr", ""))
            used.setdefault(name, set()).add(node.attr)
    patterns = []
    for path, tree in trees.items():
        known = _constants(tree)
        for node in nodes[path]:
            if isinstance(node, ast.ImportFrom) and node.module == "re":
                raise AssertionError(f"{path}: write 're.compile', so that it is found here")
            given = _of_call(node, known, used) or _of_field(node, known)
            if given is not None:
                where = f"{path.relative_to(ROOT.parent)}:{getattr(node, 'lineno', 0)}"
                patterns.append(Pattern(where=where, compiled=given[0], methods=given[1]))
    return patterns


def _constants(tree: ast.Module) -> dict[str, Any]:
    """The texts and patterns that a module states at its top, by name."""
    known: dict[str, Any] = {"re": re}
    for node in tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            value = _value(node.value, known)
            if isinstance(value, str | bytes | re.Pattern):
                known[node.targets[0].id] = value
    return known


def _value(node: ast.expr, known: dict[str, Any]) -> Any:
    """What an expression over the known names is, or None; only texts and patterns are tried."""
    text = isinstance(node, ast.Constant | ast.JoinedStr | ast.BinOp | ast.Name | ast.Attribute)
    if not (text or _is_re(node)):
        return None
    try:
        return eval(compile(ast.Expression(node), "", "eval"), dict(known))
    except Exception:  # a name of another module, or of a function
        return None


def _is_re(node: ast.AST) -> bool:
    return (
        isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and isinstance(node.func.value, ast.Name)
        and node.func.value.id == "re"
        and node.func.attr in CALLS
    )


def _of_call(
    node: ast.AST, known: dict[str, Any], used: dict[str, set[str]]
) -> tuple[re.Pattern[Any] | None, frozenset[str]] | None:
    """Of a call of the module re."""
    if not _is_re(node):
        return None
    assert isinstance(node, ast.Call)
    assert isinstance(node.func, ast.Attribute)
    method = node.func.attr
    if method != "compile":
        flags = next((k.value for k in node.keywords if k.arg == "flags"), ast.Constant(0))
        call = ast.Call(ast.parse("re.compile", mode="eval").body, [node.args[0], flags], [])
        return _value(ast.fix_missing_locations(call), known), frozenset({method})
    made = _value(node, known)
    names = [name for name, value in known.items() if value is made and made is not None]
    methods = set().union(*(used.get(name, set()) for name in names)) - {"compile"}
    return made, frozenset(methods or {"search", "fullmatch"})


def _of_field(
    node: ast.AST, known: dict[str, Any]
) -> tuple[re.Pattern[Any] | None, frozenset[str]] | None:
    """Of a field of a schema, or of whatever else takes a pattern by that name."""
    if not isinstance(node, ast.keyword) or node.arg not in ("pattern", "regex"):
        return None
    text = _value(node.value, known)
    return (re.compile(text) if isinstance(text, str) else None), frozenset({"search"})


def run(pattern: re.Pattern[Any], method: str, text: Any) -> object:
    """Use the pattern as the source does; what replaces and what splits finds all places."""
    if method in ("match", "search", "fullmatch"):
        return getattr(pattern, method)(text)
    return sum(1 for _ in pattern.finditer(text))


# --- Texts made of what a pattern consists of ----------------------------------------------------


def hostile_parts(pattern: re.Pattern[Any]) -> set[tuple[str, str, str]]:
    """(start, part, other part): texts are the start, then many of the part, then of the other.

    The parts are what a repeat of the pattern repeats, after what has to stand before it; the same
    of two repeats in a row; and each beginning of the pattern, many times over.
    """
    flags = pattern.flags
    items = list(_PARSE(pattern.pattern, flags))
    made: set[tuple[str, str, str]] = set()
    previous: tuple[str, list[str]] = ("", [""])
    for start, parts in _repeats(items, "", flags):
        made |= {(start, part, "") for part in parts}
        made |= {(previous[0], one, other) for one in previous[1] for other in parts[:6]}
        previous = (start, parts[:6])
    starts = [_example(items[:count], flags) for count in range(1, len(items) + 1)]
    made |= {("", start, "") for start in [*starts, *(f"{s} " for s in starts)]}
    return {each for each in made if each[1] or each[2]}


def _repeats(items: Sequence[Any], start: str, flags: int) -> Iterator[tuple[str, list[str]]]:
    """What stands before each repeat, and all that it may repeat once."""
    for at, (kind, value) in enumerate(items):
        here = start + _example(items[:at], flags)
        name = str(kind)
        if name in ("MAX_REPEAT", "MIN_REPEAT", "POSSESSIVE_REPEAT"):
            _, most, inner = value
            if int(most) > 8:
                yield here, _variants(inner, flags)
            yield from _repeats(list(inner), here, flags)
        elif name in ("SUBPATTERN", "ATOMIC_GROUP"):
            inner = value[-1] if name == "SUBPATTERN" else value
            yield from _repeats(list(inner), here, flags)
        elif name == "BRANCH":
            for inner in value[1]:
                yield from _repeats(list(inner), here, flags)


def _variants(items: Any, flags: int) -> list[str]:
    """Texts that the items match: each branch and each character of a class in turn."""
    parts = list(items)
    if len(parts) == 1:
        kind, value = parts[0]
        if str(kind) == "BRANCH":
            return [text for branch in value[1] for text in _variants(branch, flags)]
        if str(kind) == "SUBPATTERN":
            return _variants(value[-1], flags)
        if str(kind) in ("IN", "ANY", "NOT_LITERAL", "CATEGORY"):
            return _members(parts[0])
    return [_example(parts, flags)]


def _members(item: tuple[Any, Any]) -> list[str]:
    return [each for each in CHARACTERS if _holds(item, each)]


def _holds(item: tuple[Any, Any], character: str) -> bool:
    kind, value = str(item[0]), item[1]
    if kind == "LITERAL":
        return ord(character) == value
    if kind == "NOT_LITERAL":
        return ord(character) != value
    if kind == "RANGE":
        return bool(value[0] <= ord(character) <= value[1])
    if kind == "CATEGORY":
        letter = str(value).removeprefix("CATEGORY_")
        escape = {"DIGIT": "d", "SPACE": "s", "WORD": "w"}[letter.removeprefix("NOT_")]
        escape = escape.upper() if letter.startswith("NOT_") else escape
        return re.match(rf"\{escape}", character) is not None
    if kind == "IN":
        negated = str(value[0][0]) == "NEGATE"
        return any(_holds(each, character) for each in value[negated:]) != negated
    return kind == "ANY" and character != "\n"


def _example(items: Any, flags: int) -> str:
    """A short text that the items match, boundaries left aside."""
    made = ""
    for kind, value in items:
        name = str(kind)
        if name == "LITERAL":
            made += chr(value)
        elif name in ("IN", "ANY", "NOT_LITERAL", "CATEGORY"):
            plain = _members((kind, value))
            in_range = [chr(v[0]) for k, v in value if str(k) == "RANGE"] if name == "IN" else []
            literal = [chr(v) for k, v in value if str(k) == "LITERAL"] if name == "IN" else []
            letters = [each for each in plain if each.isalnum()]
            made += ([*letters, *plain, *literal, *in_range] or [""])[0]
        elif name in ("MAX_REPEAT", "MIN_REPEAT", "POSSESSIVE_REPEAT"):
            made += _example(value[2], flags) * int(value[0])
        elif name == "SUBPATTERN":
            made += _example(value[-1], flags)
        elif name == "ATOMIC_GROUP":
            made += _example(value, flags)
        elif name == "BRANCH":
            made += _example(value[1][0], flags)
    return made
