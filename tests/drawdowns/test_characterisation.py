"""Inks from drawdowns: known truth, standard errors, tints not drawn down, films, recipes by mass.

Truth comes from `tests.accuracy._studio`: Kubelka–Munk films of known K and S (physics tested in
test_kubelka_munk), or radiative transfer (held to iadpython by tests/accuracy/directness.py).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from inksim.colour.grid import BANDS
from inksim.drawdowns.characterisation import characterise, predict_drawdown
from inksim.drawdowns.drawdown import Drawdown, volume_fractions
from inksim.optics.kubelka_munk import (
    SURFACE,
    external_from_internal,
    film_over,
    internal_from_external,
)
from inksim.stock.ink import Ink, mix_inks
from tests.accuracy._studio import Studio, World
from tests.accuracy.drawdowns import FAULTS, HIDING, PLAIN, unseen_errors
from tests.drawdown_films import (
    BLACK,
    CHALK,
    CLEAR_INK,
    EXACT,
    HELD,
    WHITE,
    films,
    fit_of,
    flat,
    known_ink,
    studio,
)
from tests.two_backings import invert_over_two_backings

# -- known truth


def test_noise_free_drawdowns_give_back_the_inks() -> None:
    """K and S of a color, a white and a black, all unknowns free; readings perfect."""
    made = studio(World(noise=1e-12, colours=3, **EXACT))
    inks = fit_of(made, noise=1e-6)
    assert inks.directness == pytest.approx(0.0, abs=1e-3)
    np.testing.assert_allclose(inks.thicknesses, 1.0, atol=1e-3)
    assert unseen_errors(made, inks).max() < 0.01
    for name, truth in made.inks.items():
        ink = inks.inks[name]
        np.testing.assert_allclose(ink.K, 20.0 * truth.K, rtol=2e-3, atol=1e-4)
        seen = ink.S_known
        np.testing.assert_allclose(ink.S[seen], 20.0 * truth.S[seen], rtol=5e-3, atol=1e-4)


@pytest.mark.parametrize("options", [{}, HELD], ids=["free", "held"])
def test_one_ink_over_two_cards_is_the_closed_form(options: dict[str, Any]) -> None:
    """Two readings, two unknowns: nothing is left to the priors."""
    K, S = np.linspace(0.3, 0.002, BANDS), np.linspace(0.01, 0.08, BANDS)
    two = films(K, S, recipe={"ink": 1.0}, thickness_um=20.0)
    found = characterise(two, noise=1e-5, **options).inks["ink"]
    exact = invert_over_two_backings(
        *(internal_from_external(d.measured) for d in two),
        backing_1=internal_from_external(BLACK),
        backing_2=internal_from_external(WHITE),
        thickness_um=20.0,
    )
    np.testing.assert_allclose(found.K, exact[0], rtol=1e-4, atol=1e-6)
    np.testing.assert_allclose(found.S, exact[1], rtol=1e-4, atol=1e-6)
    np.testing.assert_allclose(found.K, K, rtol=1e-4, atol=1e-6)


def test_twice_the_thickness_is_half_of_k_and_s() -> None:
    made = studio(World(told=True, colours=2))
    thicker = [replace(d, thickness_um=2.0 * (d.thickness_um or 0.0)) for d in made.fitted]
    once, twice = fit_of(made), characterise(thicker)
    for name in once.inks:
        np.testing.assert_allclose(twice.inks[name].K, once.inks[name].K / 2, rtol=1e-6)
        np.testing.assert_allclose(twice.inks[name].S_error, once.inks[name].S_error / 2, rtol=1e-5)


def test_the_order_of_drawdowns_does_not_matter() -> None:
    made = studio(World(colours=2, **FAULTS))
    back = characterise(made.fitted[::-1])
    for name, ink in fit_of(made).inks.items():
        known = ink.S_known
        np.testing.assert_allclose(back.inks[name].K, ink.K, rtol=1e-3, atol=1e-5)
        np.testing.assert_allclose(back.inks[name].S[known], ink.S[known], rtol=1e-2, atol=1e-5)


def test_gloss_included_is_gloss_excluded_and_k1() -> None:
    """d:8 SCI reads k1 more of everything, cards too (Saunderson 1942)."""
    made = studio(World(colours=2))
    glossy = [
        replace(d, reading=d.measured + SURFACE.k1, backing=d.card + SURFACE.k1)
        for d in made.fitted
    ]
    plain, sci = fit_of(made), characterise(glossy, geometry="d:8-sci")
    for name in plain.inks:
        np.testing.assert_allclose(sci.inks[name].K, plain.inks[name].K, rtol=1e-6, atol=1e-9)
    recipe = {"color 0": 0.3, "white": 0.7}
    np.testing.assert_allclose(
        predict_drawdown(sci, recipe=recipe, backing=WHITE + SURFACE.k1),
        predict_drawdown(plain, recipe=recipe, backing=WHITE) + SURFACE.k1,
        atol=1e-7,
    )


# -- standard errors


def coverage(world: World, seeds: range, **options: Any) -> tuple[float, float, float, float]:
    """Share of K and of S within one and two standard errors of the truth."""
    off: dict[str, list[np.ndarray]] = {"K": [], "S": []}
    for seed in seeds:
        made = Studio(world, seed)
        for name, ink in fit_of(made, **options).inks.items():
            for letter, error in (("K", ink.K_error), ("S", ink.S_error)):
                truth = getattr(made.inks[name], letter)
                scale = 1.0 if world.told else world.thickness_um
                off[letter].append((getattr(ink, letter) - scale * truth) / error)
    K, S = (np.abs(np.concatenate(off[letter])) for letter in "KS")
    return (
        float(np.mean(K < 1)),
        float(np.mean(K < 2)),
        float(np.mean(S < 1)),
        float(np.mean(S < 2)),
    )


@pytest.mark.parametrize("noise", [0.002, 0.005])
@pytest.mark.parametrize("told", [False, True], ids=["same film", "µm"])
def test_standard_errors_hold_the_truth_as_often_as_they_say(noise: float, told: bool) -> None:
    """68 % within one and 95 % within two; readings and cards with noise that is not told."""
    within = coverage(
        World(noise=noise, told=told, colours=4, **{**EXACT, "film": 0.25 * told}), range(4), **HELD
    )
    assert within == pytest.approx((0.683, 0.954) * 2, abs=0.06)


def test_standard_errors_allow_for_films_that_differ() -> None:
    """Films 10 % apart, 3 % within; inks of 1 to 4 readings beside white. Never too bold."""
    one_k, two_k, one_s, two_s = coverage(
        World(colours=4, film=0.10, within_film=0.03, strength=0.1), range(4)
    )
    assert min(one_k, one_s) > 0.60
    assert min(two_k, two_s) > 0.90


def test_noise_is_found_from_the_residuals() -> None:
    for noise in (0.004, 0.008):
        assert fit_of(studio(World(noise=noise, **EXACT))).noise == pytest.approx(noise, rel=0.1)


# -- tints not drawn down


def test_unseen_tints_where_light_is_not_diffuse() -> None:
    """Radiative films that hide, all faults: the law takes off a third of the error."""
    made = [studio(World(truth=1.0, colours=8, **HIDING, **FAULTS), seed) for seed in (1, 2, 3)]
    fits = [[fit_of(one, **options) for one in made] for options in (PLAIN, {})]
    plain, ours = (
        np.concatenate([unseen_errors(*pair) for pair in zip(made, fit, strict=True)])
        for fit in fits
    )
    assert ours.mean() < 0.7 * plain.mean()
    assert np.percentile(ours, 95) < 0.8 * np.percentile(plain, 95)
    assert all(0.5 < fit.directness < 1.1 for fit in fits[1])


@pytest.mark.parametrize("world", [World(), World(**FAULTS), World(k2=0.5, **HIDING, **FAULTS)])
def test_unseen_tints_where_kubelka_munk_is_right(world: World) -> None:
    made = studio(world)
    inks = fit_of(made)
    assert unseen_errors(made, inks).mean() < unseen_errors(made, fit_of(made, **PLAIN)).mean()
    assert abs(inks.directness) < 0.3


def test_unseen_tints_of_films_of_known_thickness() -> None:
    """One tint of 1 + 4 given, 1 + 9 predicted, 8:d gloss included, thickness told to 5 %."""
    world = World(
        truth=1.0, geometry="d:8-sci", told=True, told_error=0.05, film=0.25, strength=0.05,
        weighing=0.02, tint=0.2, unseen=(0.1,),
    )  # fmt: skip
    made = studio(world)
    inks = fit_of(made)
    assert inks.unit == "µm"
    assert unseen_errors(made, inks).mean() < 0.95


def test_a_shop_mixes_fitted_inks_as_the_fit_does() -> None:
    """`mix_inks` knows an ink's K, S and directness alone, `predict_drawdown` the whole fit."""
    fit = fit_of(studio(World(truth=1.0, told=True, colours=3, **HIDING)), strength_sd=0.0)
    assert fit.directness > 0.5
    colour, white = (
        Ink(name=name, kind="color", K=fit.inks[name].K, S=fit.inks[name].S,
            solids_by_volume=0.4, directness=fit.directness)
        for name in ("color 1", "white")
    )  # fmt: skip
    for part in (0.02, 0.3):
        tint = mix_inks([(colour, part), (white, 1.0 - part)], name="tint")
        inside = film_over(
            tint.K, tint.S, thickness_um=10.0, backing=internal_from_external(flat(0.5))
        )
        expected = predict_drawdown(
            fit, recipe={"color 1": part, "white": 1.0 - part}, backing=flat(0.5), thickness_um=10.0
        )
        np.testing.assert_allclose(external_from_internal(inside), expected, atol=1e-6)


