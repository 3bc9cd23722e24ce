"""The fit of a camera to a chart: all parameters at once, with priors and their covariance.

Parameters θ: the matrix (13, 3) from root-polynomial terms to XYZ, the tone curve's four, stray
light, the uneven light's five, and the surround's own level in three channels. Residuals: of each
patch Lab less the chart's, in the local metric of CIEDE2000; of each sample of the surround the
logarithm of its light less the level. Least squares with Gaussian priors:

    minimize Σ |r_i(θ)|²/σ² + Σ |s_j(θ)|²/σ_s² + Σ (θ_k − θ0_k)²/τ_k²

The covariance of θ is the inverse of half its curvature. Leaving patch i out changes its residual
to (1 − H_ii)⁻¹ r_i, H the hat matrix (Cook & Weisberg 1982, Residuals and Influence, 2.1, a block
of three rows at a time).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inksim.colour import D50, difference_metric, lab_from_xyz
from inksim.common import FloatArray
from inksim.photo.terms import CURVE_TERMS, GAIN_TERMS, TERMS, light_of, root_polynomial

MATRIX = slice(0, 3 * TERMS)
CURVE = slice(MATRIX.stop, MATRIX.stop + CURVE_TERMS)
STRAY = CURVE.stop
GAIN = slice(STRAY + 1, STRAY + 1 + GAIN_TERMS)
LEVEL = slice(GAIN.stop, GAIN.stop + 3)
COUNT = LEVEL.stop

#: Linear sRGB to XYZ, D50 (Bradford), Y of white = 1; IEC 61966-2-1 Amd 1, as in ICC profiles.
SRGB_TO_XYZ = np.array(
    [[0.4360, 0.3851, 0.1431], [0.2225, 0.7169, 0.0606], [0.0139, 0.0971, 0.7142]]
)
MOST_TRIED, ROUGH = 24, 1e-3
"""Of the fit: points tried at most, and the relative change of the cost at which it ends: a closer
one moves colors by 0.003 ΔE00."""
SMALL = 1e-4
DARK = 1e-6
"""What is taken for no light, as a share of the file's white."""


