"""Inks from drawdowns: known truth comes back, with honest errors; unseen tints are predicted.

Truth is made here with the film equations of `tests/reference.py`'s sources (Kubelka 1948,
Saunderson 1942), which other tests hold to a boundary-value solver; what is checked is the fit.
"""

from __future__ import annotations

import numpy as np
import pytest

from inksim.appearance import Viewing, delta_e_2000, lab
from inksim.characterise import Characterisation, Drawdown, characterise, predict_drawdown
from inksim.errors import InputError
from inksim.kubelka_munk import (
    SURFACE,
    Surface,
    external_from_internal,
    film_over,
    internal_from_external,
    invert_over_two_backings,
)

D50 = Viewing()
NM = np.linspace(400.0, 700.0, 31)
BLACK, WHITE = np.full(31, 0.03), np.linspace(0.76, 0.83, 31)
K = {
    "white": 0.002 + 0.25 / (1 + np.exp((NM - 408) / 5)),
    "red": 0.01 + 0.5 / (1 + np.exp((NM - 585) / 9)),
    "blue": 0.02 + 0.45 / (1 + np.exp((560 - NM) / 14)),
}
S = {
    "white": 0.35 * (550 / NM) ** 0.7,
    "red": 0.020 * (550 / NM),
    "blue": 0.012 * (550 / NM),
}
PLAIN = {"thickness_sd": 0.0, "strength_sd": 0.0, "directness_sd": 0.0}


def seen(
    recipe: dict[str, float], thickness_um: float, card: np.ndarray, surface: Surface = SURFACE
) -> np.ndarray:
    k, s = (sum(c * of[ink] for ink, c in recipe.items()) for of in (K, S))
    under = internal_from_external(card, surface=surface)
    inside = film_over(k, s, thickness_um=thickness_um, backing=under)
    return external_from_internal(inside, surface=surface)


def cards(
    recipe: dict[str, float],
    thickness_um: float,
    *,
    stated: float | None = None,
    noise: float = 0.0,
    seed: int = 0,
    surface: Surface = SURFACE,
) -> list[Drawdown]:
    rng = np.random.default_rng(seed)
    return [
        Drawdown(
            recipe=recipe,
            backing=card,
            reading=seen(recipe, thickness_um, card, surface) + rng.normal(0, noise, 31),
            thickness_um=stated,
        )
        for card in (BLACK, WHITE)
    ]


def apart(fit: Characterisation, recipe: dict[str, float], um: float, card: np.ndarray) -> float:
    stated = um if fit.unit == "µm" else None
    guess = predict_drawdown(fit, recipe, card, thickness_um=stated)
    return float(delta_e_2000(lab(seen(recipe, um, card), D50), lab(guess, D50)))


def test_one_clean_film_gives_its_own_k_and_s() -> None:
    fit = characterise(cards({"red": 1.0}, 4.0, stated=4.0), **PLAIN)
    # Closed form, an independent route to the same numbers.
    over = [internal_from_external(seen({"red": 1.0}, 4.0, card)) for card in (BLACK, WHITE)]
    k, s = invert_over_two_backings(
        *over,
        backing_1=internal_from_external(BLACK),
        backing_2=internal_from_external(WHITE),
        thickness_um=4.0,
    )
    np.testing.assert_allclose(fit.inks["red"].K, k, rtol=0.01)
    np.testing.assert_allclose(fit.inks["red"].S, s, rtol=0.01)
    np.testing.assert_allclose(fit.inks["red"].K, K["red"], rtol=0.01)


def studio(*, stated: bool, noise: float, seed: int = 0, wobble: float = 0.0) -> Characterisation:
    """Masstones of three inks and one tint of each color in white, over black and white."""
    rng = np.random.default_rng(seed)
    recipes = [{"white": 1.0}, {"red": 1.0}, {"blue": 1.0}]
    recipes += [{"white": 0.9, "red": 0.1}, {"white": 0.9, "blue": 0.1}]
    drawdowns = []
    for at, recipe in enumerate(recipes):
        um = 8.0 * float(np.exp(rng.normal(0, wobble)))
        drawdowns += cards(
            recipe, um, stated=8.0 if stated else None, noise=noise, seed=seed + at + 1
        )
    return characterise(drawdowns)


