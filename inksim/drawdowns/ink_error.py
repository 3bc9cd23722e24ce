"""What a fit knew of an ink, small enough for the ink's entry: a `SpectralError`.

The joint covariance of ln K and ln S over the bands, of readings, films, strengths and light, is
brought into a few directions. Within a band it is the fit's. From band to band what is known by
each band for itself is taken as alike over ALIKE_NM: what a real film leaves is smooth, not noise
[assumption]; in an ink read once, whose S is a guess, it is mostly one guess for all bands. What
the kept directions leave out is put back into them band by band, so that each band's own error
stays.
"""

from __future__ import annotations

import numpy as np

from inksim.colour import BANDS, WAVELENGTHS_NM
from inksim.common import FloatArray
from inksim.drawdowns.believable import PALE_SD
from inksim.drawdowns.findings import InkFit
from inksim.stock import INK_K_SD, INK_S_SD, SpectralError

ALIKE_NM = 50.0
ONE_GUESS = 0.8
"""Share of that guess's variance that all bands have in common [assumption]."""
WIDEST = 1.5
"""Sd of ln K, ln S from which a band is not known; more would say no more (but of a guess)."""
LEAST_SHARE = 0.2
"""K and S are at least this share of their error: at 0 no factor would reach the truth
[assumption]."""
KEPT_VARIANCE, MOST_DIRECTIONS = 0.98, 6
"""Share of the error, as seen, that the directions hold; and the most of them [assumption]."""
LEAST_SEEN = 0.05
"""Least weight of a band in choosing the directions, however little it is seen [assumption]."""


def entry_spectra(ink: InkFit) -> tuple[FloatArray, FloatArray]:
    """K and S (31,) for the ink's entry: not so near 0 that their error has no logarithm."""
    return (
        np.maximum(ink.K, LEAST_SHARE * ink.K_error),
        np.maximum(ink.S, LEAST_SHARE * ink.S_error),
    )


def spectral_error(ink: InkFit, *, times: float = 1.0) -> SpectralError:
    """The errors of a fitted ink, and what differs from lot to lot.

    times : factor on the fit's own errors, see `SheetCheck.times`.
    """
    covariance = _covariance(ink).reshape(2 * BANDS, 2 * BANDS) * times**2
    sd = np.sqrt(np.diag(covariance))
    widest = PALE_SD if ink.read_once else WIDEST
    limit = np.minimum(1.0, widest / np.maximum(sd, 1e-12))
    covariance *= np.outer(limit, limit)
    return SpectralError(
        K=INK_K_SD["measured"],
        S=INK_S_SD["measured"],
        shapes=_directions(covariance, _seen(ink)).reshape(-1, 2, BANDS),
    )


def _covariance(ink: InkFit) -> FloatArray:
    """Covariance (2, 31, 2, 31) of ln K and ln S."""
    value = np.stack(entry_spectra(ink))
    apart = ink.apart / np.einsum("ib,jb->bij", value, value)
    # S first: of what is known of both together, K follows S.
    S = np.sqrt(apart[:, 1, 1])
    with_S = apart[:, 0, 1] / S
    alone = np.sqrt(np.maximum(apart[:, 0, 0] - with_S**2, 0.0))
    distance = np.subtract.outer(WAVELENGTHS_NM, WAVELENGTHS_NM) / ALIKE_NM
    smooth = np.exp(-0.5 * distance**2)
    alike = ONE_GUESS + (1.0 - ONE_GUESS) * smooth if ink.read_once else smooth
    factors = np.stack([np.stack([with_S, S]), np.stack([alone, np.zeros(BANDS)])])
    joint = np.einsum("fib,fjc,bc->ibjc", factors, factors, alike)
    return np.asarray(joint + ink.common / np.einsum("ib,jc->ibjc", value, value))


def _seen(ink: InkFit) -> FloatArray:
    """Weight (62,) of ln K and ln S in what a film looks like: little of either is not seen."""
    depth = np.concatenate(entry_spectra(ink)) * ink.film_um
    return np.asarray(np.maximum(depth / (1.0 + depth), LEAST_SEEN))


def _directions(covariance: FloatArray, seen: FloatArray) -> FloatArray:
    """Leading directions (m, 62), scaled so that each band's own variance stays."""
    values, vectors = np.linalg.eigh(covariance * np.outer(seen, seen))
    values, vectors = np.maximum(values[::-1], 0.0), vectors[:, ::-1]
    share = np.cumsum(values) / max(float(values.sum()), 1e-300)
    kept = min(int(np.searchsorted(share, KEPT_VARIANCE)) + 1, MOST_DIRECTIONS)
    shapes = (vectors[:, :kept] * np.sqrt(values[:kept])).T / seen
    found = np.sqrt(np.sum(shapes**2, axis=0))
    wanted = np.sqrt(np.diag(covariance))
    return np.asarray(shapes * (wanted / np.maximum(found, 1e-12)))
