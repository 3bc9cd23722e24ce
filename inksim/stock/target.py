"""Target colors: from a reading, a Lab value or a hex code."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from inksim.colour import (
    D50,
    Viewing,
    check_plausible_lab,
    hex_code,
    lab,
    lab_alike,
    lab_from_hex,
    xyz_from_lab,
)
from inksim.common import FloatArray, InputError, shortened
from inksim.stock.provenance import Provenance, frozen_spectrum

_NUMBER = r"[-+]?\d+(?:\.\d+)?"
_LAB = re.compile(rf"^(?:lab)?[\s:(]*({_NUMBER})[\s,;/]+({_NUMBER})[\s,;/]+({_NUMBER})\)?$", re.I)
_HEX = re.compile(r"^#?(?:[0-9a-f]{3}|[0-9a-f]{6})$", re.I)


@dataclass(frozen=True, kw_only=True, eq=False)
class Target:
    """A color to reach; `Shop.target` makes one of a name, a hex code or Lab.

    Parameters
    ----------
    name : how messages call it.
    lab_d50 : (3,) CIELAB under D50, 2° observer.
    reflectance : (31,) external, where the target was read as a spectrum.

    Raises
    ------
    InputError : no three finite numbers; a spectrum not of 31 values, or outside 0 to 1.5.
    """

    name: str
    lab_d50: FloatArray
    reflectance: FloatArray | None = None
    data: Provenance = "measured"
    note: str = ""
    source: str = ""

    def __post_init__(self) -> None:
        """Refuse what is no color, and keep read-only copies."""
        coordinates = np.array(self.lab_d50, dtype=np.float64)
        if coordinates.shape != (3,) or not np.all(np.isfinite(coordinates)):
            raise InputError(
                f"target '{self.name}': lab_d50 needs three finite numbers L, a, b, "
                f"not {coordinates.tolist()}."
            )
        coordinates.flags.writeable = False
        object.__setattr__(self, "lab_d50", coordinates)
        if self.reflectance is not None:
            what = f"target '{self.name}': reflectance"
            spectrum = frozen_spectrum(self.reflectance, what=what, most=1.5)
            object.__setattr__(self, "reflectance", spectrum)

    def lab(self, viewing: Viewing) -> FloatArray:
        """Lab under a viewing: from the spectrum, or else of what looks alike (`lab_alike`)."""
        if self.reflectance is not None:
            return lab(self.reflectance, viewing)
        return lab_alike(self.lab_d50, stated=D50, seen=viewing)

    @property
    def hex_d50(self) -> str:
        """Hex code under D50, the nearest one where sRGB does not hold the color."""
        return self.hex()[0]

    def hex(self, viewing: Viewing = D50) -> tuple[str, bool]:
        """Hex code under a viewing, and whether the color is inside the sRGB gamut.

        That of a target without a spectrum is the same under every lamp, as is an artwork's.
        """
        code, inside = hex_code(xyz_from_lab(self.lab(viewing), viewing), viewing)
        return code, inside


def target_from_reflectance(
    reflectance: npt.ArrayLike, *, name: str, data: Provenance = "measured", note: str = ""
) -> Target:
    """Make a target of a reading (31,)."""
    spectrum = frozen_spectrum(reflectance, what=f"target '{name}'", most=1.5)
    return Target(name=name, lab_d50=lab(spectrum, D50), reflectance=spectrum, data=data, note=note)


def target_from_lab(
    value: npt.ArrayLike, *, name: str, data: Provenance = "measured", note: str = ""
) -> Target:
    """Make a target of CIELAB coordinates (3,), D50/2°.

    Raises
    ------
    InputError : L* outside 0..100, or a* or b* beyond ±150.
    """
    coordinates = check_plausible_lab(value, where=f"target '{name}'")
    return Target(name=name, lab_d50=coordinates, data=data, note=note)


def target_from_hex(
    code: str, *, name: str | None = None, data: Provenance = "recovered", note: str = ""
) -> Target:
    """Make a target of an sRGB hex code."""
    return Target(
        name=name or "#" + code.lstrip("#").lower(),
        lab_d50=lab_from_hex(code, D50),
        data=data,
        note=note,
    )


def parse_target(text: str) -> Target | None:
    """Read '#e8622c' or '62,48,50' (Lab, D50/2°); None if it is neither, e.g. a name.

    Raises
    ------
    InputError : a Lab value out of range, or a malformed hex code.
    """
    stripped = text.strip()
    if found := _LAB.match(stripped):
        return target_from_lab([float(v) for v in found.groups()], name=f"Lab {stripped}")
    if stripped.startswith("#") or (_HEX.match(stripped) and re.search(r"\d", stripped)):
        if not _HEX.match(stripped):
            raise InputError(
                f"'{shortened(text)}' is not a color: write hex as #rrggbb, or Lab as 62,48,50."
            )
        return target_from_hex(stripped)
    return None