@pytest.mark.parametrize("stated", [True, False])
def test_other_tints_and_cards_are_predicted(stated: bool) -> None:
    fit = studio(stated=stated, noise=0.002, wobble=0.05)
    gray = np.full(31, 0.3)
    gaps = [
        apart(fit, {"white": 1 - share, color: share}, 8.0, card)
        for color in ("red", "blue")
        for share in (0.03, 0.3, 0.6)
        for card in (BLACK, gray, WHITE)
    ]
    # Noise 0.002 alone is about 0.2 ΔE00; films 5 % off add to it. The promise is 0.95.
    assert np.mean(gaps) < 0.95


def test_mass_recipes_are_converted_by_density() -> None:
    by_volume = {"white": 0.8, "red": 0.2}
    density = {"white": 2.0, "red": 1.1}
    grams = {ink: part * density[ink] for ink, part in by_volume.items()}
    made = Drawdown.from_mass(
        parts=grams, densities=density, backing=BLACK, reading=seen(by_volume, 8.0, BLACK)
    )
    assert dict(made.recipe) == pytest.approx(by_volume)


def test_standard_errors_hold_what_they_say() -> None:
    inside = []
    for seed in range(12):
        drawdowns = cards({"red": 1.0}, 4.0, stated=4.0, noise=0.002, seed=seed)
        fit = characterise(drawdowns, noise=0.002, **PLAIN).inks["red"]
        inside.append((np.abs(fit.K - K["red"]) / fit.K_error)[fit.K_known])
    z = np.concatenate(inside)
    # 68 % within one and 95 % within two standard errors; 372 values, bands far apart independent.
    assert 0.58 < np.mean(z < 1) < 0.80
    assert 0.90 < np.mean(z < 2) < 0.99


def test_a_film_that_hides_is_said() -> None:
    fit = characterise(cards({"white": 1.0}, 60.0, stated=60.0))
    assert any("hides" in words for words in fit.warnings)


def test_fluorescence_is_noticed() -> None:
    # Neon inks read far above 1 at their emission (common practice, no source).
    drawdowns = []
    for card in (BLACK, WHITE):
        glow = 0.8 * np.exp(-0.5 * ((NM - 610) / 14) ** 2)
        drawdowns.append(
            Drawdown(
                recipe={"red": 1.0},
                backing=card,
                reading=seen({"red": 1.0}, 6.0, card) + glow,
                thickness_um=6.0,
            )
        )
    fit = characterise(drawdowns)
    assert any("fluoresc" in words.lower() for words in fit.warnings)


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ({"recipe": {"red": 0.5}}, "sum"),
        ({"recipe": {"red": 1.0}, "thickness_um": -1.0}, "above 0"),
        ({"recipe": {"red": 1.0}, "reading": np.full(30, 0.5)}, "31"),
        ({"recipe": {"red": 1.0}, "reading": np.full(31, np.nan)}, "reading"),
        ({"recipe": {"red": 1.0}, "reading": np.full(31, 45.0)}, "reading"),
    ],
)
def test_what_no_drawdown_can_be_is_refused(fault: dict[str, object], said: str) -> None:
    good: dict[str, object] = {"backing": BLACK, "reading": np.full(31, 0.2)}
    with pytest.raises(InputError, match=said):
        Drawdown(**(good | fault))  # type: ignore[arg-type]


def test_an_unknown_geometry_and_no_drawdown_are_refused() -> None:
    with pytest.raises(InputError):
        characterise([])
    with pytest.raises(InputError):
        characterise(cards({"red": 1.0}, 4.0), geometry="8:sideways")  # type: ignore[arg-type]


def test_forty_inks_take_seconds() -> None:
    inks = [f"ink {n}" for n in range(40)]
    K.update({ink: K["red"] * (0.5 + n / 40) for n, ink in enumerate(inks)})
    S.update({ink: S["red"] * (0.5 + n / 40) for n, ink in enumerate(inks)})
    drawdowns = cards({"white": 1.0}, 8.0, noise=0.002)
    for n, ink in enumerate(inks):
        drawdowns += cards({ink: 1.0}, 8.0, noise=0.002, seed=n)
        drawdowns += cards({"white": 0.9, ink: 0.1}, 8.0, noise=0.002, seed=n + 100)
        drawdowns += cards({"white": 0.5, ink: 0.5}, 8.0, noise=0.002, seed=n + 200)[:1]
    fit = characterise(drawdowns)
    assert len(drawdowns) > 200
    assert len(fit.inks) == 41
    assert fit.mean_delta_e < 0.5
