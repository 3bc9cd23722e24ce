"""The wavelength grid, and resampling of spectra onto it.

Conventions: 400-700 nm at 10 nm, 31 bands, always the last axis.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inksim.common import FloatArray, InputError

BANDS = 31
WAVELENGTHS_NM: FloatArray = np.linspace(400.0, 700.0, BANDS)
WAVELENGTHS_NM.setflags(write=False)

STEP_NM = 10.0
LATEST_START_NM = 430.0
EARLIEST_END_NM = 670.0
WIDEST_STEP_NM = 20.0
NO_REFLECTANCE = 1e-99


@dataclass(frozen=True, kw_only=True)
class Resampled:
    """A spectrum (31,) on the grid, with a note for each end that was extrapolated."""

    values: FloatArray
    notes: tuple[str, ...] = ()


def resample(values: ArrayLike, *, wavelengths_nm: ArrayLike) -> Resampled:
    """Resample a spectrum (n,) at wavelengths (n,) onto the grid.

    - Steps below 10 nm: averaged under a triangle of 10 nm half width (the bandpass ASTM E308
      assumes of 10 nm data). The average is the value at the center of a straight line fitted
      with the triangle as weights: the plain triangular average where readings lie evenly, and
      exact for straight spectra at uneven steps and at the ends.
    - Steps of 10-20 nm: shape-preserving cubic (PCHIP, Fritsch & Carlson 1980), which passes
      through every reading and makes no peaks of its own.
    - A range that stops short of 400 or 700 nm is extended by its end value, and a note says so.

    Raises InputError for a start above 430 nm, an end below 670 nm, a step above 20 nm, and for
    wavelengths or values that are unsorted, doubled, not finite or not equal in number.
    """
    nm = np.asarray(wavelengths_nm, dtype=float)
    reading = np.asarray(values, dtype=float)
    _check_readings(nm, reading)
    inside = np.clip(WAVELENGTHS_NM, nm[0], nm[-1])
    steps = np.diff(nm)
    if steps.max() < STEP_NM - 1e-6:
        on_grid = _triangular_average(nm, reading, at_nm=inside)
    else:
        on_grid = _shape_preserving_cubic(nm, reading, at_nm=inside)
    on_grid.setflags(write=False)
    return Resampled(values=on_grid, notes=_notes_on_ends(nm))


def _check_readings(nm: FloatArray, reading: FloatArray) -> None:
    if nm.ndim != 1 or nm.shape != reading.shape or nm.size < 2:
        raise InputError(
            f"a spectrum needs one value for each wavelength, but it has {reading.size} values "
            f"for {nm.size} wavelengths; give two equally long rows."
        )
    bad = ~(np.isfinite(nm) & np.isfinite(reading))
    if bad.any():
        where = nm[bad][0]
        raise InputError(f"the spectrum has a missing value at {where:g} nm; fill or remove it.")
    steps = np.diff(nm)
    if (steps <= 0).any():
        where = nm[1:][steps <= 0][0]
        raise InputError(
            f"the wavelengths must rise, but {where:g} nm is doubled or out of order; sort them."
        )
    if nm[0] > LATEST_START_NM or nm[-1] < EARLIEST_END_NM:
        raise InputError(
            f"the spectrum covers {nm[0]:g}-{nm[-1]:g} nm; it must start at {LATEST_START_NM:g} nm "
            f"or below and end at {EARLIEST_END_NM:g} nm or above, best 400-700 nm."
        )
    if steps.max() > WIDEST_STEP_NM + 1e-6:
        where = nm[:-1][steps.argmax()]
        raise InputError(
            f"the spectrum has a gap of {steps.max():g} nm above {where:g} nm; "
            f"steps up to {WIDEST_STEP_NM:g} nm are allowed, 10 nm is best."
        )


def _triangular_average(nm: FloatArray, reading: FloatArray, *, at_nm: FloatArray) -> FloatArray:
    offset = nm[None, :] - at_nm[:, None]
    share_nm = np.gradient(nm)  # each reading stands for its stretch of the axis
    triangle = np.maximum(0.0, 1.0 - np.abs(offset) / STEP_NM) * share_nm
    triangle /= triangle.sum(axis=1, keepdims=True)
    centre = (triangle * offset).sum(axis=1)
    level = triangle @ reading
    spread = (triangle * offset**2).sum(axis=1) - centre**2
    slope = ((triangle * offset) @ reading - centre * level) / spread
    return np.asarray(level - slope * centre)


def _shape_preserving_cubic(
    nm: FloatArray, reading: FloatArray, *, at_nm: FloatArray
) -> FloatArray:
    if np.isin(at_nm, nm).all():  # 10 nm readings on the grid, the common case, need no scipy
        return reading[np.searchsorted(nm, at_nm)]
    from scipy.interpolate import PchipInterpolator

    # It divides by the slopes, and the reciprocal of one such as 1e-308 is beyond a float.
    seen = np.where(np.abs(reading) < NO_REFLECTANCE, 0.0, reading)
    return np.asarray(PchipInterpolator(nm, seen)(at_nm), dtype=float)


def _notes_on_ends(nm: FloatArray) -> tuple[str, ...]:
    first, last = WAVELENGTHS_NM[0], WAVELENGTHS_NM[-1]
    notes = []
    if nm[0] > first:
        notes.append(f"readings start at {nm[0]:g} nm: from {first:g} nm the first one is used")
    if nm[-1] < last:
        notes.append(f"readings end at {nm[-1]:g} nm: up to {last:g} nm the last one is used")
    return tuple(notes)
