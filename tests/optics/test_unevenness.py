"""The fiber field: quantiles, gamma thickness, and a tile that is uniform and seamless."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, strategies as st
from scipy import stats
from scipy.integrate import quad

from inksim.common.errors import InputError
from inksim.optics.unevenness import (
    TABLED,
    factors_at,
    level_quantiles,
    quantile_nodes,
    tabled_quantiles,
    thickness_factor,
)
from inksim.picture import cloth_tile
from inksim.picture.cloth_tile import COURSES_PER_CM, WALES_PER_CM, draw_tile, knit_tile

DPI_300 = 300 / 25.4


@pytest.fixture(scope="module")
def tile() -> np.ndarray:
    return knit_tile(px_per_mm=DPI_300)


# Quantile nodes


def test_nodes_integrate_polynomials_exactly_as_far_as_they_should() -> None:
    # Gauss-Legendre's defining property (Abramowitz & Stegun 25.4.29) is degree 2n - 1 = 15 in u;
    # q^d dq has degree 3d + 2, which allows d = 4, and by symmetry d = 5, but not d = 6.
    q, weight = quantile_nodes(8)
    powers = np.arange(8)
    error = np.abs((weight[:, None] * q[:, None] ** powers).sum(axis=0) - 1 / (powers + 1))
    assert error[:6].max() < 2e-15
    assert error[6] > 1e-8


@pytest.mark.parametrize("cv", [0.1, 0.3, 0.5])
def test_eight_nodes_are_close_to_the_fine_integral_of_a_film(cv: float) -> None:
    # Independent: adaptive quadrature over the gamma density of scipy.stats, not over quantiles.
    q, weight = quantile_nodes(8)
    gamma = stats.gamma(a=cv**-2, scale=cv**2)
    for depth in (0.3, 1.5, 4.0):
        mean = float(weight @ np.exp(-depth * thickness_factor(q, cv=cv)))
        exact, _ = quad(lambda t, d=depth: np.exp(-d * t) * gamma.pdf(t), 0, np.inf)
        assert mean == pytest.approx(exact, abs=1e-4)


@pytest.mark.parametrize("n", [0, -1, 257])
def test_number_of_nodes_outside_its_range_is_refused(n: int) -> None:
    with pytest.raises(InputError, match="quantile nodes"):
        quantile_nodes(n)


# Thickness


@pytest.mark.parametrize("cv", [1e-6, 0.05, 0.3, 0.5, 1.0])
def test_thickness_is_the_gamma_quantile_of_scipy_stats(cv: float) -> None:
    q = np.linspace(0.001, 0.999, 101)
    gamma = stats.gamma(a=cv**-2, scale=cv**2)
    assert gamma.mean() == pytest.approx(1)
    assert gamma.std() == pytest.approx(cv)
    np.testing.assert_allclose(thickness_factor(q, cv=cv), gamma.ppf(q), rtol=1e-9)


@pytest.mark.parametrize("nodes", TABLED)
def test_tabled_nodes_are_scipy_s_gamma_quantile(nodes: int) -> None:
    q = tabled_quantiles(nodes)
    cv = np.concatenate([[0.0, 1e-300, 1e-6, 1.0], np.random.default_rng(3).random(200)])
    found = factors_at(q, cv=cv)
    assert np.array_equal(found[:, :2], np.ones((nodes, 2)))
    gamma = stats.gamma(a=cv[2:] ** -2, scale=cv[2:] ** 2)
    np.testing.assert_allclose(found[:, 2:], gamma.ppf(q[:, None]), rtol=1e-9, atol=1e-12)
    for wrong in (-0.1, 1.01, float("nan")):
        with pytest.raises(InputError, match="coefficient of variation"):
            factors_at(q, cv=np.array([0.2, wrong]))


def test_cv_of_one_is_the_exponential_distribution() -> None:
    q = np.linspace(0, 0.999, 50)
    np.testing.assert_allclose(thickness_factor(q, cv=1), -np.log1p(-q), rtol=1e-12, atol=1e-15)


@given(cv=st.floats(0.01, 1), seed=st.integers(0, 2**32 - 1))
def test_drawn_thickness_has_mean_one_and_the_stated_cv(cv: float, seed: int) -> None:
    # One draw in each of 4000 equal strata, so sampling error is small; the last stratum, an open
    # tail, leaves the most.
    n = 4000
    q = (np.arange(n) + np.random.default_rng(seed).random(n)) / n
    factor = thickness_factor(np.minimum(q, 1 - 1e-9), cv=cv)
    assert factor.mean() == pytest.approx(1, abs=0.003)
    assert factor.std() == pytest.approx(cv, rel=0.03)


def test_no_unevenness_is_exactly_one() -> None:
    q = np.array([0.0, 0.1, 0.9999])
    assert np.array_equal(thickness_factor(q, cv=0.0), np.ones(3))
    assert np.array_equal(thickness_factor(q, cv=1e-300), np.ones(3))


def test_quantile_and_cv_broadcast() -> None:
    q, _ = quantile_nodes(8)
    factor = thickness_factor(q, cv=np.array([0.0, 0.4])[:, None])
    assert factor.shape == (2, 8)
    assert np.array_equal(factor[0], np.ones(8))
    assert np.array_equal(factor[1], thickness_factor(q, cv=0.4))


@pytest.mark.parametrize("cv", [-0.1, 1.01, float("nan"), [0.2, 3.0]])
def test_cv_outside_its_range_is_refused(cv: float) -> None:
    with pytest.raises(InputError, match="coefficient of variation"):
        thickness_factor(0.5, cv=cv)


@pytest.mark.parametrize("q", [-0.01, 1.0, float("nan")])
def test_quantile_outside_its_range_is_refused(q: float) -> None:
    with pytest.raises(InputError, match="quantile"):
        thickness_factor(q, cv=0.3)


# Tile


@pytest.mark.parametrize(
    ("px_per_mm", "size_px"), [(DPI_300, None), (2.0, None), (6.0, (101, 97)), (20.0, (300, 400))]
)
def test_every_value_occurs_equally_often(
    px_per_mm: float, size_px: tuple[int, int] | None
) -> None:
    tile = knit_tile(px_per_mm=px_per_mm, size_px=size_px)
    counts = np.bincount(tile.ravel(), minlength=256)
    assert tile.dtype == np.uint8
    assert counts.size == 256
    assert np.ptp(counts) <= 1
    assert size_px is None or tile.shape == size_px


def test_tile_is_about_40_mm() -> None:
    assert knit_tile(px_per_mm=10.0).shape == (400, 400)


def test_tile_wraps_without_a_seam(tile: np.ndarray) -> None:
    # The step across the seam is no rarer and no larger than steps inside the tile.
    whole = tile.astype(float)
    for axis in (0, 1):
        steps = np.abs(np.diff(whole, axis=axis)).mean(axis=1 - axis)
        seam = np.abs(np.take(whole, 0, axis=axis) - np.take(whole, -1, axis=axis)).mean()
        assert steps.min() * 0.95 < seam < steps.max() * 1.05


def test_a_tile_cut_out_of_a_larger_field_would_have_a_seam(tile: np.ndarray) -> None:
    # Shows that the measure above can fail: a crop that is not a whole number of loops.
    crop = tile[:, :-4].astype(float)
    steps = np.abs(np.diff(crop, axis=1)).mean(axis=0)
    assert np.abs(crop[:, 0] - crop[:, -1]).mean() > steps.max() * 1.05


def test_loops_have_the_pitch_of_jersey(tile: np.ndarray) -> None:
    # Independent of how the field is made: peaks of its power spectrum. 14 wales and 18 courses
    # per cm over 40 mm are 56 and 72 periods.
    power = np.abs(np.fft.fft2(tile - tile.mean())) ** 2
    across = power[0, : tile.shape[1] // 2]
    assert np.argmax(across[20:]) + 20 == round(WALES_PER_CM * 4)
    along = power[: tile.shape[0] // 2].sum(axis=1)
    assert abs(int(np.argmax(along[40:])) + 40 - round(COURSES_PER_CM * 4)) <= 2


def test_the_same_arguments_give_the_same_tile_and_another_seed_another() -> None:
    first = knit_tile(px_per_mm=5.0, seed=7)
    assert not first.flags.writeable
    cloth_tile._cached_tile.cache_clear()
    assert np.array_equal(first, knit_tile(px_per_mm=5.0, seed=7))
    assert not np.array_equal(first, knit_tile(px_per_mm=5.0, seed=8))


@pytest.mark.parametrize("px_per_mm", [0.5, 61.0, float("nan")])
def test_resolution_outside_its_range_is_refused(px_per_mm: float) -> None:
    with pytest.raises(InputError, match="resolution"):
        knit_tile(px_per_mm=px_per_mm)


def test_a_tile_smaller_than_a_loop_is_refused() -> None:
    with pytest.raises(InputError, match="no whole loop"):
        knit_tile(px_per_mm=12.0, size_px=(2, 400))


def test_level_quantiles_are_the_middles_of_256_equal_shares() -> None:
    q = level_quantiles()
    assert q[0] == 1 / 512
    assert q[-1] == 511 / 512
    assert np.allclose(np.diff(q), 1 / 256)


def test_the_kept_tile_is_what_is_drawn() -> None:
    """Another machine's Fourier transform may round two neighbors of the ranking the other way."""
    drawn, kept = draw_tile(), knit_tile(px_per_mm=300 / 25.4)
    assert kept.shape == drawn.shape
    off = np.abs(kept.astype(int) - drawn)
    assert off.max() <= 1
    assert np.mean(off > 0) < 1e-3
    # the tile of another size or seed is drawn, not read
    assert not np.array_equal(knit_tile(px_per_mm=300 / 25.4, seed=2), kept)
    assert knit_tile(px_per_mm=300 / 25.4, size_px=(118, 118)).shape == (118, 118)