def test_a_card_that_no_drawdown_was_on() -> None:
    """Over gray, half a film and the next film: nothing of black and white stays in K and S."""
    made = studio(World(told=True, colours=3, **EXACT))
    inks = fit_of(made)
    K, S = (0.3 * a + 0.7 * b for a, b in (_pair(made, "K"), _pair(made, "S")))
    for card, um in ((0.3, 20.0), (0.3, 10.0), (0.75, 10.0)):
        inside = film_over(K, S, thickness_um=um, backing=internal_from_external(flat(card)))
        guess = predict_drawdown(
            inks, recipe={"color 1": 0.3, "white": 0.7}, backing=flat(card), thickness_um=um
        )
        assert np.abs(guess - external_from_internal(inside)).max() < 0.01


def _pair(made: Studio, letter: str) -> tuple[np.ndarray, np.ndarray]:
    return getattr(made.inks["color 1"], letter), getattr(made.inks["white"], letter)


def test_a_tint_tells_more_than_the_masstone_alone() -> None:
    """Common practice, measured often: masstone and one tint against masstone over two cards."""
    made = studio(World(truth=1.0, colours=6, **HIDING))
    alone = [d for d in made.fitted if len(d.recipe) == 1]
    assert (
        unseen_errors(made, fit_of(made)).mean()
        < 0.5 * unseen_errors(made, characterise(alone)).mean()
    )


