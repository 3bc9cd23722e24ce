"""Uneven films: the gamma distribution of film thickness on cloth, and its quadrature.

Cloth is not flat, so a printed film is thin on fibers that stand proud and thick in the hollows.
At a point the film thickness is gamma-distributed with the deposit as its mean and a coefficient
of variation *cv* [assumption: the gamma family; cv is calibrated]. All layers share the same
quantile q at a point. The swatch is the mean of the external reflectance R(q) over q; the picture
draws R(q(x, y)), with q from a seamless tile of knit (`picture/cloth_tile.py`) whose values are
exactly uniform. A flat area of the picture therefore has the swatch as its mean, in linear light.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from inksim.common import DATA, FloatArray, InputError

LEVELS = 256  # thickness quantiles that a cloth tile distinguishes
TABLED = (5, 8, LEVELS)  # nodes of a swatch that is moved, of one that is predicted, of a picture


def quantile_nodes(n: int = 8) -> tuple[FloatArray, FloatArray]:
    """Quadrature nodes and weights on 0..1: ``sum(weight * f(q))`` is the mean of f over q.

    Gauss-Legendre nodes in u, with q = u^2 (3 - 2u), which sets them closer at both ends: there
    the gamma quantile turns vertical, and plain nodes in q converge slowly. Returns q (n,),
    ascending, and weight (n,), which sums to 1. n = 8 is exact for polynomials in q of degree 5,
    and within 0.03 dE00 of the integral of the demo shop's prints for cv up to 0.5, where plain
    nodes are off by up to 0.3 (a black on a yellow shirt).
    Raises InputError for n outside 1..256.
    """
    if not 1 <= n <= LEVELS:
        raise InputError(f"the number of quantile nodes is {n}; use 1 to {LEVELS}, usually 8.")
    x, w = _legendre(n)
    u = (x + 1.0) / 2.0
    return u * u * (3.0 - 2.0 * u), 3.0 * w * u * (1.0 - u)


@cache
def _legendre(n: int) -> tuple[FloatArray, FloatArray]:
    """Nodes and weights on -1..1, worked out once: a fit asks for them hundreds of times."""
    x, w = np.polynomial.legendre.leggauss(n)
    return x, w


def level_quantiles() -> FloatArray:
    """Thickness quantile (256,) of each tile value v: q = (v + 0.5) / 256."""
    return (np.arange(LEVELS) + 0.5) / LEVELS


def thickness_factor(q: ArrayLike, *, cv: ArrayLike) -> FloatArray:
    """Film thickness at quantile q relative to the mean: the gamma quantile with mean 1.

    Shape k = 1/cv^2 and scale cv^2, so the standard deviation is cv; cv = 0 (and below 1e-12,
    where the factor is 1 to rounding) gives exactly 1. q is in 0 <= q < 1 and cv in 0 <= cv <= 1;
    both broadcast. Raises InputError outside.
    """
    from scipy.special import gammaincinv  # a quarter of a second; `factors_at` goes without

    q, cv = np.broadcast_arrays(np.asarray(q, dtype=float), np.asarray(cv, dtype=float))
    if not np.all((q >= 0) & (q < 1)):
        raise InputError("a thickness quantile is outside 0 <= q < 1; give quantiles below 1.")
    _check_cv(cv)
    even = cv < 1e-12
    variance = np.where(even, 1.0, cv) ** 2
    return np.where(even, 1.0, variance * gammaincinv(1.0 / variance, q))


def factors_at(q: FloatArray, *, cv: FloatArray) -> FloatArray:
    """Thickness factors (Q, M) at quantiles q (Q,) of films of unevenness cv (M,).

    At the quantiles of `TABLED` by Chebyshev polynomials in cv, which tools/make_spread_tables.py
    fits to the gamma quantile: within 1e-12, and without SciPy.
    """
    if len(q) not in TABLED or not np.array_equal(q, tabled_quantiles(len(q))):
        return thickness_factor(q[:, None], cv=cv)
    _check_cv(cv)
    found = np.polynomial.chebyshev.chebval(2.0 * cv - 1.0, _thickness(len(q)))
    return np.where(cv < 1e-12, 1.0, found)


def tabled_quantiles(n: int) -> FloatArray:
    """Quantiles (n,) that are tabled: the nodes of a quadrature, or the levels of a tile."""
    return level_quantiles() if n == LEVELS else quantile_nodes(n)[0]


@cache
def _thickness(nodes: int) -> FloatArray:
    with np.load(DATA / "spread.npz") as stored:
        return np.asarray(stored[f"thickness_{nodes}"])


def _check_cv(cv: FloatArray) -> None:
    bad = cv[~((cv >= 0) & (cv <= 1))]
    if bad.size:
        raise InputError(
            f"the film's coefficient of variation is {bad.flat[0]:g}; it must be 0 to 1, "
            "usually 0.1 on a base and 0.3 to 0.5 straight on cloth."
        )
