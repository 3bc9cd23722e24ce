"""How far the spectra of a stock may be off: as its entries say, or as provenance lets expect."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from inksim.colour import BANDS
from inksim.stock.garment import Garment
from inksim.stock.ink import Ink
from inksim.stock.spectral_error import ClothError, SpectralError, cloth_error, prior_ink_error


def error_of(ink: Ink) -> SpectralError:
    """How far an ink's K and S may be off."""
    return prior_ink_error(ink.data) if ink.error is None else ink.error


@lru_cache(maxsize=1024)
def error_of_cloth(garment: Garment) -> ClothError:
    """How far a garment's K/S may be off."""
    return cloth_error(garment.reflectance, data=garment.data, noise=garment.noise)


def with_film_sd(error: SpectralError, sd: float) -> SpectralError:
    """Add that ln of the printed film has this standard deviation: it scales K and S alike."""
    film = np.full((1, 2, BANDS), sd)
    return SpectralError(K=error.K, S=error.S, shapes=np.concatenate([film, error.shapes]))
