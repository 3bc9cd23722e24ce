"""Solids of an ink by volume: stated, from its solids by weight, or assumed by its kind."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from inksim.common import InputError

VOLATILE_G_CM3 = 1.0
"""Density of what an ink loses as it dries: water."""
KIND_SOLIDS: dict[str, tuple[float, float]] = {"discharge-base": (0.10, 0.2)}
USUAL_SOLIDS = (0.35, 0.35)
"""Solids by volume by kind, and the sd of their logarithm: high-solids inks have 0.30-0.40,
discharge and classic ones 0.08-0.12 (common practice, no source); a color may be either, which
the wide sd is for [assumption]."""
USUAL_DENSITY_G_CM3: dict[str, float] = {"white-base": 1.3}
"""Of a wet ink whose density is not stated, by kind: white pigment is heavy (common practice, no
source); of all others as `Ink` has it."""
DENSITY_SD = 0.08
"""Of a wet ink's density where it is not stated, g/cm³ [assumption]."""


class DrySolids(NamedTuple):
    """Solids by volume, the sd of their logarithm, and what was assumed ('' for nothing)."""

    by_volume: float
    sd: float
    assumed: str


def solids_of(
    kind: str,
    *,
    by_volume: float | None = None,
    by_weight: float | None = None,
    density_g_cm3: float | None = None,
    usual_density_g_cm3: float = 1.05,
    dry_density_g_cm3: float | None = None,
    volatile_g_cm3: float | None = None,
) -> DrySolids:
    """Return an ink's solids by volume, from what is known of them.

    One cm³ of wet ink of density ρ holds (1 − w)·ρ g of what evaporates, w the solids by weight, so
    by volume (1 − w)·ρ/ρ_volatile; or w·ρ/ρ_dry of dry film, where that density is known. No volume
    is taken to be lost on mixing.

    Parameters
    ----------
    kind : of the ink, for what is not known.
    by_volume, by_weight : 0..1; by_volume is taken where both are given.
    density_g_cm3 : of the wet ink; None: `usual_density_g_cm3`, which is said.
    dry_density_g_cm3 : of the dry film.
    volatile_g_cm3 : of what evaporates, where that of the film is not known; None: water.

    Raises
    ------
    InputError : solids by weight and densities that leave no film, or more than the wet ink.
    """
    if by_volume is not None:
        return DrySolids(by_volume, 0.0, "")
    if by_weight is None:
        usual, sd = KIND_SOLIDS.get(kind, USUAL_SOLIDS)
        return DrySolids(usual, sd, f"solids of {usual:.0%} assumed by kind")
    wet = usual_density_g_cm3 if density_g_cm3 is None else density_g_cm3
    if dry_density_g_cm3 is not None:
        volume, slope = by_weight * wet / dry_density_g_cm3, by_weight / dry_density_g_cm3
    else:
        slope = (1.0 - by_weight) / (volatile_g_cm3 or VOLATILE_G_CM3)
        volume = 1.0 - slope * wet
    if not 0.01 <= volume <= 1.0:
        raise InputError(
            f"solids of {by_weight:.0%} by weight at {wet:g} g/cm³ would be {volume:.0%} by "
            "volume; check both, or give the solids by volume."
        )
    if density_g_cm3 is not None:
        return DrySolids(volume, 0.0, "")
    sd = float(np.clip(slope * DENSITY_SD / volume, 0.0, 0.5))
    return DrySolids(volume, sd, f"density of {wet:g} g/cm³ assumed for its solids")
