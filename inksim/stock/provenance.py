"""Provenance of spectra, and prior standard deviations of the inputs by provenance.

The standard deviations are [assumption]: no source gives them for garment printing. A calibration
learns from a shop's own prints how far its inks are off (`Press.ink_sd_factor`) and what the model
itself leaves (`Press.model_sd`). What an ink's entry states (`Ink.error`) goes before them, and the
shapes that go with them are in spectral_error.py.
"""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from inksim.colour import BANDS, WAVELENGTHS_NM
from inksim.common import FloatArray, InputError

Provenance = Literal["measured", "photo", "recovered", "invented"]
PROVENANCES: tuple[str, ...] = get_args(Provenance)
"""From the most to the least certain."""

INK_K_SD: dict[Provenance, float] = {
    "measured": 0.025, "photo": 0.15, "recovered": 0.55, "invented": 0.25
}  # fmt: skip
"""Standard deviation of ln K of an ink, all bands together, by provenance. Measured: a pigment sold
as 100 ± 5 % strong (common practice, no source) is within that 19 times in 20."""
INK_S_SD: dict[Provenance, float] = {
    "measured": 0.035, "photo": 0.25, "recovered": 1.10, "invented": 0.30
}  # fmt: skip
"""Standard deviation of ln S of an ink, all bands together, by provenance. An ink read by photo
states its own error (`ink_from_look`); its numbers here are for one that lost it."""
CLOTH_KS_SD: dict[Provenance, float] = {
    "measured": 0.03, "photo": 0.03, "recovered": 0.08, "invented": 0.10
}  # fmt: skip
"""Standard deviation of ln K/S of a cloth, from lot to lot and by provenance. The noise of a photo
comes on top (`spectral_error.cloth_error`)."""
DISCHARGE_LEFT_SD = {True: 0.15, False: 0.60}
"""Standard deviation of ln (dye left): True for a discharged reading, False for a grade."""

READING_DE00 = 0.5
"""Mean ΔE00 of an instrument's reading from the print's true color: place, repeat, pressure."""
MEAN_LENGTH = float(np.sqrt(8.0 / np.pi))
"""Mean length of a standard normal vector in three dimensions: 2·√(2/π) = 1.596. It makes a mean
ΔE00 of an sd of each of three axes."""
MODEL_SD_PRIOR: dict[Provenance, tuple[float, float]] = {
    "measured": (0.1, 1.2), "photo": (0.8, 0.5), "recovered": (0.8, 0.5), "invented": (0.4, 0.7)
}  # fmt: skip
"""Of `Press.model_sd` in a calibration by the least certain ink: median, and sd of its logarithm.
Chosen in simulation, as is the next: low and wide enough for prints that fit exactly to be believed
(tests/accuracy/calibration_study.py), and as high as that lets it for prints of a model that leaves
more (tests/accuracy/chances.py). The many shapes of recovered inks fit any six prints, so that
these say little of what the model leaves: it is mostly assumed. The wide errors of invented inks
cover most of it."""
INK_SD_FACTOR_PRIOR: dict[Provenance, tuple[float, float]] = {
    "measured": (0.05, 2.0), "photo": (1.0, 0.5), "recovered": (1.0, 0.5), "invented": (1.0, 0.5)
}  # fmt: skip
"""Of `Press.ink_sd_factor` in a calibration: median, and sd of its logarithm. Measured inks may
well be as their entries say; of others nobody would think so before many prints."""
CAUTIOUS_INK_SD_FACTOR: dict[Provenance, float] = {
    "measured": 2.0, "photo": 1.0, "recovered": 1.0, "invented": 1.0
}  # fmt: skip
CAUTIOUS_MODEL_SD = 0.25
"""Both before anything is learned: to start a fit, to look for wrong readings, and to choose which
prints to read."""


def least_sure(*provenances: Provenance) -> Provenance:
    """Return the least certain of several provenances."""
    return max(provenances, key=PROVENANCES.index)


def frozen_spectrum(values: npt.ArrayLike, *, what: str, most: float = np.inf) -> FloatArray:
    """Return a read-only copy of 31 finite values in 0..most.

    Raises
    ------
    InputError : the wrong number of bands, or a value outside the range; names the wavelength.
    """
    spectrum = np.array(values, dtype=np.float64)
    if spectrum.shape != (BANDS,):
        raise InputError(
            f"{what} needs {BANDS} values (400-700 nm at 10 nm), but has {spectrum.size}."
        )
    wrong = ~(np.isfinite(spectrum) & (spectrum >= 0) & (spectrum <= most))
    if wrong.any():
        band = int(np.argmax(wrong))
        limit = "0 or more" if np.isinf(most) else f"between 0 and {most:g}"
        raise InputError(
            f"{what} is {spectrum[band]:g} at {WAVELENGTHS_NM[band]:.0f} nm; "
            f"every value must be {limit}."
        )
    spectrum.flags.writeable = False
    return spectrum
