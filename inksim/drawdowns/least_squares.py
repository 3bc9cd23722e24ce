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

from dataclasses import dataclass, replace

import numpy as np

from inksim.common import FloatArray
from inksim.drawdowns.film_model import Jacobian, Problem, State, jacobian, read, surface_in
from inksim.drawdowns.smoothness import invert_bands, pull, roughness, solve_bands
from inksim.optics import DIRECTNESS_RANGE, effective_ks, effective_ks_slopes

MOST_CAUTION = 8.0
FAINTEST, STRONGEST = 1e-9, 1e5  # K and S per film of thickness 1: beyond what a reading can tell
LARGEST_STEP = 1.5  # of log K, log S
LARGEST_SHARED_STEP = 0.5
RIDGE = 1e-2  # K and S up to ~10 per film are believed: where no reading tells, so is the error
WITNESSES = 10.0  # readings that the stated noise counts for beside the residuals
TURNS = 5
OUTLIER = 1.2  # a drawdown this many times the noise off, all bands together, counts for less
MOST_SPREAD, STATED_COUNTS = 4.0, 0.3  # variance found over stated; readings the stated counts for
STARTS = (0.01, 0.1, 1.0, 10.0)  # S of every ink, per film of thickness 1


@dataclass(frozen=True, kw_only=True, eq=False)
class SheetFit:
    """The fitted state, its readings (D, B), the noise, and pure inks with standard errors.

    K, S, K_error, S_error : (B, n) of the pure inks, the directness of the light included.
    """

    state: State
    fitted: FloatArray
    noise: float
    K: FloatArray
    S: FloatArray
    K_error: FloatArray
    S_error: FloatArray
    converged: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class _Normal:
    """Normal equations: own (B, p, p), cross (B, p, q), shared (q, q), and the gradients."""

    own: FloatArray
    cross: FloatArray
    shared: FloatArray
    own_gradient: FloatArray
    shared_gradient: FloatArray


def fit_inks(problem: Problem) -> SheetFit:
    """Fit from several starts; then alternate noise and fit until they agree."""
    state = _best_start(problem)
    noise = problem.noise
    # A first guess well above the noise: the shared unknowns settle before the details count.
    weighted = replace(problem, noise=max(0.01, noise))
    converged = False
    for turn in range(TURNS):
        state, converged = solve(weighted, state, tolerance=1e-6 if turn < TURNS - 1 else 1e-9)
        fitted, _ = read(weighted, state)
        found = _residual_noise(weighted, state, fitted, stated=noise)
        if turn == TURNS - 1 or (turn and abs(found - weighted.noise) < 1e-3 * found):
            break
        weighted = replace(
            problem,
            noise=max(found, noise),
            weights=_weights(problem, fitted, found),
            caution=_caution(problem, fitted),
        )
    return _conclude(weighted, state, fitted.T, converged)


def _caution(problem: Problem, fitted: FloatArray) -> float:
    """Caution: 1 for residuals uncorrelated over the bands, MOST_CAUTION for pure pattern.

    Noise is not correlated from band to band and misfit almost fully, so the correlation of
    neighbouring residuals is the misfit's share of their variance, or of the stated noise's
    where that is larger.
    """
    r = fitted - problem.readings.T
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
        normal = _normal(problem, state, R, slopes_now, apart=apart)
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


def _best_start(problem: Problem) -> State:
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
        residual = (read(alone, end)[0] - problem.readings.T) / alone.noise
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
        + np.sum(state.card**2) * _card_precision(problem)
        + problem.caution**2 * (x @ problem.precision @ x)
        + roughness(problem, state)
    )


def _card_precision(problem: Problem) -> float:
    return problem.card_noise**-2 if problem.card_noise > 0 else 0.0


def _normal(
    problem: Problem, state: State, R: FloatArray, slopes: Jacobian, *, apart: bool = False
) -> _Normal:
    """Normal equations; apart: without the shared unknowns, where none is free."""
    per_reading = problem.weights / problem.noise
    own, other = slopes.own * per_reading, slopes.other * per_reading
    thickness = slopes.thickness * per_reading[:, 0]
    r = (R - problem.readings.T) * per_reading[:, 0]
    transposed = own.transpose(0, 2, 1)
    H = transposed @ own
    gradient = np.einsum("bdp,bd->bp", own, r)
    cards = np.arange(2 * problem.fractions.shape[1], H.shape[1])
    H[:, cards, cards] += _card_precision(problem)
    gradient[:, cards] += state.card[:, : cards.size] * _card_precision(problem)
    gradient += pull(problem, state, H.shape[1])
    if apart:
        nothing = np.zeros(0)
        return _Normal(
            own=H,
            cross=np.zeros((*gradient.shape, 0)),
            shared=np.zeros((0, 0)),
            own_gradient=gradient,
            shared_gradient=nothing,
        )
    films = thickness.shape[1]
    shared = problem.caution**2 * problem.precision
    shared_gradient = shared @ state.shared
    across = np.einsum("bd,bdo->do", thickness, other)
    shared[:films, :films] += np.diag(np.sum(thickness**2, axis=0))
    shared[:films, films:] += across
    shared[films:, :films] += across.T
    shared[films:, films:] += np.tensordot(other, other, axes=([0, 1], [0, 1]))
    shared_gradient[:films] += np.sum(thickness * r, axis=0)
    shared_gradient[films:] += np.tensordot(other, r, axes=([0, 1], [0, 1]))
    return _Normal(
        own=H,
        cross=np.concatenate([transposed * thickness[:, None, :], transposed @ other], axis=2),
        shared=shared,
        own_gradient=gradient,
        shared_gradient=shared_gradient,
    )


