"""An ink known by its look: K and S from the color of a film over white, and how far it covers.

One look gives K for a given S. What gives S is, from the surest to the least: the look of the same
film over black; a contrast ratio; one of three words; the kind and color of the ink alone. Each
leaves its own error, and since the look over white holds whatever S is, an error of S takes K with
it.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Literal, NamedTuple, get_args

import numpy as np

from inksim.colour import BANDS, D50, lab, srgb8, xyz
from inksim.common import FloatArray, InputError
from inksim.stock.lab_noise import LabNoise, lab_root
from inksim.stock.look_film import LOOK_BACKING, LOOK_BACKING_SD, SLOPE_S_SD, LookFilm
from inksim.stock.spectral_error import (
    MOST_SD,
    SEEN_LAB,
    SEEN_LAB_SD,
    SpectralError,
    told_shapes,
    unseen_shapes,
)
from inksim.stock.two_looks import (
    OWN_S_SHARE,
    by_two_looks,
    noisy_looks,
    noisy_shapes,
    opacity_shapes,
)

Known = Literal["spectrum", "lab", "photo", "hex"]
"""What a look is known by: a reading, a Lab that was read, one that states its noise, a hex code
that was seen on a screen."""
Covers = Literal["black", "half", "clear"]
COVERS: tuple[str, ...] = get_args(Covers)
COVER_RATIOS: dict[Covers, tuple[float, float]] = {
    "black": (0.80, 1.0), "half": (0.30, 0.80), "clear": (0.0, 0.30)
}  # fmt: skip
"""Contrast ratios that the words stand for [assumption]: 0.98 is commonly called opaque, and a
printer says that an ink covers some way before that."""
COVER_EDGE = 0.2
"""How soft the ends of these ranges are, as ln of the odds of the ratio [assumption]."""

LOOK_FILM_UM = {"white-base": 12.0}
LOOK_COLOUR_FILM_UM = 6.0
"""Dry film that a look shows if nothing says it, µm: one pass of color over a base, and of a white
base through its coarser mesh [assumption]."""
FILM_SD = {True: 0.08, False: 0.12}
"""Standard deviation of ln of that film: stated, or not [assumption]."""

KIND_S_PER_UM = {"white-base": 0.45, "discharge-base": 0.004, "clear-base": 0.002}
COLOUR_S_PER_UM = 0.012
PASTEL_S_PER_UM = 0.15
"""S at 550 nm by kind: well up in titanium dioxide whites' 0.1-0.9, for a base is made to cover;
within organic colors' 0.002-0.03, towards inorganic ones' 0.01-0.1 (Levinson, Berdahl & Akbari
2005); what a light color holds of such a white; next to nothing in a clear base [assumption]."""
PASTEL_REFLECTANCE = (0.15, 0.75)
"""Least reflectance of a look over white, from which a color holds white to where it is mostly
white [assumption]: a clean strong color absorbs nearly all light somewhere."""
KIND_S_SD = {"white-base": 0.6}
COLOUR_S_SD = 1.0
"""Of ln S by kind and color: the whites' 0.1-0.9 are within 1.1 of their middle; S of 0.01 for all
colors was off by 1.1 on films that were measured, and a choice by color takes a little of that
[assumption]."""
RATIO_S_SD = 0.2
"""Of ln S by a contrast ratio: its card, its film and its two figures [assumption]."""
LOOK_DE00: dict[Known, float] = {"spectrum": 0.5, "lab": 0.5, "photo": 2.0, "hex": 4.0}
"""Noise of a look that does not state its own, mean ΔE00: read by an instrument, by a camera, or by
eye and screen [assumption]."""
NOISE_DE00 = 1.6
"""Mean length of three normal errors, as multiple of the sd of each."""
BEYOND_SCREEN_SD = 20.0
"""Of the chroma of a color at the edge of what a screen shows, further [assumption]."""
HELD_LAB_SD = 6.0
"""How far the look holds the shape of K, each of L*, a*, b*, where S is not known: where a film is
dark its K hangs on S and on the surface more than on the look. Chosen in shops drawn at random, see
tests/accuracy/chances.py [assumption]."""
OWN_K_SD = 0.05
"""Of ln K common to all bands, beside what the film, S and the white do [assumption]."""


class InkLook(NamedTuple):
    """K, S (31,) per µm of an ink known by its look, their error, and what was assumed, in words.

    misfit: mean ΔE00 that the looks over black and over white leave together; None of one look.
    """

    K: FloatArray
    S: FloatArray
    error: SpectralError
    assumed: tuple[str, ...]
    misfit: float | None = None


def ink_from_look(
    reflectance: FloatArray,
    *,
    kind: str = "color",
    film_um: float | None = None,
    over_black: FloatArray | None = None,
    contrast_ratio: float | None = None,
    contrast_film_um: float | None = None,
    covers: Covers | None = None,
    known: Known = "lab",
    known_black: Known | None = None,
    noise: LabNoise | None = None,
    noise_black: LabNoise | None = None,
    film_sd: float = 0.0,
) -> InkLook:
    """Estimate K and S (31,) per µm of an ink from the look of one film over white.

    S is a level and a slope over wavelength; K in each band is the one with which the film over a
    white of `LOOK_BACKING` looks as given (by bisection: a film darkens with K). Where the look is
    brighter than the white, K is `LEAST_K`.

    Parameters
    ----------
    reflectance : (31,) external, 0..1, of the film over white.
    kind : of the ink, one of `INK_KINDS`.
    film_um : dry film that shows it, and that covers as said; None: by kind, `LOOK_FILM_UM`.
    over_black : CIELAB (3,) D50/2° of the same film over a black of `CARD_BLACK`.
    contrast_ratio : Y over black / Y over white of a film on the card of ISO 6504-3.
    contrast_film_um : that film, dry; None: the one that shows the look.
    covers : how far the film of the look covers black, in a word.
        At most one of over_black, contrast_ratio and covers; none: by kind and color.
    known : what the look over white is known by; known_black : the look over black, if by another.
    noise, noise_black : what the look over white, or over black, states of its own noise.
    film_sd : further standard deviation of ln of a printed film, as of solids that were assumed: it
        scales K and S alike, and so does not knowing the film of the look.

    Raises
    ------
    InputError : two opacities, or a contrast ratio that is not between 0 and 1.
    """
    return _found(
        np.asarray(reflectance, dtype=np.float64).tobytes(),
        None if over_black is None else tuple(float(value) for value in over_black),
        kind=kind, film_um=film_um, contrast_ratio=contrast_ratio, covers=covers, film_sd=film_sd,
        contrast_film_um=contrast_film_um, known=known, known_black=known_black or known,
        noise=noise, noise_black=noise_black,
    )  # fmt: skip


@lru_cache(maxsize=1024)
def _found(
    look: bytes, over_black: tuple[float, ...] | None, *, kind: str, film_um: float | None,
    contrast_ratio: float | None, contrast_film_um: float | None, covers: Covers | None,
    known: Known, known_black: Known, film_sd: float, noise: LabNoise | None,
    noise_black: LabNoise | None,
) -> InkLook:  # fmt: skip
    """`ink_from_look`, kept: a shop is loaded at every change, and a look takes 10 to 30 ms."""
    if sum(given is not None for given in (over_black, contrast_ratio, covers)) > 1:
        raise InputError("give the opacity once: over_black, contrast_ratio or covers.")
    reflectance = np.frombuffer(look)
    thick = film_um if film_um is not None else look_film_um(kind)
    usual_s = _usual_s(reflectance, kind)
    film = LookFilm(reflectance, thick, usual_s, KIND_S_SD.get(kind, COLOUR_S_SD))
    assumed: list[str] = []
    misfit, opacity = None, None
    if over_black is not None:
        goal = np.array(over_black)
        off = max(LOOK_DE00[known] if noise is None else noise.whole,
                  LOOK_DE00[known_black] if noise_black is None else noise_black.whole)  # fmt: skip
        two = by_two_looks(film, goal, root=off / NOISE_DE00 * np.eye(3))
        if noise is not None:
            black = noise_black or LabNoise(LOOK_DE00[known_black])
            noisy = noisy_looks(film, two.point, goal, white=noise, black=black)
            two = by_two_looks(film, goal, root=noisy.root)
            opacity = noisy_shapes(film, two, noisy)
        point, covariance, misfit = two.point, two.covariance, two.misfit
        if misfit > 2.0 * off:
            assumed.append(
                f"no film looks like it over black and over white ({misfit:.1f} ΔE00 are left)"
            )
    else:
        level, sd = _level(film, contrast_ratio, covers, film_um=contrast_film_um or thick)
        point, covariance = np.array([level, 0.0]), np.diag([sd, SLOPE_S_SD]) ** 2
        if contrast_ratio is None and covers is None:
            assumed.append("opacity assumed by kind")
    if film_um is None:
        assumed.append(f"a film of {thick:g} µm assumed for its look")
    S = film.scattering(point)
    K = film.absorption(S)
    s_sd = float(np.sqrt(covariance[0, 0]))
    root = _screen_noise(film.look) if known == "hex" else None
    if opacity is None:
        opacity = opacity_shapes(film, point, covariance)
        if noise is not None:  # of two looks it is in the opacity
            root = lab_root(lab(film.look, D50), noise.whole)
    error = SpectralError(
        K=OWN_K_SD,
        S=min(OWN_S_SHARE * s_sd, MOST_SD),
        shapes=np.concatenate(
            [
                np.full((1, 2, BANDS), np.hypot(FILM_SD[film_um is not None], film_sd)),
                _white_shape(film, K, S),
                opacity,
                _colour_shapes(film, K, S, known, s_sd=s_sd, root=root),
            ]
        ),
    )
    K.flags.writeable = S.flags.writeable = False
    return InkLook(K, S, error, tuple(assumed), misfit)


def look_film_um(kind: str) -> float:
    """Dry film, µm, that the look of an ink shows if nothing says it."""
    return LOOK_FILM_UM.get(kind, LOOK_COLOUR_FILM_UM)


def _usual_s(reflectance: FloatArray, kind: str) -> float:
    """S at 550 nm by kind and color: a color that absorbs strongly nowhere holds white."""
    if kind in KIND_S_PER_UM:
        return KIND_S_PER_UM[kind]
    from_, to = PASTEL_REFLECTANCE
    white = float(np.clip((np.min(reflectance) - from_) / (to - from_), 0.0, 1.0))
    return float(COLOUR_S_PER_UM ** (1.0 - white) * PASTEL_S_PER_UM**white)


def _level(
    film: LookFilm, contrast_ratio: float | None, covers: Covers | None, *, film_um: float
) -> tuple[float, float]:
    """Level of ln S over the usual one and its standard deviation."""
    if contrast_ratio is None and covers is None:
        return 0.0, film.s_sd
    levels = film.levels()
    ratios = film.ratios(levels, film_um)
    if contrast_ratio is not None:
        if not 0.0 < contrast_ratio < 1.0:
            raise InputError(f"contrast_ratio is {contrast_ratio:g}; it is between 0 and 1.")
        rising = np.maximum.accumulate(ratios)
        near = int(np.clip(np.searchsorted(rising, contrast_ratio), 1, levels.size - 1))
        fine = np.linspace(levels[near - 1], levels[near], 9)
        return float(np.interp(contrast_ratio, film.ratios(fine, film_um), fine)), RATIO_S_SD
    least, most = COVER_RATIOS[covers or "half"]
    odds = np.log(np.clip(ratios, 1e-6, 1.0 - 1e-6) / (1.0 - np.clip(ratios, 1e-6, 1.0 - 1e-6)))
    chance = np.exp(-0.5 * (levels / film.s_sd) ** 2)
    if least > 0.0:
        chance /= 1.0 + np.exp(-(odds - np.log(least / (1.0 - least))) / COVER_EDGE)
    if most < 1.0:
        chance /= 1.0 + np.exp((odds - np.log(most / (1.0 - most))) / COVER_EDGE)
    chance /= chance.sum()
    middle = float(chance @ levels)
    return middle, float(np.sqrt(chance @ (levels - middle) ** 2))


def _white_shape(film: LookFilm, K: FloatArray, S: FloatArray) -> FloatArray:
    """Direction (1, 2, 31) of the white under the look: under a brighter one all bands absorb more.

    It says most where the film absorbs least.
    """
    brighter = film.absorption(S, LOOK_BACKING + LOOK_BACKING_SD)
    step = np.clip(np.log(brighter / K), 0.0, MOST_SD)
    return np.stack([step, np.zeros(BANDS)])[None]


def _colour_shapes(
    film: LookFilm, K: FloatArray, S: FloatArray, known: Known, *, s_sd: float,
    root: FloatArray | None,
) -> FloatArray:  # fmt: skip
    """Directions (D, 2, 31) of ln K that the color of the look leaves open; none of a spectrum.

    Those that it does not tell (`unseen_shapes`), and of a color whose Lab is off by root·root',
    root (3, m), those that it tells wrongly (`told_shapes`).
    """
    if known == "spectrum":
        return np.zeros((0, 2, BANDS))
    seen, slope = film.over(S, K, LOOK_BACKING), film.slope(S, K, LOOK_BACKING)
    held = max(SEEN_LAB_SD, HELD_LAB_SD * s_sd / COLOUR_S_SD)
    shapes = unseen_shapes(seen, slope=slope, lab_sd=held)
    if root is not None:
        told = told_shapes(
            film.lab_slopes(S, K, LOOK_BACKING), root, held=None if known == "hex" else SEEN_LAB
        )
        shapes = np.concatenate([told, shapes])
    return np.clip(np.stack([shapes, np.zeros_like(shapes)], axis=1), -MOST_SD, MOST_SD)


def _screen_noise(look: FloatArray) -> FloatArray:
    """Root (3, 3) of the covariance of Lab of a hex code, (31,) its spectrum.

    At the edge of what a screen shows the color itself may lie beyond, along its chroma.
    """
    root = LOOK_DE00["hex"] / NOISE_DE00 * np.eye(3)
    codes, _ = srgb8(xyz(look, D50), D50)
    chroma = lab(look, D50)[1:]
    length = float(np.hypot(*chroma))
    if length > 0 and (codes.min() == 0 or codes.max() == 255):
        way = np.array([0.0, *(chroma / length)])
        root = root + np.outer(way, way) * BEYOND_SCREEN_SD
    return root
