"""A mix stored as an ink of the shop: the same print, undone, what misses a part, bad input."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result

import inksim
from inksim.cli.commands import main
from inksim.colour import D50, delta_e_2000, lab
from inksim.job import load_job
from inksim.mixing.leftover import _recipe, _Way, use_leftover
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
    done = run("mix", *ASKED, "--shop", place, "--store", NAME, "--json")
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


def test_a_leftover_is_used_up_as_far_as_the_color_allows(
    place: Path, recipe: dict[str, float]
) -> None:
    """Its recipes hold more of it than the limit would by chance; their prints by `mix_inks`."""
    shop = inksim.load_shop(place)
    target, cloth = shop.target("#8a5068"), shop.garment("Flour White")
    asked: dict[str, Any] = {"target": target, "garment": cloth, "routes": ["straight"]}
    leftover = shop.ink(NAME)
    plain = inksim.find_recipes(shop, **asked, grams=2000)
    limit = max(1.5, plain.nearest.delta_e_2000 + 0.5)
    used = []
    for grams in (2000.0, 400.0):
        best, *others = use_leftover(shop, leftover, **asked, grams=grams)
        own = {part.ink.name: part.grams for part in best.parts}
        assert own[NAME] <= (leftover.left_g or 0.0) + 0.05
        assert all(own[NAME] >= other.recipe.scaled(grams).get(NAME, 0) - 0.1 for other in others)
        wet = [(part.ink, part.grams / part.ink.density_g_cm3) for part in best.parts]
        top = replace(best.build.colour, ink=mix_inks(wet, name="mix"))
        build = replace(best.build, layers=(*best.build.layers[:-1], top))
        away = delta_e_2000(target.lab_d50, lab(inksim.swatch([build], press=shop.press)[0], D50))
        assert away == pytest.approx(best.delta_e_2000, abs=0.05)
        assert away <= limit + 0.05
        used.append(own[NAME] / grams)
    assert used[1] > used[0]  # of a small bucket the leftover is more


def test_a_recipe_that_asks_for_more_than_is_left_says_so(
    place: Path, recipe: dict[str, float]
) -> None:
    shop = inksim.load_shop(place)
    asked: dict[str, Any] = {
        "target": shop.target("#8a3f5a"),
        "garment": shop.garment("Flour White"),
        "routes": ["straight"],
    }
    for left, told in ((40.0, True), (shop.ink(NAME).left_g or 0.0, False)):
        mix = replace(shop.ink(NAME), left_g=left)
        found = inksim.find_recipes(
            replace(shop, inks={**shop.inks, NAME: mix}), **asked, grams=sum(recipe.values())
        )
        assert any(part.ink.name == NAME for one in found for part in one.parts)
        said = [note for note in found.notes if f"stored mix '{NAME}' {left:g} g are left" in note]
        assert len(said) == told


def test_no_more_of_a_leftover_is_asked_for_than_is_left(
    place: Path, recipe: dict[str, float]
) -> None:
    """A part too small to weigh goes to the others; where it is the only one, it is left out."""
    shop = inksim.load_shop(place)
    leftover = shop.ink(NAME)
    build = inksim.usual_build(
        shop, garment=shop.garment("Flour White"), ink=leftover, route="straight"
    )
    red, teal = shop.ink("Kiln Red"), shop.ink("Weir Teal")
    for others, share, rest, made_g in (
        ((red, teal), 0.8, (0.995, 0.005), 500.0),
        ((teal,), 0.999, (1.0,), 499.5),
    ):
        way = _Way(build=build, others=others, share=share, rest=np.array(rest))
        made = _recipe(way, leftover, shop, grams=500.0)
        own = {part.ink.name: part.grams for part in made.parts}
        assert "Weir Teal" not in own
        assert own[NAME] == pytest.approx(500.0 * share)
        assert made.grams == pytest.approx(made_g)


def test_a_job_that_prints_it_says_what_is_in_it(place: Path, recipe: dict[str, float]) -> None:
    """Answer and ticket have its parts; what is lacking is weighed in by the same proportions."""
    job = place / "plums.toml"
    job.write_text(
        'name = "Plums"\ninvented = true\ngarments = ["Flour White"]\nquantity = 144\n'
        '[[color]]\nname = "plum"\ntarget = "#8a3f5a"\narea_cm2 = 240\nroute = "straight"\n'
        f'ink = "{NAME}"\n'
    )
    shop = inksim.load_shop(place)
    (answer,) = inksim.decide_job(load_job(job, shop=shop), shop=shop).answers
    assert answer.recipe is not None
    assert {part.ink.name: part.grams for part in answer.recipe.parts} == pytest.approx(recipe)
    assert run("mix", "--store", NAME, "--left", 20, "--shop", place).exit_code == 0
    done = run("ticket", job, "--out", place / "plums.txt", "--shop", place)
    assert run("undo", "--shop", place).exit_code == 0
    assert done.exit_code == 0, done.stderr
    said = (place / "plums.txt").read_text(encoding="utf-8")
    (line,) = (each for each in said.splitlines() if "is a stored mix" in each)
    weighed, more = line.split("20 g of it are noted as left")
    lacking = float(more.split()[1])
    assert lacking > 0
    for name, grams in recipe.items():
        assert f"{grams:.1f} g {name}" in weighed
        expected = grams * lacking / sum(recipe.values())
        told = float(more.split(f" g {name}")[0].split()[-1])
        assert told == pytest.approx(expected, abs=0.05 + 0.5 * grams / sum(recipe.values()))


def test_a_leftover_that_cannot_be_used_is_said(place: Path, recipe: dict[str, float]) -> None:
    shop = inksim.load_shop(place)
    asked: dict[str, Any] = {
        "target": shop.target("#8a5068"),
        "garment": shop.garment("Flour White"),
    }
    with pytest.raises(inksim.InputError, match="is no stored mix"):
        use_leftover(shop, shop.ink("Kiln Red"), **asked)
    with pytest.raises(inksim.InputError, match="nothing that can be weighed is left"):
        use_leftover(shop, replace(shop.ink(NAME), left_g=0.0), **asked)


def test_a_stored_mix_is_corrected_by_its_name(place: Path, recipe: dict[str, float]) -> None:
    shop = inksim.load_shop(place)
    build = inksim.usual_build(
        shop, garment=shop.garment("Flour White"), ink=shop.ink(NAME), route="straight"
    )
    seen = lab(inksim.swatch([build], press=shop.press)[0], D50)
    words = ("--correct", ",".join(f"{v:.2f}" for v in seen), "--of", NAME.upper())
    done = run("mix", *words, *ASKED, "--shop", place, "--json")
    assert done.exit_code in (0, 1), done.stderr
    said = json.loads(done.stdout)
    assert set(said["bucket"]["inks"]) == set(recipe)
    # it was read as it was expected: nothing is learned of its inks
    assert all(abs(each["K"] - 1) < 0.01 for each in said["strengths"])
    lacks = run("mix", *words, "--shop", place)
    assert lacks.exit_code == 2
    assert "give --target and --garment" in lacks.stderr


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
