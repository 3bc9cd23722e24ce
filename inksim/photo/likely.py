"""What surfaces are likely to look like where a camera's map leaves their color open.

The chart tells the camera's sensitivities well enough to know what it sees of any smooth spectrum:
within 0.4 of L* for simulated cameras, where the map from what is seen to color is off by 1 to 4.
So a family of likely surfaces is seen through the camera, cut where the file cuts, and mapped to
color as a picture's regions are. What that leaves of those near a reading is what is likely to be
left of it: with one channel at the end of the scale, as a vivid print has in a file whose primaries
do not hold it, much; else little.

The family: ln K/S of opaque surfaces, normal, with the mean and `WIDER` times the deviations of the
24 patches of ISO 17321-1, and the smooth part that a color leaves open (`stock`) besides.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from inksim.colour import D50, lab as lab_of
from inksim.common import FloatArray
from inksim.optics import (
    external_from_internal,
    internal_from_external,
    ks_from_reflectance,
    reflectance_from_ks,
)
from inksim.photo.charts import chart_of
from inksim.photo.fit import DARK, Data, light_at, mapped, whitening
from inksim.printing import normal_points
from inksim.stock import UNSEEN_NM, UNSEEN_SD, smooth

WIDER = 1.5
"""[assumption] Prints and dyed cloths are more vivid than the chart's patches."""
DIRECTIONS, BLOCKS, POINTS = 12, 5, 512
SENSOR_NM, SENSOR_NOISE = 20.0, 0.01
"""Over what distance a sensitivity times a light is smooth, and what a patch's light is off by, as
a share of it [assumption]: the light of textiles and prints is foretold best so, for the ten
cameras with which constants are chosen."""
NEIGHBOURS, NEAR_DE00 = 60, 5.0
"""How many surfaces tell what is left of a reading, and how near a surface counts for near."""
TILT = 1.0
"""How strongly what is left is held to be the same for all of them, in surfaces."""


@cache
def surfaces() -> tuple[FloatArray, FloatArray]:
    """Reflectance (V, 31) and Lab (V, 3), D50/2°, of the family."""
    spectra = chart_of("iso17321").reflectance
    assert spectra is not None
    ln_ks = np.log(ks_from_reflectance(internal_from_external(spectra)))
    covariance = WIDER**2 * np.cov(ln_ks.T) + smooth(UNSEEN_SD, UNSEEN_NM)
    variance, axes = np.linalg.eigh(covariance)
    root = axes[:, -DIRECTIONS:] * np.sqrt(variance[-DIRECTIONS:])
    points = normal_points(POINTS, DIRECTIONS * BLOCKS).reshape(-1, DIRECTIONS)
    drawn = np.exp(ln_ks.mean(axis=0) + points @ root.T)
    reflectance = external_from_internal(reflectance_from_ks(drawn))
    return reflectance, lab_of(reflectance, D50)


def light_of_surfaces(spectra: FloatArray, light: FloatArray) -> FloatArray:
    """What a camera sees (V, 3) of the family, by light (n, 3) of a chart's spectra (n, 31).

    Sensitivity times light is normal over the bands, white about 1: its mean for the patches seen
    is linear in their light, C Pᵀ (P C Pᵀ + N)⁻¹, C the prior and P the patches.
    """
    prior = smooth(1.0, SENSOR_NM)
    prior /= prior.sum()
    noise = SENSOR_NOISE**2 * (spectra.mean(axis=1) ** 2 + 0.02**2)
    across = prior @ spectra.T
    told = np.linalg.solve(spectra @ across + np.diag(noise), light)
    return np.asarray(surfaces()[0] @ across @ told)


@dataclass(frozen=True, kw_only=True, eq=False)
class Likely:
    """The family by one camera: seen (V, 3) its Lab by the map; left (V, 3) the true less it."""

    seen: FloatArray
    left: FloatArray

    def of(self, lab: FloatArray) -> tuple[FloatArray, FloatArray]:
        """What is likely to be left of readings (n, 3), and its covariance (n, 3, 3), in Lab.

        A plane through what is left of the nearest of the family, weighed by how near they are;
        how far the nearest is, beyond `NEAR_DE00`, is how far that may be off.
        """
        D = whitening(lab)
        inverse = np.linalg.inv(D)
        apart = np.einsum("nij,nvj->nvi", D, self.seen - lab[:, None])
        square = np.einsum("nvi,nvi->nv", apart, apart)
        nearest = np.argpartition(square, NEIGHBOURS, axis=1)[:, :NEIGHBOURS]
        apart = np.take_along_axis(apart, nearest[..., None], axis=1)
        square = np.take_along_axis(square, nearest, axis=1)
        width = np.maximum(NEAR_DE00**2, square.max(axis=1, keepdims=True) / 4.0)
        weight = np.exp(-0.5 * square / width)
        ones = np.ones_like(square)[..., None]
        plane = np.concatenate([ones, apart / np.sqrt(width)[..., None]], axis=-1)
        left = self.left[nearest]
        held = np.diag([0.0, TILT, TILT, TILT])
        slopes = np.linalg.solve(
            np.einsum("nk,nki,nkj->nij", weight, plane, plane) + held,
            np.einsum("nk,nki,nkj->nij", weight, plane, left),
        )
        off = left - plane @ slopes
        weight /= weight.sum(axis=1, keepdims=True)
        spread = np.einsum("nk,nki,nkj->nij", weight, off, off)
        far = np.maximum(square.min(axis=1) - NEAR_DE00**2, 0.0)
        return slopes[:, 0], spread + far[:, None, None] * (inverse @ inverse.mT)


def likely_of(theta: FloatArray, data: Data, spectra: FloatArray) -> Likely:
    """The family through a camera of parameters theta, whose patches have these spectra (n, 31).

    What a file cuts off is cut here too, as in the middle of the picture.
    """
    middle = np.full((1, 2), 0.5)
    least, most = (
        light_at(theta, end * data.factor[None], middle, data.factor) for end in (DARK, 1.0)
    )
    patches = light_at(theta, data.rgb, data.xy, data.factor)
    seen = mapped(theta, np.clip(light_of_surfaces(spectra, patches), least, most))
    return Likely(seen=seen, left=surfaces()[1] - seen)
