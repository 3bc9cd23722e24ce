"""Opacity of a film: contrast ratio on a card, and the thickness that reaches a given ratio.

Contrast ratio is Y over black / Y over white of what an instrument reads (ISO 6504-3, ASTM D2805),
so always of external reflectances. It depends on the card: the standard's own has Y 80 and at most
5, and with another card its own readings belong here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inksim.colour import BANDS, Viewing, contrast_ratio, xyz
from inksim.common import FloatArray, InputError
from inksim.optics import (
    SURFACE,
    Surface,
    external_from_internal,
    film_over,
    internal_from_external,
)
from inksim.stock import CARD_BLACK, CARD_WHITE

OPAQUE = 0.98
"""The contrast ratio that is commonly called opaque."""
THINNEST_UM, THICKEST_UM, STEPS = 1e-3, 1e4, 141
"""Range searched for a thickness; steps of 12 % on a logarithmic scale."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Card:
    """A drawdown card: external reflectance (31,) of its black and its white part."""

    black: FloatArray
    white: FloatArray
    name: str = "card"

    def contrast(self, viewing: Viewing) -> tuple[float, float]:
        """Y of the bare black and white part."""
        black, white = (float(xyz(part, viewing)[1]) for part in (self.black, self.white))
        return black, white


def flat_card(black: float = CARD_BLACK, white: float = CARD_WHITE) -> Card:
    """Return a spectrally flat card; the defaults are the card of ISO 6504-3.

    Raises
    ------
    InputError : unless 0 < black < white < 0.96.
    """
    if not 0.0 < black < white < 1.0 - SURFACE.k1:
        raise InputError(
            f"the card's black reflects {black:g} and its white {white:g}; black must be above 0 "
            "and below white, white below 0.96."
        )
    return Card(black=np.full(BANDS, black), white=np.full(BANDS, white))


def film_contrast_ratio(
    K: ArrayLike,
    S: ArrayLike,
    *,
    thickness_um: ArrayLike,
    card: Card,
    viewing: Viewing,
    surface: Surface = SURFACE,
) -> FloatArray:
    """Contrast ratio (...) of films of K, S (31,) per µm and thickness (...) over a card.

    With Surface(0, 0) there is no surface: the contrast ratio is then internal.
    """
    x = np.asarray(thickness_um, dtype=float)[..., None]
    over_black, over_white = (
        external_from_internal(
            film_over(K, S, thickness_um=x, backing=internal_from_external(part, surface=surface)),
            surface=surface,
        )
        for part in (card.black, card.white)
    )
    return contrast_ratio(over_black, over_white, viewing)


def covering_thickness_um(
    K: ArrayLike,
    S: ArrayLike,
    *,
    card: Card,
    viewing: Viewing,
    ratio: float = OPAQUE,
    surface: Surface = SURFACE,
) -> float | None:
    """Least dry film, µm, that reaches a contrast ratio; None if none up to 10 mm does.

    Without scattering a film darkens black and white alike and may never cover.

    Raises
    ------
    InputError : unless 0 < ratio < 1.
    """
    if not 0.0 < ratio < 1.0:
        raise InputError(f"the contrast ratio is {ratio:g}; it must be between 0 and 1.")
    if not np.any(S):
        return None  # what a thick one does not reflect is less than a double holds
    trial = np.geomspace(THINNEST_UM, THICKEST_UM, STEPS)

    def short_of(thickness_um: float | FloatArray) -> FloatArray:
        reached = film_contrast_ratio(
            K, S, thickness_um=thickness_um, card=card, viewing=viewing, surface=surface
        )
        return np.asarray(reached - ratio)

    covers = np.flatnonzero(short_of(trial) >= 0.0)
    if covers.size == 0:
        return None
    first = int(covers[0])
    if first == 0:
        return float(trial[0])
    from scipy.optimize import brentq

    found = brentq(lambda t: float(short_of(t)), trial[first - 1], trial[first], xtol=1e-9)
    return float(np.asarray(found))