# -- films, strengths, outliers


@pytest.mark.parametrize("um", [14.0, 30.0])
def test_a_film_of_another_thickness_is_found(um: float) -> None:
    again = films(*CLEAR_INK, recipe={"ink": 1.0}, um=um, film="again")
    found = characterise([*known_ink(), *again])
    ratio = found.thicknesses[-1] / found.thicknesses[0]
    assert ratio == pytest.approx(um / 20.0, rel=0.05)
    held = characterise([*known_ink(), *again], thickness_sd=0.0)
    np.testing.assert_array_equal(held.thicknesses, 1.0)


def test_a_film_far_from_what_is_stated_is_said() -> None:
    twice = films(*CLEAR_INK, recipe={"ink": 1.0}, um=36.0, thickness_um=20.0, film="again")
    thick = [replace(d, name="thick one") for d in twice]
    found = characterise([*known_ink(thickness_um=20.0), *thick])
    (words,) = [w for w in found.warnings if "as thick as stated" in w]
    assert words.startswith("thick one fits a film ")


def test_one_card_of_a_film_may_differ_only_a_little_from_the_other() -> None:
    """By recipe and thickness, or by the films' own names, readings share a film."""
    thin, thick = (
        films(*CLEAR_INK, recipe={"ink": 1.0}, um=um)[at] for at, um in ((0, 14.0), (1, 28.0))
    )
    apart = []
    for film in "ab":
        named = [replace(thin, film="a"), replace(thick, film=film)]
        thicknesses = characterise([*known_ink(), *named]).thicknesses
        apart.append(float(np.log(thicknesses[-1] / thicknesses[-2])))
    assert apart[0] < 0.1
    assert apart[1] > 0.4


