"""An ink: K and S per µm of dry film, solids, and printing limits; mixtures of inks."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, get_args

import numpy as np

from inksim.colour import BANDS
from inksim.common import FloatArray, InputError
from inksim.optics import DIRECTNESS_RANGE, mixing_ks
from inksim.stock.mixture import mixed_ks
from inksim.stock.provenance import Provenance, frozen_spectrum, least_sure
from inksim.stock.ranges import (
    Celsius,
    CureSeconds,
    Density,
    Grams,
    Hours,
    Mesh,
    Money,
    Passes,
    Share,
    Solids,
)
from inksim.stock.screen import Screen
from inksim.stock.spectral_error import MOST_SD, SpectralError, leading, prior_ink_error

InkKind = Literal["color", "white-base", "discharge-base", "clear-base"]
INK_KINDS: tuple[str, ...] = get_args(InkKind)
MIXED_SHAPES = 6
"""Directions that stand for the error of a mixture."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Ink:
    """One ink.

    Parameters
    ----------
    kind : one of `INK_KINDS`: a color, or what a base is for.
    K, S : (31,) absorption and scattering per µm of dry film, ≥ 0.
    solids_by_volume : dry volume left of one volume of wet ink, 0 < … ≤ 1.
    density_g_cm3 : of the wet ink.
    finest_threads_per_inch, coarsest_threads_per_inch : the meshes it prints through.
    max_passes : most print strokes of one screen.
    stands_discharge : whether its pigment stands an active discharge, wet with it.
    most_in_mix : of a concentrate of pigment, its share by weight in a mix that its binder still
        holds, 0..1; None for an ink that prints as it is.
    directness : η of the light in the films that K and S were fitted to (`optics.directness`): what
        `mix_inks` takes out of them before it mixes. 0: they mix as they stand.
    blocks_dye : whether it keeps the dye of polyester from migrating into what lies on it.
    cure_celsius, cure_seconds : the film has to reach and to hold, by the maker's data sheet; None:
        as usual for the kind (`handling_of`).
    additive_share, additive_price_per_kg, pot_life_hours : what is mixed in on the day (a
        discharge's activator, a low-cure additive), by weight of the ink, and how long the
        mixture keeps; None: as usual for the kind, the price not known.
    price_per_kg : of the wet ink, in the currency of the shop's costs; None: not known.
    parts : of a mix that was stored, the grams of each ink that it was weighed of; None: no mix.
    left_g : what is left of it; None: not noted.
    data : where K and S come from.
    error : how far K and S may be off; None: as `data` and `kind` let expect.
    assumed : in words, what of it nobody stated, such as 'opacity assumed by kind'.
    usual : the same of what moves no color, such as 'density of 1.3 g/cm³ taken by kind'.
    """

    name: str
    kind: InkKind
    K: FloatArray
    S: FloatArray
    solids_by_volume: Solids
    density_g_cm3: Density = 1.05
    finest_threads_per_inch: Mesh = 330.0
    coarsest_threads_per_inch: Mesh = 80.0
    max_passes: Passes = 2
    directness: float = 0.0
    price_per_kg: Money | None = None
    blocks_dye: bool = False
    cure_celsius: Celsius | None = None
    cure_seconds: CureSeconds | None = None
    additive_share: Share | None = None
    additive_price_per_kg: Money | None = None
    pot_life_hours: Hours | None = None
    stands_discharge: bool = True
    most_in_mix: Share | None = None
    parts: Mapping[str, Grams] | None = None
    left_g: Grams | None = None
    data: Provenance = "invented"
    error: SpectralError | None = None
    assumed: tuple[str, ...] = ()
    usual: tuple[str, ...] = ()
    source: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse what no ink can be."""
        for field in ("K", "S"):
            spectrum = frozen_spectrum(getattr(self, field), what=f"ink '{self.name}': {field}")
            object.__setattr__(self, field, spectrum)
        if not 0 < self.solids_by_volume <= 1:
            raise InputError(
                f"ink '{self.name}': solids_by_volume is {self.solids_by_volume:g}; "
                "it is the dry share of the wet volume, above 0 and at most 1."
            )

        least, most = DIRECTNESS_RANGE
        if not least <= self.directness <= most:
            raise InputError(
                f"ink '{self.name}': directness is {self.directness:g}; it is {least:g} to "
                f"{most:g}, about 0.8 for films lit from one direction, 0 if it is not known."
            )

    @property
    def is_base(self) -> bool:
        """Whether it is printed as a base under a color."""
        return self.kind in ("white-base", "discharge-base")

    @cached_property
    def mixing_ks(self) -> tuple[FloatArray, FloatArray]:
        """Coefficients (31,) that mix linearly: K and S with the light's directness removed."""
        if not self.directness:
            return self.K, self.S
        k, s = mixing_ks(self.K, self.S, self.directness)
        k.setflags(write=False)
        s.setflags(write=False)
        return k, s

    @property
    def mark(self) -> str:
        """Fingerprint of K and S, to five figures: eight hexadecimal digits."""
        words = " ".join(f"{value:.5g}" for value in np.concatenate([self.K, self.S]))
        return hashlib.sha256(words.encode()).hexdigest()[:8]

    def times(self, *, K: float | FloatArray, S: float | FloatArray) -> Ink:
        """Return the ink with K and S scaled, alike or band by band (31,)."""
        return replace(self, K=self.K * K, S=self.S * S)


