"""Levenberg–Marquardt fit of all drawdowns at once, over arrays.

The unknowns are log K and log S of every ink and band, the error of each card's reading, and those
common to all bands: each film's thickness, the inks' strengths, the directness of the light
(film_model.py). Bands are coupled only through the shared ones, so a step solves one small system
per band and one Schur complement.

The noise is estimated with the fit: the larger of the stated noise and the residuals'. A real
film's misfit is correlated over bands, so 31 bands are far fewer than 31 independent observations
of the shared unknowns. Their priors are therefore weighted by `caution`²: 1 where the residuals are
noise, up to MOST_CAUTION² where they follow a pattern. (Found in simulated studios with
films by radiative transfer and a dozen other flaws, tests/accuracy/drawdowns.py: with caution the
tints that were not drawn down come out up to 10 % closer; from 6 to 10 it matters little.)
Standard errors undo that weight.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from inksim.common import FloatArray
from inksim.drawdowns.believable import beyond
from inksim.drawdowns.film_model import Problem, State, jacobian, read, surface_in
from inksim.drawdowns.normal_equations import Normal, card_precision, normal_equations
from inksim.drawdowns.sheet_errors import SheetFit, residual_noise, sheet_fit
from inksim.drawdowns.smoothness import roughness, solve_bands
from inksim.optics import DIRECTNESS_RANGE

MOST_CAUTION = 8.0
FAINTEST, STRONGEST = 1e-9, 1e5  # K and S per film of thickness 1: far beyond what is believed
LARGEST_STEP = 1.5  # of log K, log S
LARGEST_SHARED_STEP = 0.5
TURNS = 5
OUTLIER = 1.2  # a drawdown this many times the noise off, all bands together, counts for less
STARTS = (0.01, 0.1, 1.0, 10.0)  # S of every ink, per film of thickness 1


def fit_inks(problem: Problem) -> SheetFit:
    """Fit from several starts; then alternate noise and fit until they agree."""
    state = best_start(problem)
    noise = problem.noise
    # A first guess well above the noise: the shared unknowns settle before the details count.
    weighted = replace(problem, noise=max(0.01, noise))
    converged = False
    for turn in range(TURNS):
        state, converged = solve(weighted, state, tolerance=1e-6 if turn < TURNS - 1 else 1e-9)
        fitted, _ = read(weighted, state)
        found = residual_noise(weighted, state, fitted, stated=noise)
        if turn == TURNS - 1 or (turn and abs(found - weighted.noise) < 1e-3 * found):
            break
        weighted = reweighted(problem, fitted, found, stated=noise)
    return sheet_fit(weighted, state, fitted.T, converged)


def reweighted(problem: Problem, fitted: FloatArray, found: float, *, stated: float) -> Problem:
    """The problem with the noise, caution and weights that a fit (B, D) tells; left-out ones stay.

    Drawdowns with a weight of 0 in the problem are not looked at.
    """
    counts = problem.weights > 0
    return replace(
        problem,
        noise=max(found, stated),
        weights=np.where(counts, _weights(problem, fitted, found), 0.0),
        caution=_caution(problem, fitted[:, counts[:, 0]], problem.readings.T[:, counts[:, 0]]),
    )


def _caution(problem: Problem, fitted: FloatArray, readings: FloatArray) -> float:
    """Caution: 1 for residuals uncorrelated over the bands, MOST_CAUTION for pure pattern.

    Noise is not correlated from band to band and misfit almost fully, so the correlation of
    neighboring residuals is the misfit's share of their variance, or of the stated noise's
    where that is larger.
    """
    r = fitted - readings
    share = float(np.mean(r[1:] * r[:-1])) / max(float(np.mean(r**2)), problem.noise**2)
    return float(np.sqrt(1.0 + (MOST_CAUTION**2 - 1.0) * max(share, 0.0)))


def _weights(problem: Problem, fitted: FloatArray, noise: float) -> FloatArray:
    """Huber weights (D, 1): 1 for drawdowns that fit, less for outliers."""
    off = np.sqrt(np.mean((fitted - problem.readings.T) ** 2, axis=0))
    return np.asarray(np.sqrt(np.minimum(1.0, OUTLIER * noise / np.maximum(off, 1e-12))))[:, None]


def solve(
    problem: Problem, state: State, *, steps: int = 100, tolerance: float = 1e-9
) -> tuple[State, bool]:
    """Levenberg–Marquardt from a state; returns the best state and whether it converged.

    Nothing settles on readings that are no numbers: the state then comes back as it was given.
    (`Drawdown` refuses such readings by name.)
    """
    R, slopes = read(problem, state)
    cost = _cost(problem, state, R)
    if not np.isfinite(cost):
        return state, False
    damping = 1e-2
    apart = not problem.free.any()
    for _ in range(steps):
        slopes_now = jacobian(problem, state, slopes, log=True)
        normal = normal_equations(problem, state, R, slopes_now, log=True, apart=apart)
        while True:
            trial = _moved(problem, state, *_step(problem, state, normal, damping))
            R_trial, slopes_trial = read(problem, trial)
            cost_trial = _cost(problem, trial, R_trial)
            if cost_trial <= cost:
                break
            damping *= 5.0
            if damping > 1e8:
                return state, True
        gain = cost - cost_trial
        state, R, slopes, cost = trial, R_trial, slopes_trial, cost_trial
        damping = max(damping * 0.2, 1e-12)
        if gain <= tolerance * (cost + 1e-6):
            return state, True
    return state, False


def best_start(problem: Problem) -> State:
    """Each band's best of a few starts, with the shared unknowns at 0 (bands are then apart)."""
    bands, inks = problem.readings.shape[1], problem.fractions.shape[1]
    alone = replace(
        problem,
        free=np.zeros_like(problem.free),
        noise=max(problem.noise, 0.002),
        smoothness=0.0,
    )
    first = State(
        log_k=np.log(_first_absorption(problem)),
        log_s=np.zeros((bands, inks)),
        card=np.zeros((bands, problem.cards.shape[0])),
        shared=np.zeros(problem.free.size),
    )
    ends = []
    costs = []
    for s in STARTS:
        end, _ = solve(
            alone, first._replace(log_s=first.log_s + np.log(s)), steps=40, tolerance=1e-5
        )
        residual = (read(alone, end)[0] - problem.readings.T) * problem.weights.T / alone.noise
        ends.append(end)
        costs.append(np.sum(residual**2, axis=1))
    # The first that is as good as any: where a film hides, any larger S would do as well.
    good = np.array(costs) <= np.min(costs, axis=0) * (1.0 + 1e-6) + 1e-2
    pick = np.argmax(good, axis=0)
    rows = np.arange(bands)
    return first._replace(
        log_k=np.array([end.log_k for end in ends])[pick, rows],
        log_s=np.array([end.log_s for end in ends])[pick, rows],
        card=np.array([end.card for end in ends])[pick, rows],
    )


