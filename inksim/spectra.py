"""The wavelength grid, resampling onto it, lights and observers, and reflectance from a colour.

Conventions: 400-700 nm at 10 nm, 31 bands, always the last axis. A reflectance is a factor 0-1.
XYZ is on the scale where the perfect diffuser has Y = 100.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inksim.cielab import lab_from_xyz
from inksim.errors import InputError

FloatArray = NDArray[np.float64]

BANDS = 31
WAVELENGTHS_NM: FloatArray = np.linspace(400.0, 700.0, BANDS)
WAVELENGTHS_NM.setflags(write=False)

STEP_NM = 10.0
LATEST_START_NM = 430.0
EARLIEST_END_NM = 670.0
WIDEST_STEP_NM = 20.0

#: CIE illuminants by their names in CIE 15:2018; the first six are those a shop meets most.
LIGHTS: tuple[str, ...] = (
    *("D50", "D65", "A", "F2", "F11", "LED-B3"),
    *("C", "D55", "D75", "F1", "F3", "F4", "F5", "F6", "F7", "F8", "F9", "F10", "F12"),
    *("LED-B1", "LED-B2", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2"),
)
OBSERVERS: tuple[int, ...] = (2, 10)

_TABLE = Path(__file__).parent / "data" / "observers.npz"


@cache
def _table() -> dict[str, FloatArray]:
    with np.load(_TABLE) as stored:
        names = [str(name) for name in stored["lights"]]
        table = dict(zip(names, stored["weights"], strict=True))
    for array in table.values():
        array.setflags(write=False)
    return table


def weights(light: str, observer: int) -> FloatArray:
    """Tristimulus weights (31, 3), read-only: XYZ = reflectance @ weights.

    ASTM E2022 at 10 nm, ends folded per ASTM E308; the perfect diffuser has Y = 100.
    Raises InputError for a light or observer that is not in LIGHTS, OBSERVERS.
    """
    if light not in LIGHTS:
        raise InputError(f"there is no light '{light}'; choose one of {', '.join(LIGHTS)}.")
    if observer not in OBSERVERS:
        raise InputError(f"the observer is {observer}; choose 2 (degrees, CIE 1931) or 10 (1964).")
    return np.asarray(_table()[light][OBSERVERS.index(observer)])


def white_xyz(light: str, observer: int) -> FloatArray:
    """XYZ (3,) of the perfect diffuser: the sum of the weights, so Y = 100."""
    return np.asarray(weights(light, observer).sum(axis=0))


@dataclass(frozen=True, kw_only=True)
class Resampled:
    """A spectrum on the grid, and in words what was done to its ends to get it there."""

    values: FloatArray
    notes: tuple[str, ...] = ()


def resample(values: ArrayLike, *, wavelengths_nm: ArrayLike) -> Resampled:
    """Bring a spectrum (n,) at wavelengths (n,) onto the grid.

    - Steps below 10 nm: averaged under a triangle of 10 nm half width (the bandpass ASTM E308
      assumes of 10 nm data). The average is the value at the centre of a straight line fitted
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

    return np.asarray(PchipInterpolator(nm, reading)(at_nm), dtype=float)


def _notes_on_ends(nm: FloatArray) -> tuple[str, ...]:
    first, last = WAVELENGTHS_NM[0], WAVELENGTHS_NM[-1]
    notes = []
    if nm[0] > first:
        notes.append(f"readings start at {nm[0]:g} nm: from {first:g} nm the first one is used")
    if nm[-1] < last:
        notes.append(f"readings end at {nm[-1]:g} nm: up to {last:g} nm the last one is used")
    return tuple(notes)


# A recovered reflectance stays this far from 0 and 1, so that K/S is finite; pure black and pure
# white then move by less than 0.05 in CIELAB.
MARGIN = 5e-5
REACHABLE_LAB = 0.05


