"""Recipes back from what they print, and from drawdowns: the shares that they were made of.

The prints are those of `tests.reference`, the model written out line by line; the drawdowns are
films by the closed form (Kubelka, J. Opt. Soc. Am. 38 (1948) 448, in `inksim.film_over`, which
`tests/published` holds against other solvers). What is asked: shares within 0.02 where their
standard error is below 0.01, and ΔE00 of at most 0.3 always.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

import inksim
from inksim.mixing.found import FoundRecipe
from inksim.optics import external_from_internal, internal_from_external
from inksim.stock import mix_inks, target_from_reflectance
from tests import reference
from tests.drawdown_films import known_ink

SHOP = inksim.load_shop()
NAMES = ("Kiln Red", "Barley Yellow", "Cornflower Blue", "Foxglove Pink", "Hearth Black",
         "Chalk White Base", "Rainwater Clear Base")  # fmt: skip
SURE, WITHIN, MOST_DE00 = 0.01, 0.02, 0.3
CARDS = {"black": np.full(31, 0.01), "white": np.full(31, 0.80)}


def drawn(seed: int, count: int) -> dict[str, float]:
    """A recipe of so many inks, a color among them, no share below 3 %."""
    rng = np.random.default_rng(seed)
    names = [*rng.choice(NAMES[:5], 1), *rng.choice(NAMES, 7, replace=False)]
    own = list(dict.fromkeys(str(name) for name in names))[:count]
    shares = 0.03 + (1.0 - 0.03 * count) * rng.dirichlet(np.ones(count))
    return dict(zip(own, shares.tolist(), strict=True))


def assert_found(
    true: dict[str, float], found: dict[str, float], sds: dict[str, float], away: float
) -> None:
    assert away <= MOST_DE00
    for name, sd in sds.items():
        if sd < SURE:
            assert found[name] == pytest.approx(true.get(name, 0.0), abs=WITHIN), (true, found, sds)
    if all(sd < SURE for sd in sds.values()):
        assert set(found) == set(true)


@pytest.mark.parametrize(
    ("seed", "count", "garment", "route"),
    [
        (1, 2, "Flour White", "straight"),
        (2, 3, "Flour White", "straight"),
        (3, 4, "Coal Black", "white-base"),
        (4, 3, "Coal Black", "discharge-base"),
        (5, 2, "Mist Gray", "white-base"),
        (6, 4, "Kingcup Yellow", "straight"),
    ],
)
def test_a_print_gives_back_what_was_mixed(
    seed: int, count: int, garment: str, route: inksim.printing.Route
) -> None:
    true = drawn(seed, count)
    wet = [(SHOP.ink(n), c / SHOP.ink(n).solids_by_volume) for n, c in true.items()]
    mixed, cloth = mix_inks(wet, name="mixed"), SHOP.garment(garment)
    build = inksim.usual_build(SHOP, garment=cloth, ink=mixed, route=route)
    printed = np.array(reference.swatch(build, SHOP.press.values))
    target = target_from_reflectance(printed, name="print")
    inks = [SHOP.ink(name) for name in NAMES]
    found = inksim.find_recipes(
        SHOP, target=target, garment=cloth, routes=[route], like=build, inks=inks
    )
    one: FoundRecipe = found.nearest
    assert one.share_sd is not None
    assert_found(true, one.recipe.shares, dict(one.share_sd), one.delta_e_2000)
    assert one.metamerism == pytest.approx(0.0, abs=0.05)
    # what the answer says of it is what its own build prints, by the twin
    again = reference.swatch(one.build, SHOP.press.values)
    seen = inksim.lab(np.array(again), inksim.Viewing())
    np.testing.assert_allclose(one.lab, seen, atol=1e-3)


@cache
def sheet() -> inksim.drawdowns.Characterisation:
    films = []
    for name in NAMES:
        recipes = [{name: 1.0}]
        if name != "Chalk White Base":
            recipes.append({name: 0.2, "Chalk White Base": 0.8})
        films += [
            inksim.Drawdown(
                recipe=recipe, backing=card, reading=film(recipe, card, 15.0), thickness_um=15.0
            )
            for recipe in recipes
            for card in ("black", "white")
        ]
    # films of plain Kubelka-Munk whose thickness and strength are known
    return inksim.characterise(
        films, directness_sd=0.0, thickness_sd=0.0, within_film_sd=0.0, strength_sd=0.0
    )


def film(recipe: dict[str, float], card: str, um: float) -> np.ndarray:
    K = sum(share * SHOP.ink(name).K for name, share in recipe.items())
    S = sum(share * SHOP.ink(name).S for name, share in recipe.items())
    under = internal_from_external(CARDS[card])
    return external_from_internal(inksim.film_over(K, S, thickness_um=um, backing=under))


@pytest.mark.parametrize("seed", range(6))
def test_a_drawdown_gives_back_what_it_was_made_of(seed: int) -> None:
    true, card = drawn(10 + seed, 2 + seed % 3), ["black", "white"][seed % 2]
    best, *_ = inksim.recipes_for(sheet(), film(true, card, 18.0), card, thickness_um=18.0)
    assert sum(best.parts.values()) == pytest.approx(1.0)
    assert_found(true, dict(best.parts), dict(best.share_sd), best.delta_e)
    predicted = inksim.predict_drawdown(sheet(), recipe=best.parts, backing=card, thickness_um=18.0)
    np.testing.assert_allclose(predicted, film(true, card, 18.0), atol=2e-3)


def test_an_ink_stronger_than_stated_comes_back_in_the_recipes_own_terms() -> None:
    # The ink really holds 1.3 times the dry volume that its recipes say (`tests.drawdown_films`).
    fitted = inksim.characterise(known_ink(1.3), directness_sd=0.0, thickness_sd=0.0)
    assert fitted.inks["ink"].strength > 1.1
    true = {"ink": 0.2, "white": 0.8}
    reading = inksim.predict_drawdown(fitted, recipe=true, backing="black")
    best, *_ = inksim.recipes_for(fitted, reading, "black")
    assert best.parts == pytest.approx({"white": 0.8, "ink": 0.2}, abs=1e-3)


def test_a_share_that_the_reading_does_not_tell_is_said() -> None:
    # So much black that nothing else shows.
    true = {"Hearth Black": 0.6, "Kiln Red": 0.2, "Rainwater Clear Base": 0.2}
    best, *others = inksim.recipes_for(
        sheet(), film(true, "white", 40.0), "white", thickness_um=40.0
    )
    assert best.delta_e <= MOST_DE00
    assert max(best.share_sd.values()) > 0.05 or len(best.parts) < 3
    assert others[0].delta_e <= MOST_DE00
    assert "hardly tells the share" in best.note


def test_two_inks_that_can_stand_for_each_other_are_named() -> None:
    # A second black of the same spectra, half as strong, as another maker's would be.
    twin = inksim.Ink(
        name="Flue Black", kind="color", K=SHOP.ink("Hearth Black").K / 2,
        S=SHOP.ink("Hearth Black").S / 2, solids_by_volume=0.34,
    )  # fmt: skip
    inks = [SHOP.ink("Barley Yellow"), SHOP.ink("Chalk White Base"), SHOP.ink("Hearth Black"), twin]
    mixed = mix_inks([(inks[0], 0.30), (inks[1], 0.65), (inks[2], 0.05)], name="mixed")
    cloth = SHOP.garment("Flour White")
    build = inksim.usual_build(SHOP, garment=cloth, ink=mixed, route="straight")
    printed = np.array(reference.swatch(build, SHOP.press.values))
    found = inksim.find_recipes(
        SHOP, target=target_from_reflectance(printed, name="print"), garment=cloth, like=build,
        inks=inks,
    )  # fmt: skip
    pair = {"Hearth Black", "Flue Black"}
    assert any(set(swap) == pair for swap in found.nearest.swaps)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"reading": np.full(30, 0.2)}, "31 values"),
        ({"reading": np.full(31, 20.0)}, "divide percent by 100"),
        ({"backing": "gray"}, "neither 'black' nor 'white'"),
        ({"thickness_um": None}, "give the film's thickness in µm"),
        ({"thickness_um": -3.0}, "thickness is -3 µm"),
        ({"most_inks": 0}, "most_inks is 0"),
    ],
)
def test_a_reading_that_is_none_is_one_sentence(change: dict[str, object], said: str) -> None:
    given: dict[str, object] = {"reading": np.full(31, 0.2), "backing": "white",
                                "thickness_um": 15.0}  # fmt: skip
    given |= change
    reading, backing = given.pop("reading"), given.pop("backing")
    with pytest.raises(inksim.InputError, match=said) as caught:
        inksim.recipes_for(sheet(), reading, backing, **given)  # type: ignore[arg-type]
    assert len(str(caught.value)) <= 300


def test_a_reading_of_another_ink_is_told_as_far_off() -> None:
    green = SHOP.ink("Orchard Green")
    under = internal_from_external(CARDS["white"])
    reading = external_from_internal(
        inksim.film_over(green.K, green.S, thickness_um=18.0, backing=under)
    )
    few = inksim.characterise(
        [d.drawdown for d in sheet().drawdowns if not {"Cornflower Blue", "Barley Yellow"}
         & set(d.drawdown.recipe)],
        directness_sd=0.0, thickness_sd=0.0, within_film_sd=0.0, strength_sd=0.0,
    )  # fmt: skip
    best, *_ = inksim.recipes_for(few, reading, "white", thickness_um=18.0)
    assert best.delta_e > 3.0
    assert "another ink in it" in best.note