@dataclass(frozen=True, kw_only=True)
class Scales:
    """Prior standard deviations τ, and σ of a patch and of the surround [assumption].

    lightness, chroma : σ of a patch in ΔE00, along L* and along each of the other two.
    grey : of the matrix on grays, share of white; linear, second, third : on color differences
    and on root terms of degree 2 and 3. curve : of the tone curve's first term, the j-th has
    1/j² of it. stray : share of white. gain : of ln light at the picture's edges.
    """

    grey: float = 0.3
    linear: float = 1.0
    second: float = 0.3
    third: float = 0.1
    curve: float = 0.5
    stray: float = 0.005
    gain: float = 0.1
    lightness: float = 0.5
    chroma: float = 1.0
    surround: float = 0.006

    @property
    def sigma(self) -> FloatArray:
        """σ (3,) of a patch, ΔE00, along L* and the two others."""
        return np.array([self.lightness, self.chroma, self.chroma])

    @property
    def prior_sd(self) -> FloatArray:
        """τ (COUNT,)."""
        by_term = np.repeat([self.grey, self.linear, self.second, self.third], (1, 2, 3, TERMS - 6))
        curve = self.curve / np.arange(1, CURVE_TERMS + 1) ** 2
        return np.concatenate(
            [
                np.repeat(by_term, 3),
                curve,
                [self.stray],
                np.full(GAIN_TERMS, self.gain),
                np.full(3, 3.0),
            ]
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Data:
    """What a picture shows: n patches and m samples of the surround.

    rgb (n, 3), white-balanced: gray has three equal values and white about 1; xy (n, 2);
    lab (n, 3); sd (n, 3) of rgb; around (m, 3) and around_xy (m, 2). factor (3,) made rgb of
    what the file says.
    """

    rgb: FloatArray
    xy: FloatArray
    sd: FloatArray
    lab: FloatArray
    around: FloatArray
    around_xy: FloatArray
    factor: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Fit:
    """Parameters (COUNT,), their covariance for σ of a patch as in `scales`, residuals (n, 3).

    left, left_out : of the fit, and of each patch left out; in units of ΔE00: lightness, then the
    two of chroma and hue. around : (m, 3) of each place of the surround left out, ln light.
    """

    parameters: FloatArray
    covariance: FloatArray
    left: FloatArray
    left_out: FloatArray
    around: FloatArray
    scales: Scales

    @property
    def score(self) -> float:
        """Mean length of the residuals left out, ΔE00."""
        return float(np.mean(np.linalg.norm(self.left_out, axis=-1)))


def start() -> FloatArray:
    """θ0: the sRGB primaries, no curve, no stray light, even light."""
    # r = m + (2(r−g) − (b−g))/3, g = m − ((r−g) + (b−g))/3, b = m + (2(b−g) − (r−g))/3
    back = np.array([[1, 2 / 3, -1 / 3], [1, -1 / 3, -1 / 3], [1, -1 / 3, 2 / 3]])
    theta = np.zeros(COUNT)
    matrix = np.zeros((TERMS, 3))
    matrix[:3] = (SRGB_TO_XYZ @ back).T
    theta[MATRIX] = matrix.ravel()
    return theta


def light_at(theta: FloatArray, rgb: FloatArray, xy: FloatArray, factor: FloatArray) -> FloatArray:
    """Even light (..., 3) of white-balanced rgb; the curve is that of the file's own values."""
    light = light_of(
        rgb / factor, xy, curve=theta[CURVE], stray=theta[STRAY] / factor.mean(), gain=theta[GAIN]
    )
    return np.asarray(light * factor)


def mapped(theta: FloatArray, light: FloatArray) -> FloatArray:
    """Lab (..., 3), D50/2°, of even light (..., 3)."""
    terms = root_polynomial(light)
    return lab_from_xyz(100.0 * (terms @ theta[MATRIX].reshape(TERMS, 3)), D50)


def lab_at(theta: FloatArray, rgb: FloatArray, xy: FloatArray, factor: FloatArray) -> FloatArray:
    """Lab (..., 3), D50/2°."""
    return mapped(theta, light_at(theta, rgb, xy, factor))


def slopes(
    theta: FloatArray, rgb: FloatArray, xy: FloatArray, factor: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Lab (n, 3) and its slopes (n, 3, COUNT) with θ."""
    terms = root_polynomial(light_at(theta, rgb, xy, factor))
    xyz = terms @ theta[MATRIX].reshape(TERMS, 3)
    lab = lab_from_xyz(100.0 * xyz, D50)
    out = np.zeros((*lab.shape, COUNT))
    lab_per_xyz = np.stack(
        [(lab_from_xyz(100.0 * (xyz + SMALL * axis), D50) - lab) / SMALL for axis in np.eye(3)],
        axis=-1,
    )
    out[..., MATRIX] = np.einsum("nlx,nt->nltx", lab_per_xyz, terms).reshape(*lab.shape, -1)
    for at in range(CURVE.start, GAIN.stop):
        moved = theta.copy()
        moved[at] += SMALL
        out[..., at] = (lab_at(moved, rgb, xy, factor) - lab) / SMALL
    return lab, out


def whitening(lab: FloatArray) -> FloatArray:
    """D (n, 3, 3) with |D·d| ≈ ΔE00 for small Lab differences d; its first row is L* alone."""
    return np.asarray(np.linalg.cholesky(difference_metric(lab)).mT)


def _surround(theta: FloatArray, data: Data) -> tuple[FloatArray, FloatArray]:
    """Residuals (3 m,) of the surround, and their slopes (3 m, COUNT)."""

    def residual(at: FloatArray) -> FloatArray:
        light = light_at(at, data.around, data.around_xy, data.factor)
        return np.asarray((np.log(light) - at[LEVEL]).ravel())

    here = residual(theta)
    out = np.zeros((here.size, COUNT))
    for at in range(CURVE.start, LEVEL.stop):
        moved = theta.copy()
        moved[at] += SMALL
        out[:, at] = (residual(moved) - here) / SMALL
    return here, out


def fitted(data: Data, scales: Scales) -> Fit:
    """Fit θ to the chart (and the surround, if there is one)."""
    from scipy.optimize import least_squares

    prior, tau = start(), scales.prior_sd
    if len(data.around):
        prior[LEVEL] = np.log(np.maximum(data.around, 1e-4)).mean(axis=0)
    sigma = scales.sigma
    D = whitening(data.lab) / sigma[:, None]
    free = tau > 0

    def rows(at: FloatArray) -> tuple[FloatArray, FloatArray]:
        lab, slope = slopes(at, data.rgb, data.xy, data.factor)
        r = np.einsum("nij,nj->ni", D, lab - data.lab).ravel()
        J = np.einsum("nij,njp->nip", D, slope).reshape(-1, COUNT)
        if len(data.around):
            s, K = _surround(at, data)
            r, J = (
                np.concatenate([r, s / scales.surround]),
                np.concatenate([J, K / scales.surround]),
            )
        return r, J

    held = 1.0 / tau[free]
    last: dict[bytes, tuple[FloatArray, FloatArray]] = {}

    def whole(point: FloatArray) -> FloatArray:
        made = prior.copy()
        made[free] = point
        return made

    def at(point: FloatArray) -> tuple[FloatArray, FloatArray]:
        """`rows`, once where residuals and then slopes are asked for."""
        key = point.tobytes()
        if key not in last:
            last.clear()
            last[key] = rows(whole(point))
        return last[key]

    found = least_squares(
        lambda point: np.concatenate([at(point)[0], held * (point - prior[free])]),
        prior[free],
        jac=lambda point: np.concatenate([at(point)[1][:, free], np.diag(held)]),
        method="lm", x_scale="jac", ftol=ROUGH, max_nfev=MOST_TRIED,
    )  # fmt: skip
    theta = whole(np.asarray(found.x))
    r, J = rows(theta)
    A = J[:, free].T @ J[:, free] + np.diag(held**2)
    inverse = np.linalg.inv(A)
    covariance = np.zeros((COUNT, COUNT))
    covariance[np.ix_(free, free)] = inverse
    n, blocks = len(data.rgb), r.reshape(-1, 3)
    own = J[:, free].reshape(len(blocks), 3, -1)
    left_out = np.linalg.solve(np.eye(3) - own @ inverse @ own.mT, blocks[..., None])[..., 0]
    return Fit(
        parameters=theta,
        covariance=covariance,
        left=blocks[:n] * sigma,
        left_out=left_out[:n] * sigma,
        around=np.asarray(left_out[n:] * scales.surround, dtype=np.float64),
        scales=scales,
    )
