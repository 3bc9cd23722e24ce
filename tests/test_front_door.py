"""`import inksim`: the names it promises, one shape of signature, and next to nothing to load."""

from __future__ import annotations

import ast
import inspect
import re
import subprocess
import sys
from dataclasses import fields, is_dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

import inksim
from tests.test_rooms import HEAVY, face, imported

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "inksim"
FUNCTIONS = [name for name in inksim.__all__ if inspect.isfunction(getattr(inksim, name))]
NOUNS = [name for name in inksim.__all__ if is_dataclass(getattr(inksim, name))]
ARRAYS = {"delta_e_2000": 2, "film_over": 2, "lab": 2, "recipes_for": 3}
"""Formulas of the field take the arrays they are about by position, as a paper writes them."""
ANYWHERE = {"name", "source", "note", "data"}
"""Fields that say of every noun the same: what it is called, where it and its numbers come from."""
MEANS = {
    "shop": "Shop",
    "garment": "Garment",
    "press": "Press",
    "viewing": "Viewing",
    "tolerance": "float",
    "target": "Target",
    "route": "Route",
    "lines_per_inch": "float",
}


def test_every_name_is_the_one_of_its_room() -> None:
    for name, room in inksim._FACE.items():
        module = import_module(f"inksim.{room}")
        assert getattr(inksim, name) is getattr(module, name)
        assert name in face(room, PACKAGE)


def test_what_is_said_to_be_there_is_the_same_everywhere() -> None:
    stub = {each.name for each in imported("", PACKAGE / "__init__.pyi")}
    assert sorted(inksim.__all__) == sorted(stub)
    assert set(inksim.__all__) <= set(dir(inksim))
    known: dict[str, object] = {}
    exec("from inksim import *", known)
    assert set(known) - {"__builtins__"} == set(inksim.__all__)
    assert len(FUNCTIONS) + len(NOUNS) + 1 == len(inksim.__all__)  # and InputError


def test_the_stub_takes_every_name_from_the_same_room() -> None:
    stub = ast.parse((PACKAGE / "__init__.pyi").read_text("utf-8"))
    rooms = {
        alias.name: node.module
        for node in stub.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    assert rooms == inksim._FACE


def test_a_name_that_is_not_there_is_said_to_be_missing() -> None:
    with pytest.raises(AttributeError, match=r"has no 'predcit'.*predict_drawdown.*inksim\.optics"):
        inksim.predcit  # type: ignore[attr-defined]  # noqa: B018
    assert not hasattr(inksim, "__wrapped__")
    with pytest.raises(ImportError, match="predcit"):
        exec("from inksim import predcit")


@pytest.mark.parametrize("name", FUNCTIONS)
def test_one_thing_comes_by_position_and_the_rest_by_name(name: str) -> None:
    parameters = inspect.signature(getattr(inksim, name)).parameters.values()
    positional = [p.name for p in parameters if p.kind is p.POSITIONAL_OR_KEYWORD]
    assert len(positional) == ARRAYS.get(name, 1), positional
    assert {p.kind for p in parameters} <= {
        inspect.Parameter.POSITIONAL_OR_KEYWORD,
        inspect.Parameter.KEYWORD_ONLY,
    }


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_word_means_the_same_in_every_signature(name: str) -> None:
    for each in inspect.signature(getattr(inksim, name)).parameters.values():
        wanted = MEANS.get(each.name)
        if wanted is not None:
            assert str(each.annotation).removesuffix(" | None") == wanted, each.name
        if each.name == "viewing" and each.kind is each.KEYWORD_ONLY:
            assert each.default == inksim.Viewing("D50", 2)
        if each.name == "tolerance":
            assert each.default == 3.0


@pytest.mark.parametrize("name", NOUNS)
def test_a_noun_is_made_by_names_only(name: str) -> None:
    parameters = inspect.signature(getattr(inksim, name)).parameters.values()
    if name != "Viewing":  # Viewing("D65", 10) is how it is said
        assert {p.kind for p in parameters} == {inspect.Parameter.KEYWORD_ONLY}


@pytest.mark.parametrize("name", inksim.__all__)
def test_its_help_tells_what_goes_in(name: str) -> None:
    thing = getattr(inksim, name)
    told = inspect.getdoc(thing) or ""
    assert told.partition("\n")[0].endswith((".", '"')), "a first line that is a sentence"
    wanted: set[str] = set()
    if name in FUNCTIONS:
        wanted = set(inspect.signature(thing).parameters)
        assert re.search(r"InputError|broadcast|\(\.\.\., 3\)", told), "shapes, or errors"
    elif name not in ("Shop", "InputError"):  # a shop is made by load_shop
        wanted = {f.name for f in fields(thing) if f.init} - ANYWHERE
    missing = {each for each in wanted if not re.search(rf"\b{each}\b", told)}
    assert not missing


def test_importing_it_loads_nothing_else() -> None:
    code = (
        "import sys; before = set(sys.modules)\nimport inksim\n"
        "print(*sorted(set(sys.modules) - before))\n"
        "inksim.InputError; print(*sorted(n for n in sys.modules if n.startswith('inksim.')))\n"
        "inksim.predict; print(*sys.modules)"
    )
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    first, fault, last = run.stdout.splitlines()
    assert first.split() == ["inksim"]
    assert all(name.split(".")[1] == "common" for name in fault.split())
    assert not {*HEAVY, "streamlit", "altair", "pydantic", "PIL"} & set(last.split())


@pytest.mark.parametrize("word", ["white base", "white", "", None])
def test_a_word_that_is_no_route_is_refused_as_such(word: Any) -> None:
    shop = inksim.load_shop()
    shirt, ink = shop.garment("Coal Black"), shop.ink("Lantern Orange")
    art = inksim.read_artwork(shop.folder / "artwork" / "river-morning.png")
    with pytest.raises(inksim.InputError, match=f"no route '{word}'; choose one of straight"):
        inksim.usual_build(shop, garment=shirt, ink=ink, route=word)
    with pytest.raises(inksim.InputError, match=f"no route '{word}'"):
        inksim.gamut(shop, garment=shirt, routes=[word])
    if word is not None:  # None lets the print decide
        with pytest.raises(inksim.InputError, match=f"no route '{word}'"):
            inksim.separate(art, shop=shop, garment=shirt, inks=[ink], route=word)


def test_threads_may_use_it_first_all_at_once() -> None:
    # Modules that import each other, half loaded by two threads, are handed out half empty.
    code = """
import threading, inksim
names, start, faults = list(inksim.__all__), threading.Barrier(16), []
def use(k):
    start.wait()
    for name in names[k:] + names[:k]:
        try:
            getattr(inksim, name)
        except Exception as error:
            faults.append(error)
threads = [threading.Thread(target=use, args=(2 * k,)) for k in range(16)]
[thread.start() for thread in threads], [thread.join() for thread in threads]
print(*faults[:1])
"""
    for _ in range(3):
        run = subprocess.run(
            [sys.executable, "-W", "error", "-c", code], cwd=ROOT, capture_output=True, text=True,
            check=True,
        )  # fmt: skip
        assert run.stdout.strip() == ""