def test_a_share_that_is_not_what_the_recipe_says_is_found() -> None:
    assert characterise(known_ink()).inks["ink"].strength == pytest.approx(1.0, abs=1e-6)
    wrong = characterise(known_ink(2.0), thickness_sd=0.0)
    relative = wrong.inks["ink"].strength / wrong.inks["white"].strength
    assert relative == pytest.approx(2.0, rel=0.02)
    # With films free too, strengths and thicknesses share what is off; tints come out all the same.
    free = characterise(known_ink(2.0))
    K, S = ((2 * a + 4 * b) / 6 for a, b in zip(CLEAR_INK, CHALK, strict=True))
    (_, over_white) = films(K, S, recipe={"ink": 0.2, "white": 0.8})
    guess = predict_drawdown(free, recipe={"ink": 0.2, "white": 0.8}, backing=WHITE)
    assert np.abs(guess - over_white.measured).max() < 0.005


def test_a_share_far_off_is_said() -> None:
    words = characterise(known_ink(4.0), thickness_sd=0.0).warnings
    assert any(w.startswith("ink acts in mixtures like ") for w in words)


def test_a_drawdown_of_another_ink_is_said_and_hardly_moves_the_rest() -> None:
    made = studio(World(colours=5, **FAULTS), 2)
    others = [d for d in made.unseen if "color 3" not in d.recipe]
    wrong = list(made.fitted)
    at = next(i for i, d in enumerate(wrong) if d.recipe == {"color 3": 0.1, "white": 0.9})
    grey = next(d for d in made.unseen if "black" in d.recipe)
    wrong[at] = replace(wrong[at], reading=grey.measured, name="mixed up")
    bare = replace(made)
    bare.unseen = others
    found = characterise(wrong)
    assert any(w.startswith("mixed up is") for w in found.warnings)
    assert unseen_errors(bare, found).mean() < 1.3 * unseen_errors(bare, fit_of(made)).mean()


# -- recipes by mass


def test_recipes_by_mass_three_ways() -> None:
    made = studio(World(colours=2))
    densities = {"color 0": 1.2, "color 1": 1.1, "white": 1.9, "black": 1.0}
    by_mass = [{ink: part * densities[ink] for ink, part in d.recipe.items()} for d in made.fitted]
    weighed = [
        Drawdown.from_mass(parts=parts, densities=densities, backing=d.card, reading=d.measured)
        for parts, d in zip(by_mass, made.fitted, strict=True)
    ]
    shares = [
        replace(d, recipe={i: v / sum(parts.values()) for i, v in parts.items()})
        for parts, d in zip(by_mass, made.fitted, strict=True)
    ]
    expected, found = fit_of(made), characterise(weighed)
    converted = characterise(shares, densities=densities)
    for name in expected.inks:
        for other in (found, converted):
            np.testing.assert_allclose(other.inks[name].K, expected.inks[name].K, rtol=1e-6)
    mass = {"color 0": 0.3 * 1.2, "white": 0.7 * 1.9}
    total = sum(mass.values())
    np.testing.assert_allclose(
        predict_drawdown(converted, recipe={i: v / total for i, v in mass.items()}, backing=WHITE),
        predict_drawdown(expected, recipe={"color 0": 0.3, "white": 0.7}, backing=WHITE),
        atol=1e-7,
    )


def test_volume_fractions_by_hand() -> None:
    """10 g at 2 g/cm³ and 10 g at 1 g/cm³ are 5 and 10 cm³; half solids of the second leave 5."""
    grams, density = {"a": 10.0, "b": 10.0}, {"a": 2.0, "b": 1.0}
    assert volume_fractions(grams, densities=density) == pytest.approx({"a": 1 / 3, "b": 2 / 3})
    dry = volume_fractions(grams, densities=density, solids_by_volume={"a": 0.4, "b": 0.2})
    assert dry == pytest.approx({"a": 0.5, "b": 0.5})
