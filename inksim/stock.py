"""What every entry of a shop has in common: a checked spectrum and where it came from."""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from inksim.errors import InputError
from inksim.spectra import BANDS, WAVELENGTHS_NM

Provenance = Literal["measured", "recovered", "invented"]
PROVENANCES: tuple[str, ...] = get_args(Provenance)
"""From the surest to the least sure."""


def least_sure(*provenances: Provenance) -> Provenance:
    """Return the least certain of several provenances."""
    return max(provenances, key=PROVENANCES.index)


def frozen_spectrum(
    values: npt.ArrayLike, *, what: str, most: float = np.inf
) -> npt.NDArray[np.float64]:
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
