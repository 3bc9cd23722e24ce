"""Smoothness penalty on K and S over the bands (Whittaker smoothing).

The roughness of an ink is the sum over inner bands of the squared second difference of
log(K + 0.01), and of log(S + 0.01), K and S per film of thickness 1: relative, for spectra span
decades, but not below what a reading can tell (Whittaker 1923; with differences Eilers 2003,
doi:10.1021/ac034173t). It couples each band to the two either side, so that the bands' normal
equations become one sparse system.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from inksim.common import FloatArray
from inksim.drawdowns.film_model import Problem, State

if TYPE_CHECKING:
    from scipy import sparse

FAINT = 0.01


def roughness(problem: Problem, state: State) -> float:
    """Value of the penalty: weight times the sum of squared second differences."""
    if not problem.smoothness:
        return 0.0
    second = np.diff(np.log(_coefficients(state) + FAINT), n=2, axis=0)
    return problem.smoothness * float(np.sum(second**2))


def pull(problem: Problem, state: State, own: int) -> FloatArray:
    """Half the gradient (B, own) of the penalty in a band's own unknowns: log K, log S, cards."""
    x = _coefficients(state)
    gradient = np.zeros((len(x), own))
    if problem.smoothness:
        slope = x / (x + FAINT)
        between = _between(len(x))
        gradient[:, : x.shape[1]] = problem.smoothness * slope * (between @ np.log(x + FAINT))
    return gradient


def solve_bands(problem: Problem, state: State, H: FloatArray, right: FloatArray) -> FloatArray:
    """Solve the bands' normal equations H (B, p, p) for right (B, p, m), in log K, log S.

    The Hessian of the penalty is added here, as it couples bands and `H` is per band.
    """
    if not problem.smoothness:
        return np.asarray(np.linalg.solve(H, right))
    from scipy import sparse

    x = _coefficients(state)
    system = sparse.block_diag(list(H)) + _tie(problem, x / (x + FAINT), H.shape[1])
    flat = right.reshape(-1, right.shape[2])
    return np.asarray(sparse.linalg.splu(system.tocsc()).solve(flat)).reshape(right.shape)


def invert_bands(
    problem: Problem, state: State, H: FloatArray, cross: FloatArray
) -> tuple[FloatArray, ...]:
    """Invert H plus penalty in linear K, S: blocks (B, p, p), times cross (B, p, q), and traces.

    The traces (1 + q·q,) are that of penalty·H⁻¹, and crossᵀ·H⁻¹·penalty·H⁻¹·cross: the effective
    number of unknowns that the penalty removes is the first plus the trace of the second times the
    covariance of the shared unknowns.
    """
    if not problem.smoothness:
        inverse = np.linalg.inv(H)
        return np.asarray(inverse), inverse @ cross, np.zeros(1 + cross.shape[2] ** 2)
    from scipy import sparse

    bands, own, _ = H.shape
    tie = _tie(problem, 1.0 / (_coefficients(state) + FAINT), own)
    full = np.linalg.inv((sparse.block_diag(list(H)) + tie).toarray())
    flat = full @ cross.reshape(bands * own, -1)
    held = np.concatenate([[float((tie @ full).trace())], (flat.T @ (tie @ flat)).ravel()])
    at = np.arange(bands)
    inverse = full.reshape(bands, own, bands, own)[at, :, at]
    return np.asarray(inverse), flat.reshape(cross.shape), held


def _coefficients(state: State) -> FloatArray:
    return np.asarray(np.exp(np.concatenate([state.log_k, state.log_s], axis=1)))


def _between(bands: int) -> FloatArray:
    second = np.diff(np.eye(bands), n=2, axis=0)
    return np.asarray(second.T @ second)


def _tie(problem: Problem, slope: FloatArray, own: int) -> sparse.csr_array:
    """Hessian (B·own, B·own) of the penalty, given the slope of log(x + FAINT)."""
    from scipy import sparse

    bands, coefficients = slope.shape
    weight = np.zeros((bands, own))
    weight[:, :coefficients] = slope
    spread = sparse.diags_array(weight.ravel())
    between = sparse.kron(sparse.csr_array(_between(bands)), sparse.eye_array(own))
    return sparse.csr_array(problem.smoothness * (spread @ between @ spread))
