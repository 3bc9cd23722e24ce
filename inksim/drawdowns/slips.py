"""The likely slip behind a film that the others contradict: what would make it agree."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from inksim.common import FloatArray
from inksim.drawdowns.film_model import Problem, State, read
from inksim.drawdowns.leave_out import LeftOut
from inksim.drawdowns.recipe import FilmRecipe

if TYPE_CHECKING:
    from inksim.drawdowns.characterisation import Characterisation

THICKNESSES = np.geomspace(0.02, 50.0, 120)
"""Factors on the thickness that are tried."""
EXPLAINS, ONE_EXPLAINS = 0.6, 0.25
"""A slip explains a film if it leaves this share of what it was off, at most; and so does one wrong
reading, for what the other is off."""
FAR_FETCHED = 4.0
"""That a film has the recipe of quite another one must explain so many times more."""
DARK, BRONZED = 0.1, 0.004
"""Reflectance below which a band is dark; and how far dark bands must be off to be called bronzed
[assumption]."""


class Slip(NamedTuple):
    """A film to read again, in words; and the share of its misfit that the slip leaves."""

    words: str
    left: float


def likely_slip(fitted: Characterisation, out: LeftOut) -> Slip:
    """The slip that explains a recipe best; without any, what else may be wrong.

    That one of its two readings belongs elsewhere is thought of last, for it leaves one to fit.
    """
    at = list(out.readings)
    names = " and ".join(fitted.drawdowns[i].name for i in at)
    measured = out.problem.readings[at]
    stated = _off(out.fitted, measured)
    slips = [slip._replace(left=slip.left / stated) for slip in _slips(fitted, out, names)]
    best = min(slips, key=lambda slip: slip.left, default=None)
    if best is not None and best.left < EXPLAINS:
        return best
    inks = fitted.drawdowns[at[0]].drawdown.recipe
    if any(f"{ink}: at " in warning for ink in inks for warning in fitted.warnings):
        why = "it gives back more light than a film can: it fluoresces, or the reading is wrong"
        return Slip(f"{names}, because {why}", 1.0)
    for slip in _one_reading(fitted, out):
        if slip.left < ONE_EXPLAINS * stated:
            return slip._replace(left=slip.left / stated)
    apart, dark = measured - out.fitted, out.fitted < DARK
    size = float(np.median(np.abs(apart[dark]))) if dark.any() else 0.0
    if size > BRONZED and np.all(np.abs(apart[~dark]) < 3.0 * size):
        why = "its dark bands do not go with the others: bronzing, gloss, or the specular setting"
    else:
        why = "the other films contradict it: check its recipe, its thickness and both readings"
    return Slip(f"{names}, because {why}", 1.0)


def _off(fitted: FloatArray, readings: FloatArray) -> float:
    return float(np.sqrt(np.mean((fitted - readings) ** 2)))


def _slips(fitted: Characterisation, out: LeftOut, names: str) -> Iterator[Slip]:
    problem, state, at = out.problem, out.state, list(out.readings)
    measured = problem.readings[at]
    yield from _thickness(fitted, out, names)
    yield from _recipes(fitted, out, names)
    cards = problem.card_of[at]
    if len(set(cards)) == 2 and len(at) == 2:
        swapped = _read(replace(problem, card_of=_put(problem.card_of, at, cards[::-1])), state, at)
        yield Slip(
            f"{names}, because its two readings fit when they are swapped: black card for white",
            _off(swapped, measured),
        )


def _one_reading(fitted: Characterisation, out: LeftOut) -> Iterator[Slip]:
    """The reading over one card is of another film: that over the other card fits."""
    at = list(out.readings)
    if len(at) == 2:
        each = np.sqrt(np.mean((out.fitted - out.problem.readings[at]) ** 2, axis=1))
        wrong = int(np.argmax(each))
        yield Slip(
            f"{fitted.drawdowns[at[wrong]].name}, because this reading belongs to another film: "
            "the other reading of the film fits",
            float(each[1 - wrong]),
        )


def _thickness(fitted: Characterisation, out: LeftOut, names: str) -> Iterator[Slip]:
    """Another thickness of the recipe's films: of one of them, or of all."""
    at = list(out.readings)
    films: dict[float | None, list[int]] = {}
    for i in at:
        films.setdefault(fitted.drawdowns[i].drawdown.thickness_um, []).append(i)
    for stated, film in films.items():
        one = " and ".join(fitted.drawdowns[i].name for i in film)
        yield from _another_thickness(out, film, names=one, stated=(stated,))
    if len(films) > 1:
        yield from _another_thickness(out, at, names=names, stated=tuple(films))


def _another_thickness(
    out: LeftOut, film: list[int], *, names: str, stated: tuple[float | None, ...]
) -> Iterator[Slip]:
    """Another thickness of some of the recipe's drawdowns, if one fits that is far from stated."""
    problem, state, at = out.problem, out.state, list(out.readings)
    measured = problem.readings[at]
    tried = []
    for factor in THICKNESSES:
        shared = state.shared.copy()
        shared[film] = np.log(factor)
        tried.append(_off(_read(problem, state._replace(shared=shared), at), measured))
    best = int(np.argmin(tried))
    factor = THICKNESSES[best]
    if 0.5 < factor < 2.0:
        return
    um = [each for each in stated if each is not None]
    fits = f"{factor:.2g} times as thick as the others"
    if um:
        instead, said = (
            ", ".join(f"{each:.2g}" for each in many) for many in (factor * np.array(um), um)
        )
        fits = f"of about {instead} µm, not {said}: the thickness is mistyped"
    yield Slip(f"{names}, because it fits a film {fits}", tried[best])


def _recipes(fitted: Characterisation, out: LeftOut, names: str) -> Iterator[Slip]:
    """Another recipe: the parts in another order, or that of another film of the sheet."""
    problem, state, at = out.problem, out.state, list(out.readings)
    own, inks = problem.fractions[at[0]], list(fitted.inks)
    present = np.flatnonzero(own)
    reversed_parts = own.copy()
    reversed_parts[present] = own[present][::-1]
    others = [row for row in np.unique(problem.fractions, axis=0) if not np.allclose(row, own)]
    others += [reversed_parts] if len(present) == 2 else []
    for row in others:
        times = 1.0 if np.array_equal(row > 0, own > 0) else FAR_FETCHED
        tried = replace(problem, fractions=_put(problem.fractions, at, row))
        called = FilmRecipe(parts={inks[i]: float(row[i]) for i in np.flatnonzero(row)}).words
        yield Slip(
            f"{names}, because it reads like {called}: the recipe is mistyped",
            times * _off(_read(tried, state, at), problem.readings[at]),
        )


def _put(values: np.ndarray, at: list[int], new: np.ndarray) -> np.ndarray:
    changed = values.copy()
    changed[at] = new
    return changed


def _read(problem: Problem, state: State, at: list[int]) -> FloatArray:
    """Readings (m, B) of some drawdowns."""
    return read(problem, state)[0].T[at]
