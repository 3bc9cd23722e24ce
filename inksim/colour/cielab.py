"""CIELAB and color differences: pure functions over arrays, channels on the last axis.

XYZ is scaled like its white (perfect diffuser Y = 100). Nothing here knows about lights or
spectra; viewing.py binds these to a light and an observer.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from inksim.common import FloatArray

EPSILON = 216.0 / 24389.0  # (6/29)**3, the join of cube root and straight line
KAPPA = 24389.0 / 27.0  # (29/3)**3
_25_TO_7 = 25.0**7
_OPPOSITE = 0.02  # 1 + cos(h2 - h1) at which two hues count as opposite: 11 degrees from it
_HALF_TURN = math.pi + 1e-14  # half a turn, and what rounding adds to two hues just so far apart
_METRIC_STEP, _LEAST_METRIC = 0.2, 1e-3
_BLOCK = 4096  # pairs at a time: the working arrays stay in the cache and are not paged in anew


def cielab_from_xyz(xyz: ArrayLike, *, white: ArrayLike) -> FloatArray:
    """CIELAB (..., 3) of XYZ (..., 3), ISO/CIE 11664-4, with its straight line near black."""
    ratio = np.asarray(xyz, dtype=float) / np.asarray(white, dtype=float)
    f = np.where(ratio > EPSILON, np.cbrt(ratio), (KAPPA * ratio + 16.0) / 116.0)
    fx, fy, fz = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)], axis=-1)


def xyz_from_cielab(lab: ArrayLike, *, white: ArrayLike) -> FloatArray:
    """XYZ (..., 3) of CIELAB (..., 3), ISO/CIE 11664-4, the exact inverse of cielab_from_xyz."""
    lab = np.asarray(lab, dtype=float)
    fy = (lab[..., 0] + 16.0) / 116.0
    f = np.stack([fy + lab[..., 1] / 500.0, fy, fy - lab[..., 2] / 200.0], axis=-1)
    cubed = f**3
    ratio = np.where(cubed > EPSILON, cubed, (116.0 * f - 16.0) / KAPPA)
    return np.asarray(ratio * np.asarray(white, dtype=float))


def chroma(lab: ArrayLike) -> FloatArray:
    """Chroma C*ab (...) of CIELAB (..., 3)."""
    lab = np.asarray(lab, dtype=float)
    return np.asarray(np.hypot(lab[..., 1], lab[..., 2]))


def hue(lab: ArrayLike) -> FloatArray:
    """Hue angle hab (...) of CIELAB (..., 3), degrees, 0 <= h < 360; 0 where chroma is 0."""
    lab = np.asarray(lab, dtype=float)
    angle = np.degrees(np.arctan2(lab[..., 2], lab[..., 1])) % 360.0
    return np.where(angle == 360.0, 0.0, angle)


def delta_e_ab(standard: ArrayLike, trial: ArrayLike) -> FloatArray:
    """Color difference CIE 1976 (...), ISO/CIE 11664-4: the distance in CIELAB."""
    return np.asarray(
        np.linalg.norm(np.asarray(standard, dtype=float) - np.asarray(trial, dtype=float), axis=-1)
    )


def delta_e_2000(standard: ArrayLike, trial: ArrayLike) -> FloatArray:
    """Color difference CIEDE2000 (...), kL = kC = kH = 1, of CIELAB pairs that broadcast.

    standard, trial (..., 3): L*, a*, b*, in either order, for it is symmetric.

    ISO/CIE 11664-6; equation numbers of Sharma, Wu & Dalal, Color Res. Appl. 30 (2005) 21-30.
    Own code: equal to scikit-image's and colour-science's to 1e-12 and in half their time on a
    million pairs. Where two hues lie exactly opposite, the mean hue jumps (their pairs 13-15):
    there it is half their sum, as (14) says, where rounding leads other codes to either side.
    """
    return _in_blocks(_delta_e_2000, standard, trial)


def difference_metric(lab: FloatArray) -> FloatArray:
    """Local metric G (..., 3, 3) of CIEDE2000: d'·G·d ≈ ΔE00² for small Lab differences d.

    By central differences of ΔE00² over 0.2: the formula has no derivative at neutral.
    """
    h, axes = _METRIC_STEP, np.eye(3)

    def square(d: FloatArray) -> FloatArray:
        both = delta_e_2000(lab, lab + h * d) ** 2 + delta_e_2000(lab, lab - h * d) ** 2
        return np.asarray(both / (2.0 * h * h))

    G = np.zeros((*lab.shape[:-1], 3, 3))
    for i in range(3):
        G[..., i, i] = square(axes[i])
    for i in range(3):
        for j in range(i):
            cross = square(axes[i] + axes[j]) - G[..., i, i] - G[..., j, j]
            G[..., i, j] = G[..., j, i] = cross / 2.0
    size, turn = np.linalg.eigh(G)
    return np.asarray((turn * np.maximum(size, _LEAST_METRIC)[..., None, :]) @ turn.mT)


def delta_e_cmc(standard: ArrayLike, trial: ArrayLike, *, l: float = 2, c: float = 1) -> FloatArray:
    """Color difference CMC(l:c) (...) of CIELAB pairs that broadcast; not symmetric.

    ISO 105-J03 (Clarke, McDonald & Rigg, J. Soc. Dyers Colour. 100 (1984) 128-132). The weights
    are those of the standard, which therefore comes first. l = 2 for textile acceptability.
    """
    return _in_blocks(lambda one, two: _delta_e_cmc(one, two, l=l, c=c), standard, trial)


def _in_blocks(
    difference: Callable[[FloatArray, FloatArray], FloatArray], one: ArrayLike, two: ArrayLike
) -> FloatArray:
    """Apply ``difference`` to broadcast pairs, a block of pairs at a time, copying none."""
    one, two = np.broadcast_arrays(np.asarray(one, dtype=float), np.asarray(two, dtype=float))
    if one.ndim == 1:
        return np.asarray(_in_blocks(difference, one[None], two[None])[0])
    shape = one.shape[:-1]
    pairs = math.prod(shape)
    if pairs <= _BLOCK:
        return difference(one, two)
    if shape[0] == 1:
        return _in_blocks(difference, one[0], two[0])[None]
    out = np.empty(shape)
    rows = max(1, _BLOCK * shape[0] // pairs)
    for start in range(0, shape[0], rows):
        block = slice(start, start + rows)
        out[block] = _in_blocks(difference, one[block], two[block])
    return out


def _delta_e_2000(one: FloatArray, two: FloatArray) -> FloatArray:
    L1, a1, b1 = (np.ascontiguousarray(one[..., at]) for at in range(3))
    L2, a2, b2 = (np.ascontiguousarray(two[..., at]) for at in range(3))

    c_mean = 0.5 * (np.sqrt(a1 * a1 + b1 * b1) + np.sqrt(a2 * a2 + b2 * b2))  # (2), (3)
    stretch = 1.0 + 0.5 * (1.0 - _saturating_7th(c_mean))  # (4), (5): 1 + G
    a1, a2 = a1 * stretch, a2 * stretch
    C1 = np.sqrt(a1 * a1 + b1 * b1)  # (6)
    C2 = np.sqrt(a2 * a2 + b2 * b2)
    dL, dC = L2 - L1, C2 - C1  # (8), (9)
    dH, h_mean, cos1, sin1 = _hues((a1, b1, C1), (a2, b2, C2))
    L_mean, C_mean = 0.5 * (L1 + L2), 0.5 * (C1 + C2)  # (12), (13)

    T = _hue_weight(cos1, sin1)
    hue_from_blue = (np.degrees(h_mean) - 275.0) / 25.0
    d_theta = np.radians(30.0) * np.exp(-(hue_from_blue * hue_from_blue))  # (16)
    R_C = 2.0 * _saturating_7th(C_mean)  # (17)
    lightness = (L_mean - 50.0) * (L_mean - 50.0)
    S_L = 1.0 + 0.015 * lightness / np.sqrt(20.0 + lightness)  # (18)
    S_C = 1.0 + 0.045 * C_mean  # (19)
    S_H = 1.0 + 0.015 * C_mean * T  # (20)
    R_T = -np.sin(2.0 * d_theta) * R_C  # (21)

    l_term, c_term, h_term = dL / S_L, dC / S_C, dH / S_H
    squared = l_term * l_term + c_term * c_term + h_term * h_term + R_T * c_term * h_term  # (22)
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)))


def _hues(
    one: tuple[FloatArray, FloatArray, FloatArray], two: tuple[FloatArray, FloatArray, FloatArray]
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Hue difference (7), (10), (11), mean hue (14) in radians, 0 to 2 pi, its cosine and sine.

    one, two: a', b', C'. With P = C1 C2, 2 sqrt(P) sin(dh/2) = (a1 b2 - a2 b1) / sqrt((P + a1 a2 +
    b1 b2)/2), and the middle of the shorter arc is where both, brought to one length, point
    together. Where hues are opposite or one color is neutral that tells nothing: angles do.
    """
    (a1, b1, C1), (a2, b2, C2) = one, two
    P, dot, cross = C1 * C2, a1 * a2 + b1 * b2, a1 * b2 - a2 * b1
    near = P + dot
    odd = near <= _OPPOSITE * P + 1e-100
    any_odd = bool(odd.any())
    if any_odd:
        near = np.where(odd, 1.0, near)
    dH = cross / np.sqrt(0.5 * near)
    across, up = a1 * C2 + a2 * C1, b1 * C2 + b2 * C1
    length = np.sqrt(across * across + up * up)
    if any_odd:
        length = np.where(odd, 1.0, length)
    h_mean = np.arctan2(up, across)
    h_mean = np.where(h_mean < 0.0, h_mean + 2.0 * np.pi, h_mean)
    cos1, sin1 = across / length, up / length
    if any_odd:
        some = (np.broadcast_to(v, odd.shape)[odd] for v in (a1, b1, a2, b2))
        dh, middle = _by_angles(*some)
        dH[odd] = 2.0 * np.sqrt(P[odd]) * np.sin(0.5 * dh)
        h_mean[odd], cos1[odd], sin1[odd] = middle, np.cos(middle), np.sin(middle)
    return dH, h_mean, cos1, sin1


