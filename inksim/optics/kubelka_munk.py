"""Kubelka–Munk films, the Saunderson correction for the surface, and mixing, over arrays.

Every reflectance here is *internal* (inside the surface) unless its name says external.
K and S are per µm of dry film; thickness in µm; all arguments broadcast.

Sources
-------
Kubelka & Munk, Z. Tech. Phys. 12 (1931) 593; Kubelka, J. Opt. Soc. Am. 38 (1948) 448;
Saunderson, J. Opt. Soc. Am. 32 (1942) 727; Duncan, J. Oil Colour Chem. Assoc. 32 (1949) 296.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from inksim.common import FloatArray, InputError


class Surface(NamedTuple):
    """Fresnel reflection of a flat surface of index 1.5.

    k1: from outside at normal incidence, 0.040; k2: from inside, diffuse, 0.596 [Fresnel].
    """

    k1: float = 0.040
    k2: float = 0.596


SURFACE = Surface()


def _checked(value: npt.ArrayLike, what: str) -> FloatArray:
    array = np.asarray(value, dtype=np.float64)
    if not np.all(np.isfinite(array)) or np.any(array < 0):
        raise InputError(f"{what} must be finite and not negative, but holds {np.min(array):.4g}.")
    return array


def film(
    K: npt.ArrayLike, S: npt.ArrayLike, *, thickness_um: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Reflectance (over no backing) and transmittance of one film.

    α = √(K(K+2S)); with e = exp(−2αX) and s = (1−e)/(2αX) → 1 as αX → 0,

        D  = (K+S)·X·s + (1+e)/2
        R0 = S·X·s / D,    T = exp(−αX) / D

    which is Kubelka's sinh/cosh form divided by exp(αX)/α, so that K = 0, S = 0, X = 0 and very
    thick films are all exact and finite.

    Parameters
    ----------
    K, S : absorption and scattering, per µm, ≥ 0.
    thickness_um : dry film in µm, ≥ 0.

    Returns
    -------
    (R0, T), both 0..1, in the broadcast shape.

    Raises
    ------
    InputError : a negative or non-finite argument.
    """
    k = _checked(K, "K (absorption per µm)")
    s = _checked(S, "S (scattering per µm)")
    x = _checked(thickness_um, "film thickness (µm)")
    optical = np.sqrt(k * (k + 2.0 * s)) * x
    decay = np.exp(-optical)
    e = decay * decay
    # (1 − e)/(2αX): below 1e-4 the quotient loses digits; its series 1 − αX + 2(αX)²/3 does not.
    small = optical < 1e-4
    quotient = np.where(
        small,
        1.0 - optical + (2.0 / 3.0) * optical * optical,
        (1.0 - e) / (2.0 * np.where(small, 1.0, optical)),
    )
    reach = x * quotient
    denominator = (k + s) * reach + 0.5 * (1.0 + e)
    return s * reach / denominator, decay / denominator


LEAST_K, LEAST_NET = 1e-30, 1e-4
"""`films_over` adds the first, 1/µm, to every K, so that a film of nothing has a net flux of its
own. Where that is below the second (K below 1e-8 of 2S), 1 − R loses digits to rounding in the
fast form and the exact one takes its place."""


