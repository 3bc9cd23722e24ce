"""How far the spectra of a stock may be off: independent directions in ln K, ln S and ln K/S.

What is not known of an ink is not its strength alone. An ink known by a color, not by a reading,
has the wrong *shape* over wavelength as well; a fit to drawdowns knows some bands well and some
hardly. So an error is a strength common to all bands, K and S apart, and a few smooth directions
besides, each a pattern over the bands that one standard deviation moves.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from inksim.colour import BANDS, D50, WAVELENGTHS_NM, Viewing, lab
from inksim.common import FloatArray, InputError
from inksim.optics import (
    external_from_internal,
    internal_from_external,
    ks_from_reflectance,
    reflectance_from_ks,
)
from inksim.stock.lab_noise import LabNoise, lab_root
from inksim.stock.provenance import CLOTH_KS_SD, INK_K_SD, INK_S_SD, Provenance

MOST_SD = 5.0
"""Of a logarithm: a factor of 150. More is not an error but no knowledge at all."""
MOST_SHAPES = 28
"""Directions of one ink: those of a base and a color, K and S besides, are sampled together, and
there are points for 64 at most (`printing.normal_points`)."""
SHAPES = 4
"""Directions that stand for an error's shape: nine tenths of what it does to a color under other
lights (textiles and CIE 2017 samples, tests/accuracy/recovery.py)."""
UNSEEN_SD, UNSEEN_NM = 0.6, 35.0
"""Of the logarithm of an absorption, from band to band, that a color leaves open, and how far it
is correlated. Fitted by the likelihood of ln K/S of 99 CIE 2017 samples against what their Lab
recovers, judged on the colors of 33 textiles under other lights: see there."""
UNSEEN_COMMON_SD = 0.3
"""The same of all bands together, before the color is seen."""
SEEN_LAB_SD = 0.3
"""Of each of L*, a*, b*, of a color that was stated: its last digit."""
SEEN_LAB = SEEN_LAB_SD * np.eye(3)
"""Its root. What is recovered from a Lab has that very Lab, however noisy: no prior drew it in."""
_OTHER_LIGHTS = (D50, Viewing("D65", 10), Viewing("A", 2), Viewing("F11", 2))
INVENTED_INK = (0.30, 50.0), (0.15, 80.0)
"""Sd and correlation length, nm, of the shape of ln K and of ln S of an invented ink, or of one
whose color alone was known and whose error is not stated [assumption]."""
INVENTED_CLOTH = (0.10, 60.0)
"""The same of ln K/S of an invented cloth [assumption]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class SpectralError:
    """Standard deviations of an ink's ln K and ln S.

    Parameters
    ----------
    K, S : of ln K and ln S, common to all bands, 0 to `MOST_SD`; independent.
    shapes : (D, 2, 31) further directions, independent of these and of each other: what one
        standard deviation adds to ln K (first row) and ln S (second row) of each band.

    Raises
    ------
    InputError : a standard deviation out of range; shapes that are not (D, 2, 31), D at most
        `MOST_SHAPES`, or that leave ±`MOST_SD`.
    """

    K: float
    S: float
    shapes: FloatArray

    def __post_init__(self) -> None:
        """Refuse what is no error; keep the shapes read-only."""
        for field in ("K", "S"):
            if not 0 <= getattr(self, field) <= MOST_SD:
                raise InputError(
                    f"the standard deviation of ln {field} is {getattr(self, field):g}; give 0 to "
                    f"{MOST_SD:g}."
                )
        shapes = np.array(self.shapes, dtype=np.float64)
        shapes = shapes if shapes.size else shapes.reshape(0, 2, BANDS)
        if shapes.ndim != 3 or shapes.shape[1:] != (2, BANDS) or len(shapes) > MOST_SHAPES:
            raise InputError(
                f"the directions of an ink's error are {shapes.shape}; give at most {MOST_SHAPES}, "
                f"each {BANDS} steps of ln K and {BANDS} of ln S."
            )
        if not np.all(np.abs(shapes) <= MOST_SD):
            raise InputError(f"a direction of an ink's error leaves ±{MOST_SD:g}.")
        shapes.flags.writeable = False
        object.__setattr__(self, "shapes", shapes)

    def total(self) -> tuple[FloatArray, FloatArray]:
        """Standard deviation (31,) of ln K and of ln S in each band, all directions together."""
        square = np.sum(self.shapes**2, axis=0)
        return np.sqrt(square[0] + self.K**2), np.sqrt(square[1] + self.S**2)


@dataclass(frozen=True, kw_only=True, eq=False)
class ClothError:
    """Standard deviations of a cloth's ln K/S: common to all bands, and further shapes (D, 31).

    They are independent of each other, as those of a `SpectralError`.
    """

    ks: float
    shapes: FloatArray


@cache
def prior_ink_error(data: Provenance) -> SpectralError:
    """What is expected of an ink's K and S by where they come from, where nothing else is said."""
    shapes: list[FloatArray] = []
    if data != "measured":
        nothing = np.zeros(BANDS)
        for (sd, length), count, at in zip(INVENTED_INK, (SHAPES, 2), (0, 1), strict=True):
            for shape in leading(smooth(sd, length), np.ones(BANDS), count=count):
                shapes.append(np.stack([shape, nothing] if at == 0 else [nothing, shape]))
    return SpectralError(K=INK_K_SD[data], S=INK_S_SD[data], shapes=np.array(shapes))


