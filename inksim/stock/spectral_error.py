"""How far the spectra of a stock may be off: independent directions in ln K, ln S and ln K/S.

What is not known of an ink is not its strength alone. An ink known by a color, not by a reading,
has the wrong *shape* over wavelength as well; a fit to drawdowns knows some bands well and some
hardly. So an error is a strength common to all bands, K and S apart, and a few smooth directions
besides, each a pattern over the bands that one standard deviation moves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inksim.colour import BANDS
from inksim.common import FloatArray, InputError

MOST_SD = 5.0
"""Of a logarithm: a factor of 150. More is not an error but no knowledge at all."""


@dataclass(frozen=True, kw_only=True, eq=False)
class SpectralError:
    """Standard deviations of an ink's ln K and ln S.

    Parameters
    ----------
    K, S : of ln K and ln S, common to all bands, 0 to `MOST_SD`; independent.
    shapes : (D, 2, 31) further directions, independent of these and of each other: what one
        standard deviation adds to ln K (first row) and ln S (second row) of each band.

    Raises
    ------
    InputError : a standard deviation out of range, or shapes that are not (D, 2, 31) and finite.
    """

    K: float
    S: float
    shapes: FloatArray

    def __post_init__(self) -> None:
        """Refuse what is no error; keep the shapes read-only."""
        for field in ("K", "S"):
            if not 0 <= getattr(self, field) <= MOST_SD:
                raise InputError(
                    f"the standard deviation of ln {field} is {getattr(self, field):g}; give 0 to "
                    f"{MOST_SD:g}."
                )
        shapes = np.array(self.shapes, dtype=np.float64).reshape(-1, 2, BANDS)
        if not np.all(np.abs(shapes) <= MOST_SD):
            raise InputError(f"a direction of an ink's error leaves ±{MOST_SD:g}.")
        shapes.flags.writeable = False
        object.__setattr__(self, "shapes", shapes)

    def total(self) -> tuple[FloatArray, FloatArray]:
        """Standard deviation (31,) of ln K and of ln S in each band, all directions together."""
        square = np.sum(self.shapes**2, axis=0)
        return np.sqrt(square[0] + self.K**2), np.sqrt(square[1] + self.S**2)