def films_over(
    K: FloatArray,
    S: FloatArray,
    *,
    thickness_um: FloatArray,
    net: FloatArray,
    out: FloatArray,
    surface: Surface | None = None,
) -> FloatArray:
    """Lay films over a cloth and leave the surface, in place: the engine's inner loop.

    With i the flux in and j the flux back, the net flux over all flux y = (i − j)/(i + j) =
    (1 − R)/(1 + R) is √(K/(K+2S)) for an endless layer, and Kubelka & Munk's equations read
    y' = (K+2S)·y² − K. With η that value of a film and α = η(K+2S), their solution is

        (η − y)/(η + y) = exp(−2αX) · (η − y₀)/(η + y₀),    or    y = η·(y₀ + η·t)/(η + y₀·t),

    t = tanh(αX). So t = (η − y)/(η + y) goes through a film as one product, from one film to the
    next as (t + b)/(1 + bt), b = (η₂ − η₁)/(η₂ + η₁), and out through the surface as R = (s + t)/
    (1 + st), s = (1 − η)/(1 + η) the film's own R∞. One exponential and one division an element
    and film; two arrays go through the cache.

    Parameters
    ----------
    K, S : (L, ..., 31, B), finite and ≥ 0 (not checked), films from the cloth up, L ≥ 1.
    thickness_um : (L, Q, ..., 1, B), ≥ 0, µm.
    net : (Q, ..., 31, B), y of the cloth, above 0 (`net_flux`); overwritten with the result.
    out : scratch like `net`.

    Returns
    -------
    net, now the external reflectance, specular excluded [Saunderson 1942].
    """
    k1, k2 = surface or SURFACE
    gain = (1.0 - k1) * (1.0 - k2)
    own = K + LEAST_K
    total = S + S
    total += own
    own /= total
    np.sqrt(own, out=own)
    total *= own
    if own.min() < LEAST_NET:
        for each, alpha, x in zip(own, total, thickness_um, strict=True):
            tanh = np.tanh(alpha * x)
            net /= each
            np.divide(net + tanh, 1.0 + net * tanh, out=net)
            net *= each
        np.multiply(net, (1.0 + k2) / gain, out=out)
        out += (1.0 - k2) / gain
        np.subtract(1.0, net, out=net)
        net /= out
        return net
    below = None
    for each, alpha, x in zip(own, total, -2.0 * thickness_um, strict=True):
        if below is None:
            np.add(net, each, out=out)
            np.subtract(each, net, out=net)
        else:
            step = (each - below) / (each + below)
            np.multiply(net, step, out=out)
            out += 1.0
            net += step
        net /= out
        np.multiply(alpha, x, out=out)
        np.exp(out, out=out)
        net *= out
        below = each
    # Out through the surface, with h = 2/(1 + η) and s = h − 1:
    # (1−k1)(1−k2)·R/(1 − k2·R) = gain·(t + s) / ([h − (1+k2)]·t + [(1+k2) − k2·h])
    h = 2.0 / (1.0 + own[-1])
    np.multiply(net, h / gain - (1.0 + k2) / gain, out=out)
    out += (1.0 + k2) / gain - h * (k2 / gain)
    h -= 1.0
    net += h
    net /= out
    return net


def net_flux(K: FloatArray, S: FloatArray) -> FloatArray:
    """Turn K into the net flux over all flux of an endless layer, √(K/(K+2S)), in place.

    S is overwritten as well. For the engine: K, S > 0 of one shape, unchecked.
    """
    S += S
    S += K
    K /= S
    return np.sqrt(K, out=K)


def over(R0: npt.ArrayLike, T: npt.ArrayLike, *, backing: npt.ArrayLike) -> FloatArray:
    """Return the reflectance of a film (R0, T) over a backing: R0 + T²·Rg / (1 − R0·Rg)."""
    r0, t, rg = (np.asarray(v, dtype=np.float64) for v in (R0, T, backing))
    return np.asarray(r0 + t * t * rg / (1.0 - r0 * rg))


def film_over(
    K: npt.ArrayLike, S: npt.ArrayLike, *, thickness_um: npt.ArrayLike, backing: npt.ArrayLike
) -> FloatArray:
    """Internal reflectance of a film on a backing [Kubelka 1948].

    Parameters
    ----------
    K, S : absorption and scattering per µm, ≥ 0.
    thickness_um : of the dry film, ≥ 0.
    backing : internal reflectance of what lies under it, 0..1.

    All broadcast against each other; spectra have their 31 bands last. From what an instrument
    reads, and back, `internal_from_external` and `external_from_internal` lead (both in
    `inksim.optics`).

    Raises
    ------
    InputError : K, S or a thickness that is negative or not finite.
    """
    r0, t = film(K, S, thickness_um=thickness_um)
    return over(r0, t, backing=backing)