def cloth_error(
    reflectance: FloatArray, *, data: Provenance, noise: LabNoise | None = None
) -> ClothError:
    """What is expected of a cloth's K/S by where its reflectance (31,), external, comes from.

    A cloth that is known by its color looks as stated under the light that it was stated for; what
    is left open are the shapes that this color does not tell. A color with a noise of its own moves
    those that it does tell as well.
    """
    if data == "measured":
        shapes = np.zeros((0, BANDS))
    elif data in ("photo", "recovered"):
        slope = _slope_of_ks(reflectance)
        shapes = unseen_shapes(reflectance, slope=slope)
        if noise is not None:
            root = lab_root(lab(reflectance, D50), noise.whole)
            told = told_shapes(_lab_slopes(reflectance, D50) * slope, root, held=SEEN_LAB)
            shapes = np.concatenate([told, shapes])
    else:
        shapes = _invented_cloth_shapes()
    return ClothError(ks=CLOTH_KS_SD[data], shapes=shapes)


@cache
def _invented_cloth_shapes() -> FloatArray:
    return leading(smooth(*INVENTED_CLOTH), np.ones(BANDS), count=SHAPES)


def _slope_of_ks(reflectance: FloatArray) -> FloatArray:
    """dR/d ln(K/S) (31,) of an opaque cloth, external, by its own equations."""
    step = 1e-4
    ks = ks_from_reflectance(internal_from_external(reflectance))
    up, down = (
        external_from_internal(reflectance_from_ks(ks * np.exp(sign * step)))
        for sign in (1.0, -1.0)
    )
    return np.asarray((up - down) / (2.0 * step))


def smooth(sd: float, length_nm: float) -> FloatArray:
    """Covariance (31, 31) of a smooth error over the bands: sd² exp(−½(Δλ/length)²)."""
    apart = (WAVELENGTHS_NM[:, None] - WAVELENGTHS_NM) / length_nm
    return np.asarray(sd**2 * np.exp(-0.5 * apart**2))


def unseen_shapes(
    reflectance: FloatArray,
    *,
    slope: FloatArray,
    lab_sd: float = SEEN_LAB_SD,
    viewing: Viewing = D50,
    count: int = SHAPES,
) -> FloatArray:
    """Shapes (count, 31) of the logarithm of an absorption that a stated color leaves open.

    A normal prior over the bands (`UNSEEN_COMMON_SD`, `UNSEEN_SD`, `UNSEEN_NM`) is conditioned on
    the color: C − C·J'(J·C·J' + N)⁻¹·J·C, J = dLab/d ln. What is left changes the color under the
    viewing by no more than lab_sd, and under another light, or under a film, by what it may.

    Parameters
    ----------
    reflectance : (31,) external, of what was seen.
    slope : (31,) its derivative by the logarithm.
    lab_sd : sd of each of L*, a*, b* of the color as stated.
    viewing : the light and the observer that it was stated for.
    """
    prior = UNSEEN_COMMON_SD**2 + smooth(UNSEEN_SD, UNSEEN_NM)
    J = _lab_slopes(reflectance, viewing) * slope
    across = prior @ J.T
    left = prior - across @ np.linalg.solve(J @ across + lab_sd**2 * np.eye(3), across.T)
    # What counts is what is seen: by all lights together, the dark bands as lightness sees them.
    # What absorbs nothing at all, as a cloth stated as #ffffff, shows no band: all weigh alike.
    seen = sum(np.abs(_lab_slopes(reflectance, each) * slope).sum(axis=0) for each in _OTHER_LIGHTS)
    floor = 1e-3 * np.max(seen) or 1.0
    return leading(left, np.asarray(seen) + floor, count=count)


def told_by_lab(slopes: FloatArray, root: FloatArray) -> FloatArray:
    """Steps (31, 3) of the logarithm of an absorption per unit of L*, a*, b*, as a Lab tells it.

    C·J'(J·C·J' + N)⁻¹ with C the prior over the bands, J (3, 31) = dLab/d ln, and N = root·root'
    the noise of the Lab; root: (3, m).
    """
    prior = UNSEEN_COMMON_SD**2 + smooth(UNSEEN_SD, UNSEEN_NM)
    noise = root @ root.T
    return np.asarray(np.linalg.solve(slopes @ prior @ slopes.T + noise, slopes @ prior).T)


def told_shapes(
    slopes: FloatArray, root: FloatArray, *, held: FloatArray | None = None
) -> FloatArray:
    """Shapes (m, 31) by which a Lab of noise root·root' tells an absorption wrongly.

    held: root of the noise by which `told_by_lab` weighs it against the prior; None: its own.
    """
    return np.asarray((told_by_lab(slopes, root if held is None else held) @ root).T)


def _lab_slopes(reflectance: FloatArray, viewing: Viewing) -> FloatArray:
    """dLab/dR (3, 31), band by band."""
    step = 1e-6
    moved = lab(reflectance + step * np.eye(BANDS), viewing)
    return np.asarray((moved - lab(reflectance, viewing)).T / step)


def leading(covariance: FloatArray, seen: FloatArray, *, count: int) -> FloatArray:
    """The count (count, n) directions of a covariance (n, n) that are seen most.

    seen (n,): weight of each coordinate, above 0; the principal axes are those of the weighted
    coordinates. They are scaled up, at most twofold, to keep the variance of all that is seen.
    """
    variance, axes = np.linalg.eigh(seen[:, None] * covariance * seen)
    kept = axes[:, ::-1][:, :count] * np.sqrt(np.maximum(variance[::-1][:count], 0.0))
    share = np.maximum(variance[::-1][:count], 0.0).sum() / max(float(variance.sum()), 1e-300)
    return np.asarray((kept / seen[:, None]).T / np.sqrt(max(share, 0.25)))
