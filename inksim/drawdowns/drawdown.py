"""A drawdown: a film of known recipe on a card, with its reading and that of the bare card."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from inksim.colour import BANDS, WAVELENGTHS_NM
from inksim.common import FloatArray, InputError, unknown
from inksim.drawdowns.recipe import FilmRecipe
from inksim.printing import flat_card

LOWEST, HIGHEST = -0.01, 3.0
"""Range of readings: a dark band may read slightly below 0, a fluorescent one far above 1."""
SUM_TOLERANCE = 0.005
CLEARLY_LIGHTER, CLEARLY_DARKER = 0.2, 0.05
"""Differences in mean reflectance, well beyond the noise of readings and within a film."""
LEAST_SUM = 0.9
"""Least sum of the fractions: below it too much of the film is not named; above they are parts."""
THINNEST_UM, THICKEST_UM = 0.05, 5000.0
"""Range of dry films: a thinner one is not continuous, a thicker one is no drawdown."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Drawdown:
    """One film read over one card; checked on creation.

    Parameters
    ----------
    recipe : dry volume fraction of each ink. They are divided by their sum, ``stated_sum``, which
        `characterise` warns of if it is more than 0.005 from 1; below 0.9 it is refused.
    backing : (31,) reading of the bare card, or "black" or "white" for the flat card of
        `flat_card` (1 % and 80 %, ISO 6504-3).
    reading : (31,) external reflectance of the film on that card, 400–700 nm at 10 nm.
    thickness_um : of the dry film, 0.05 to 5000, where it is known.
    name : for messages; made from recipe and card if not given.
    film : identity of the film: readings with the same are of one film, over another part of the
        card. If not given, same recipe and thickness are taken as one film.
    """

    recipe: Mapping[str, float]
    backing: npt.ArrayLike
    reading: npt.ArrayLike
    thickness_um: float | None = None
    name: str | None = None
    film: str | None = None
    stated_sum: float = field(init=False, default=1.0)

    def __post_init__(self) -> None:
        """Check and freeze."""
        try:
            recipe = {ink: float(part) for ink, part in self.recipe.items() if part != 0}
        except (TypeError, ValueError):
            raise InputError(
                f"{self.name or 'a drawdown'}: the recipe must give a number for each ink, but it "
                f"is {dict(self.recipe)}."
            ) from None
        called = self.name or FilmRecipe(parts=recipe).words or "a drawdown without inks"
        object.__setattr__(self, "stated_sum", sum(recipe.values()))
        object.__setattr__(self, "recipe", MappingProxyType(_fractions(recipe, called)))
        backing = self.backing
        if isinstance(backing, str):
            backing = _flat(backing, called)
        object.__setattr__(self, "backing", _spectrum(backing, f"{called}: the card's reading"))
        object.__setattr__(self, "reading", _spectrum(self.reading, f"{called}: the reading"))
        if self.name is None:
            object.__setattr__(self, "name", f"{called} over {self.card_word}")
        t = self.thickness_um
        if isinstance(t, str):
            raise InputError(f"{self.name}: the film's thickness '{t}' is not a number of µm.")
        if t is not None and not THINNEST_UM <= t <= THICKEST_UM:
            raise InputError(
                f"{self.name}: the film's thickness is {t:g} µm; a dry film has between "
                f"{THINNEST_UM:g} and {THICKEST_UM:g} µm. Leave it out if it was not measured."
            )

    @classmethod
    def from_mass(
        cls,
        *,
        parts: Mapping[str, float],
        densities: Mapping[str, float],
        backing: npt.ArrayLike,
        reading: npt.ArrayLike,
        solids_by_volume: Mapping[str, float] | None = None,
        thickness_um: float | None = None,
        name: str | None = None,
        film: str | None = None,
    ) -> Drawdown:
        """Make a drawdown from parts by mass: see `volume_fractions`."""
        return cls(
            recipe=volume_fractions(
                parts, densities=densities, solids_by_volume=solids_by_volume, where=name
            ),
            backing=backing,
            reading=reading,
            thickness_um=thickness_um,
            name=name,
            film=film,
        )

    @property
    def label(self) -> str:
        """Name in messages."""
        return str(self.name)

    @property
    def measured(self) -> FloatArray:
        """The reading (31,)."""
        return np.asarray(self.reading, dtype=np.float64)

    @property
    def card(self) -> FloatArray:
        """The bare card's reading (31,)."""
        return np.asarray(self.backing, dtype=np.float64)

    @property
    def card_word(self) -> str:
        """'black', 'gray' or 'white', after the card's mean reflectance."""
        mean = float(self.card.mean())
        return "black" if mean < 0.1 else "white" if mean > 0.5 else "gray"

    @cached_property
    def same_film(self) -> tuple[object, ...]:
        """Key of the film: equal for readings of one film."""
        if self.film is not None:
            return ("film", self.film)
        parts = tuple(sorted((ink, round(part, 6)) for ink, part in self.recipe.items()))
        return (parts, self.thickness_um)


