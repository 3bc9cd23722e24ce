"""What a sheet says of each of its recipes when that one is left out.

A fit lies close to the films it was made from; how close it comes to films it has not seen is what
a shop needs to know. So every recipe is left out in turn, all its films and readings, the rest is
fitted again from where the full fit ended, and the recipe is predicted, at the thickness stated.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import Viewing, delta_e_2000, lab
from inksim.common import FloatArray
from inksim.drawdowns.film_model import Problem, State, jacobian, read
from inksim.drawdowns.least_squares import best_start, reweighted, solve
from inksim.drawdowns.sheet_errors import SheetFit, inverse_parts, residual_noise

STEPS, TOLERANCE = 30, 1e-5
FAINT_SHARE, PLENTY = 0.04, 0.25
"""Shares of an ink in a recipe: too little to count, and enough to be known by that recipe."""


@dataclass(frozen=True, kw_only=True, eq=False)
class LeftOut:
    """A recipe predicted by a fit of all others.

    readings (m,) : indices of its drawdowns. fitted (m, 31) : what the others predict of them.
    delta_e : mean ΔE00 of that. times : how many times as far off as the fit's own errors let
    expect, root mean square over bands. noise : what the others leave, see `Characterisation`.
    problem, state : the fit of the others.
    """

    readings: tuple[int, ...]
    fitted: FloatArray
    delta_e: float
    times: float
    noise: float
    problem: Problem
    state: State


def recipes_of(fractions: FloatArray) -> list[tuple[int, ...]]:
    """Indices of the drawdowns of each recipe, in order of appearance."""
    found: dict[bytes, list[int]] = {}
    for at, row in enumerate(fractions.round(6)):
        found.setdefault(row.tobytes(), []).append(at)
    return [tuple(each) for each in found.values()]


def is_told(fractions: FloatArray) -> bool:
    """Whether drawdowns (D, n) tell all their inks apart at all."""
    if not len(fractions) or not bool((fractions > 0).any(axis=0).all()):
        return False
    recipes = np.unique(fractions.round(9), axis=0)
    return bool(np.linalg.matrix_rank(recipes, tol=1e-6) == fractions.shape[1])


def hardly_known(fractions: FloatArray, out: Sequence[int]) -> list[int]:
    """Inks of some drawdowns that the others hold in one weak tint only: it cannot tell them."""
    kept = np.unique(np.delete(fractions, out, axis=0).round(9), axis=0)
    return [
        int(ink)
        for ink in np.flatnonzero((fractions[list(out)] > FAINT_SHARE).any(axis=0))
        if kept[:, ink].max() < PLENTY and np.sum(kept[:, ink] > FAINT_SHARE) < 2
    ]


def leave_out(
    fit: SheetFit, out: tuple[int, ...], *, least_noise: float, viewing: Viewing,
    afresh: bool = False,
) -> LeftOut:  # fmt: skip
    """Fit a sheet again without some drawdowns, from where the full fit ended, and predict them.

    They keep their place with a weight of 0, so that the fit goes on predicting them. It is fitted
    twice: what was an outlier beside a wrong film is none without it, and the noise is less.
    afresh : try fresh starts too, for a full fit that a slip has spoiled may end where the rest
    finds no way back from.
    least_noise : standard deviation of a reading that is stated.
    """
    counts = np.ones((len(fit.problem.weights), 1))
    at = list(out)
    counts[at] = 0.0
    whole = replace(fit.problem, weights=fit.problem.weights * counts)
    problem, state, noise = _refitted(whole, fit.state, counts, least_noise=least_noise)
    if afresh:
        fresh = replace(fit.problem, weights=counts, noise=max(0.01, least_noise), caution=1.0)
        other = _refitted(fresh, best_start(fresh), counts, least_noise=least_noise)
        if other[2] < noise:
            problem, state, noise = other
    fitted, _ = read(problem, state)
    variance = _predicted_variance(problem, state, at) + noise**2
    measured, predicted = problem.readings[at], fitted.T[at]
    off = delta_e_2000(lab(np.maximum(measured, 0.0), viewing), lab(predicted, viewing))
    return LeftOut(
        readings=out,
        fitted=predicted,
        delta_e=float(np.mean(off)),
        times=float(np.sqrt(np.mean((predicted - measured).T ** 2 / variance))),
        noise=noise,
        problem=problem,
        state=state,
    )


def _refitted(
    problem: Problem, state: State, counts: FloatArray, *, least_noise: float
) -> tuple[Problem, State, float]:
    """Fit twice, the second time with the weights that the first one's residuals ask for."""
    for again in (True, False):
        state, _ = solve(problem, state, steps=STEPS, tolerance=TOLERANCE)
        fitted, _ = read(problem, state)
        noise = residual_noise(problem, state, fitted, stated=least_noise)
        if again:
            whole = replace(problem, weights=counts)
            problem = reweighted(whole, fitted, noise, stated=least_noise)
    return problem, state, noise


def _predicted_variance(problem: Problem, state: State, at: Sequence[int]) -> FloatArray:
    """Variance (B, m) of the predictions of some drawdowns, by the errors of all unknowns.

    The shared unknowns are spread as stated: see `sheet_fit`, of which this is the short form.
    """
    inverse, by_shared, schur, *_ = inverse_parts(problem, state)
    _, slopes = read(problem, state)
    J = jacobian(problem, state, slopes, log=False)
    own, (bands, films) = J.own[:, at], J.thickness.shape
    shared = np.zeros((bands, len(at), len(schur)))
    shared[:, np.arange(len(at)), at] = J.thickness[:, at]
    shared[:, :, films:] = J.other[:, at]
    u = shared - own @ by_shared
    more = (problem.caution**2 - 1.0) * problem.caution**2
    spread = schur + more * schur @ problem.precision @ schur
    return np.asarray(np.sum((own @ inverse) * own, axis=2) + np.sum((u @ spread) * u, axis=2))
