"""A garment: reflectance and fibers of the cloth, and how its dye discharges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np

from inksim.colour import D50, delta_e_2000, lab
from inksim.common import FloatArray, InputError
from inksim.optics import SURFACE
from inksim.stock.lab_noise import LabNoise
from inksim.stock.provenance import Provenance, frozen_spectrum
from inksim.stock.ranges import FabricWeight, Grade, Share

CELLULOSIC = ("cotton", "viscose", "linen", "lyocell", "modal", "hemp")
FIBRES = (*CELLULOSIC, "polyester", "elastane", "nylon", "acrylic", "wool", "silk")
BRIGHTEST = 1.0 - SURFACE.k1
"""Highest reading of a sample without fluorescence, 45:0 or specular excluded."""

DISCHARGE_SHARE: Mapping[int, float] = MappingProxyType(
    {1: 0.10, 2: 0.60, 3: 0.94, 4: 0.985, 5: 0.997}
)
"""Share of the dye's K/S that a full discharge removes, by grade [assumption].

A black at K/S 12 is left at 0.04, an off-white of L* near 77, only when 99.7 % is gone: grades run
close to 1 at the good end because the eye sees the remainder, not the loss.
"""


WHITE_LAB = (96.0, 0.0, 0.0)
"""A white that nothing has to be laid under, D50/2° [assumption]: a good white cloth or base."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Garment:
    """One garment of the stock.

    Parameters
    ----------
    reflectance : (31,) external reflectance factor of the dyed cloth.
    fibers : share of each fiber, by mass, summing to 1.
    undyed : (31,) the same cloth before dyeing; needed to predict a discharge base.
    discharge_grade : 1 (dye does not discharge) … 5 (discharges fully); None: not known.
    discharged : (31,) reading of the cloth itself after a full discharge; beats the grade.
    weight_g_m2 : of the cloth.
    noise : how far off the color is that the reflectance was recovered from, where it states that.
    """

    name: str
    reflectance: FloatArray
    fibers: Mapping[str, Share]
    undyed: FloatArray | None = None
    discharge_grade: Grade | None = None
    discharged: FloatArray | None = None
    weight_g_m2: FabricWeight = 180.0
    data: Provenance = "invented"
    noise: LabNoise | None = None
    source: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse what no cloth can be."""
        for field in ("reflectance", "undyed", "discharged"):
            values = getattr(self, field)
            if values is not None:
                what = f"garment '{self.name}': {field}"
                spectrum = frozen_spectrum(values, what=what, most=BRIGHTEST)
                if spectrum.min() <= 0:
                    raise InputError(f"{what} holds a zero; cloth reflects something everywhere.")
                object.__setattr__(self, field, spectrum)
        strange = [fibre for fibre in self.fibers if fibre not in FIBRES]
        if strange:
            raise InputError(
                f"garment '{self.name}': fibers has '{strange[0]}'; known: {', '.join(FIBRES)}."
            )
        total = sum(self.fibers.values())
        if abs(total - 1.0) > 1e-6 or any(share < 0 for share in self.fibers.values()):
            raise InputError(
                f"garment '{self.name}': the fiber shares must be 0 or more and sum to 1, "
                f"but sum to {total:g}."
            )
        if self.discharge_grade is not None and self.discharge_grade not in DISCHARGE_SHARE:
            raise InputError(
                f"garment '{self.name}': discharge_grade is {self.discharge_grade}; it runs from "
                "1 (does not discharge) to 5 (discharges fully)."
            )
        object.__setattr__(self, "fibers", MappingProxyType(dict(self.fibers)))

    @property
    def cotton(self) -> float:
        """Share of cotton, 0..1."""
        return float(self.fibers.get("cotton", 0.0))

    @property
    def cellulose(self) -> float:
        """Share of fibers whose dyes a discharge agent reaches, 0..1."""
        return float(sum(share for fibre, share in self.fibers.items() if fibre in CELLULOSIC))

    @property
    def polyester(self) -> float:
        """Share of polyester, 0..1: its dyes can migrate into a print."""
        return float(self.fibers.get("polyester", 0.0))

    @cached_property
    def de00_from_white(self) -> float:
        """ΔE00 between the cloth and white (`WHITE_LAB`), both under D50/2°."""
        return float(delta_e_2000(lab(self.reflectance, D50), np.array(WHITE_LAB)))

    @property
    def discharge_is_known(self) -> bool:
        """Whether a discharge base can be predicted at all on this cloth."""
        return self.discharged is not None or (
            self.undyed is not None and self.discharge_grade is not None
        )
