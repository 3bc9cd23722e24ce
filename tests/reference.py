"""The print model once more, slowly: one build, one wavelength, one point at a time.

Written from the equations with `math` and loops; it shares no code with inksim and only reads the
fields of its dataclasses. Equations: Kubelka 1948 (film, stack), Saunderson 1942 (surface),
Kubelka & Munk 1931 (K/S), ISO/CIE 11664-4 (CIELAB), Sharma, Wu & Dalal 2005 (CIEDE2000). The rest
is this project's own modeling, said beside each line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from scipy.stats import gamma

K1, K2 = 0.040, 0.596  # surface of index 1.5
FABRIC_PER_THREAD = 1.55
CELLULOSE = {"cotton", "viscose", "linen", "lyocell", "modal", "hemp"}
DYE_REMOVED = {1: 0.10, 2: 0.60, 3: 0.94, 4: 0.985, 5: 0.997}  # by discharge grade [assumption]

Spectrum = list[float]


# -- Surface, cloth, film


def inside(R: float) -> float:
    """Internal reflectance of a reading with specular excluded."""
    return R / ((1 - K1) * (1 - K2) + K2 * R)


def outside(R: float) -> float:
    """Reading, specular excluded, of an internal reflectance."""
    return (1 - K1) * (1 - K2) * R / (1 - K2 * R)


def ks_of_cloth(R: float) -> float:
    """K/S of cloth from its reading."""
    internal = inside(R)
    return (1 - internal) ** 2 / (2 * internal)


def reflectance_of_cloth(ks: float) -> float:
    """Internal reflectance of cloth: the root of K/S = (1−R)²/2R below 1."""
    return 1 + ks - math.sqrt(ks * ks + 2 * ks)


def film(K: float, S: float, X: float) -> tuple[float, float]:
    """R0 and T of a film, in Kubelka's hyperbolic form."""
    alpha = math.sqrt(K * (K + 2 * S))
    if alpha == 0:  # no absorption, or less than a double can square
        return S * X / (1 + S * X), 1 / (1 + S * X)
    if alpha * X > 300:  # sinh leaves the range of doubles at 710; here T² is below 1e-260
        return S / (K + S + alpha), 0.0
    sinh, cosh = math.sinh(alpha * X), math.cosh(alpha * X)
    bottom = (K + S) * sinh + alpha * cosh
    return S * sinh / bottom, alpha / bottom


def over(K: float, S: float, X: float, backing: float) -> float:
    """Reflectance of a film over a backing: every bounce between the two, summed."""
    R0, T = film(K, S, X)
    return R0 + T * backing * T / (1 - R0 * backing)


# -- Press: from screens to films


def ink_volume_um(screen: Any) -> float:
    """Open area times fabric thickness, unless the weaver gives better."""
    if screen.ink_volume_cm3_m2 is not None:
        return float(screen.ink_volume_cm3_m2)
    pitch = 10_000 / screen.threads_per_cm
    opening = screen.opening_um if screen.opening_um is not None else pitch - screen.thread_um
    fabric = screen.fabric_um
    if fabric is None:
        fabric = FABRIC_PER_THREAD * screen.thread_um
    return float((opening / pitch) ** 2 * fabric)


def wet_um(layer: Any, press: Any) -> float:
    """Wet ink of one layer."""
    strokes = 1 + press.pass_gain * (layer.passes - 1)
    return float(ink_volume_um(layer.screen) * press.release * strokes)


class Film:
    """A dry film: mean thickness on top of what is below, K and S by wavelength."""

    def __init__(self, thickness_um: float, K: Sequence[float], S: Sequence[float]) -> None:
        self.thickness_um = thickness_um
        self.K = [float(k) for k in K]
        self.S = [float(s) for s in S]


def films_of(build: Any, press: Any) -> tuple[list[Film], float]:
    """The films on top of the cloth, and how much of the first one went into it (µm dry)."""
    films = []
    for layer in build.layers:
        dry = wet_um(layer, press) * layer.ink.solids_by_volume
        films.append(Film(dry, layer.ink.K, layer.ink.S))
    soaked = press.soak * films[0].thickness_um
    films[0].thickness_um -= soaked
    for at in range(1, len(films)):
        if build.layers[at - 1].flash:
            continue
        below, above = films[at - 1], films[at]
        taken = press.pick_up * below.thickness_um
        below.thickness_um -= taken
        whole = above.thickness_um + taken
        for w in range(len(above.K)):
            above.K[w] = (above.thickness_um * above.K[w] + taken * below.K[w]) / whole
            above.S[w] = (above.thickness_um * above.S[w] + taken * below.S[w]) / whole
        above.thickness_um = whole
    return films, soaked


