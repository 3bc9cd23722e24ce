"""The closed form of a film's K and S from two readings: what the fit of drawdowns is held against.

Kubelka, J. Opt. Soc. Am. 38 (1948) 448, solved for S·X and a.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike


def invert_over_two_backings(
    R_over_1: ArrayLike,
    R_over_2: ArrayLike,
    *,
    backing_1: ArrayLike,
    backing_2: ArrayLike,
    thickness_um: float,
) -> tuple[np.ndarray, np.ndarray]:
    """K and S of one film read over two different backings (internal reflectances, any shape).

    a(Ri+gi) + c(Ri−gi) = 1 + Ri·gi is linear in a and c = b·coth(bSX), from Kubelka's
    R = (1 − Rg(a − b·coth)) / (a − Rg + b·coth); then b = √(a²−1), S = arcoth(c/b)/(bX),
    K = S(a−1). Without absorption b → 0 and S = 1/(cX).

    Returns
    -------
    (K, S) per µm; NaN where the film hides the backing or the readings fit no film at all.
    """
    r1, r2, g1, g2 = (
        np.asarray(v, dtype=np.float64) for v in (R_over_1, R_over_2, backing_1, backing_2)
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        p1, m1, q1 = r1 + g1, r1 - g1, 1.0 + r1 * g1
        p2, m2, q2 = r2 + g2, r2 - g2, 1.0 + r2 * g2
        determinant = p1 * m2 - p2 * m1
        a = (q1 * m2 - q2 * m1) / determinant
        c = (p1 * q2 - p2 * q1) / determinant
        a = np.maximum(a, 1.0)
        b = np.sqrt(a * a - 1.0)
        clear = b < 1e-7
        ratio = np.where(clear, np.inf, c / np.where(clear, 1.0, b))
        scatter = np.where(
            clear, 1.0 / (c * thickness_um), np.arctanh(1.0 / ratio) / (b * thickness_um)
        )
        scatter = np.where(np.isfinite(scatter) & (scatter >= 0), scatter, np.nan)
    return np.asarray(scatter * (a - 1.0)), np.asarray(scatter)
