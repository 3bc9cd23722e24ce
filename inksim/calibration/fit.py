"""Maximum a posteriori fit of a press to readings of its prints.

The readings' residuals, whitened by their noise, and the priors u ~ N(0, 1) go into one
`scipy.optimize.least_squares`; its Jacobian gives the posterior covariance.

What all readings of one picture are off together is unknown besides, three numbers each (see
unknowns.py). The noise of a reading's Lab has two parts: the reading itself, isotropic in ΔE00 and
smaller for a mean of several, and the model's own error, isotropic in Lab with standard deviation τ
(`model_sd`). τ, and the factor κ on the inks' standard deviations (`ink_sd_factor`), are unknown
too: their posterior is taken on a grid, by the evidence of the linearized fit (MacKay, Neural
Computation 4 (1992) 415; the equations are those of Bayesian linear regression),

    ln p(y | κ, τ) = −½ Σ ln|N(τ)| − ½ ln|C| − ½ z'C⁻¹z + const,    C = I + G·D²·G',

G, z the whitened Jacobian and residual, D = κ for inks and 1 for the rest. The priors are low and
wide (κ's only if all inks that were read are measured): prints that fit exactly are believed, and
prints that do not push κ and τ up by an order of magnitude. The root mean square of each is used,
since variances add up in an interval. With three readings the priors decide as much as the readings
do: see tests/accuracy/calibration_study.py for what that costs where they are wrong.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from inksim.calibration.reading_model import ReadingModel
from inksim.colour import difference_metric
from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.stock import (
    CAUTIOUS_INK_SD_FACTOR,
    CAUTIOUS_MODEL_SD,
    INK_SD_FACTOR_PRIOR,
    MEAN_LENGTH,
    MODEL_SD_PRIOR,
)

ROUNDS = 3  # of fitting, then learning κ and τ; a fourth moves them by less than 2 %
_FACTORS = np.exp(np.linspace(np.log(0.01), np.log(16.0), 25))
_SDS = np.exp(np.linspace(np.log(0.01), np.log(5.0), 22))
ROUGH, EXACT = 1e-3, 1e-8
"""Relative change of the cost at which a fit ends, of a round that another follows and of the last:
the press of exact rounds is within 0.001 of its sds, for a third less work."""
AT_BOUND = 1e-3
"""Prior sds from a bound within which an unknown is at it: the optimizer never quite gets there."""
STUDENT = 4.0  # degrees of freedom of the noise in a robust fit


def reading_noise(model: ReadingModel) -> FloatArray:
    """Covariance (R, 3, 3) of the readings' Lab: as far off, in ΔE00, as each is by itself."""
    off = np.array([reading.off_de00 for reading in model.readings])
    each = (off / MEAN_LENGTH) ** 2
    return np.asarray(each[:, None, None] * np.linalg.inv(difference_metric(model.read)))


@dataclass(frozen=True, kw_only=True, eq=False)
class PressFit:
    """A converged fit.

    used (R,): the readings that took part. u (n,); residual (R, 3): model − reading, of all;
    jacobian (R, 3, n); noise (R, 3, 3): of a reading about the model; prior_sd (n,): of u; model_sd
    τ; ink_factor κ.
    """

    model: ReadingModel
    used: BoolArray
    u: FloatArray
    residual: FloatArray
    jacobian: FloatArray
    noise: FloatArray
    prior_sd: FloatArray
    model_sd: float
    ink_factor: float

    @cached_property
    def precision(self) -> FloatArray:
        """Inverse posterior covariance (n, n) of u: D⁻² + Σ J'N⁻¹J."""
        prior = np.diag(self.prior_sd**-2.0)
        return np.asarray(prior + np.sum(self.information[self.used], axis=0))

    @cached_property
    def covariance(self) -> FloatArray:
        """Posterior covariance (n, n) of u."""
        return np.asarray(np.linalg.inv(self.precision))

    @cached_property
    def information(self) -> FloatArray:
        """Fisher information J'N⁻¹J (R, n, n) of each reading."""
        return np.asarray(self.jacobian.mT @ np.linalg.solve(self.noise, self.jacobian))

    def without(self, left_out: IndexArray) -> tuple[FloatArray, FloatArray]:
        """u (D, n) and covariance (D, n, n) refitted without some used readings: left_out (D, k).

        One Newton step from the fit: exact for a linear model.
        """
        out = np.zeros((len(left_out), self.used.size), dtype=np.bool_)
        np.put_along_axis(out, left_out, True, axis=1)
        out &= self.used
        force = np.linalg.solve(self.noise, self.residual[..., None])
        pull = (self.jacobian.mT @ force)[..., 0]
        covariance = np.linalg.inv(
            self.precision - np.einsum("dr,rij->dij", out.astype(np.float64), self.information)
        )
        moved = self.u + np.einsum("dij,dj->di", covariance, out @ pull)
        unknowns = self.model.unknowns
        return np.clip(moved, unknowns.least, unknowns.most), covariance


