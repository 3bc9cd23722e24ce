"""The equations of a drawdown and their slopes, against `kubelka_munk` and finite differences."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, strategies as st

from inksim.drawdowns.film_model import (
    Problem,
    State,
    film_slopes,
    jacobian,
    read,
    surface_in,
    surface_out,
)
from inksim.drawdowns.least_squares import solve
from inksim.optics.directness import DIRECTNESS_RANGE, effective_ks, effective_ks_slopes, mixing_ks
from inksim.optics.kubelka_munk import SURFACE, external_from_internal, film_over


def test_films_and_surface_are_those_of_kubelka_munk() -> None:
    rng = np.random.default_rng(0)
    K, S = 10 ** rng.uniform(-9, 1.5, (2, 4000))
    g = rng.uniform(0, 1, 4000)
    R, *_ = film_slopes(K, S, g)
    np.testing.assert_allclose(R, film_over(K, S, thickness_um=1.0, backing=g), atol=1e-13)
    for sci in (False, True):
        outside, _ = surface_out(R, SURFACE, specular_included=sci)
        expected = external_from_internal(R, specular_included=sci)
        np.testing.assert_allclose(outside, expected, atol=1e-14)
        np.testing.assert_allclose(
            surface_in(outside, SURFACE, specular_included=sci)[0], R, atol=1e-12
        )


def test_without_directness_a_mixture_is_linear_and_with_it_only_a_color_changes() -> None:
    k, s = np.array([0.0, 0.3, 5.0]), np.array([2.0, 0.4, 0.01])
    np.testing.assert_array_equal(effective_ks(k, s, 0.0), (k, s))
    k_eff, s_eff = effective_ks(k, s, 0.8)
    assert (k_eff[0], s_eff[0]) == (k[0], s[0]), "a white's light is diffuse"
    assert np.all(k_eff[1:] < k[1:])
    assert np.all(s_eff[1:] < s[1:])


@given(k=st.floats(0, 100), s=st.floats(0, 100), eta=st.floats(*DIRECTNESS_RANGE))
def test_what_mixes_is_found_again_from_what_is_seen(k: float, s: float, eta: float) -> None:
    expected = np.array([k]), np.array([s])
    np.testing.assert_allclose(
        mixing_ks(*effective_ks(*expected, eta), eta), expected, rtol=1e-8, atol=1e-10
    )


def _problem(rng: np.random.Generator, *, cards: int = 2) -> tuple[Problem, State]:
    """A random problem of 6 drawdowns, 3 inks and 4 bands, and a state near believable ones."""
    free = np.ones(6 + 3 + 1, dtype=np.bool_)
    problem = Problem(
        fractions=rng.dirichlet(np.ones(3), 6),
        thickness=rng.uniform(0.5, 2.0, 6),
        readings=rng.uniform(0, 1, (6, 4)),
        cards=rng.uniform(0.05, 0.9, (cards, 4)),
        card_of=np.arange(6) % cards,
        surface=SURFACE,
        specular_included=False,
        weights=np.ones((6, 1)),
        caution=1.0,
        noise=0.01,
        card_noise=0.002,
        precision=np.eye(free.size),
        free=free,
    )
    state = State(
        log_k=rng.normal(-1, 1, (4, 3)),
        log_s=rng.normal(-1, 1, (4, 3)),
        card=rng.normal(0, 0.01, (4, cards)),
        shared=np.concatenate([rng.normal(0, 0.1, 9), [0.6]]),
    )
    return problem, state


def _bumped(state: State, part: str, at: tuple[int, ...], by: float) -> State:
    changed = getattr(state, part).copy()
    changed[at] += by
    return state._replace(**{part: changed})


@pytest.mark.parametrize("seed", range(3))
def test_slopes_are_those_of_finite_differences(seed: int) -> None:
    problem, state = _problem(np.random.default_rng(seed))
    R, slopes = read(problem, state)
    found = jacobian(problem, state, slopes, log=True)
    shared = np.concatenate([np.zeros((4, 6, 6)), found.other], axis=2)
    shared[:, np.arange(6), np.arange(6)] = found.thickness
    h = 1e-6

    def numeric(part: str, at: tuple[int, ...]) -> np.ndarray:
        up, down = (read(problem, _bumped(state, part, at, s * h))[0] for s in (1, -1))
        return np.asarray((up - down) / (2 * h))

    for ink in range(3):
        for offset, part in ((0, "log_k"), (3, "log_s")):
            expected = numeric(part, (2, ink))
            np.testing.assert_allclose(found.own[2, :, offset + ink], expected[2], atol=1e-8)
            assert np.all(expected[[0, 1, 3]] == 0), "bands are apart"
    for card in range(2):
        expected = numeric("card", (1, card))[1]
        np.testing.assert_allclose(found.own[1, :, 6 + card], expected, atol=1e-8)
    for at in range(10):
        np.testing.assert_allclose(shared[:, :, at], numeric("shared", (at,)), atol=1e-8)
    assert R.shape == (4, 6)


def test_slopes_of_the_directness_law() -> None:
    k, s, eta, h = np.array([0.1, 2.0]), np.array([0.5, 0.02]), 0.7, 1e-6
    by_k = [
        (a - b) / (2 * h)
        for a, b in zip(effective_ks(k + h, s, eta), effective_ks(k - h, s, eta), strict=True)
    ]
    by_s = [
        (a - b) / (2 * h)
        for a, b in zip(effective_ks(k, s + h, eta), effective_ks(k, s - h, eta), strict=True)
    ]
    by_eta = [
        (a - b) / (2 * h)
        for a, b in zip(effective_ks(k, s, eta + h), effective_ks(k, s, eta - h), strict=True)
    ]
    expected = [by_k[0], by_s[0], by_eta[0], by_k[1], by_s[1], by_eta[1]]
    for found, one in zip(effective_ks_slopes(k, s, eta), expected, strict=True):
        np.testing.assert_allclose(found, one, rtol=1e-6, atol=1e-9)


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_nothing_settles_on_readings_that_are_no_numbers(bad: float) -> None:
    problem, state = _problem(np.random.default_rng(3))
    problem.readings[:] = read(problem, state)[0].T  # noise would take more than 100 steps
    assert solve(problem, state)[1]
    problem.readings[2, 1] = bad
    found, settled = solve(problem, state)
    assert not settled
    np.testing.assert_array_equal(found.log_k, state.log_k)
