"""Directness: effective K and S of a film that is lit from one direction.

Kubelka and Munk suppose diffuse light everywhere. An instrument lights a film from one direction,
and light stays directed where it is absorbed before it is scattered, so a strong clear masstone
absorbs and scatters less per µm than the same ink in a white does. Radiative transfer of such
films is matched closely by effective coefficients that depend on s = S/K of the mixture alone:

    m = 1 − η·(b−a)/(s+b),   q = 1 − η·(d−c)/(s+d),    a, b, c, d below

with η = 0 for Kubelka–Munk as it stands and η ≈ 0.8 for smooth films under 45:0 or 8:d. The four
numbers were fitted to adding–doubling films of colors in white; tests/accuracy/directness.py
derives them anew and measures what they are worth. η is one number for all inks and bands.
"""

from __future__ import annotations

import numpy as np

from inksim.common import FloatArray

K_NEAR, K_FAR, S_NEAR, S_FAR = 0.42, 0.75, 0.50, 1.71
"""a, b, c, d of the directness law."""
DIRECTNESS_RANGE = (-0.5, 1.35)
"""Range of η: room for a noisy fit; q stays above 0 up to d/(d−c) = 1.41."""
TINY = 1e-30


def effective_ks(
    k: FloatArray, s: FloatArray, directness: float | FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Effective K = k·m and S = s·q of a mixture of k and s (see the module)."""
    m = 1.0 - directness * (K_FAR - K_NEAR) * k / (s + K_FAR * k + TINY)
    q = 1.0 - directness * (S_FAR - S_NEAR) * k / (s + S_FAR * k + TINY)
    return k * m, s * q


def mixing_ks(K: FloatArray, S: FloatArray, directness: float) -> tuple[FloatArray, FloatArray]:
    """Coefficients k and s that mix linearly, from effective K and S: inverts `effective_ks`.

    K/S fixes k/s, for the law knows no other number of a film; with w = k/(k+s) the share
    K/(K+S) = wm/(wm + (1−w)q) rises with w, so w is found by bisection, to 1e-18.

    Parameters
    ----------
    K, S : any shape, ≥ 0. directness : η in `DIRECTNESS_RANGE`.
    """
    wanted = K / (K + S + TINY)
    low, high = np.zeros_like(wanted), np.ones_like(wanted)
    for _ in range(60):
        w = 0.5 * (low + high)
        part, rest = effective_ks(w, 1.0 - w, directness)
        less = part < wanted * (part + rest)
        low, high = np.where(less, w, low), np.where(less, high, w)
    w = np.where(S == 0.0, 1.0, np.where(K == 0.0, 0.0, 0.5 * (low + high)))
    part, rest = effective_ks(w, 1.0 - w, directness)
    total = (K + S) / (part + rest)
    return w * total, (1.0 - w) * total


def effective_ks_slopes(k: FloatArray, s: FloatArray, directness: float) -> tuple[FloatArray, ...]:
    """Partial derivatives of `effective_ks`: of k·m in k, s, η, then of s·q in k, s, η."""
    to_k, to_s = 1.0 / (s + K_FAR * k + TINY), 1.0 / (s + S_FAR * k + TINY)
    span_k, span_s = K_FAR - K_NEAR, S_FAR - S_NEAR
    lack_k, lack_s = span_k * k * to_k, span_s * k * to_s
    return (
        1.0 - directness * lack_k * (1.0 + s * to_k),
        directness * lack_k * k * to_k,
        -k * lack_k,
        -directness * span_s * (s * to_s) ** 2,
        1.0 - directness * lack_s * S_FAR * k * to_s,
        -s * lack_s,
    )