def recover_reflectance(xyz: ArrayLike, *, light: str = "D50", observer: int = 2) -> FloatArray:
    """A plausible smooth reflectance (31,), read-only, 0 < R < 1, with this XYZ (3,).

    Of the many reflectances with one colour this is the one with the least sum of squared steps:
    Meng, Simon, Hanika & Dachsbacher, Comput. Graph. Forum 34 (2015), as in colour-science, run
    with our own weights and with R kept inside 0..1; a closing step then makes the XYZ exact.

    Raises InputError for a colour that no reflectance has (outside the object-colour solid).
    """
    values = np.asarray(xyz, dtype=float)
    if values.shape != (3,) or not np.isfinite(values).all():
        raise InputError(f"a color needs three finite numbers X, Y, Z, not {values.tolist()}.")
    x, y, z = (float(v) for v in values)
    return _recover(x, y, z, light, observer)


@lru_cache(maxsize=4096)
def _recover(x: float, y: float, z: float, light: str, observer: int) -> FloatArray:
    table = weights(light, observer)
    wanted = _reachable(np.array([x, y, z]), table, name=f"{light}/{observer}°")
    reflectance = _close(_smoothest(wanted, table), wanted, table)
    reflectance.setflags(write=False)
    return reflectance


def _reachable(xyz: FloatArray, table: FloatArray, *, name: str) -> FloatArray:
    """The XYZ itself, or its nearest neighbour in the object-colour solid if as good as equal."""
    from scipy.optimize import lsq_linear

    white = table.sum(axis=0)
    fit = lsq_linear(
        (table / white).T, xyz / white, bounds=(MARGIN, 1.0 - MARGIN), tol=1e-14, max_iter=200
    )
    nearest = fit.x @ table
    off = np.linalg.norm(lab_from_xyz(nearest, white=white) - lab_from_xyz(xyz, white=white))
    if off <= 1e-6:
        return xyz
    if off <= REACHABLE_LAB:
        return np.asarray(nearest)
    asked, can = (
        ", ".join(f"{v:.1f}" for v in lab_from_xyz(c, white=white)) for c in (xyz, nearest)
    )
    raise InputError(
        f"no printed or dyed surface can have Lab {asked} ({name}); the nearest that one can have "
        f"is about Lab {can}. Check the numbers, the light and the observer."
    )


def _smoothest(xyz: FloatArray, table: FloatArray) -> FloatArray:
    """Meng et al. 2015 on our grid: our weights stand for observer times light."""
    import colour

    observer = colour.MultiSpectralDistributions(table, WAVELENGTHS_NM)
    flat = colour.SpectralDistribution(np.ones(BANDS), WAVELENGTHS_NM)
    scale = 50.0 / max(xyz[1], 1e-3)  # the optimiser stops too early on dark colours
    settings: dict[str, Any] = {
        # colour-science optimises R / 100
        "bounds": [(scale * MARGIN / 100.0, scale * (1.0 - MARGIN) / 100.0)] * BANDS,
        "options": {"ftol": 1e-10, "maxiter": 500},
    }
    try:
        found = colour.recovery.XYZ_to_sd_Meng2015(
            scale * xyz / 100.0, cmfs=observer, illuminant=flat, optimisation_kwargs=settings
        )
    except RuntimeError:
        return np.full(BANDS, xyz[1] / 100.0)
    return np.asarray(found.values / scale, dtype=float)


def _close(reflectance: FloatArray, xyz: FloatArray, table: FloatArray) -> FloatArray:
    """The smoothest small change in logit R that makes the XYZ exact: Newton's method."""
    inside = np.clip(reflectance, MARGIN, 1.0 - MARGIN)
    u = np.log(inside / (1.0 - inside))
    step = np.diff(np.eye(BANDS), axis=0)
    spread = np.linalg.inv(step.T @ step + 1e-3 * np.eye(BANDS))
    for _ in range(50):
        r = 1.0 / (1.0 + np.exp(-u))
        miss = xyz - r @ table
        if np.abs(miss).max() < 1e-9:
            break
        jacobian = table.T * (r * (1.0 - r))
        u += spread @ jacobian.T @ np.linalg.solve(jacobian @ spread @ jacobian.T, miss)
    return np.asarray(1.0 / (1.0 + np.exp(-u)))