def mix_inks(parts: Sequence[tuple[Ink, float]], *, name: str) -> Ink:
    """Mix inks by wet volume; dry volume fractions follow from their solids.

    K and S mix linearly once the directness of the light is taken out of them, and the mixture's
    own is put in: a strong clear color that was fitted by itself absorbs up to 1.54 times as much
    in much white (η = 0.8). η belongs to the light rather than to an ink; where inks state
    different ones, as from different studios or of none, the mixture has their mean, weighed by
    what each absorbs, for on light that is absorbed the law acts [assumption].

    Parameters
    ----------
    parts : (ink, wet volume share) pairs; the shares are normalized to their sum.
    name : of the mixture.

    Returns
    -------
    An ink of kind 'color' with the tightest limits, the most demanding cure and additive, and the
    least certain provenance of its parts.

    Raises
    ------
    InputError : no part, or a share that is not above 0.
    """
    if not parts or any(share <= 0 for _, share in parts):
        raise InputError(f"the mixture '{name}' needs at least one ink, each with a share above 0.")
    inks = [ink for ink, _ in parts]
    wet = np.array([share for _, share in parts], dtype=np.float64)
    wet /= wet.sum()
    solids = np.array([ink.solids_by_volume for ink in inks])
    dry = wet * solids
    K, S, directness = _mixed(inks, dry / dry.sum())
    prices = [ink.price_per_kg for ink in inks]
    known = [p for p in prices if p is not None]
    mass = wet * np.array([ink.density_g_cm3 for ink in inks])
    return Ink(
        name=name,
        kind="color",
        K=K,
        S=S,
        solids_by_volume=float(dry.sum()),
        density_g_cm3=float(mass.sum()),
        finest_threads_per_inch=min(i.finest_threads_per_inch for i in inks),
        coarsest_threads_per_inch=max(i.coarsest_threads_per_inch for i in inks),
        max_passes=min(i.max_passes for i in inks),
        directness=directness,
        price_per_kg=float(mass @ np.array(known) / mass.sum())
        if len(known) == len(prices)
        else None,
        cure_celsius=_stated(inks, "cure_celsius", max),
        cure_seconds=_stated(inks, "cure_seconds", max),
        additive_share=_stated(inks, "additive_share", max),
        additive_price_per_kg=_stated(inks, "additive_price_per_kg", max),
        pot_life_hours=_stated(inks, "pot_life_hours", min),
        stands_discharge=all(i.stands_discharge for i in inks),
        data=least_sure(*(i.data for i in inks)),
        error=_mixed_error(inks, dry / dry.sum()),
        assumed=tuple(dict.fromkeys(words for i in inks for words in i.assumed)),
        usual=tuple(dict.fromkeys(words for i in inks for words in i.usual)),
        source="mixed from " + ", ".join(i.name for i in inks),
    )


def _stated(inks: Sequence[Ink], field: str, pick: Callable[[list[float]], float]) -> float | None:
    """The most demanding value that any ink states of a field; None where none does."""
    stated = [getattr(ink, field) for ink in inks if getattr(ink, field) is not None]
    return pick(stated) if stated else None


def _mixed_error(inks: Sequence[Ink], fractions: FloatArray) -> SpectralError | None:
    """Error of a mixture by dry volume fractions (n,); None where no part states its own.

    d ln K = Σ (cᵢKᵢ/K) d ln Kᵢ, and S alike; the parts are off independently. What they do together
    is given by its `MIXED_SHAPES` largest directions.
    """
    if all(ink.error is None for ink in inks):
        return None
    covariance = np.zeros((2 * BANDS, 2 * BANDS))
    share = fractions[:, None, None] * np.stack([np.stack([ink.K, ink.S]) for ink in inks])
    share /= np.maximum(share.sum(axis=0), 1e-12)
    for ink, own in zip(inks, share, strict=True):
        error = ink.error or prior_ink_error(ink.data)
        common = np.array([[[error.K], [0.0]], [[0.0], [error.S]]]) * np.ones(BANDS)
        steps = (np.concatenate([common, error.shapes]) * own).reshape(-1, 2 * BANDS)
        covariance += steps.T @ steps
    shapes = leading(covariance, np.ones(2 * BANDS), count=MIXED_SHAPES).reshape(-1, 2, BANDS)
    return SpectralError(K=0.0, S=0.0, shapes=np.clip(shapes, -MOST_SD, MOST_SD))


def _mixed(inks: Sequence[Ink], fractions: FloatArray) -> tuple[FloatArray, FloatArray, float]:
    """K, S and directness of inks by dry volume fractions (n,)."""
    bare = np.stack([ink.mixing_ks for ink in inks])
    K, S, eta = mixed_ks(
        fractions, bare[:, 0], bare[:, 1], directness=np.array([ink.directness for ink in inks])
    )
    return K, S, float(eta)


def prints_through(ink: Ink, screen: Screen) -> bool:
    """Whether an ink's limits allow a screen (half a thread per inch of tolerance)."""
    return (
        ink.coarsest_threads_per_inch - 0.5
        <= screen.threads_per_inch
        <= ink.finest_threads_per_inch + 0.5
    )
