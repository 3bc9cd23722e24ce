"""Light in a film is not diffuse

Kubelka and Munk suppose diffuse light in every film. An instrument lights a film from one
direction, and in a clear strong color the light stays directed; in a white it is diffuse within a
few µm. So the same ink absorbs about half as much per µm alone as it does in a white, and no single
K tells both. `inksim.optics.directness` has a law with one free number, η, for this.

Films of colors in white are made by radiative transfer: masstone depths K·X of 0.1 to 16 and S·X of
0.01 to 1, white S·X of 2 to 16, colors from 5 to 100 %, over black and over white, read at 8°:d
through a surface of index 1.5, scattering forward (g of 0.3 to 0.7). The law's four numbers and a
scale for all K and all S are fitted to them at once, and Kubelka–Munk's two scales alone for
comparison; the difference is of cube roots of reflectance, about a hundredth of L*.
"""

from __future__ import annotations

from functools import cache

import iadpython
import numpy as np
from scipy.optimize import least_squares

from inksim.optics.directness import K_FAR, K_NEAR, S_FAR, S_NEAR
from inksim.optics.kubelka_munk import external_from_internal, film_over
from tests.accuracy import Row, row
from tests.accuracy._radiative import Instrument

ORDER = 31
SOURCE = "radiative transfer, plane-parallel doubling"
FILMS = 6000


def rows() -> list[Row]:
    """The solver, Kubelka–Munk alone, the law, and its numbers derived anew."""
    plain, law, numbers = _fitted()
    return [
        _solver(),
        row("Colors in white by Kubelka–Munk alone", SOURCE, plain, unit="∛R"),
        row("the same with the directness law", SOURCE, law, unit="∛R", limits={"mean": 0.004}),
        row(
            "the law's four numbers, fitted anew",
            SOURCE,
            np.array(numbers) - (K_NEAR, K_FAR, S_NEAR, S_FAR),
            unit="–",
            limits={"worst": 0.01},
        ),
    ]


def _solver() -> Row:
    """Thick films by our doubling and by iadpython's, which reads at 0° and counts the gloss."""
    instrument = Instrument("d:8", streams=16)
    errors = []
    for albedo, depth, g in ((0.99, 100, 0.0), (0.9, 100, 0.5), (0.999, 300, 0.7), (0.5, 20, 0.0)):
        ours = instrument.read(
            *(np.array([v]) for v in ((1 - albedo) * depth, albedo * depth, g, 0.0))
        )
        sample = iadpython.Sample(a=albedo, b=depth, g=g, n=1.5, quad_pts=24)
        errors.append(float(ours[0]) - (float(sample.rt()[0]) - 0.04))
    return row(
        "Thick films by the doubling used here",
        "adding-doubling (iadpython, MIT)",
        errors,
        unit="R",
        limits={"worst": 1e-3},
    )


@cache
def _films() -> tuple[np.ndarray, ...]:
    """Optical depths k, s in Kubelka and Munk's terms, internal card, and reading of each film."""
    rng = np.random.default_rng(3)
    colour_k, colour_s = 10 ** rng.uniform(-1, 1.2, FILMS), 10 ** rng.uniform(-2, 0, FILMS)
    white_s = 10 ** rng.uniform(0.3, 1.2, FILMS)
    c = rng.choice([1.0, 0.5, 0.25, 0.1, 0.05], FILMS)
    k, s = c * colour_k + (1 - c) * 1e-3 * white_s, c * colour_s + (1 - c) * white_s
    k, s = k[s < 15.0], s[s < 15.0]
    g = rng.uniform(0.3, 0.7, k.size)
    card = rng.choice([0.02, 0.85], k.size)
    # K = 2μa, S = 3/4·μs(1−g): any constant factor is taken up by the two scales.
    reading = Instrument("d:8").read(k / 2.0, 4.0 / 3.0 * s / (1.0 - g), g, card)
    return k, s, card, reading


@cache
def _fitted() -> tuple[np.ndarray, np.ndarray, tuple[float, ...]]:
    k, s, card, reading = _films()

    def off(numbers: np.ndarray) -> np.ndarray:
        scale_k, scale_s, a, b, c, d = numbers
        m, q = (s + a * k) / (s + b * k), (s + c * k) / (s + d * k)
        inside = film_over(scale_k * k * m, scale_s * s * q, thickness_um=1.0, backing=card)
        return np.cbrt(external_from_internal(inside) + 0.01) - np.cbrt(reading + 0.01)

    plain = least_squares(lambda v: off(np.r_[v, 1.0, 1.0, 1.0, 1.0]), [1.0, 1.0])
    law = least_squares(off, [1.0, 1.0, 0.3, 0.6, 0.3, 1.2], bounds=(0.0, 10.0))
    return plain.fun, law.fun, tuple(law.x[2:])
