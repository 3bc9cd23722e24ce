"""From slabs to the color of a print: one fiber field drives the swatch and the picture."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from inksim.build import Slabs
from inksim.fibre import quantile_nodes, thickness_factor
from inksim.kubelka_munk import (
    Array,
    external_from_internal,
    film_unchecked,
    over,
    reflectance_from_ks,
)


def cloth_reflectance(slabs: Slabs, *, factor: Array) -> Array:
    """Internal reflectance of the cloth under the films, at points with a relative deposit.

    Discharge: (K/S) moves from dyed to discharged by 1 − exp(−w·f), w the relative wet deposit.
    Soak [assumption]: (K/S)' = (S_c·(K/S) + φf·K) / (S_c + φf·S).

    Parameters
    ----------
    slabs : leading axes (..., B).
    factor : (..., B, Q) deposit at the points over its mean, for the first film.

    Returns
    -------
    (..., B, Q, 31)
    """
    done = -np.expm1(-slabs.discharge[..., None] * factor)[..., None]
    dyed, discharged = slabs.cloth_ks[..., None, :], slabs.discharged_ks[..., None, :]
    ks = dyed + done * (discharged - dyed)
    phi = (slabs.soak[..., None] * factor)[..., None]
    scatter = slabs.cloth_S[..., None, None]
    ks = (scatter * ks + phi * slabs.soak_K[..., None, :]) / (
        scatter + phi * slabs.soak_S[..., None, :]
    )
    return reflectance_from_ks(ks)


def point_reflectance(slabs: Slabs, quantiles: npt.ArrayLike) -> Array:
    """External reflectance at points whose films sit at given quantiles of their thickness.

    Parameters
    ----------
    slabs : leading axes (..., B), L layers.
    quantiles : (Q,) in 0..1; 0 is a proud fiber with little film, 1 a deep place with much.

    Returns
    -------
    (..., B, Q, 31) external reflectance factors.
    """
    q = np.asarray(quantiles, dtype=np.float64)
    R = cloth_reflectance(slabs, factor=thickness_factor(q, cv=slabs.first_cv[..., None]))
    for at in range(slabs.film_um.shape[-1]):
        factor = thickness_factor(q, cv=slabs.cv[..., at, None])
        X = (slabs.film_um[..., at, None] * factor)[..., None]
        R0, T = film_unchecked(slabs.K[..., at, None, :], slabs.S[..., at, None, :], X)
        R = over(R0, T, backing=R)
    return external_from_internal(R)


def swatch(slabs: Slabs, *, nodes: int = 8) -> Array:
    """External reflectance (..., B, 31) of a printed area: the mean over the fiber quantiles.

    8 `nodes` are within 0.03 ΔE00 of the integral for cv ≤ 0.5: see `quantile_nodes`.
    """
    q, weight = quantile_nodes(nodes)
    return np.asarray(np.einsum("...qw,q->...w", point_reflectance(slabs, q), weight))
