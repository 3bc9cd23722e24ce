"""A mix stored as an ink of the shop: the same print, undone, what misses a part, bad input."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

import inksim
from inksim.cli.commands import main
from inksim.mixing.stored import check_left
from inksim.stock import mix_inks
from tests.small_shop import few_inks

ASKED = ("--target", "#8a3f5a", "--garment", "Flour White", "--route", "straight")
NAME = "Plum of Monday"


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return few_inks(
        tmp_path_factory.mktemp("stored") / "shop", "Kiln Red", "Weir Teal", "Damson Purple",
        "Chalk White Base",
    )  # fmt: skip


@pytest.fixture(scope="module")
def recipe(place: Path) -> dict[str, float]:
    """Parts in grams of the mix that is stored."""
    done = run("mix", *ASKED, "--shop", place, "--store", NAME, "--tolerance", 60, "--json")
    assert done.exit_code == 0, done.stderr
    assert f"Stored '{NAME}'" in done.stderr
    parts = json.loads(done.stdout)["recipes"][0]["parts"]
    return {part["ink"]: part["grams"] for part in parts}


def test_it_is_the_mixture_of_its_parts(place: Path, recipe: dict[str, float]) -> None:
    """K, S, solids and density by `mix_inks`, to the six figures of a file."""
    shop = inksim.load_shop(place)
    ink = shop.ink(NAME)
    parts = [(shop.ink(name), g / shop.ink(name).density_g_cm3) for name, g in recipe.items()]
    mixed = mix_inks(parts, name=NAME)
    assert ink.parts is not None
    assert dict(ink.parts) == pytest.approx(recipe)
    assert ink.left_g == pytest.approx(sum(recipe.values()))
    np.testing.assert_allclose(ink.K, mixed.K, rtol=1e-5)
    np.testing.assert_allclose(ink.S, mixed.S, rtol=1e-5)
    assert ink.solids_by_volume == pytest.approx(mixed.solids_by_volume, rel=1e-5)
    assert ink.density_g_cm3 == pytest.approx(mixed.density_g_cm3, rel=1e-5)
    assert ink.data == mixed.data
    assert (ink.error is None) == (mixed.error is None)


def test_what_is_left_is_noted_and_undone(place: Path, recipe: dict[str, float]) -> None:
    before = inksim.load_shop(place).ink(NAME).left_g
    assert run("mix", "--store", NAME, "--left", 120, "--shop", place).exit_code == 0
    assert inksim.load_shop(place).ink(NAME).left_g == 120
    assert run("undo", "--shop", place).exit_code == 0
    assert inksim.load_shop(place).ink(NAME).left_g == before


def test_a_part_is_not_removed_unsaid(place: Path, recipe: dict[str, float]) -> None:
    done = run("remove", "ink", next(iter(recipe)), "--shop", place)
    assert done.exit_code == 2
    assert f"the stored mix '{NAME}' has it in it" in done.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--store", NAME), "--left GRAMS"),
        (("--store", NAME, "--left", 1e5), "are said to be left of a mix of"),
        (("--store", NAME, "--left", "nan"), "not a number"),
        (("--store", "Kiln Red", "--left", 3), "is no stored mix"),
        (("--store", "Gone", "--left", 3), "Gone"),
        ((*ASKED, "--store", NAME), "already has the ink"),
        ((*ASKED, "--store", "One", "--max-inks", 1), "there is no mix to store"),
        ((*ASKED, "--store", "More", "--left", 9e4), "are said to be left"),
        ((*ASKED, "--store", "Many", "--recipe", 99), "are found"),
    ],
)
def test_what_cannot_be_stored_is_said(
    words: tuple[object, ...], said: str, place: Path, recipe: dict[str, float]
) -> None:
    before = (place / "inks.toml").read_bytes()
    done = run("mix", *words, "--shop", place)
    assert done.exit_code == 2
    assert said in done.stderr
    assert (place / "inks.toml").read_bytes() == before


def test_no_more_is_left_than_was_mixed() -> None:
    check_left(500.0, parts={"a": 300.0, "b": 200.0})
    with pytest.raises(inksim.InputError, match="0 to that"):
        check_left(501.0, parts={"a": 300.0, "b": 200.0})
