"""How far an ink's K and S may be off, by its own account or by where they come from."""

from __future__ import annotations

from inksim.stock.ink import Ink
from inksim.stock.spectral_error import SpectralError, prior_ink_error


def error_of(ink: Ink) -> SpectralError:
    """Return an ink's own error; without one, that of inks of its provenance."""
    if ink.error is not None:
        return ink.error
    return prior_ink_error(ink.data)