# -- Cloth under the films


def discharged_ks(garment: Any, w: int) -> float:
    """K/S at wavelength number w of the cloth after a full discharge."""
    if garment.discharged is not None:
        return ks_of_cloth(float(garment.discharged[w]))
    reached = sum(share for fibre, share in garment.fibers.items() if fibre in CELLULOSE)
    undyed = ks_of_cloth(float(garment.undyed[w]))
    dyed = ks_of_cloth(float(garment.reflectance[w]))
    return undyed + (1 - DYE_REMOVED[garment.discharge_grade] * reached) * (dyed - undyed)


def touched(build: Any, press: Any, factor: float) -> float:
    """Share 0..1 of its contact and haze that the first film reaches at a point [assumption]."""
    first = build.layers[0]
    dry = wet_um(first, press) * first.ink.solids_by_volume
    return -math.expm1(-factor * dry / press.contact_um)


def under_film(ks: float, contact: float) -> float:
    """K/S of cloth under a film: from its own surface to none, in proportion of √(K/S)."""
    reading = outside(reflectance_of_cloth(ks))  # in contact the reading is the internal one
    full = (1 - reading) ** 2 / (2 * reading)
    return (math.sqrt(ks) + contact * (math.sqrt(full) - math.sqrt(ks))) ** 2


def cloth_at_point(build: Any, press: Any, w: int, factor: float, soaked_um: float) -> float:
    """Internal reflectance of the cloth where the deposit is `factor` times its mean."""
    first = build.layers[0]
    contact = press.contact * touched(build, press, factor)
    ks = under_film(ks_of_cloth(float(build.garment.reflectance[w])), contact)
    if first.ink.kind == "discharge-base":
        relative = factor * wet_um(first, press) / press.discharge_deposit_um
        done = -math.expm1(-relative)  # 1 − exp(−w), with all its digits
        left = under_film(discharged_ks(build.garment, w), contact)
        ks = math.exp(-relative) * ks + done * left
    phi = factor * soaked_um / press.cloth_depth_um
    K = press.cloth_S * ks + phi * float(first.ink.K[w])
    S = press.cloth_S + phi * float(first.ink.S[w])
    return reflectance_of_cloth(K / S)


# -- Uneven film: points, and their mean


def thickness_factor(q: float, cv: float) -> float:
    """Quantile q of a gamma distribution with mean 1 and standard deviation cv."""
    if cv == 0:
        return 1.0
    return float(gamma.ppf(q, a=1 / cv**2, scale=cv**2))


def points_reflectance(build: Any, press: Any, quantiles: Sequence[float]) -> list[Spectrum]:
    """External reflectance at points whose deposits sit at these quantiles."""
    films, soaked = films_of(build, press)
    points = []
    for q in quantiles:
        on_cloth = thickness_factor(q, press.cv_cloth)
        on_base = thickness_factor(q, press.cv_base)
        haze = press.surface_haze * touched(build, press, on_cloth)
        spectrum = []
        for w in range(len(build.garment.reflectance)):
            R = cloth_at_point(build, press, w, on_cloth, soaked)
            for at, one in enumerate(films):
                factor = on_cloth if at == 0 else on_base
                R = over(one.K[w], one.S[w], one.thickness_um * factor, R)
            spectrum.append(outside(R) + haze)
        points.append(spectrum)
    return points


def legendre_nodes(n: int) -> list[tuple[float, float]]:
    """Gauss–Legendre (node, weight) on −1..1 by Newton's method on the three-term recurrence."""
    pairs = []
    for i in range(n):
        x = math.cos(math.pi * (i + 0.75) / (n + 0.5))
        for _ in range(100):
            previous, here = 1.0, x
            for k in range(2, n + 1):
                previous, here = here, ((2 * k - 1) * x * here - (k - 1) * previous) / k
            slope = n * (x * here - previous) / (x * x - 1)
            x -= here / slope
            if abs(here / slope) < 1e-15:
                break
        pairs.append((x, 2 / ((1 - x * x) * slope * slope)))
    return pairs