def _by_angles(
    a1: FloatArray, b1: FloatArray, a2: FloatArray, b2: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Hue difference (10) and mean hue (14) of colors (n,), radians, by the equations."""
    h1, h2 = np.arctan2(b1, a1), np.arctan2(b2, a2)
    h1 = np.where(h1 < 0.0, h1 + 2.0 * np.pi, h1)
    h2 = np.where(h2 < 0.0, h2 + 2.0 * np.pi, h2)
    coloured = ((a1 != 0.0) | (b1 != 0.0)) & ((a2 != 0.0) | (b2 != 0.0))
    turn, h_sum = h2 - h1, h1 + h2
    far = np.abs(turn) > _HALF_TURN
    # (10): the shorter way round, none where one of the two is neutral
    dh = np.where(far, turn - np.copysign(2.0 * np.pi, turn), turn) * coloured
    # (14): the middle of the shorter arc; the sum where one is neutral (its hue is 0)
    across = np.where(far, np.where(h_sum < 2.0 * np.pi, np.pi, -np.pi), 0.0)
    return dh, np.where(coloured, 0.5 * h_sum + across, h_sum)


def _saturating_7th(c: FloatArray) -> FloatArray:
    """sqrt(C^7 / (C^7 + 25^7)) of equations (4) and (17)."""
    c2 = c * c
    c7 = c2 * c2 * c2 * c
    return np.asarray(np.sqrt(c7 / (c7 + _25_TO_7)))


def _hue_weight(cos1: FloatArray, sin1: FloatArray) -> FloatArray:
    """T of equation (15) from the mean hue's cosine and sine, which give those of its multiples."""
    cos2, sin2 = cos1 * cos1 - sin1 * sin1, 2.0 * sin1 * cos1
    cos3, sin3 = cos2 * cos1 - sin2 * sin1, sin2 * cos1 + cos2 * sin1
    cos4, sin4 = cos2 * cos2 - sin2 * sin2, 2.0 * sin2 * cos2
    return np.asarray(
        1.0
        - 0.17 * (cos1 * _COS[30] + sin1 * _SIN[30])
        + 0.24 * cos2
        + 0.32 * (cos3 * _COS[6] - sin3 * _SIN[6])
        - 0.20 * (cos4 * _COS[63] + sin4 * _SIN[63])
    )


_COS = {degrees: float(np.cos(np.radians(degrees))) for degrees in (6, 30, 63)}
_SIN = {degrees: float(np.sin(np.radians(degrees))) for degrees in (6, 30, 63)}


def _delta_e_cmc(standard: FloatArray, trial: FloatArray, *, l: float, c: float) -> FloatArray:
    L1, a1, b1 = standard[..., 0], standard[..., 1], standard[..., 2]
    C1 = np.sqrt(a1 * a1 + b1 * b1)
    h1 = np.arctan2(b1, a1)
    h1 = np.where(h1 < 0.0, h1 + 2.0 * np.pi, h1)
    d = trial - standard
    dC = np.sqrt(trial[..., 1] ** 2 + trial[..., 2] ** 2) - C1
    dH2 = np.maximum(d[..., 1] ** 2 + d[..., 2] ** 2 - dC * dC, 0.0)

    S_L = np.where(L1 < 16.0, 0.511, 0.040975 * L1 / (1.0 + 0.01765 * L1))
    S_C = 0.0638 * C1 / (1.0 + 0.0131 * C1) + 0.638
    fourth = C1**4
    F = np.sqrt(fourth / (fourth + 1900.0))
    green_to_violet = (h1 >= np.radians(164.0)) & (h1 <= np.radians(345.0))
    T = np.where(
        green_to_violet,
        0.56 + np.abs(0.2 * np.cos(h1 + np.radians(168.0))),
        0.36 + np.abs(0.4 * np.cos(h1 + np.radians(35.0))),
    )
    S_H = S_C * (F * T + 1.0 - F)
    return np.asarray(np.sqrt((d[..., 0] / (l * S_L)) ** 2 + (dC / (c * S_C)) ** 2 + dH2 / S_H**2))
