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

from inksim.colour import (
    BANDS,
    D50,
    WAVELENGTHS_NM,
    contrast_ratio as ratio_of,
    delta_e_2000,
    lab,
    srgb8,
    xyz,
)
from inksim.common import FloatArray, InputError
from inksim.optics import external_from_internal, film_over, internal_from_external
from inksim.stock.spectral_error import (
    MOST_SD,
    SEEN_LAB_SD,
    UNSEEN_COMMON_SD,
    UNSEEN_NM,
    UNSEEN_SD,
    SpectralError,
    smooth,
    unseen_shapes,
)

Known = Literal["spectrum", "lab", "hex"]
"""What a look is known by: a reading, a Lab that was read, a hex code that was seen on a screen."""
Covers = Literal["black", "half", "clear"]
COVERS: tuple[str, ...] = get_args(Covers)
COVER_RATIOS: dict[Covers, tuple[float, float]] = {
    "black": (0.80, 1.0), "half": (0.30, 0.80), "clear": (0.0, 0.30)
}  # fmt: skip
"""Contrast ratios that the words stand for [assumption]: 0.98 is commonly called opaque, and a
printer says that an ink covers some way before that."""
COVER_EDGE = 0.2
"""How soft the ends of these ranges are, as ln of the odds of the ratio [assumption]."""

LOOK_BACKING, LOOK_BACKING_SD = 0.85, 0.04
"""External reflectance of the white under the film of a look [assumption]."""
LEAST_K = 2e-4
"""Per µm: no film is quite clear, and what is 0 has no logarithm to be wrong in."""
CARD_BLACK, CARD_WHITE = 0.01, 0.80
"""External reflectance of the card of a contrast ratio (ISO 6504-3: white Y 80 ± 2, black Y ≤ 5),
and of the black of a look."""
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
SLOPE_S, SLOPE_S_SD = -1.0, 0.6
"""d ln S / d ln wavelength at pigment sizes that color and hide [assumption]: the whites of that
paper fall about as 1/wavelength."""
RATIO_S_SD = 0.2
"""Of ln S by a contrast ratio: its card, its film and its two figures [assumption]."""
LOOK_DE00: dict[Known, float] = {"spectrum": 0.5, "lab": 0.5, "hex": 4.0}
"""Noise of a look, mean ΔE00: read by an instrument, or by eye and screen [assumption]."""
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
OWN_S_SHARE = 0.3
"""Share of the error of ln S that leaves K as it is: the look over white is not that sure."""
MOST_FOLLOW = 2.0
"""Most that ln K follows ln S: where K is next to nothing its logarithm means nothing."""

_LEAST_S, _MOST_S, _STEPS = 1e-4, 3.0, 48
_MOST_K, _MOST_KS, _HALVINGS = 20.0, 5e3, 50
"""K is sought up to 20 per µm, and to what an endless film of the darkest look has."""


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
    kind: str = "colour",
    film_um: float | None = None,
    over_black: FloatArray | None = None,
    contrast_ratio: float | None = None,
    contrast_film_um: float | None = None,
    covers: Covers | None = None,
    known: Known = "lab",
    known_black: Known | None = None,
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
        contrast_film_um=contrast_film_um, known=known, known_black=known_black,
    )  # fmt: skip


