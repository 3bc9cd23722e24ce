"""Recipes left out, and the films to read again: slips are named, good sheets are left in peace."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab
from inksim.drawdowns.characterisation import characterise, predict_drawdown
from inksim.drawdowns.drawdown import Drawdown
from inksim.drawdowns.sheet_check import check_sheet
from inksim.optics.kubelka_munk import (
    external_from_internal,
    film_over,
    internal_from_external,
)
from tests.accuracy._studio import Studio, World
from tests.drawdown_films import CLEAR_INK, films, fit_of, known_ink, studio
from tests.drawdowns.sheets_with_slips import CAREFUL, WORLDS, slipped
from tests.drawdowns.test_believable import INK, bronzed, fit


def noisy_ink(seed: int = 1) -> list[Drawdown]:
    """An ink and a white in five recipes, with noise of 0.002."""
    rng = np.random.default_rng(seed)
    return [
        replace(d, reading=d.measured + 0.002 * rng.normal(size=d.measured.size))
        for d in known_ink(thickness_um=20.0)
    ]


def test_a_recipe_left_out_is_predicted_as_a_fit_without_it_does() -> None:
    """Against a fit from scratch of the other films: two ways to the same numbers."""
    sheet = noisy_ink()
    found = check_sheet(characterise(sheet))
    for part in (0.3, 0.1, 0.03):
        recipe = {"ink": part, "white": 1.0 - part}
        others = characterise([d for d in sheet if d.recipe != recipe])
        own = [d for d in sheet if d.recipe == recipe]
        guess = [
            predict_drawdown(others, recipe=recipe, backing=d.card, thickness_um=20.0) for d in own
        ]
        measured = [lab(d.measured, Viewing()) for d in own]
        off = delta_e_2000(np.array(measured), lab(np.array(guess), Viewing()))
        called = f"ink {100 * part:.3g} % + white {100 - 100 * part:.3g} %"
        (said,) = [each for each in found.recipes if each.name == called]
        assert said.delta_e == pytest.approx(float(np.mean(off)), abs=0.05)
    assert found.delta_e == pytest.approx(np.mean([each.delta_e for each in found.recipes]))
    assert found.is_good
    assert found.verdict == "good"


def test_what_cannot_be_left_out_is_said() -> None:
    found = check_sheet(fit_of(studio(World(colours=1, **CAREFUL))))
    assert found.kept["color 0"] == "without it color 0 is in one weak tint only"
    alone = check_sheet(characterise(films(*CLEAR_INK, recipe={"ink": 1.0})))
    assert dict(alone.kept) == {"ink": "without it an ink is not told at all"}
    assert alone.delta_e is None
    assert "nothing speaks against it" in alone.verdict


def test_the_work_is_told_step_by_step() -> None:
    told: list[tuple[int, int, str]] = []
    check_sheet(characterise(known_ink()), step=lambda *step: told.append(step))
    assert [at for at, _, _ in told] == list(range(5))
    assert {of for _, of, _ in told} == {5}
    assert told[0][2] == "ink"


def test_a_white_of_30_um_typed_as_3_is_named() -> None:
    made = Studio(World(colours=4, thickness_um=30.0, film=0.02, told=True), 3)
    sheet = [replace(d, thickness_um=3.0) if set(d.recipe) == {"white"} else d for d in made.fitted]
    good, bad = characterise(made.fitted), characterise(sheet)
    assert bad.mean_delta_e > 4.0 * good.mean_delta_e
    assert check_sheet(good).is_good
    (words,) = check_sheet(bad).again
    assert words.startswith("white over black and white over white, because it fits a film of ")
    assert " µm, not 3: the thickness is mistyped" in words


CHECKED = ("radiative, hiding, all faults", "radiative, thin, careful", "Kubelka–Munk, careful")


def test_slips_are_named_and_good_sheets_are_not() -> None:
    """A studio of each of three kinds; what more of them gave is in sheets_with_slips.py."""
    said: dict[str, list[bool]] = defaultdict(list)
    for world in CHECKED:
        for slip, sheet, at in slipped(Studio(WORLDS[world], 3)):
            geometry: Any = WORLDS[world].geometry
            found = check_sheet(characterise(sheet, geometry=geometry))
            named = any(sheet[i].label in words for words in found.again for i in at)
            said[slip].append(named if at else not found.is_good)
    rate = {slip: float(np.mean(each)) for slip, each in said.items()}
    assert rate.pop("none") == 0.0
    assert rate["white's thickness / 10"] == 1.0
    assert rate["parts of a tint swapped"] == 1.0
    assert np.mean(list(rate.values())) > 0.8


def two_films_each(*, slip: str, tints: tuple[float, ...] = (0.2,)) -> list[Drawdown]:
    """A red and a white, 12 and 30 µm each, over both cards; the 30 of one recipe typed as 3."""
    wavelengths = np.arange(400, 701, 10)
    k = {"red": 0.02 + 0.28 / (1 + np.exp((wavelengths - 590) / 9)), "white": np.full(31, 0.001)}
    s = {"red": np.linspace(0.020, 0.014, 31), "white": np.linspace(0.30, 0.22, 31)}
    rng = np.random.default_rng(7)
    sheet = []
    called = ["tint", *(f"tint {each:g}" for each in tints[1:])]
    mixed = [{"red": each, "white": 1.0 - each} for each in tints]
    recipes = {
        "red": {"red": 1.0},
        **dict(zip(called, mixed, strict=True)),
        "white": {"white": 1.0},
    }
    for name, recipe in recipes.items():
        for um in (12.0, 30.0):
            for card, value in (("black", 0.04), ("white", 0.85)):
                film = film_over(
                    sum(part * k[ink] for ink, part in recipe.items()),
                    sum(part * s[ink] for ink, part in recipe.items()),
                    thickness_um=um,
                    backing=internal_from_external(np.full(31, value)),
                )
                sheet.append(
                    Drawdown(
                        recipe=recipe,
                        backing=np.full(31, value),
                        reading=external_from_internal(film) + rng.normal(0.0, 0.001, 31),
                        thickness_um=3.0 if name == slip and um == 30.0 else um,
                        name=f"{name} {um:g} {card}",
                    )
                )
    return sheet


@pytest.mark.parametrize("slip", ["red", "tint", "white"])
def test_of_two_films_of_a_recipe_only_the_mistyped_one_is_read_again(slip: str) -> None:
    (words,) = check_sheet(characterise(two_films_each(slip=slip))).again
    assert f"{slip} 30 black" in words
    assert f"{slip} 12" not in words
    assert " µm, not 3: the thickness is mistyped" in words


def test_a_hiding_white_typed_as_3_is_named_though_the_whole_fit_led_astray() -> None:
    """All films hide the card: the fit with the slip ends where the rest alone would not."""
    sheet = [
        replace(d, thickness_um=3.0) if d.recipe == {"white": 1.0} else d
        for d in two_films_each(slip="none", tints=(0.2, 0.05))
        if d.thickness_um == 30.0
    ]
    others = characterise([d for d in sheet if d.recipe != {"white": 1.0}])
    assert 5.0 * others.mean_delta_e < characterise(sheet).mean_delta_e
    (words,) = check_sheet(characterise(sheet)).again
    assert words.startswith("white 30 black and white 30 white, because it fits a film of about 3")
    assert " µm, not 3: the thickness is mistyped" in words


def test_a_wrong_recipe_is_named_with_the_one_it_reads_like() -> None:
    made = Studio(World(truth=1.0, colours=3, **CAREFUL), 2)
    tint = {"color 1": 0.1, "white": 0.9}
    swapped = {"color 1": 0.9, "white": 0.1}
    sheet = [replace(d, recipe=swapped) if d.recipe == tint else d for d in made.fitted]
    found = check_sheet(characterise(sheet))
    (words,) = found.again
    assert words.startswith("color 1 10 % + white 90 % over black and color 1 10 %")  # its old name
    assert "reads like color 1 10 % + white 90 %: the recipe is mistyped" in words


def test_bronzing_is_the_cause_of_a_large_left_out_error() -> None:
    films_, _ = bronzed(1)
    found = check_sheet(fit(films_))
    assert found.delta_e is not None
    assert found.delta_e > 3.0
    assert any(cause.startswith(f"{INK} reads darker in a tint") for cause in found.causes) or any(
        INK in words for words in found.again
    )
    assert found.verdict != "good"


def test_a_sheet_is_not_good_above_what_it_says() -> None:
    good = check_sheet(characterise(known_ink()))
    assert good.verdict == "good"
    far = replace(good, delta_e=3.4)
    assert far.is_good  # no film to read again: it may be saved, with errors as wide as that
    assert far.verdict.startswith("not good")
    assert "are 3.4 ΔE00 off, and those of a good sheet 3 at most" in far.verdict
    assert replace(good, delta_e=3.0).verdict == "good"
