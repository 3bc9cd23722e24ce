"""The errors that an ink's entry carries hold the truth about as often as they say."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import BANDS
from inksim.colour.viewing import Viewing, lab
from inksim.drawdowns.characterisation import Characterisation, characterise
from inksim.drawdowns.ink_error import MOST_DIRECTIONS, WIDEST, entry_spectra, spectral_error
from inksim.drawdowns.sheet_check import check_sheet
from inksim.optics.directness import effective_ks, mixing_ks
from inksim.optics.kubelka_munk import (
    external_from_internal,
    film_over,
    internal_from_external,
)
from tests.accuracy._studio import Recipe, Studio, World
from tests.accuracy.drawdowns import HIDING
from tests.drawdowns.sheets_with_slips import CAREFUL, TOLD

DRAWS, NINETY = 200, 1.645
SEEDS = (1, 2, 3)


@cache
def fitted(world: World, seed: int) -> tuple[Studio, Characterisation]:
    made = Studio(world, seed)
    return made, characterise(made.fitted, geometry=world.geometry)  # type: ignore[arg-type]


def drawn(
    fit: Characterisation, recipe: Recipe, *, card: np.ndarray, um: float, um_sd: float, seed: int
) -> np.ndarray:
    """Lab (DRAWS, 3) of a recipe's film with its inks drawn by their entries' errors.

    Thicknesses are drawn too, as off as the studio's are told. Film 0 has nothing off.
    """
    rng = np.random.default_rng(seed)
    k = s = np.zeros((DRAWS, BANDS))
    for name, part in recipe.items():
        error = spectral_error(fit.inks[name])
        z = rng.normal(size=(DRAWS, 2 + len(error.shapes)))
        z[0] = 0.0
        off = np.einsum("nd,dib->nib", z[:, 2:], error.shapes)
        off += (z[:, :2] * [error.K, error.S])[:, :, None]
        K, S = np.stack(entry_spectra(fit.inks[name]))[:, None] * np.exp(off.transpose(1, 0, 2))
        K, S = mixing_ks(K, S, fit.directness)
        k, s = k + part * K, s + part * S
    t = um * np.exp(um_sd * rng.normal(size=(DRAWS, 1)))
    t[0] = um
    inside = film_over(
        *effective_ks(k * t, s * t, fit.directness),
        thickness_um=1.0,
        backing=internal_from_external(card),
    )
    return np.asarray(lab(np.maximum(external_from_internal(inside), 1e-4), Viewing()))


def test_K_and_S_lie_within_their_errors_nine_times_in_ten() -> None:
    """Kubelka–Munk films of known K and S, with the faults of a careful studio: 0.95 and 0.96."""
    held: dict[str, list[np.ndarray]] = {"K": [], "S": []}
    for seed in SEEDS:
        made, fit = fitted(World(colours=4, **CAREFUL), seed)
        for name, ink in fit.inks.items():
            for letter, value, sd in zip(
                "KS", entry_spectra(ink), spectral_error(ink).total(), strict=True
            ):
                off = np.log(getattr(made.inks[name], letter) / value)
                held[letter].append(np.abs(off) < NINETY * sd)
    for letter in "KS":
        assert 0.83 <= np.mean(held[letter]) <= 1.0, letter


@pytest.mark.parametrize(
    "world",
    [
        World(truth=1.0, colours=3, **CAREFUL),
        World(truth=1.0, colours=3, **HIDING, **CAREFUL),
        World(colours=3, **CAREFUL),
    ],
    ids=["radiative, thin", "radiative, hiding", "Kubelka-Munk"],
)
def test_tints_not_drawn_down_lie_within_their_intervals(world: World) -> None:
    """L*, a*, b* of 5, 25 and 50 % tints over both cards, and of a second masstone."""
    held = []
    for seed in SEEDS[:2]:
        made, fit = fitted(world, seed)
        again = [d for name in made.inks for d in made.draw_down({name: 1.0})]
        for d in (*made.unseen, *again):
            labs = drawn(
                fit, d.recipe, card=d.card, um=float(d.thickness_um or 0.0),
                um_sd=world.told_error, seed=seed,
            )  # fmt: skip
            low, high = np.percentile(labs, [5, 95], axis=0)
            truth = lab(d.measured, Viewing())
            held.append((low - 0.2 < truth) & (truth < high + 0.2))
    cover = np.mean(held, axis=0)
    assert np.all(cover > 0.80)
    assert np.mean(cover) > 0.85


def test_an_ink_read_once_over_white_is_covered_over_black() -> None:
    """Some 60 inks, radiative and not: the look over black is ten ΔE00 off, and within 90 %.

    0.91, 0.88 and 0.91 of L*, a*, b* in ten studios.
    """
    held, apart = [], []
    for truth in (0.0, 1.0):
        for seed in SEEDS:
            made = Studio(World(truth=truth, thickness_um=12.0, colours=8, **TOLD), seed)
            for name in made.inks:
                films = {d.card_word: d for d in made.draw_down({name: 1.0})}
                black = films["black"]
                labs = drawn(
                    characterise([films["white"]]), {name: 1.0}, card=black.card,
                    um=float(black.thickness_um or 0.0), um_sd=0.05, seed=seed,
                )  # fmt: skip
                low, high = np.percentile(labs, [5, 95], axis=0)
                truth_lab = lab(black.measured, Viewing())
                held.append((low <= truth_lab) & (truth_lab <= high))
                apart.append(delta_e_2000(labs[0], truth_lab))
    assert np.mean(apart) > 5.0
    assert np.all(np.mean(held, axis=0) > 0.80)


def test_few_directions_keep_the_error_of_every_band() -> None:
    _, fit = fitted(World(colours=4, **CAREFUL), 1)
    for ink in fit.inks.values():
        error = spectral_error(ink)
        assert len(error.shapes) <= MOST_DIRECTIONS
        K, S = entry_spectra(ink)
        for own, value, sd, lot in zip(
            (ink.K_error, ink.S_error), (K, S), error.total(), (error.K, error.S), strict=True
        ):
            expected = np.hypot(np.minimum(own / value, WIDEST), lot)
            np.testing.assert_allclose(sd, expected, rtol=1e-6)
        twice = spectral_error(ink, times=2.0).total()[0]
        known = ink.K_error / K < WIDEST / 2
        own = np.sqrt(error.total()[0] ** 2 - error.K**2)
        np.testing.assert_allclose(np.sqrt(twice**2 - error.K**2)[known], 2 * own[known], rtol=1e-6)


def test_a_sheet_that_predicts_worse_than_it_says_has_wider_errors() -> None:
    made = Studio(World(truth=1.0, colours=3, weighing=0.15, strength=0.2, **TOLD), 1)
    times = check_sheet(characterise(made.fitted)).times
    assert min(times.values()) >= 1.0
    assert max(times.values()) > 1.0