@lru_cache(maxsize=1024)
def _found(
    look: bytes, over_black: tuple[float, ...] | None, *, kind: str, film_um: float | None,
    contrast_ratio: float | None, contrast_film_um: float | None, covers: Covers | None,
    known: Known, known_black: Known | None, film_sd: float,
) -> InkLook:  # fmt: skip
    """`ink_from_look`, kept: a shop is loaded at every change, and a look takes 10 to 30 ms."""
    if sum(given is not None for given in (over_black, contrast_ratio, covers)) > 1:
        raise InputError("give the opacity once: over_black, contrast_ratio or covers.")
    reflectance = np.frombuffer(look)
    thick = film_um if film_um is not None else look_film_um(kind)
    film = _Film(reflectance, thick, _usual_s(reflectance, kind), KIND_S_SD.get(kind, COLOUR_S_SD))
    assumed: list[str] = []
    misfit = None
    if over_black is not None:
        noise = max(LOOK_DE00[known], LOOK_DE00[known_black or known])
        point, covariance, misfit = _by_two_looks(film, np.array(over_black), de00=noise)
        if misfit > 2.0 * noise:
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
    error = SpectralError(
        K=OWN_K_SD,
        S=min(OWN_S_SHARE * float(np.sqrt(covariance[0, 0])), MOST_SD),
        shapes=np.concatenate(
            [
                np.full((1, 2, BANDS), np.hypot(FILM_SD[film_um is not None], film_sd)),
                _white_shape(film, K, S),
                _opacity_shapes(film, point, covariance),
                _colour_shapes(film, K, S, known, s_sd=float(np.sqrt(covariance[0, 0]))),
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


class _Film:
    """A film of one look over white, for any S: θ = (ln S over the usual one at 550 nm, slope)."""

    octaves = np.log(WAVELENGTHS_NM / 550.0)
    basis = np.stack([np.ones(BANDS), octaves / octaves[-1]])

    def __init__(self, look: FloatArray, film_um: float, usual_s: float, s_sd: float) -> None:
        self.look, self.film_um, self.usual_s, self.s_sd = look, film_um, usual_s, s_sd
        self.seen = internal_from_external(np.clip(look, 1e-4, 0.955))

    def scattering(self, point: FloatArray) -> FloatArray:
        """S (..., 31) of θ (..., 2)."""
        usual = self.usual_s * np.exp(SLOPE_S * self.octaves)
        return np.asarray(usual * np.exp(point @ self.basis))

    def absorption(self, S: FloatArray, white: float = LOOK_BACKING) -> FloatArray:
        """K (..., 31) with which the film looks as seen over white, whatever its S (..., 31)."""
        backing = internal_from_external(white)
        low, high = np.zeros_like(S), _MOST_K + _MOST_KS * S
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            bright = film_over(middle, S, thickness_um=self.film_um, backing=backing) > self.seen
            low, high = np.where(bright, middle, low), np.where(bright, high, middle)
        return np.maximum(low, LEAST_K)

    def over(
        self, S: FloatArray, K: FloatArray, card: float, film_um: float | None = None
    ) -> FloatArray:
        """External reflectance (..., 31) over a gray card, of this film or of another thickness."""
        backing = internal_from_external(card)
        thick = self.film_um if film_um is None else film_um
        return external_from_internal(film_over(K, S, thickness_um=thick, backing=backing))

    def ratios(self, levels: FloatArray, film_um: float) -> FloatArray:
        """Contrast ratio (n,) of a film at levels (n,) of ln S, at the usual slope."""
        S = self.scattering(np.stack([levels, np.zeros_like(levels)], axis=-1))
        K = self.absorption(S)
        black, white = (self.over(S, K, card, film_um) for card in (CARD_BLACK, CARD_WHITE))
        return ratio_of(black, white, D50)

    def levels(self) -> FloatArray:
        """Levels of ln S from a clear film to one beyond every white."""
        return np.log(np.geomspace(_LEAST_S, _MOST_S, _STEPS) / self.usual_s)


def _level(
    film: _Film, contrast_ratio: float | None, covers: Covers | None, *, film_um: float
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


def _by_two_looks(
    film: _Film, over_black: FloatArray, *, de00: float
) -> tuple[FloatArray, FloatArray, float]:
    """θ (2,) of the look over black, its covariance (2, 2) and the ΔE00 that is left.

    The most probable θ of a normal prior and the noise of the look, by Gauss-Newton from the best
    level; the covariance is of its slopes there.
    """
    goal = np.asarray(over_black, dtype=np.float64)
    noise = de00 / NOISE_DE00
    prior = np.array([film.s_sd, SLOPE_S_SD])

    def off(points: FloatArray) -> FloatArray:
        S = film.scattering(points)
        miss = lab(film.over(S, film.absorption(S), CARD_BLACK), D50) - goal
        return np.concatenate([miss / noise, points / prior], axis=-1)

    levels = film.levels()
    trial = np.stack([levels, np.zeros_like(levels)], axis=-1)
    point = trial[int(np.argmin(np.sum(off(trial) ** 2, axis=-1)))]
    step = 1e-3
    for _ in range(8):
        here, *moved = off(point + step * np.array([[0, 0], [1, 0], [0, 1]]))
        slopes = (np.stack(moved, axis=-1) - here[:, None]) / step
        move = -np.linalg.solve(slopes.T @ slopes, slopes.T @ here)
        shorter = point + np.array([[1.0], [0.5], [0.25], [0.0]]) * move
        costs = np.sum(off(shorter) ** 2, axis=-1)
        point = shorter[int(np.argmin(costs))]
        if np.max(np.abs(move)) < 1e-4 or int(np.argmin(costs)) == 3:
            break
    covariance = np.linalg.inv(slopes.T @ slopes)
    S = film.scattering(point)
    left = delta_e_2000(lab(film.over(S, film.absorption(S), CARD_BLACK), D50), goal)
    return point, covariance, float(left)


def _white_shape(film: _Film, K: FloatArray, S: FloatArray) -> FloatArray:
    """Direction (1, 2, 31) of the white under the look: under a brighter one all bands absorb more.

    It says most where the film absorbs least.
    """
    brighter = film.absorption(S, LOOK_BACKING + LOOK_BACKING_SD)
    step = np.clip(np.log(brighter / K), 0.0, MOST_SD)
    return np.stack([step, np.zeros(BANDS)])[None]


def _opacity_shapes(film: _Film, point: FloatArray, covariance: FloatArray) -> FloatArray:
    """Directions (2, 2, 31) of what is not known of S, with K held to the look over white."""
    step = 0.05
    S = film.scattering(point + step * np.array([[-1, 0], [1, 0]]))
    less, more = film.absorption(S)
    follow = np.clip(np.log(more / less) / (2.0 * step), -MOST_FOLLOW, MOST_FOLLOW)
    variances, axes = np.linalg.eigh(covariance)
    steps = np.sqrt(1.0 - OWN_S_SHARE**2) * (axes * np.sqrt(variances)).T @ film.basis
    shapes = np.stack([follow * steps, steps], axis=1)
    return np.asarray(np.clip(shapes, -MOST_SD, MOST_SD))


def _colour_shapes(
    film: _Film, K: FloatArray, S: FloatArray, known: Known, *, s_sd: float
) -> FloatArray:
    """Directions (D, 2, 31) of ln K that the color of the look leaves open; none of a spectrum.

    Those that it does not tell (`unseen_shapes`), and of a color that was seen on a screen those
    that it tells wrongly: with C the prior over the bands, J = dLab/d ln K and N its noise, what an
    error of the color moves is C·J'(J·C·J' + N)⁻¹.
    """
    if known == "spectrum":
        return np.zeros((0, 2, BANDS))
    step = 1e-3
    seen = film.over(S, K, LOOK_BACKING)
    down, up = (film.over(S, K * np.exp(way * step), LOOK_BACKING) for way in (-1.0, 1.0))
    slope = (up - down) / (2.0 * step)
    held = max(SEEN_LAB_SD, HELD_LAB_SD * s_sd / COLOUR_S_SD)
    shapes = unseen_shapes(seen, slope=slope, lab_sd=held)
    if known == "hex":
        J = ((lab(seen + step * np.diag(slope), D50) - lab(seen, D50)) / step).T
        root = _screen_noise(film.look)
        noise = root @ root.T
        prior = UNSEEN_COMMON_SD**2 + smooth(UNSEEN_SD, UNSEEN_NM)
        gain = np.linalg.solve(J @ prior @ J.T + noise, J @ prior).T
        shapes = np.concatenate([(gain @ root).T, shapes])
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