def swatch(build: Any, press: Any, nodes: int = 8) -> Spectrum:
    """Mean external reflectance: ∫ R(q) dq with q = u²(3 − 2u), Gauss–Legendre in u."""
    quantiles, weights = [], []
    for x, weight in legendre_nodes(nodes):
        u = (x + 1) / 2
        quantiles.append(u * u * (3 - 2 * u))
        weights.append(weight / 2 * 6 * u * (1 - u))
    points = points_reflectance(build, press, quantiles)
    mean = []
    for w in range(len(points[0])):
        mean.append(sum(k * point[w] for k, point in zip(weights, points, strict=True)))
    return mean


# -- Appearance


def xyz(reflectance: Sequence[float], weights: Any) -> list[float]:
    """Sum of reflectance times the weights (n, 3)."""
    total = [0.0, 0.0, 0.0]
    for w, R in enumerate(reflectance):
        for channel in range(3):
            total[channel] += R * float(weights[w][channel])
    return total


def lab(values: Sequence[float], white: Sequence[float]) -> list[float]:
    """CIELAB of XYZ."""

    def f(t: float) -> float:
        if t > (6 / 29) ** 3:
            return float(t ** (1 / 3))
        return t / (3 * (6 / 29) ** 2) + 4 / 29

    fx, fy, fz = (f(v / n) for v, n in zip(values, white, strict=True))
    return [116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)]


def alike(colour: Sequence[float], white: Sequence[float], to: Sequence[float]) -> list[float]:
    """CIELAB against another white of what looks like this: XYZ, Bradford, XYZ (ICC.1, Annex E)."""

    def back(t: float) -> float:
        return t**3 if t > 6 / 29 else 3 * (6 / 29) ** 2 * (t - 4 / 29)

    L, a, b = colour
    fy = (L + 16) / 116
    fs = (fy + a / 500, fy, fy - b / 200)
    seen = [back(f) * n for f, n in zip(fs, white, strict=True)]
    bradford = np.array(
        [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
    )
    cones = (bradford @ seen) * (bradford @ to) / (bradford @ white)
    return lab(list(np.linalg.inv(bradford) @ cones), to)


def delta_e_2000(one: Sequence[float], two: Sequence[float]) -> float:
    """CIEDE2000, in degrees, in the order of Sharma, Wu & Dalal's equations."""
    (L1, a1, b1), (L2, a2, b2) = one, two
    mean_c7 = ((math.hypot(a1, b1) + math.hypot(a2, b2)) / 2) ** 7
    G = 0.5 * (1 - math.sqrt(mean_c7 / (mean_c7 + 25**7)))
    a1, a2 = (1 + G) * a1, (1 + G) * a2
    C1, C2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1 = math.degrees(math.atan2(b1, a1)) % 360 if C1 > 0 else 0.0
    h2 = math.degrees(math.atan2(b2, a2)) % 360 if C2 > 0 else 0.0
    dh = h2 - h1
    if C1 * C2 == 0:
        dh, h = 0.0, h1 + h2
    elif abs(dh) <= 180:
        h = (h1 + h2) / 2
    else:
        h = (h1 + h2 + 360) / 2 if h1 + h2 < 360 else (h1 + h2 - 360) / 2
        dh += 360 if dh < 0 else -360
    dL, dC = L2 - L1, C2 - C1
    dH = 2 * math.sqrt(C1 * C2) * math.sin(math.radians(dh / 2))
    L, C = (L1 + L2) / 2, (C1 + C2) / 2

    def cos(degrees: float) -> float:
        return math.cos(math.radians(degrees))

    T = 1 - 0.17 * cos(h - 30) + 0.24 * cos(2 * h) + 0.32 * cos(3 * h + 6) - 0.20 * cos(4 * h - 63)
    SL = 1 + 0.015 * (L - 50) ** 2 / math.sqrt(20 + (L - 50) ** 2)
    SC, SH = 1 + 0.045 * C, 1 + 0.015 * C * T
    turn = 30 * math.exp(-(((h - 275) / 25) ** 2))
    RT = -math.sin(math.radians(2 * turn)) * 2 * math.sqrt(C**7 / (C**7 + 25**7))
    l, c, hh = dL / SL, dC / SC, dH / SH
    return math.sqrt(max(0.0, l * l + c * c + hh * hh + RT * c * hh))