def ks_from_reflectance(R_internal: npt.ArrayLike) -> FloatArray:
    """K/S of an opaque layer: (1−R)²/(2R), for 0 < R ≤ 1 [Kubelka & Munk 1931].

    Raises
    ------
    InputError : R outside 0 < R ≤ 1.
    """
    r = np.asarray(R_internal, dtype=np.float64)
    if not np.all((r > 0) & (r <= 1)):
        raise InputError(
            f"an opaque layer's internal reflectance must be above 0 and at most 1, "
            f"but it runs from {np.min(r):.4g} to {np.max(r):.4g}."
        )
    return np.asarray((1.0 - r) ** 2 / (2.0 * r))


def reflectance_from_ks(ks: npt.ArrayLike) -> FloatArray:
    """R∞ of an opaque layer: 1/(1 + k + √(k² + 2k)), the form that loses no digits for large k."""
    k = _checked(ks, "K/S")
    return np.asarray(1.0 / (1.0 + k + np.sqrt(k * (k + 2.0))))


def external_from_internal(
    R_internal: npt.ArrayLike, *, surface: Surface = SURFACE, specular_included: bool = False
) -> FloatArray:
    """Saunderson 1942: what an instrument reads, from the internal reflectance (0..1).

    Rm = k1 + (1−k1)(1−k2)·Ri / (1 − k2·Ri); specular excluded and 45:0 drop the leading k1.
    """
    r = np.asarray(R_internal, dtype=np.float64)
    k1, k2 = surface
    inside = (1.0 - k1) * (1.0 - k2) * r / (1.0 - k2 * r)
    return np.asarray(inside + k1 if specular_included else inside)


def internal_from_external(
    R: npt.ArrayLike, *, surface: Surface = SURFACE, specular_included: bool = False
) -> FloatArray:
    """Invert `external_from_internal`: the internal reflectance of a measured one.

    Raises
    ------
    InputError : a reading at or below the surface's own reflection, or above the perfect diffuser:
        the specular setting is wrong, or the sample fluoresces.
    """
    r = np.asarray(R, dtype=np.float64)
    k1, k2 = surface
    excess = r - k1 if specular_included else r
    if not np.all(np.isfinite(r)) or np.any(excess <= 0):
        raise InputError(
            f"a reading of {np.min(r):.4f} is not above the reflection of the surface itself "
            f"({k1 if specular_included else 0.0:.3f}): check the instrument's specular setting."
        )
    ri = excess / ((1.0 - k1) * (1.0 - k2) + k2 * excess)
    if np.any(ri > 1.0 + 1e-12):
        raise InputError(
            f"a reading of {np.max(r):.4f} is above {1.0 if specular_included else 1.0 - k1:.3f}, "
            "the most a sample without fluorescence can show under this geometry: check the white "
            "calibration, or read again with UV excluded (M2) if the sample has a brightener."
        )
    return np.asarray(np.minimum(ri, 1.0))


def contact_ks(ks: npt.ArrayLike, *, surface: Surface = SURFACE) -> FloatArray:
    """K/S of a rough opaque layer under a film that touches it everywhere.

    ks: its K/S as read through a surface of its own. In contact there is none, and its external
    reflectance is its internal one [Ångström 1925, Geogr. Ann. 7: 323; from memory].
    """
    return ks_from_reflectance(external_from_internal(reflectance_from_ks(ks), surface=surface))


def mix(
    fractions: npt.ArrayLike, K: npt.ArrayLike, S: npt.ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """K = Σ cᵢKᵢ, S = Σ cᵢSᵢ for dry volume fractions c that sum to 1 [Duncan 1949].

    Parameters
    ----------
    fractions : (..., n) dry volume fractions, each ≥ 0, sum 1 within 1e-6.
    K, S : (n, bands) or (..., n, bands) per µm.

    Returns
    -------
    (K, S) of the mixtures, each (..., bands).

    Raises
    ------
    InputError : fractions negative or not summing to 1.
    """
    c = _checked(fractions, "a mixing fraction")
    total = c.sum(axis=-1)
    if np.any(np.abs(total - 1.0) > 1e-6):
        wrong = float(total.flat[int(np.argmax(np.abs(total - 1.0)))])
        raise InputError(f"mixing fractions must sum to 1, but sum to {wrong:.6g}.")
    k, s = (np.einsum("...n,...nb->...b", c, np.asarray(each)) for each in (K, S))
    return k, s
