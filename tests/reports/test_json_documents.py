"""Results as JSON: numbers, nothing, nouns; and that `KEYS` is in step with the classes."""

from __future__ import annotations

import ast
import math
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

import inksim
from inksim.reports import json_documents
from inksim.reports.json_documents import KEYS, document


class Film(NamedTuple):
    thickness: float
    edge: float | None
    below: object


@dataclass(frozen=True)
class Noun:
    name: str


class Inner(NamedTuple):
    name: str


@pytest.fixture(autouse=True)
def keys(monkeypatch: pytest.MonkeyPatch) -> None:
    spec = "um=thickness:1 ends=thickness,edge:0 below below.deep=edge size.um=thickness *=below"
    monkeypatch.setattr(json_documents, "KEYS", {"Film": spec, "Inner": "name"})


def test_keys_nest_round_and_are_null_where_nothing_is_known() -> None:
    known = document(Film(2.26, 3.5, Inner("deep")))
    assert known == {
        "um": 2.3,
        "ends": [2, 4],
        "below": {"name": "deep", "deep": 3.5},
        "size": {"um": 2.26},
        "name": "deep",
    }
    assert document(Film(math.nan, None, Inner("x")))["ends"] is None


def test_numbers_of_arrays_mappings_and_paths() -> None:
    told = document(
        {
            "row": np.array([1.0, np.nan, np.inf]),
            "known": np.array([True, False]),
            "one": np.float64(0.1),
            "file": Path("a") / "b.png",
            "noun": Noun("Kiln Red"),
        }
    )
    assert told == {
        "row": [1.0, None, None],
        "known": [True, False],
        "one": 0.1,
        "file": str(Path("a") / "b.png"),
        "noun": "Kiln Red",
    }
    assert document(np.array([0.00123456789]), "6g") == [0.00123457]


def test_every_key_is_of_one_class_of_the_package() -> None:
    """A class is looked up by its name, so two of one name would take one another's keys."""
    names = [name for name, _ in classes()]
    assert {name: names.count(name) for name in KEYS} == dict.fromkeys(KEYS, 1)


@pytest.mark.parametrize("name", KEYS)
def test_every_path_begins_at_an_attribute_of_its_class(name: str) -> None:
    """What `KEYS` names is looked up only once the command that prints it is run."""
    noun = getattr(import_module(dict(classes())[name]), name)
    has = {*dir(noun), *getattr(noun, "__dataclass_fields__", ())}
    for word in KEYS[name].split():
        key, _, path = word.partition(":")[0].partition("=")
        starts = {each.partition(".")[0] for each in (path or key).split(",")}
        assert starts <= has, word


@cache
def classes() -> tuple[tuple[str, str], ...]:
    """Every class of the package with its module."""
    package = Path(inksim.__file__).parent
    found = []
    for path in package.rglob("*.py"):
        module = ".".join(path.relative_to(package.parent).with_suffix("").parts)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                found.append((node.name, module))
    return tuple(found)