def _step(
    problem: Problem, state: State, normal: _Normal, damping: float
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


def _inverse_parts(
    problem: Problem, state: State
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, float]:
    """Blocks of the inverse normal matrix in linear K, S: own⁻¹, own⁻¹·cross, Schur⁻¹, ridge.

    Last is how many unknowns the smoothness has taken the place of.
    """
    R, slopes = read(problem, state)
    normal = _normal(problem, state, R, jacobian(problem, state, slopes, log=False))
    n = problem.fractions.shape[1]
    ridge = np.zeros(normal.own.shape[1])
    ridge[: 2 * n] = RIDGE
    index = np.arange(ridge.size)
    H = normal.own.copy()
    H[:, index, index] += ridge
    inverse, by_shared, held = invert_bands(problem, state, H, normal.cross)
    schur = normal.shared - np.tensordot(normal.cross, by_shared, axes=([0, 1], [0, 1]))
    ridge[2 * n :] = _card_precision(problem)
    covariance = np.asarray(np.linalg.inv(schur))
    return inverse, by_shared, covariance, ridge, float(held[0] + held[1:] @ covariance.ravel())


def _residual_noise(problem: Problem, state: State, fitted: FloatArray, *, stated: float) -> float:
    """Noise from the residuals and their degrees of freedom, pooled with the stated noise."""
    inverse, by_shared, schur, ridge, smoothed = _inverse_parts(problem, state)
    own = np.einsum("bpp->bp", inverse) + np.sum((by_shared @ schur) * by_shared, axis=2)
    unknowns = own.size - float(np.sum(own * ridge)) + problem.free.size
    unknowns -= smoothed + problem.caution**2 * float(np.sum(schur * problem.precision))
    squares = float(np.sum(((fitted - problem.readings.T) * problem.weights.T) ** 2))
    spare = max(problem.readings.size - unknowns, 0.0)
    return float(np.sqrt((squares + WITNESSES * stated**2) / (spare + WITNESSES)))


def _spread(problem: Problem, state: State, schur: FloatArray) -> FloatArray:
    """Ratio (q,) of the shared unknowns' fitted variance to their prior variance.

    One factor each for thicknesses, strengths and directness, by the method of moments: with the
    information G of the readings, x̂ = C·G·x + noise, so that E[x̂ᵀPx̂] is linear in the factors.
    Where the readings say little of a group, the stated variance stands.
    """
    films, inks = problem.fractions.shape
    P = problem.precision
    groups = [slice(0, films), slice(films, films + inks), slice(films + inks, None)]
    G = np.linalg.inv(schur) - problem.caution**2 * P
    shrink = schur @ G
    chance = shrink @ schur
    told = STATED_COUNTS * np.eye(len(groups))
    found = np.full(len(groups), STATED_COUNTS)
    for i, one in enumerate(groups):
        x = state.shared[one]
        found[i] += x @ P[one, one] @ x - np.sum(P[one, one] * chance[one, one])
        for j, other in enumerate(groups):
            part = shrink[one, other]
            told[i, j] += np.sum(P[one, one] * (part @ np.linalg.solve(P[other, other], part.T)))
    factors = np.clip(np.linalg.solve(told, found), 0.0, MOST_SPREAD)
    return np.repeat(factors, [films, inks, 1])


def _conclude(problem: Problem, state: State, fitted: FloatArray, converged: bool) -> SheetFit:
    """K and S of the pure inks, with standard errors.

    With the shared unknowns weighed by W = caution²·P but spread as V, an estimate's covariance is
    H⁻¹(H − W + W·V·W)H⁻¹; V is what was stated, P⁻¹, times what `_spread` finds.
    """
    inverse, by_shared, schur, *_ = _inverse_parts(problem, state)
    spread = np.sqrt(_spread(problem, state, schur))
    W = problem.caution**2 * problem.precision
    weight = (problem.caution**2 * np.outer(spread, spread) - 1.0) * W
    weight *= np.outer(problem.free, problem.free)
    bands, n = state.log_k.shape
    K, S, eta = np.exp(state.log_k), np.exp(state.log_s), float(state.shared[-1])
    slopes = effective_ks_slopes(K, S, eta)
    errors = []
    inks = np.arange(n)
    for in_k, in_s, in_eta in (slopes[:3], slopes[3:]):
        v = np.zeros((bands, n, inverse.shape[1]))
        v[:, inks, inks] = in_k
        v[:, inks, n + inks] = in_s
        u = -v @ by_shared
        u[:, :, -1] += in_eta * problem.free[-1]
        w = u @ schur
        variance = np.sum((v @ inverse) * v, axis=2) + np.sum(u * w, axis=2)
        errors.append(np.sqrt(variance + np.sum((w @ weight) * w, axis=2)))
    pure_k, pure_s = effective_ks(K, S, eta)
    return SheetFit(
        state=state,
        fitted=fitted,
        noise=problem.noise,
        K=pure_k,
        S=pure_s,
        K_error=errors[0],
        S_error=errors[1],
        converged=converged,
    )
