"""Reflectance of prints from slabs: at points of the cloth, and the mean of a swatch.

Cloth has no flat surface of its own. Under a film it gets one: light that the cloth sends out is
partly turned back into it, so it looks darker, as when wet. Where film and cloth touch everywhere,
the cloth is to the film what it is to the air, and the reading of the bare cloth is its internal
reflectance [Ångström 1925, Geogr. Ann. 7: 323; Lekner & Dorf 1988, Appl. Opt. 27: 1278, both from
memory]; where they do not touch, the film's surface merely takes the place of the cloth's own, and
the reading is taken through the surface [Saunderson 1942]. A print lies between, √(K/S) moving in
proportion to the share of contact [assumption: within 1 ΔE00 of a cloth's surface whose k1 and k2
are the other share of the film's]. The share grows with the dry deposit t of the first film as
1 − exp(−t/t₀), and with it what the rough face of the print scatters, a reflectance that is added
to all bands: a bare cloth's reading has its own face in it [assumption].

Inside, arrays are (Q, ..., 31, B): points first, builds last, so that numpy's inner loops are long
and what does not vary over the points is computed once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from inksim.common import FloatArray, scratch
from inksim.optics import contact_ks, factors_at, films_over, net_flux, quantile_nodes
from inksim.printing.build import Build, Slabs, lower, tabulate
from inksim.stock import Press

BLOCK_ELEMENTS = 84_000
"""Points × bands × builds per block, by measurement: 338 builds at 8 points. With fewer, numpy's
inner loops are short; with many more the arrays leave the cache: twice as slow from a million
on."""


def _builds_last(spectra: FloatArray) -> FloatArray:
    """(..., B, 31) → (..., 31, B), contiguous."""
    return np.ascontiguousarray(np.swapaxes(spectra, -1, -2))


def _layers_first(spectra: FloatArray, name: str) -> FloatArray:
    """(..., B, L, 31) → (L, ..., 31, B), contiguous, in scratch memory of that name."""
    turned = np.swapaxes(np.moveaxis(spectra, -2, 0), -1, -2)
    made = scratch(name, turned.shape)
    made[...] = turned
    return made


def _factors(q: FloatArray, cv: FloatArray) -> FloatArray:
    """Thickness factors (Q, ..., B) for unevenness (..., B), computed once per run of equal cv."""
    flat = cv.reshape(-1)
    starts = np.flatnonzero(np.concatenate([[True], flat[1:] != flat[:-1]]))
    each = factors_at(q, cv=flat[starts])
    lengths = np.diff(np.append(starts, flat.size))
    return np.repeat(each, lengths, axis=1).reshape(len(q), *cv.shape)


class _Points(NamedTuple):
    """Slabs at Q points: deposits (Q, ..., B), films (L, Q, ..., B) µm."""

    slabs: Slabs
    first: FloatArray
    films: FloatArray

    def part(self, builds: slice) -> _Points:
        """Some of the builds."""
        s = self.slabs
        flat = {f: getattr(s, f)[..., builds] for f in ("discharge", "soak", "touch")}
        flat |= {f: getattr(s, f)[..., builds, :] for f in ("cloth_ks", "discharged_ks")}
        flat |= {f: getattr(s, f)[..., builds, :, :] for f in ("K", "S")}
        for f in ("cloth_S", "contact", "haze"):
            if getattr(s, f).shape[-1] > 1:
                flat[f] = getattr(s, f)[..., builds]
        return _Points(replace(s, **flat), self.first[..., builds], self.films[..., builds])


def _at_points(slabs: Slabs, q: FloatArray) -> _Points:
    films = np.moveaxis(slabs.film_um, -1, 0)[:, None]
    factors = [_factors(q, slabs.cv[..., at]) for at in range(slabs.cv.shape[-1])]
    return _Points(slabs, _factors(q, slabs.first_cv), films * np.stack(factors))


def _under(ks: FloatArray, contact: FloatArray, out: FloatArray) -> None:
    """K/S (Q, ..., 31, B) of cloth, K/S (..., B, 31) when bare, in contact (Q, ..., 1, B)."""
    bare = np.sqrt(_builds_last(ks))
    np.multiply(contact, np.sqrt(contact_ks(bare * bare)) - bare, out=out)
    out += bare
    out *= out


def _cloth(
    slabs: Slabs,
    *,
    soaked: tuple[FloatArray, FloatArray],
    factor: FloatArray,
    contact: FloatArray,
    net: FloatArray,
    out: FloatArray,
) -> None:
    """Net flux over all flux (Q, ..., 31, B) of the cloth under the films, into net.

    soaked: K, S (..., 31, B) of the first film, which is what soaks in. contact (Q, ..., B): share
    of full contact.

    Discharge: K/S moves from dyed to discharged by 1 − exp(−w·f), w the relative wet deposit.
    Soak [assumption]: K/S' = (S_c·K/S + φf·K) / (S_c + φf·S). out: scratch like net.
    """
    touching = contact[..., None, :]
    _under(slabs.cloth_ks, touching, net)
    if np.any(slabs.discharge):
        # A sum of two parts: a difference would lose the digits of a nearly white cloth.
        wet = (slabs.discharge * factor)[..., None, :]
        _under(slabs.discharged_ks, touching, out)
        net *= np.exp(-wet)
        out *= -np.expm1(-wet)
        net += out
    phi = (slabs.soak / slabs.cloth_S * factor)[..., None, :]
    np.multiply(phi, soaked[0], out=out)
    net += out
    np.multiply(phi, soaked[1], out=out)
    out += 1.0
    net_flux(net, out)


def _external(points: _Points) -> FloatArray:
    """External reflectance (Q, ..., 31, B) of the whole print, in scratch memory."""
    slabs = points.slabs
    *lead, builds = points.first.shape
    net, out = scratch("print", (2, *lead, slabs.cloth_ks.shape[-1], builds))
    K, S = _layers_first(slabs.K, "K"), _layers_first(slabs.S, "S")
    touched = -np.expm1(-slabs.touch * points.first)
    _cloth(
        slabs,
        soaked=(K[0], S[0]),
        factor=points.first,
        contact=slabs.contact * touched,
        net=net,
        out=out,
    )
    R = films_over(K, S, thickness_um=points.films[..., None, :], net=net, out=out)
    R += (slabs.haze * touched)[..., None, :]
    return R


def point_reflectance(slabs: Slabs, quantiles: npt.ArrayLike) -> FloatArray:
    """External reflectance at points of given quantiles of film thickness.

    Parameters
    ----------
    slabs : leading axes (..., B), L layers.
    quantiles : (Q,), 0 ≤ q < 1: 0 is a proud fiber with least film, near 1 a deep place with most.

    Returns
    -------
    (..., B, Q, 31) external reflectance factors.
    """
    points = _at_points(slabs, np.asarray(quantiles, dtype=np.float64))
    R = np.moveaxis(np.moveaxis(_external(points), 0, -1), -3, -1)
    return R.copy()


def mean_reflectance(slabs: Slabs, *, nodes: int = 8) -> FloatArray:
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
    for at in range(0, builds, block):
        part = points.part(slice(at, at + block))
        np.einsum("q,q...->...", weight, _external(part), out=mean[..., at : at + block])
    return np.ascontiguousarray(np.swapaxes(mean, -1, -2))


def mean_haze(slabs: Slabs, *, nodes: int = 8) -> FloatArray:
    """Reflectance (..., B) that the rough face of a print adds to all bands: in its mean."""
    q, weight = quantile_nodes(nodes)
    touched = -np.expm1(-slabs.touch * _factors(q, slabs.first_cv))
    return np.asarray(slabs.haze * np.einsum("q,q...->...", weight, touched))


def swatch(builds: Sequence[Build], *, press: Press) -> FloatArray:
    """Reflectance of solid prints, as an instrument over an even patch reads it.

    Parameters
    ----------
    builds : B builds of any routes, inks and garments; one or more.
    press : its parameters' values are used; for how sure they leave a print see `predict`.

    Returns
    -------
    (B, 31) external reflectance factors, 400-700 nm at 10 nm, specular excluded or 45:0.

    Raises
    ------
    InputError : no build.
    """
    return mean_reflectance(lower(tabulate(builds), press.values))