def is_read_once(drawdowns: Sequence[Drawdown], ink: str) -> bool:
    """Whether an ink is in one film over one card only, which cannot tell both K and S."""
    return len({(d.same_film, d.card.tobytes()) for d in drawdowns if ink in d.recipe}) == 1


def reads_the_wrong_way(
    card: FloatArray, reading: FloatArray, other_card: FloatArray, other: FloatArray
) -> bool:
    """Whether a film (31,) reads darker over the lighter of two cards, which no film can."""
    lighter = float((card - other_card).mean())
    darker = -float((reading - other).mean()) * np.sign(lighter)
    return bool(abs(lighter) > CLEARLY_LIGHTER and darker > CLEARLY_DARKER)


def volume_fractions(
    parts: Mapping[str, float],
    *,
    densities: Mapping[str, float],
    solids_by_volume: Mapping[str, float] | None = None,
    where: str | None = None,
) -> dict[str, float]:
    """Dry volume fractions from parts by mass: massᵢ/densityᵢ (times solidsᵢ), over their sum.

    Parameters
    ----------
    parts : grams, or any parts by mass, of each ink.
    densities : g/cm³: of the dry film for dry masses, of the wet ink for wet ones.
    solids_by_volume : dry share of the wet volume, for wet masses; without it the inks are taken
        to have the same solids.

    Raises
    ------
    InputError : an ink without density (or solids), or one that is not above 0.
    """
    place = f"{where}: " if where else ""
    volume = {}
    for ink, mass in parts.items():
        share = 1.0
        for what, table in (("density", densities), ("solids_by_volume", solids_by_volume)):
            if table is None:
                continue
            if ink not in table:
                raise unknown(ink, table, what=f"{what} of ink", where="among those given")
            if not table[ink] > 0:
                raise InputError(
                    f"{place}the {what} of '{ink}' is {table[ink]:g}; it must be above 0."
                )
            share *= table[ink] if what != "density" else 1.0 / table[ink]
        volume[ink] = mass * share
    total = sum(volume.values())
    if not total > 0 or min(volume.values()) < 0:
        raise InputError(f"{place}the parts by mass must be 0 or more, and one above 0.")
    return {ink: v / total for ink, v in volume.items()}


def _fractions(recipe: Mapping[str, float], called: str) -> dict[str, float]:
    total = sum(recipe.values())
    if not recipe or not np.isfinite(total) or min(recipe.values()) < 0:
        raise InputError(
            f"{called}: a recipe needs at least one ink, each with a fraction above 0, "
            f"but it is {dict(recipe)}."
        )
    if total < LEAST_SUM:
        raise InputError(
            f"{called}: the fractions sum to {total:.4g}, not 1: {1.0 - total:.0%} of the film is "
            "not named. Name every ink in it, the clear base too; for weighed parts use "
            "Drawdown.from_mass."
        )
    return {ink: part / total for ink, part in recipe.items()}


def _flat(word: str, called: str) -> FloatArray:
    card = flat_card()
    cards = {"black": card.black, "white": card.white}
    if word not in cards:
        raise InputError(
            f"{called}: the backing '{word}' is neither 'black' nor 'white'; give the bare card's "
            "reading in 31 bands."
        )
    return cards[word]


def _spectrum(values: npt.ArrayLike, what: str) -> FloatArray:
    try:
        spectrum = np.array(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise InputError(f"{what} must be {BANDS} numbers, 400-700 nm at 10 nm.") from None
    if spectrum.shape != (BANDS,):
        raise InputError(
            f"{what} must have {BANDS} values (400-700 nm at 10 nm), but its shape is "
            f"{spectrum.shape}."
        )
    wrong = ~((spectrum >= LOWEST) & (spectrum <= HIGHEST))
    if wrong.any():
        band = int(np.argmax(wrong))
        raise InputError(
            f"{what} is {spectrum[band]:g} at {WAVELENGTHS_NM[band]:.0f} nm; a reflectance factor "
            "is between 0 and 1 (divide percent by 100), above 1 only with fluorescence."
        )
    spectrum.flags.writeable = False
    return spectrum
