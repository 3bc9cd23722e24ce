"""Normal equations of a fit of drawdowns: bands apart, coupled through the shared unknowns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inksim.common import FloatArray
from inksim.drawdowns.believable import beyond
from inksim.drawdowns.film_model import Jacobian, Problem, State
from inksim.drawdowns.smoothness import pull


@dataclass(frozen=True, kw_only=True, eq=False)
class Normal:
    """Normal equations: own (B, p, p), cross (B, p, q), shared (q, q), and the gradients."""

    own: FloatArray
    cross: FloatArray
    shared: FloatArray
    own_gradient: FloatArray
    shared_gradient: FloatArray


def normal_equations(
    problem: Problem,
    state: State,
    R: FloatArray,
    slopes: Jacobian,
    *,
    log: bool,
    apart: bool = False,
) -> Normal:
    """Normal equations in log K and log S, or in K and S; apart: without the shared unknowns."""
    per_reading = problem.weights / problem.noise
    own, other = slopes.own * per_reading, slopes.other * per_reading
    thickness = slopes.thickness * per_reading[:, 0]
    r = (R - problem.readings.T) * per_reading[:, 0]
    transposed = own.transpose(0, 2, 1)
    H = transposed @ own
    gradient = np.einsum("bdp,bd->bp", own, r)
    cards = np.arange(2 * problem.fractions.shape[1], H.shape[1])
    H[:, cards, cards] += card_precision(problem)
    gradient[:, cards] += state.card[:, : cards.size] * card_precision(problem)
    gradient += pull(problem, state, H.shape[1])
    off, precision = beyond(problem, state)
    values = np.arange(off.shape[1])
    gradient[:, values] += off * np.sqrt(precision)
    if not log:
        precision = precision * np.exp(-2.0 * np.concatenate([state.log_k, state.log_s], axis=1))
    H[:, values, values] += precision
    if apart:
        nothing = np.zeros(0)
        return Normal(
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
    return Normal(
        own=H,
        cross=np.concatenate([transposed * thickness[:, None, :], transposed @ other], axis=2),
        shared=shared,
        own_gradient=gradient,
        shared_gradient=shared_gradient,
    )


def card_precision(problem: Problem) -> float:
    """1/sd² of the error of a card's reading; 0 where it is taken as exact."""
    return problem.card_noise**-2 if problem.card_noise > 0 else 0.0
