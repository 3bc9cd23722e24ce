"""K and S smooth over wavelength: against scipy's least squares, and what noise it takes out."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from inksim.colour.grid import BANDS, WAVELENGTHS_NM
from inksim.common.errors import InputError
from inksim.drawdowns.characterisation import MILD_SMOOTHNESS_SD, characterise
from inksim.drawdowns.drawdown import Drawdown
from inksim.drawdowns.smoothness import FAINT
from inksim.optics.kubelka_munk import (
    external_from_internal,
    film_over,
    internal_from_external,
    ks_from_reflectance,
)
from tests.accuracy._studio import World
from tests.drawdown_films import BLACK, HELD, WHITE, fit_of, flat, studio

REFERENCE = Path(__file__).parents[2] / "reference_data"


def noisy(seed: int, noise: float) -> list[Drawdown]:
    """A bell of absorption in a scattering film, read with noise over both cards."""
    rng = np.random.default_rng(seed)
    K = 0.05 + 1.5 * np.exp(-(((WAVELENGTHS_NM - 550) / 60) ** 2))
    made = []
    for card in (BLACK, WHITE):
        inside = film_over(K, flat(0.4), thickness_um=1.0, backing=internal_from_external(card))
        reading = external_from_internal(inside) + rng.normal(0, noise, BANDS)
        made.append(Drawdown(recipe={"ink": 1.0}, backing=card, reading=reading, film="one"))
    return made


@pytest.mark.parametrize("sd", [1.0, 0.3, 0.05])
def test_the_smooth_fit_is_that_of_scipy(sd: float) -> None:
    """scipy.optimize.least_squares of the same cost, written out, thickness and light held."""
    from scipy.optimize import least_squares

    made = noisy(1, 0.01)
    found = characterise(made, noise=0.01, smoothness_sd=sd, **HELD)
    readings = np.concatenate([d.measured for d in made])

    def residuals(x: np.ndarray) -> np.ndarray:
        log_k, log_s, *cards_off = x.reshape(4, BANDS)
        K, S = np.exp(log_k), np.exp(log_s)
        inside = internal_from_external(np.array([BLACK, WHITE]) + cards_off)
        fitted = external_from_internal(film_over(K, S, thickness_um=1.0, backing=inside)).ravel()
        rough = np.diff(np.log(np.array([K, S]) + FAINT), n=2, axis=1) / sd
        parts = (fitted - readings) / found.noise, np.array(cards_off) / 0.01, rough
        return np.concatenate([part.ravel() for part in parts])

    ink = found.inks["ink"]
    start = np.concatenate([np.log(ink.K) + 0.1, np.log(ink.S) - 0.1, np.zeros(2 * BANDS)])
    expected = least_squares(residuals, start, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    K, S = np.exp(expected.x.reshape(4, BANDS)[:2])
    np.testing.assert_allclose(ink.K, K, rtol=1e-4, atol=1e-6)
    np.testing.assert_allclose(ink.S, S, rtol=1e-4, atol=1e-6)


def test_noise_is_taken_out_and_the_errors_say_how_much() -> None:
    """The bell is 60 nm wide: far smoother than the mild prior expects."""
    truth = 0.05 + 1.5 * np.exp(-(((WAVELENGTHS_NM - 550) / 60) ** 2))
    apart_off, smooth_off, inside = [], [], []
    for seed in range(12):
        made = noisy(seed, 0.02)
        for sd, off in ((None, apart_off), (MILD_SMOOTHNESS_SD, smooth_off)):
            ink = characterise(made, noise=0.02, smoothness_sd=sd, **HELD).inks["ink"]
            off.append(np.sqrt(np.mean((ink.K - truth) ** 2)))
        inside.append(np.mean(np.abs(ink.K - truth) < 1.96 * ink.K_error))
    assert np.mean(smooth_off) < 0.85 * np.mean(apart_off)
    assert 0.88 < np.mean(inside) < 0.995, "95 % of the truth within 1.96 standard errors"


def test_good_readings_hardly_feel_it() -> None:
    made = studio(World(noise=1e-12, colours=3, film=0.0, within_film=0.0))
    apart, smooth = fit_of(made, **HELD), fit_of(made, **HELD, smoothness_sd=MILD_SMOOTHNESS_SD)
    for name, ink in smooth.inks.items():
        np.testing.assert_allclose(ink.K, apart.inks[name].K, rtol=0.03, atol=0.03)
    assert (apart.smoothness_sd, smooth.smoothness_sd) == (None, MILD_SMOOTHNESS_SD)


def test_a_band_that_no_reading_tells_follows_its_neighbors() -> None:
    """Over both cards alike at 400 nm: S could be anything, so apart it ends far from the rest."""
    K, S = flat(0.3), flat(0.5)
    K[0], S[0] = 60.0, 30.0
    made = []
    for card in (BLACK, WHITE):
        inside = film_over(K, S, thickness_um=1.0, backing=internal_from_external(card))
        reading = external_from_internal(inside)
        made.append(Drawdown(recipe={"ink": 1.0}, backing=card, reading=reading, film="one"))
    smooth = characterise(made, smoothness_sd=MILD_SMOOTHNESS_SD, **HELD).inks["ink"]
    apart = characterise(made, **HELD).inks["ink"]
    assert not apart.S_known[0]
    assert apart.S[0] > 4 * apart.S[1]
    assert 0.7 < smooth.S[0] / smooth.S[1] < 1.5


@pytest.mark.parametrize("sd", [0.0, -1.0, np.nan, np.inf])
def test_a_deviation_without_meaning_is_refused(sd: float) -> None:
    with pytest.raises(InputError, match=r"smoothness_sd is .*; it must be above 0, or None"):
        characterise(noisy(1, 0.01), smoothness_sd=sd)


def test_more_drawdowns_than_one_ink_and_free_films_settle() -> None:
    made = studio(World())
    found = fit_of(made, smoothness_sd=MILD_SMOOTHNESS_SD)
    assert found.converged
    rough = replace(made.world, noise=0.03)
    assert np.max([ink.K.max() for ink in fit_of(
        studio(rough), smoothness_sd=MILD_SMOOTHNESS_SD).inks.values()]) < 1e3  # fmt: skip


def test_the_mild_prior_is_as_rough_as_the_roughest_textiles() -> None:
    """33 dyed textiles measured by others (reference_data/manifest.toml), K/S at 10 nm."""
    with (REFERENCE / "textile_reflectances.csv").open(encoding="utf-8") as file:
        table = np.array([[float(v) for v in line] for line in list(csv.reader(file))[1:]])
    spectra = [np.interp(WAVELENGTHS_NM, table[:, 0], column) for column in table[:, 1:].T]
    rough = np.std(np.diff(np.log(ks_from_reflectance(spectra) + FAINT), n=2, axis=1), axis=1)
    assert rough.shape == (33,)
    assert 0.8 < MILD_SMOOTHNESS_SD / rough.max() < 1.25
