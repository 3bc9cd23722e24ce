"""Lights and observers: tristimulus weights at 10 nm and white points.

CIE illuminants have their weights in a table that tools/make_observer_tables.py makes of
colour-science's data; those of a lamp that was measured (`Lamp`) are made here the same way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np

from inksim.common import DATA, FloatArray, InputError

#: CIE illuminants by their names in CIE 15:2018; the first six are the most used in print shops.
LIGHTS: tuple[str, ...] = (
    *("D50", "D65", "A", "F2", "F11", "LED-B3"),
    *("C", "D55", "D75", "F1", "F3", "F4", "F5", "F6", "F7", "F8", "F9", "F10", "F12"),
    *("LED-B1", "LED-B2", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2"),
)
OBSERVERS: tuple[int, ...] = (2, 10)

_TABLE = DATA / "observers.npz"
_NM = np.arange(360.0, 831.0)
"""Wavelengths of the observers' functions, nm."""
SEEN_NM = (400.0, 700.0)
WIDEST_LAMP_STEP_NM = 10.0
FARTHEST_NM = (200.0, 2500.0)
"""Beyond these a wavelength is no nanometer of a lamp's."""


@dataclass(frozen=True, kw_only=True)
class Lamp:
    """A lamp as a spectroradiometer read it; where a viewing names a light, it can stand.

    name : how it is told from others. wavelengths_nm, power : (n,) each, rising, at least 400 to
    700 nm in steps of at most 10 nm; relative spectral power in any unit, 0 or more.

    Raises InputError for others, and for a lamp that gives no light where the eye sees.
    """

    name: str
    wavelengths_nm: Sequence[float]
    power: Sequence[float]

    def __post_init__(self) -> None:
        """Refuse what is no lamp, and keep what it is known by as plain numbers."""
        name = self.name.strip().lower() if isinstance(self.name, str) else ""
        if not name or not name.isprintable() or name in {each.lower() for each in LIGHTS}:
            raise InputError(
                f"a lamp cannot be called {self.name!r}; give it a name of its own, on one line."
            )
        for field in ("wavelengths_nm", "power"):
            try:
                numbers = tuple(float(v) for v in getattr(self, field))
            except (TypeError, ValueError, OverflowError):
                raise InputError(
                    f"lamp '{self.name}': its {field} are not all numbers; list one for each."
                ) from None
            object.__setattr__(self, field, numbers)
        _check_lamp(self)

    def __str__(self) -> str:
        return self.name


def _check_lamp(lamp: Lamp) -> None:
    nm, power = np.array(lamp.wavelengths_nm), np.array(lamp.power)
    what = f"lamp '{lamp.name}'"
    if nm.shape != power.shape or not nm.size:
        raise InputError(
            f"{what} has {power.size} values of power for {nm.size} wavelengths; give one for each."
        )
    if not np.isfinite(nm).all() or nm.min() < FARTHEST_NM[0] or nm.max() > FARTHEST_NM[1]:
        raise InputError(
            f"{what} has wavelengths from {nm.min():g} to {nm.max():g}; give nanometers, from 400 "
            "or below to 700 or above."
        )
    steps = np.diff(nm)
    if (steps <= 0).any():
        raise InputError(
            f"{what}: the wavelengths must rise, but {nm[1:][steps <= 0][0]:g} nm is doubled or "
            "out of order; sort them."
        )
    if nm[0] > SEEN_NM[0] or nm[-1] < SEEN_NM[1]:
        raise InputError(
            f"{what} was read from {nm[0]:g} to {nm[-1]:g} nm; it has to reach from 400 nm or "
            "below to 700 nm or above."
        )
    if steps.max() > WIDEST_LAMP_STEP_NM + 1e-6:
        raise InputError(
            f"{what} has too few wavelengths: a gap of {steps.max():g} nm above "
            f"{nm[:-1][steps.argmax()]:g} nm; steps of at most {WIDEST_LAMP_STEP_NM:g} nm are "
            "needed, 5 or less for tubes and LEDs."
        )
    dark = ~np.isfinite(power) | (power < 0)
    if dark.any():
        raise InputError(
            f"{what} has the power {power[dark][0]:g} at {nm[dark][0]:g} nm; power is a number, 0 "
            "or more: set what an instrument reads below 0 for noise to 0."
        )
    seen = power[(nm >= SEEN_NM[0]) & (nm <= SEEN_NM[1])]
    if not seen.max() > 0:
        raise InputError(f"{what} gives no light from 400 to 700 nm: every value is 0.")


def stated_light(said: object) -> str | Lamp:
    """A light as inksim's own files say it: a name, or a lamp as `dataclasses.asdict` gives it.

    Raises InputError for anything else.
    """
    if isinstance(said, str):
        return said
    if isinstance(said, dict) and said.keys() == {"name", "wavelengths_nm", "power"}:
        return Lamp(**said)
    raise InputError("a light is a name, or the name, wavelengths_nm and power of a lamp.")


@cache
def _table() -> dict[str, FloatArray]:
    with np.load(_TABLE) as stored:
        names = [str(name) for name in stored["lights"]]
        table = dict(zip(names, stored["weights"], strict=True))
    for array in table.values():
        array.setflags(write=False)
    return table


@lru_cache(maxsize=64)
def _weights_of_lamp(lamp: Lamp, observer: int) -> FloatArray:
    """Weights (31, 3) of a measured lamp, as those of the CIE's: Σ over nm of L(λ) S(λ) x̄(λ).

    Between its wavelengths S is a straight line, beyond them it keeps its end value (CIE 15); of
    wavelengths closer than 1 nm each nanometer takes the mean.
    """
    power = np.array(lamp.power)
    power /= power.max()
    if np.diff(lamp.wavelengths_nm).min() < 1.0:
        fine = (_NM[:, None] + np.linspace(-0.45, 0.45, 10)).ravel()
        at_nm = np.interp(fine, lamp.wavelengths_nm, power).reshape(-1, 10).mean(axis=1)
    else:
        at_nm = np.interp(_NM, lamp.wavelengths_nm, power)
    with np.load(_TABLE) as stored:
        cmfs = stored["cmfs"][OBSERVERS.index(observer)]
        made = stored["interpolation"] @ (at_nm[:, None] * cmfs)
    made *= 100.0 / (at_nm @ cmfs[:, 1])
    made.setflags(write=False)
    return np.asarray(made)


def weights(light: str | Lamp, observer: int) -> FloatArray:
    """Tristimulus weights (31, 3), read-only: XYZ = reflectance @ weights.

    ASTM E2022 at 10 nm, ends folded per ASTM E308; the perfect diffuser has Y = 100.
    Raises InputError for a light or observer that is not in LIGHTS, OBSERVERS.
    """
    if observer not in OBSERVERS:
        raise InputError(f"the observer is {observer}; choose 2 (degrees, CIE 1931) or 10 (1964).")
    if isinstance(light, Lamp):
        return _weights_of_lamp(light, observer)
    if light not in LIGHTS:
        raise InputError(f"there is no light '{light}'; choose one of {', '.join(LIGHTS)}.")
    return np.asarray(_table()[light][OBSERVERS.index(observer)])


def white_xyz(light: str | Lamp, observer: int) -> FloatArray:
    """XYZ (3,) of the perfect diffuser: the sum of the weights, so Y = 100."""
    return np.asarray(weights(light, observer).sum(axis=0))
