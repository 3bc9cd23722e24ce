"""From slabs to the color of a print: one fiber field drives the swatch and the picture.

Inside, arrays are (Q, ..., 31, B): points first, builds last, so that numpy's inner loops are long
and what does not vary over the points is worked out once.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from inksim.build import Slabs
from inksim.fibre import quantile_nodes, thickness_factor
from inksim.kubelka_munk import Array, lay_film, leave_surface, thick_in_place

BLOCK_ELEMENTS = 56_000
"""Points × bands × builds worked on at a time, measured: 226 builds at 8 points. Fewer and numpy's
inner loops are short, a third slower; many more and the three arrays leave the cache, twice as
slow from a million on."""


def _builds_last(spectra: Array) -> Array:
    """(..., B, 31) → (..., 31, B), contiguous."""
    return np.ascontiguousarray(np.swapaxes(spectra, -1, -2))


def _factors(q: Array, cv: Array) -> Array:
    """Thickness factors (Q, ..., B) for unevenness (..., B), once for each distinct cv."""
    distinct, place = np.unique(cv, return_inverse=True)
    return np.asarray(thickness_factor(q[:, None], cv=distinct)[:, place.reshape(cv.shape)])


class _Points(NamedTuple):
    """Slabs at Q points: deposits (Q, ..., B), films (L, Q, ..., B) µm."""

    slabs: Slabs
    first: Array
    films: Array

    def part(self, builds: slice) -> _Points:
        """Some of the builds."""
        s = self.slabs
        flat = {f: getattr(s, f)[..., builds] for f in ("discharge", "soak")}
        flat |= {
            f: getattr(s, f)[..., builds, :]
            for f in ("cloth_ks", "discharged_ks", "soak_K", "soak_S")
        }
        flat |= {f: getattr(s, f)[..., builds, :, :] for f in ("K", "S")}
        if s.cloth_S.shape[-1] > 1:
            flat["cloth_S"] = s.cloth_S[..., builds]
        return _Points(replace(s, **flat), self.first[..., builds], self.films[..., builds])


def _at_points(slabs: Slabs, q: Array) -> _Points:
    films = np.moveaxis(slabs.film_um, -1, 0)[:, None]
    factors = [_factors(q, slabs.cv[..., at]) for at in range(slabs.cv.shape[-1])]
    return _Points(slabs, _factors(q, slabs.first_cv), films * np.stack(factors))


def _cloth(slabs: Slabs, *, factor: Array, R: Array, out: Array) -> None:
    """Internal reflectance (Q, ..., 31, B) of the cloth under the films, into R.

    Discharge: K/S moves from dyed to discharged by 1 − exp(−w·f), w the relative wet deposit.
    Soak [assumption]: K/S' = (S_c·K/S + φf·K) / (S_c + φf·S). out: scratch like R.
    """
    dyed = _builds_last(slabs.cloth_ks)
    phi = (slabs.soak * factor)[..., None, :]
    scatter = slabs.cloth_S[..., None, :]
    np.multiply(phi, _builds_last(slabs.soak_K), out=out)
    if np.any(slabs.discharge):
        # A sum of two parts: a difference would lose the digits of a nearly white cloth.
        wet = (slabs.discharge * factor)[..., None, :]
        np.multiply(scatter * np.exp(-wet), dyed, out=R)
        out += R
        np.multiply(-scatter * np.expm1(-wet), _builds_last(slabs.discharged_ks), out=R)
        R += out
    else:
        np.add(out, scatter * dyed, out=R)
    np.multiply(phi, _builds_last(slabs.soak_S), out=out)
    out += scatter
    R /= out
    thick_in_place(R, out=out)


def _scratch(points: _Points) -> Array:
    """Three arrays (3, Q, ..., 31, B): the reflectance that is worked out, and scratch."""
    bands = points.slabs.cloth_ks.shape[-1]
    *lead, builds = points.first.shape
    return np.empty((3, *lead, bands, builds))


def _external(points: _Points, work: Array) -> Array:
    """External reflectance (Q, ..., 31, B) of the whole print, in the first of three arrays."""
    slabs, R, scratch = points.slabs, work[0], work[1:]
    _cloth(slabs, factor=points.first, R=R, out=scratch[0])
    for at, film_um in enumerate(points.films):
        lay_film(
            _builds_last(slabs.K[..., at, :]),
            _builds_last(slabs.S[..., at, :]),
            thickness_um=film_um[..., None, :],
            backing=R,
            out=scratch,
        )
    return leave_surface(R, out=scratch[0])


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
    points = _at_points(slabs, np.asarray(quantiles, dtype=np.float64))
    R = _external(points, _scratch(points))
    return np.moveaxis(np.moveaxis(R, 0, -1), -3, -1)


def swatch(slabs: Slabs, *, nodes: int = 8) -> Array:
    """External reflectance (..., B, 31) of a printed area: the mean over the fiber quantiles.

    `nodes` quadrature nodes; 8 are within 0.06 ΔE00 of the integral for cv ≤ 0.5. Works by blocks
    of builds whose arrays stay in the cache.
    """
    q, weight = quantile_nodes(nodes)
    points = _at_points(slabs, q)
    lead = int(np.prod(slabs.film_um.shape[:-2], dtype=np.int64))
    bands, builds = slabs.cloth_ks.shape[-1], slabs.film_um.shape[-2]
    block = max(1, BLOCK_ELEMENTS // (lead * nodes * bands))
    mean = np.empty((*slabs.film_um.shape[:-2], bands, builds))
    # The same memory for every block: fresh pages would cost as much as the films.
    memory = np.empty(3 * nodes * lead * bands * min(block, builds))
    for at in range(0, builds, block):
        part = points.part(slice(at, at + block))
        shape = (3, *part.first.shape[:-1], bands, part.first.shape[-1])
        work = memory[: math.prod(shape)].reshape(shape)
        np.einsum("q,q...->...", weight, _external(part, work), out=mean[..., at : at + block])
    return np.ascontiguousarray(np.swapaxes(mean, -1, -2))