def _first_absorption(problem: Problem) -> FloatArray:
    """Initial K (B, n): Beer's law, double pass, in an ink's strongest films over light cards."""
    sci = problem.specular_included
    Ri, _ = surface_in(problem.readings, problem.surface, specular_included=sci)
    cards, _ = surface_in(problem.cards, problem.surface, specular_included=sci)
    g = cards[problem.card_of]
    K = -0.5 * np.log(np.clip(Ri / np.maximum(g, 0.3), 1e-3, 0.98))
    light = np.where(g.mean(axis=1) > 0.3, 1.0, 1e-3)
    weight = light[:, None] * problem.fractions**3
    return np.asarray((K.T @ weight) / weight.sum(axis=0))


def _cost(problem: Problem, state: State, R: FloatArray) -> float:
    r = (R - problem.readings.T) * problem.weights.T / problem.noise
    x = state.shared
    return float(
        np.sum(r * r)
        + np.sum(state.card**2) * card_precision(problem)
        + problem.caution**2 * (x @ problem.precision @ x)
        + roughness(problem, state)
        + np.sum(beyond(problem, state)[0] ** 2)
    )


def _step(
    problem: Problem, state: State, normal: Normal, damping: float
) -> tuple[FloatArray, FloatArray]:
    index = np.arange(normal.own.shape[1])
    H = normal.own.copy()
    # The constants keep directions that no reading sees (a log K far below 0) where they are.
    H[:, index, index] += damping * (H[:, index, index] + 1e-2) + 1e-9
    right = np.concatenate([normal.cross, normal.own_gradient[:, :, None]], axis=2)
    solved = solve_bands(problem, state, H, right)
    by_shared, by_gradient = solved[:, :, :-1], solved[:, :, -1]
    if not normal.shared.size:
        return np.asarray(-by_gradient), np.zeros(0)
    schur = normal.shared + damping * np.diag(np.diag(normal.shared))
    schur -= np.tensordot(normal.cross, by_shared, axes=([0, 1], [0, 1]))
    right = normal.shared_gradient - np.tensordot(normal.cross, by_gradient, axes=([0, 1], [0, 1]))
    shared = -np.linalg.solve(schur, right)
    return np.asarray(-by_gradient - by_shared @ shared), np.asarray(shared)


def _moved(problem: Problem, state: State, own: FloatArray, shared: FloatArray) -> State:
    n = problem.fractions.shape[1]
    step = np.clip(own[:, : 2 * n], -LARGEST_STEP, LARGEST_STEP)
    low, high = np.log(FAINTEST), np.log(STRONGEST)
    moved = state.shared.copy()
    if shared.size:
        moved += np.clip(shared, -LARGEST_SHARED_STEP, LARGEST_SHARED_STEP)
    moved[-1] = np.clip(moved[-1], *DIRECTNESS_RANGE)
    return State(
        log_k=np.clip(state.log_k + step[:, :n], low, high),
        log_s=np.clip(state.log_s + step[:, n:], low, high),
        card=state.card + own[:, 2 * n :] if problem.card_noise > 0 else state.card,
        shared=np.where(problem.free, moved, 0.0),
    )
