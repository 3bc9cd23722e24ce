"""A reading of a real print: what was printed, what was read, and how sure the reading is."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple, Protocol

import numpy as np

from inksim.colour import Viewing, check_plausible_lab, lab as lab_of
from inksim.common import FloatArray, InputError
from inksim.printing import Build
from inksim.stock import (
    MEAN_LENGTH,
    MOST_OFF_DE00,
    READING_DE00,
    LabNoise,
    frozen_spectrum,
    stated_noise,
)


class Sureness(NamedTuple):
    """How far a reading is from the print's true color, mean ΔE00.

    each: of one measurement, less in a mean of several; always: what no mean takes away.
    """

    each: float
    always: float

    def of_mean(self, count: float) -> float:
        """How far the mean of so many measurements is off."""
        return float(np.hypot(self.each / np.sqrt(count), self.always))


READ_BY: Mapping[str, Sureness] = MappingProxyType(
    {
        "instrument": Sureness(READING_DE00, 0.0),
        "camera": Sureness(0.9, 1.8),
        "eye": Sureness(1.7, 2.5),
    }
)
"""By what a print was read with [assumption]. Instrument: place, repeat, pressure. Camera: one that
was calibrated to a chart is 1 to 1.7 ΔE00 off on textiles by that alone, whatever is read how
often. Eye: held against a fan of colors, which has steps."""
REPEATS_ASSUMED = 4.0
"""How many repeats the table counts for, beside those that a print has [assumption]: two that
happen to agree do not make an instrument exact."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PrintReading:
    """A reading of a real print: the build, and its spectrum or Lab.

    Parameters
    ----------
    build : with the inks as filed, not as a calibrated press prints them (`Shop.before`).
    reflectance : (31,) external, 45:0 or specular excluded; or
    lab : (3,) under `viewing`, where there is no spectrum.
    weight : how many measurements the reading is the mean of; above 0.
    read_by : what it was read with, a word of `READ_BY`, or any other with sd_de00.
    sd_de00 : how far the reading, the mean if it is one, is from the print's true color, mean ΔE00;
        None: as `read_by` and `weight` let expect.
    shared_de00, picture : the further error that all readings of one picture have in common, mean
        ΔE00, and the picture's key, which a mean over several pictures has from all of them
        (`stock.LabNoise`).
    coverage, lines_per_inch : of the top color's halftone; 1 and None for a solid.
    garment_lot, ink_lot, base_lot : of the cloth, the color and the base; '' is not known.
    date : YYYY-MM-DD; '' is not known.

    Raises
    ------
    InputError : a value that no reading has, or an unknown `read_by` without its sd.
    """

    name: str
    build: Build
    reflectance: FloatArray | None = None
    lab: FloatArray | None = None
    viewing: Viewing = Viewing()
    weight: float = 1.0
    read_by: str = "instrument"
    sd_de00: float | None = None
    shared_de00: float | None = None
    picture: str = ""
    coverage: float = 1.0
    lines_per_inch: float | None = None
    garment_lot: str = ""
    ink_lot: str = ""
    base_lot: str = ""
    source: str = ""
    date: str = ""

    def __post_init__(self) -> None:
        """Check the reading; freeze its spectrum."""
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
        check_sureness(self.read_by, self.sd_de00, where=where)
        stated_noise(self.sd_de00, self.shared_de00, self.picture, where=where)
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
    def off_de00(self) -> float:
        """Mean ΔE00 of the reading from the print's true color, by its own error alone."""
        return self.noise.own

    @property
    def noise(self) -> LabNoise:
        """Its own error and the one it shares."""
        return noise_read(self)

    @property
    def lots(self) -> tuple[str, ...]:
        """Lot of the ink of each layer."""
        return (*[self.base_lot] * (len(self.build.layers) - 1), self.ink_lot)

    @property
    def what(self) -> Hashable:
        """Key of what was printed: equal for two readings of one build from the same lots."""
        layers = tuple(
            (at.ink.name, lot, at.screen.name, at.passes, at.flash)
            for at, lot in zip(self.build.layers, self.lots, strict=True)
        )
        cloth = self.build.garment.name, self.garment_lot
        return (cloth, layers, self.coverage, self.lines_per_inch)


class Read(Protocol):
    """What tells how sure a reading is: see `PrintReading`."""

    @property
    def read_by(self) -> str: ...
    @property
    def sd_de00(self) -> float | None: ...
    @property
    def weight(self) -> float: ...
    @property
    def shared_de00(self) -> float | None: ...
    @property
    def picture(self) -> str: ...


def noise_read(read: Read) -> LabNoise:
    """Noise of a reading: as it states it, or as what it was read by lets expect."""
    own = READ_BY[read.read_by].of_mean(read.weight) if read.sd_de00 is None else read.sd_de00
    return LabNoise(own, read.shared_de00 or 0.0, read.picture)


def check_sureness(read_by: str, sd_de00: float | None, *, where: str) -> None:
    """Refuse a reading of which nobody knows how sure it is."""
    if sd_de00 is not None and not 0 < sd_de00 <= MOST_OFF_DE00:
        raise InputError(
            f"{where}: sd_de00 is {sd_de00:g}; it is how far the reading is off on average, above "
            f"0 and at most {MOST_OFF_DE00:g} ΔE00."
        )
    if sd_de00 is None and read_by not in READ_BY:
        raise InputError(
            f"{where}: read_by is '{read_by}'; give sd_de00 with it, how far it is off on average, "
            f"or one of {', '.join(READ_BY)}."
        )


def repeated_sd(apart_de00: FloatArray, *, read_by: str, weights: FloatArray) -> float:
    """How far the mean of two or more repeats is off, from their ΔE00 (n,) from it.

    The table's variance counts for `REPEATS_ASSUMED` repeats beside them. weights (n,): of how many
    measurements each is the mean.
    """
    each, always = READ_BY[read_by]
    # a squared length in three dimensions is 3 variances; its mean length MEAN_LENGTH sds
    squares = float(weights @ apart_de00**2) * MEAN_LENGTH**2 / 3.0
    spread = (REPEATS_ASSUMED * each**2 + squares) / (REPEATS_ASSUMED + len(weights) - 1.0)
    return Sureness(float(np.sqrt(spread)), always).of_mean(float(weights.sum()))
