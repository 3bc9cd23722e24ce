"""Noise of a fitted sheet, and the errors of its inks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inksim.common import FloatArray
from inksim.drawdowns.believable import at_ceiling
from inksim.drawdowns.film_model import Problem, State, jacobian, read
from inksim.drawdowns.normal_equations import card_precision, normal_equations
from inksim.drawdowns.smoothness import invert_bands
from inksim.optics import effective_ks, effective_ks_slopes

BELIEVED = 10.0
"""K and S up to about this per film, or to their own value, are believed: where no reading tells,
so is the error."""
WITNESSES = 10.0
"""Readings that the stated noise counts for beside the residuals."""
MOST_SPREAD, STATED_COUNTS = 4.0, 0.3
"""Variance found over stated; readings the stated counts for."""


@dataclass(frozen=True, kw_only=True, eq=False)
class SheetFit:
    """The fitted state, its readings (D, B), the noise, and pure inks with standard errors.

    problem : with the noise, weights and caution that the fit ended with.
    K, S, K_error, S_error : (B, n) of the pure inks, the directness of the light included.
    apart : (n, B, 2, 2) covariance of K and S within a band, with the shared unknowns held.
    common : (n, 2, B, 2, B) what the shared unknowns (films, strengths, light) add to it.
    """

    problem: Problem
    state: State
    fitted: FloatArray
    noise: float
    K: FloatArray
    S: FloatArray
    K_error: FloatArray
    S_error: FloatArray
    apart: FloatArray
    common: FloatArray
    converged: bool


def inverse_parts(
    problem: Problem, state: State
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, float]:
    """Blocks of the inverse normal matrix in linear K, S: own⁻¹, own⁻¹·cross, Schur⁻¹, ridge.

    Last is how many unknowns the smoothness has taken the place of.
    """
    R, slopes = read(problem, state)
    in_ks = jacobian(problem, state, slopes, log=False)
    normal = normal_equations(problem, state, R, in_ks, log=False)
    n = problem.fractions.shape[1]
    value = np.exp(np.concatenate([state.log_k, state.log_s], axis=1))
    ridge = np.zeros((len(normal.own), normal.own.shape[1]))
    ridge[:, : 2 * n] = 1.0 / (BELIEVED**2 + value**2)
    index = np.arange(ridge.shape[1])
    H = normal.own.copy()
    H[:, index, index] += ridge
    inverse, by_shared, held = invert_bands(problem, state, H, normal.cross)
    schur = normal.shared - np.tensordot(normal.cross, by_shared, axes=([0, 1], [0, 1]))
    ridge[:, 2 * n :] = card_precision(problem)
    covariance = np.asarray(np.linalg.inv(schur))
    return inverse, by_shared, covariance, ridge, float(held[0] + held[1:] @ covariance.ravel())


def residual_noise(problem: Problem, state: State, fitted: FloatArray, *, stated: float) -> float:
    """Noise from the residuals and their degrees of freedom, pooled with the stated noise."""
    inverse, by_shared, schur, ridge, smoothed = inverse_parts(problem, state)
    own = np.einsum("bpp->bp", inverse) + np.sum((by_shared @ schur) * by_shared, axis=2)
    unknowns = own.size - float(np.sum(own * ridge)) + problem.free.size
    unknowns -= smoothed + problem.caution**2 * float(np.sum(schur * problem.precision))
    squares = float(np.sum(((fitted - problem.readings.T) * problem.weights.T) ** 2))
    counted = problem.readings.shape[1] * np.count_nonzero(problem.weights)
    spare = max(counted - unknowns, 0.0)
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


def sheet_fit(problem: Problem, state: State, fitted: FloatArray, converged: bool) -> SheetFit:
    """K and S of the pure inks, with standard errors.

    With the shared unknowns weighed by W = caution²·P but spread as V, an estimate's covariance is
    H⁻¹(H − W + W·V·W)H⁻¹; V is what was stated, P⁻¹, times what `_spread` finds.
    """
    inverse, by_shared, schur, *_ = inverse_parts(problem, state)
    spread = np.sqrt(_spread(problem, state, schur))
    W = problem.caution**2 * problem.precision
    weight = (problem.caution**2 * np.outer(spread, spread) - 1.0) * W
    weight *= np.outer(problem.free, problem.free)
    bands, n = state.log_k.shape
    K, S, eta = np.exp(state.log_k), np.exp(state.log_s), float(state.shared[-1])
    slopes = effective_ks_slopes(K, S, eta)
    inks = np.arange(n)
    v = np.zeros((2, bands, n, inverse.shape[1]))
    u = np.zeros((2, bands, n, schur.shape[0]))
    for at, (in_k, in_s, in_eta) in enumerate((slopes[:3], slopes[3:])):
        v[at, :, inks, inks] = in_k.T
        v[at, :, inks, n + inks] = in_s.T
        u[at] = -v[at] @ by_shared
        u[at, :, :, -1] += in_eta * problem.free[-1]
    apart = np.einsum("ibnp,bpq,jbnq->nbij", v, inverse, v, optimize=True)
    common = np.einsum("ibnp,pq,jcnq->nibjc", u, schur + schur @ weight @ schur, u, optimize=True)
    for at, stopped in enumerate(at_ceiling(K, S)):  # one e-fold there: its value is no finding
        apart[:, :, at, at] = np.where(
            stopped.T, np.maximum(apart[:, :, at, at], (K, S)[at].T ** 2), apart[:, :, at, at]
        )
    variance = np.einsum("nbii->ibn", apart) + np.einsum("nibib->ibn", common)
    pure_k, pure_s = effective_ks(K, S, eta)
    return SheetFit(
        problem=problem,
        state=state,
        fitted=fitted,
        noise=problem.noise,
        K=pure_k,
        S=pure_s,
        K_error=np.sqrt(variance[0]),
        S_error=np.sqrt(variance[1]),
        apart=apart,
        common=common,
        converged=converged,
    )
