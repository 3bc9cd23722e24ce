"""A reading of a real print: what was printed, and what the instrument saw."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np

from inksim.colour import Viewing, check_plausible_lab, lab as lab_of
from inksim.common import FloatArray, InputError
from inksim.printing import Build
from inksim.stock import frozen_spectrum


@dataclass(frozen=True, kw_only=True, eq=False)
class PrintReading:
    """One print and its reading.

    Parameters
    ----------
    name : how messages call it; no two in one calibration may share it.
    build : with the inks as filed, not as a calibrated press prints them (`Shop.before`).
    reflectance : (31,) external, 45:0 or specular excluded; or
    lab : (3,) under `viewing`, where there is no spectrum.
    weight : how many measurements the reading is the mean of; above 0.
    coverage, lines_per_inch : of the top color's halftone; 1 and None for a solid.
    """

    name: str
    build: Build
    reflectance: FloatArray | None = None
    lab: FloatArray | None = None
    viewing: Viewing = Viewing()
    weight: float = 1.0
    coverage: float = 1.0
    lines_per_inch: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        """Refuse what no reading of a print can be."""
        where = f"reading '{self.name}'"
        if (self.reflectance is None) == (self.lab is None):
            raise InputError(f"{where}: give a spectrum or Lab, one of them.")
        if self.reflectance is not None:
            spectrum = frozen_spectrum(self.reflectance, what=where, most=1.5)
            object.__setattr__(self, "reflectance", spectrum)
        else:
            listed = check_plausible_lab(np.asarray(self.lab, dtype=np.float64), where=where)
            object.__setattr__(self, "lab", listed)
        if not 0 < self.weight < np.inf:
            raise InputError(
                f"{where}: weight is {self.weight:g}; it is how many measurements the reading is "
                "the mean of, above 0."
            )
        if not 0 < self.coverage <= 1:
            raise InputError(
                f"{where}: coverage is {self.coverage:g}; it is the top color's share of the area, "
                "above 0 and at most 1."
            )
        if self.coverage < 1 and not (self.lines_per_inch or 0) > 0:
            raise InputError(
                f"{where}: a halftone of {self.coverage:.0%} needs its lines per inch."
            )

    @property
    def seen(self) -> FloatArray:
        """Lab (3,) under `viewing`."""
        if self.reflectance is not None:
            return lab_of(self.reflectance, self.viewing)
        assert self.lab is not None
        return self.lab

    @property
    def what(self) -> Hashable:
        """What was printed; two readings of one build have the same."""
        layers = tuple(
            (at.ink.name, at.screen.name, at.passes, at.flash) for at in self.build.layers
        )
        return (self.build.garment.name, layers, self.coverage, self.lines_per_inch)
