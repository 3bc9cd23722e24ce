"""A patch or a region as a picture has it, and the color read from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inksim.common import FloatArray, InputError


def frozen(values: ArrayLike, *, what: str) -> FloatArray:
    """A read-only copy of three finite numbers.

    Raises
    ------
    InputError : other than three, or one that is not finite.
    """
    three = np.array(values, dtype=np.float64)
    if three.shape != (3,) or not np.isfinite(three).all():
        raise InputError(f"{what} is {values!r}; it needs three finite numbers.")
    three.flags.writeable = False
    return three


@dataclass(frozen=True, kw_only=True, eq=False)
class Seen:
    """One patch of a chart, or one region to be read, as a picture has it.

    Parameters
    ----------
    rgb : (3,) mean over its pixels, linear as far as the file's own curve says (the embedded
        profile's, else sRGB's), 0..1; not corrected by a chart yet.
    rgb_sd : (3,) standard deviation of that mean: noise of the pixels, the cloth's knit.
    x, y : its center, as share of the picture's width and height from the upper left corner.
    clipped : share of its pixels that are at an end of the scale in some channel, 0..1.

    Raises
    ------
    InputError : not three finite numbers, an sd below 0, or a share that is none.
    """

    name: str
    rgb: FloatArray
    rgb_sd: FloatArray
    x: float
    y: float
    clipped: float = 0.0

    def __post_init__(self) -> None:
        """Check and freeze."""
        where = f"region '{self.name}'"
        object.__setattr__(self, "rgb", frozen(self.rgb, what=f"{where}: rgb"))
        object.__setattr__(self, "rgb_sd", frozen(self.rgb_sd, what=f"{where}: rgb_sd"))
        if np.any(self.rgb_sd < 0):
            raise InputError(f"{where}: rgb_sd is {self.rgb_sd}; none may be below 0.")
        if not 0 <= self.clipped <= 1:
            raise InputError(f"{where}: clipped is {self.clipped:g}; it is a share, 0 to 1.")
        if not (np.isfinite(self.x) and np.isfinite(self.y)):
            raise InputError(f"{where}: its place ({self.x:g}, {self.y:g}) is not in the picture.")


@dataclass(frozen=True, kw_only=True, eq=False)
class PhotoReading:
    """The color of one region, read through a camera.

    Parameters
    ----------
    lab : (3,) CIELAB, D50/2°, of the cloth or the print itself.
    lab_sd : (3,) standard deviation of L*, a*, b*, the part of this reading alone.
    shared_sd : (3,) the part common to all readings of the picture (exposure, light, chart).
    sd_de00, shared_de00 : the same two as mean ΔE00 from the true color, as
        `calibration.PrintReading.sd_de00` means it.
    notes : what to know of it, sentences.
    """

    name: str
    lab: FloatArray
    lab_sd: FloatArray
    shared_sd: FloatArray
    sd_de00: float
    shared_de00: float
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Freeze the arrays."""
        for each in ("lab", "lab_sd", "shared_sd"):
            what = f"reading '{self.name}': {each}"
            object.__setattr__(self, each, frozen(getattr(self, each), what=what))

    @property
    def total_sd(self) -> FloatArray:
        """Standard deviation (3,) of L*, a*, b*, both parts together."""
        return np.asarray(np.hypot(self.lab_sd, self.shared_sd))

    @property
    def total_de00(self) -> float:
        """Mean ΔE00 from the true color, both parts together."""
        return float(np.hypot(self.sd_de00, self.shared_de00))