def fit_press(
    model: ReadingModel,
    *,
    used: BoolArray | None = None,
    robust: bool = False,
    loose: float = 1.0,
) -> PressFit:
    """Fit the unknowns to the used readings (all, if None).

    loose: how many times as far off as its prior says the press may be.

    robust: Student's t noise with four degrees of freedom (iteratively reweighted), so that a wrong
    reading has little influence; κ and τ then stay at their cautious values. Every fit starts from
    those: a start that trusts the inks would attribute their error to the press.
    """
    every = np.ones(len(model.readings), dtype=np.bool_)
    taken = every if used is None else used
    base = reading_noise(model)
    factor, sd = CAUTIOUS_INK_SD_FACTOR[model.ink_trust], CAUTIOUS_MODEL_SD
    u = np.zeros(model.unknowns.size)
    scale = np.ones(len(model.readings))
    last = (2 * ROUNDS if robust else ROUNDS) - 1
    for round_ in range(last + 1):
        noise = base + sd**2 * np.eye(3)
        if robust:
            noise = noise / scale[:, None, None]
        u = solve(
            model, taken, noise=noise, prior_sd=prior_sd(model, factor, loose), start=u,
            within=EXACT if round_ == last else ROUGH,
        )  # fmt: skip
        residual, jacobian = model.lab(u[None])[0] - model.read, model.jacobian(u)
        if robust:
            plain = base + sd**2 * np.eye(3)
            force = np.linalg.solve(plain, residual[..., None])[..., 0]
            scale = (STUDENT + 3.0) / (STUDENT + np.sum(residual * force, axis=-1))
        elif round_ < last:
            offset = residual - jacobian @ u
            factor, sd = _learn(model, taken, offset, jacobian, base=base, loose=loose)
    return PressFit(
        model=model,
        used=taken,
        u=u,
        residual=residual,
        jacobian=jacobian,
        noise=noise,
        prior_sd=prior_sd(model, factor, loose),
        model_sd=sd,
        ink_factor=factor,
    )


def prior_sd(model: ReadingModel, factor: float, loose: float = 1.0) -> FloatArray:
    """Prior sd (n,) of u: κ for inks, `loose` for the press, 1 for the rest."""
    rest = np.where(model.unknowns.kept, loose, 1.0)
    return np.where(model.unknowns.of_ink, factor, rest)


def _roots(noise: FloatArray) -> FloatArray:
    """Whitening matrices L⁻¹ (R, 3, 3) of noise = L·L'."""
    return np.asarray(np.linalg.inv(np.linalg.cholesky(noise)))


def solve(
    model: ReadingModel,
    used: BoolArray,
    *,
    noise: FloatArray,
    prior_sd: FloatArray,
    start: FloatArray,
    within: float = EXACT,
) -> FloatArray:
    """Solve one least squares over the used readings and the priors."""
    from scipy.optimize import least_squares

    white = _roots(noise)[used]
    prior = 1.0 / prior_sd

    def residuals(u: FloatArray) -> FloatArray:
        off = (model.lab(u[None])[0] - model.read)[used]
        return np.concatenate([(white @ off[..., None]).ravel(), prior * u])

    def jacobian(u: FloatArray) -> FloatArray:
        slope = white @ model.jacobian(u)[used]
        return np.concatenate([slope.reshape(-1, u.size), np.diag(prior)])

    unknowns = model.unknowns
    found = least_squares(
        residuals,
        np.clip(start, unknowns.least, unknowns.most),
        jac=jacobian,
        bounds=(unknowns.least, unknowns.most),
        xtol=10.0 * within,
        ftol=within,
        gtol=within,
    )
    u = np.where(found.x < unknowns.least + AT_BOUND, unknowns.least, found.x)
    return np.where(u > unknowns.most - AT_BOUND, unknowns.most, u)


def _learn(
    model: ReadingModel,
    used: BoolArray,
    offset: FloatArray,
    jacobian: FloatArray,
    *,
    base: FloatArray,
    loose: float = 1.0,
) -> tuple[float, float]:
    """Posterior root mean squares of κ and τ; offset (R, 3): the residual at u = 0."""
    of_ink, D = model.unknowns.of_ink, prior_sd(model, 1.0, loose)
    evidence = np.empty((_FACTORS.size, _SDS.size))
    for at, sd in enumerate(_SDS):
        white = _roots(base[used] + sd**2 * np.eye(3))
        G = (white @ jacobian[used]).reshape(-1, D.size) * D
        z = (white @ offset[used][..., None]).ravel()
        # I + G·D²·G' is A + κ²·B: one set of axes makes A the identity and B diagonal, for all κ
        root = np.linalg.cholesky(np.eye(z.size) + G[:, ~of_ink] @ G[:, ~of_ink].T)
        told = np.linalg.solve(root, G[:, of_ink])
        size, axes = np.linalg.eigh(told @ told.T)
        square = (axes.T @ np.linalg.solve(root, z)) ** 2
        grown = 1.0 + _FACTORS[:, None] ** 2 * np.maximum(size, 0.0)
        narrow = np.sum(np.log(np.diagonal(white, axis1=1, axis2=2)))
        narrow -= np.sum(np.log(np.diagonal(root)))
        evidence[:, at] = narrow - 0.5 * np.sum(np.log(grown) + square / grown, axis=1)
    evidence += _ln_prior(_FACTORS, INK_SD_FACTOR_PRIOR[model.ink_trust])[:, None]
    evidence += _ln_prior(_SDS, MODEL_SD_PRIOR[model.ink_data])
    chance = np.exp(evidence - evidence.max())
    chance /= chance.sum()
    factor, sd = (np.sqrt(p @ x**2) for p, x in ((chance.sum(1), _FACTORS), (chance.sum(0), _SDS)))
    return float(factor), float(sd)


def _ln_prior(value: FloatArray, prior: tuple[float, float]) -> FloatArray:
    median, sd = prior
    return np.asarray(-0.5 * (np.log(value / median) / sd) ** 2)
