"""How far an ink's K and S may be off, by its own account or by where they come from."""

from __future__ import annotations

import numpy as np

from inksim.colour import BANDS
from inksim.stock.ink import Ink
from inksim.stock.provenance import INK_K_SD, INK_S_SD
from inksim.stock.spectral_error import SpectralError


def error_of(ink: Ink) -> SpectralError:
    """Return an ink's own error; without one, that of inks of its provenance."""
    if ink.error is not None:
        return ink.error
    return SpectralError(K=INK_K_SD[ink.data], S=INK_S_SD[ink.data], shapes=np.zeros((0, 2, BANDS)))


def with_film_sd(error: SpectralError, sd: float) -> SpectralError:
    """Add that ln of the printed film has this standard deviation: it scales K and S alike."""
    film = np.full((1, 2, BANDS), sd)
    return SpectralError(K=error.K, S=error.S, shapes=np.concatenate([film, error.shapes]))
