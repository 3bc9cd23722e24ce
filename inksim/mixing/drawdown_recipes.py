"""What a drawdown was made of: recipes of characterized inks for a reading of a film on a card."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from inksim.colour import Viewing, delta_e_2000, lab as lab_of
from inksim.common import FloatArray, IndexArray, InputError
from inksim.drawdowns import Characterisation, Drawdown, film_reading, film_thickness
from inksim.mixing.aim import aim_at
from inksim.mixing.candidates import every_set, start_theta
from inksim.mixing.inversion import Sets, StockArrays, descend, joined, looks
from inksim.mixing.small_parts import WORTH_DE00, idle
from inksim.mixing.standing_in import differing_shares, share_errors, swapped
from inksim.stock import target_from_reflectance

RECIPES, FIRST_STEPS, STEPS, KEPT = 6, 6, 10, 120
MOST_INKS = 6
FAR_DE00 = 3.0
"""A reading whose nearest recipe is farther was not made of these inks, or not read as stated."""
TOLD_SD = 0.05
"""A dry share that is less sure is said to be hardly told."""


@dataclass(frozen=True, kw_only=True, eq=False)
class DrawdownRecipe:
    """One recipe of a reading.

    parts: dry volume share by the ink's name, summing to 1, the most first. delta_e: ΔE00 (D50/2°)
    of its film from the reading; rms: of the reflectance, 0..1. share_sd: standard error of each
    share at the noise of the characterization, or half of how far it differs between recipes that
    lie within that noise, if that is more. swaps: pairs of an ink of the recipe and another that
    can stand for it. note: a sentence where it is far off, or hardly tells a share; else ''.
    """

    parts: Mapping[str, float]
    delta_e: float
    rms: float
    share_sd: Mapping[str, float]
    swaps: tuple[tuple[str, str], ...]
    note: str


@dataclass(frozen=True, kw_only=True, eq=False)
class _CardFilm:
    """A film on a card, its ink open: see `Films`."""

    fitted: Characterisation
    card: FloatArray
    thickness: float
    every: int = 1

    def reflectance(
        self, which: IndexArray, k: FloatArray, s: FloatArray, *, solids: FloatArray
    ) -> FloatArray:
        """See `Films`; all are on the one card."""
        return film_reading(self.fitted, k, s, card=self.card, thickness=self.thickness)

    def by_solids(self, which: IndexArray) -> bool:
        """False: the film's thickness is stated dry."""
        return False


def recipes_for(
    characterisation: Characterisation,
    reading: npt.ArrayLike,
    backing: npt.ArrayLike,
    *,
    thickness_um: float | None = None,
    most_inks: int = 4,
) -> tuple[DrawdownRecipe, ...]:
    """Find what a drawdown was made of: the recipes whose film comes closest to its reading.

    The reading is matched as a spectrum, each band by what it counts for under the usual lights.

    Parameters
    ----------
    characterisation : of the inks that may be in it; see `characterise`.
    reading : (31,) external reflectance, in the characterization's geometry.
    backing : (31,) the bare card's reading, or "black" or "white".
    thickness_um : of the dry film; left out if K and S are per shared film.
    most_inks : in a recipe, 1 to 6.

    Returns
    -------
    At most six, the nearest first; of those as near, the one of fewest inks.

    Raises
    ------
    InputError : a reading or a card that is none; a thickness missing or without meaning; a number
        of inks out of range.
    """
    c = characterisation
    if not 1 <= most_inks <= MOST_INKS:
        raise InputError(f"most_inks is {most_inks}; a recipe has 1 to {MOST_INKS} inks.")
    names = list(c.inks)
    # for a drawdown's checks of reading, card and thickness
    film = Drawdown(recipe={names[0]: 1.0}, backing=backing, reading=reading,
                    thickness_um=thickness_um, name="the reading")  # fmt: skip
    thickness = film_thickness(c, thickness_um, where="the reading")
    open_film = _CardFilm(fitted=c, card=film.card, thickness=thickness)
    stock = StockArrays(
        k=c.mixing_k, s=c.mixing_s, solids=np.ones(len(names)),
        directness=np.full(len(names), c.directness),
    )  # fmt: skip
    read = np.clip(film.measured, 0.0, 1.5)
    aim = aim_at(target_from_reflectance(read, name="the reading"), Viewing())
    ink = every_set(len(names), most=most_inks)
    one_film = np.zeros(len(ink), dtype=np.intp)
    begun = Sets(ink=ink, film=one_film, theta=start_theta(ink, stock), least=0.0,
                 square=np.full(len(ink), np.inf))  # fmt: skip
    even = replace(begun, theta=np.zeros(ink.shape))
    looked = descend(
        joined([begun, even]), stock, open_film, aim=aim.coarse(open_film.every), steps=FIRST_STEPS
    )
    better = np.argmin(looked.square.reshape(2, -1), axis=0)
    looked = looked.take(better * len(ink) + np.arange(len(ink)))
    found = looked.take(np.argsort(looked.square, kind="stable")[:KEPT])
    found = descend(found, stock, open_film, aim=aim, steps=STEPS)
    found = found.take(~idle(found, route=found.film))
    R = looks(found, stock, open_film)
    away = delta_e_2000(lab_of(read, Viewing()), lab_of(np.maximum(R, 0.0), Viewing()))
    near = np.floor((np.sqrt(found.square) - np.sqrt(found.square.min())) / WORTH_DE00)
    order = np.lexsort((found.square, found.count, near))[:RECIPES]
    strengths = np.array([c.inks[name].strength for name in names])
    chosen = found.take(order)
    sds = share_errors(chosen, stock, open_film, noise=c.noise)
    off = np.sqrt(np.mean((R - read) ** 2, axis=1))
    alike = found.take(off <= max(c.noise, 1.5 * float(off.min())))
    sds = np.maximum(sds, 0.5 * differing_shares(alike, chosen, stock))
    swaps = swapped(found, chosen, route=found.film, chosen_route=chosen.film, names=names)
    return tuple(
        DrawdownRecipe(
            parts=_sorted(ink, wet / strengths[ink], names),
            delta_e=float(away[at]),
            rms=float(off[at]),
            share_sd={names[i]: float(sd) for i, sd in zip(ink, sds[n], strict=True) if i >= 0},
            swaps=swaps[n],
            note=_note(
                float(away[at]),
                told={
                    names[i]: float(sd) <= TOLD_SD
                    for i, sd in zip(ink, sds[n], strict=True)
                    if i >= 0
                },
            ),
        )
        for n, (at, ink, wet) in enumerate(zip(order, chosen.ink, chosen.wet, strict=True))
    )


def _sorted(ink: IndexArray, amounts: FloatArray, names: list[str]) -> dict[str, float]:
    """Shares by name, the most first; amounts (m,) of dry volume."""
    own = np.where(ink >= 0, amounts, 0.0)
    share = own / own.sum()
    order = [at for at in np.argsort(-share, kind="stable") if ink[at] >= 0]
    return {names[ink[at]]: float(share[at]) for at in order}


def _note(away: float, *, told: Mapping[str, bool]) -> str:
    unsure = [f"'{name}'" for name, known in told.items() if not known]
    if away <= FAR_DE00:
        return (
            f"This reading hardly tells the share of {' and '.join(unsure)}: another mix of these "
            "inks looks the same."
            if unsure
            else ""
        )
    return (
        f"The nearest film of these inks lies ΔE00 {away:.1f} from the reading: it has another ink "
        "in it, or its card, thickness or geometry is not as stated."
    )
