"""XYZ and CIELAB of a reflectance under a viewing: a light and an observer.

XYZ is scaled to Y = 100 for the perfect diffuser. Functions take any leading shape.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inksim.colour.cielab import cielab_from_xyz, xyz_from_cielab
from inksim.colour.lights import Lamp, weights, white_xyz
from inksim.common import FloatArray, InputError


@dataclass(frozen=True)
class Viewing:
    """The light and the observer a color is stated for; prints as "D50/2°".

    Graphic arts use D50/2° (ISO 13655), textile buyers D65/10° (ISO 105-J01).

    light : one of `inksim.colour.LIGHTS`, or a `Lamp` that was measured.
    observer : 2 or 10 degrees.

    Raises InputError for others.
    """

    light: str | Lamp = "D50"
    observer: int = 2

    def __post_init__(self) -> None:
        weights(self.light, self.observer)  # raises if either is unknown

    def __str__(self) -> str:
        return f"{self.light}/{self.observer}°"

    @property
    def white(self) -> FloatArray:
        """XYZ (3,) of the perfect diffuser."""
        return white_xyz(self.light, self.observer)


D50 = Viewing()
"""Where nothing else is stated."""


def xyz(reflectance: ArrayLike, viewing: Viewing) -> FloatArray:
    """XYZ (..., 3) of external reflectance (..., 31), ASTM E308 with E2022 weights."""
    return np.asarray(reflectance, dtype=float) @ weights(viewing.light, viewing.observer)


def lab_from_xyz(xyz: ArrayLike, viewing: Viewing) -> FloatArray:
    """CIELAB (..., 3) of XYZ (..., 3), ISO/CIE 11664-4, against the viewing's white."""
    return cielab_from_xyz(xyz, white=viewing.white)


def xyz_from_lab(lab: ArrayLike, viewing: Viewing) -> FloatArray:
    """XYZ (..., 3) of CIELAB (..., 3), the inverse of lab_from_xyz."""
    return xyz_from_cielab(lab, white=viewing.white)


def lab(reflectance: ArrayLike, viewing: Viewing) -> FloatArray:
    """CIELAB (..., 3) of external reflectance (..., 31), as seen under a viewing.

    reflectance : factors at 400-700 nm, 10 nm apart; 1 is the perfect diffuser.
    viewing : the light and the observer.
    """
    return lab_from_xyz(xyz(reflectance, viewing), viewing)


def is_plausible_lab(lab: ArrayLike) -> bool:
    """Whether every CIELAB (..., 3) has L* in 0..100, and a* and b* in ±150."""
    lab = np.asarray(lab, dtype=float)
    lightness = lab[..., 0]
    return bool(
        np.all((lightness >= 0.0) & (lightness <= 100.0)) and np.all(np.abs(lab[..., 1:]) <= 150.0)
    )


def check_plausible_lab(lab: ArrayLike, *, where: str) -> FloatArray:
    """The CIELAB value (3,) as an array; raises InputError naming ``where`` if not plausible."""
    values = np.asarray(lab, dtype=float)
    if values.shape != (3,):
        raise InputError(f"{where}: Lab has {values.size} numbers; give three: L, a, b.")
    if not is_plausible_lab(values):
        stated = ", ".join(f"{v:g}" for v in values)
        raise InputError(
            f"{where}: Lab {stated} is out of range; L is 0 to 100, a and b are -150 to 150."
        )
    return values
