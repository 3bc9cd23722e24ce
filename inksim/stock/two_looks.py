"""S of an ink from the looks of one film over white and over black, and what is not known of it.

The look over white gives K for any S, so the one over black tells S. Where the looks state their
noise, both are off by their own errors and, in one picture, by one they share: e_w and e_b, each
three normal errors of Lab, and s. With M what an error of the look over white does to the film over
black, through K, and A what the shared error is of each look,

    black(θ) + M·(e_w + A_w·s) = black as read + e_b + A_b·s,

linear about the best θ. A picture that is too light as a whole makes the ink paler, and its film
over black lighter: much of s cancels.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from inksim.colour import D50, delta_e_2000, lab
from inksim.common import FloatArray
from inksim.stock.lab_noise import LabNoise, lab_root
from inksim.stock.look_film import CARD_BLACK, LOOK_BACKING, SLOPE_S_SD, LookFilm
from inksim.stock.spectral_error import MOST_SD, SEEN_LAB, told_shapes

OWN_S_SHARE = 0.3
"""Share of the error of ln S that leaves K as it is: the look over white is not that sure."""
STEP = 1e-3
"""Of θ, for its slopes."""
MOST_FOLLOW = 2.0
"""Most that ln K follows ln S: where K is next to nothing its logarithm means nothing."""


class TwoLooks(NamedTuple):
    """θ (2,) of the look over black, its covariance (2, 2), slopes (3, 2) of that look's Lab by θ.

    misfit: the ΔE00 that is left.
    """

    point: FloatArray
    covariance: FloatArray
    slopes: FloatArray
    misfit: float


class NoisyLooks(NamedTuple):
    """What the noise of two looks does.

    steps (31, 6): what a unit of each error of the look over white adds to ln K; moves (3, 6): what
    it adds to Lab over black, less what it is of that look itself; own (3, 3): root of the
    covariance of the look over black by itself.
    """

    steps: FloatArray
    moves: FloatArray
    own: FloatArray

    @property
    def root(self) -> FloatArray:
        """Root (3, 3) of the covariance of Lab over black as read about that of the film."""
        return np.asarray(np.linalg.cholesky(self.own @ self.own.T + self.moves @ self.moves.T))


def by_two_looks(film: LookFilm, over_black: FloatArray, *, root: FloatArray) -> TwoLooks:
    """θ of a film whose look over black is over_black (3,); root (3, 3): of its covariance.

    The most probable θ of a normal prior and the noise of the look, by least squares from the best
    level; the covariance is of its slopes there.
    """
    from scipy.optimize import least_squares

    goal = np.asarray(over_black, dtype=np.float64)
    white = np.linalg.inv(root)
    prior = np.array([film.s_sd, SLOPE_S_SD])

    def off(points: FloatArray) -> FloatArray:
        S = film.scattering(points)
        miss = lab(film.over(S, film.absorption(S), CARD_BLACK), D50) - goal
        return np.concatenate([miss @ white.T, points / prior], axis=-1)

    def slopes_at(point: FloatArray) -> FloatArray:
        here, *moved = off(point + STEP * np.array([[0, 0], [1, 0], [0, 1]]))
        return np.asarray((np.stack(moved, axis=-1) - here[:, None]) / STEP)

    levels = film.levels()
    trial = np.stack([levels, np.zeros_like(levels)], axis=-1)
    begin = trial[int(np.argmin(np.sum(off(trial) ** 2, axis=-1)))]
    found = least_squares(off, begin, jac=slopes_at, method="lm", xtol=1e-5)
    point = np.asarray(found.x)
    slopes = slopes_at(point)
    covariance = np.asarray(np.linalg.inv(slopes.T @ slopes), dtype=np.float64)
    S = film.scattering(point)
    left = delta_e_2000(lab(film.over(S, film.absorption(S), CARD_BLACK), D50), goal)
    return TwoLooks(point, covariance, root @ slopes[:3], float(left))


def noisy_looks(
    film: LookFilm, point: FloatArray, over_black: FloatArray, *, white: LabNoise, black: LabNoise
) -> NoisyLooks:
    """What the noise of a look over white and of one over black does, about θ (2,)."""
    goal, shown = np.asarray(over_black, dtype=np.float64), lab(film.look, D50)
    S = film.scattering(point)
    K = film.absorption(S)
    noise = np.concatenate([lab_root(shown, white.own), lab_root(shown, white.shared)], axis=1)
    alike = bool(white.picture) and white.picture == black.picture
    own = lab_root(goal, black.own if alike else black.whole)
    shared = lab_root(goal, black.shared if alike else 0.0)
    steps = told_shapes(film.lab_slopes(S, K, LOOK_BACKING), noise, held=SEEN_LAB).T
    moves = film.lab_slopes(S, K, CARD_BLACK) @ steps
    moves[:, 3:] -= shared
    return NoisyLooks(steps, moves, own)


def opacity_shapes(film: LookFilm, point: FloatArray, covariance: FloatArray) -> FloatArray:
    """Directions (2, 2, 31) of what is not known of S, with K held to the look over white."""
    variances, axes = np.linalg.eigh(covariance)
    steps = _of_s((axes * np.sqrt(variances)).T, film)
    shapes = np.stack([_follow(film, point) * steps, steps], axis=1)
    return np.asarray(np.clip(shapes, -MOST_SD, MOST_SD))


def noisy_shapes(film: LookFilm, found: TwoLooks, noisy: NoisyLooks) -> FloatArray:
    """Directions (8, 2, 31) of what two looks with noise leave open of K and S."""
    told = np.linalg.solve(noisy.own, np.concatenate([found.slopes, noisy.moves], axis=1))
    prior = np.array([film.s_sd, SLOPE_S_SD, *np.ones(noisy.moves.shape[1])])
    variances, axes = np.linalg.eigh(np.linalg.inv(np.diag(prior**-2.0) + told.T @ told))
    ways = (axes * np.sqrt(variances)).T
    of_s = _of_s(ways[:, :2], film)
    of_k = _follow(film, found.point) * of_s + ways[:, 2:] @ noisy.steps.T
    return np.asarray(np.clip(np.stack([of_k, of_s], axis=1), -MOST_SD, MOST_SD))


def _of_s(ways: FloatArray, film: LookFilm) -> FloatArray:
    """Steps (n, 31) of ln S of steps (n, 2) of θ, but for the share that leaves K as it is."""
    return np.asarray(np.sqrt(1.0 - OWN_S_SHARE**2) * ways @ film.basis)


def _follow(film: LookFilm, point: FloatArray) -> FloatArray:
    """How ln K (31,) follows ln S where the look over white holds."""
    step = 0.05
    less, more = film.absorption(film.scattering(point + step * np.array([[-1, 0], [1, 0]])))
    return np.asarray(np.clip(np.log(more / less) / (2.0 * step), -MOST_FOLLOW, MOST_FOLLOW))
