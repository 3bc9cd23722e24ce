"""Set up the fit of drawdowns: recipes, films and cards as arrays, with their priors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from inksim.common import BoolArray, FloatArray, IndexArray, InputError
from inksim.drawdowns.believable import guess
from inksim.drawdowns.drawdown import Drawdown, is_read_once, volume_fractions
from inksim.drawdowns.film_model import Problem
from inksim.optics import Surface

UNKNOWN_SD, MEASURED_SD, GUESSED_SD = 0.20, 0.10, 0.7
"""Relative prior sd of thickness: unknown for all films, measured, unknown among measured ones."""
MOST_CARDS = 12
"""Most cards whose reading errors are fitted: with more, each is read as often as its films."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Posed:
    """A least-squares problem, with its names and scales.

    names : of the inks, in the order of the problem's fractions.
    stated : whether any thickness is known, so that `thickness` (D,) is in µm.
    thickness_sd : (D,) relative prior sd. scale : the thickness that is 1 in the problem.
    """

    problem: Problem
    names: tuple[str, ...]
    stated: bool
    thickness: FloatArray
    thickness_sd: FloatArray
    scale: float


def pose(
    drawdowns: Sequence[Drawdown],
    *,
    densities: Mapping[str, float] | None,
    surface: Surface,
    specular_included: bool,
    thickness_sd: float | None,
    within_film_sd: float,
    strength_sd: float,
    directness_sd: float,
    smoothness_sd: float | None,
    noise: float,
) -> Posed:
    """Set up the problem of some drawdowns; arguments as for `characterise`.

    Raises
    ------
    InputError : inks that always come in the same proportions; an ink without density.
    """
    names, fractions = _fractions(drawdowns, densities)
    _check_apart(names, fractions)
    stated, thickness, sd = _thickness(drawdowns, thickness_sd)
    covariance = _covariance(drawdowns, sd, within_film_sd if thickness_sd != 0 else 0.0)
    precision, free = _priors(covariance, len(names), strength_sd, directness_sd)
    cards, card_of = _cards(drawdowns)
    scale = float(np.median(thickness))
    problem = Problem(
        fractions=fractions,
        thickness=thickness / scale,
        readings=np.array([d.measured for d in drawdowns]),
        cards=cards,
        card_of=card_of,
        surface=surface,
        specular_included=specular_included,
        weights=np.ones((len(drawdowns), 1)),
        caution=1.0,
        noise=noise,
        card_noise=noise if len(cards) <= MOST_CARDS else 0.0,
        precision=precision,
        free=free,
        smoothness=0.0 if smoothness_sd is None else smoothness_sd**-2,
        guessed={
            at: guess(only.measured, only.card)
            for at, ink in enumerate(names)
            if is_read_once(drawdowns, ink)
            for only in [next(d for d in drawdowns if ink in d.recipe)]
        },
    )
    return Posed(
        problem=problem,
        names=tuple(names),
        stated=stated,
        thickness=thickness,
        thickness_sd=sd,
        scale=scale,
    )


def _fractions(
    drawdowns: Sequence[Drawdown], densities: Mapping[str, float] | None
) -> tuple[list[str], FloatArray]:
    names = list(dict.fromkeys(ink for d in drawdowns for ink in d.recipe))
    recipes: list[Mapping[str, float]] = [
        d.recipe
        if densities is None
        else volume_fractions(d.recipe, densities=densities, where=d.label)
        for d in drawdowns
    ]
    return names, np.array([[recipe.get(ink, 0.0) for ink in names] for recipe in recipes])


def _check_apart(names: Sequence[str], fractions: FloatArray) -> None:
    """Refuse inks that always come in the same proportions: no fit can tell them apart."""
    recipes = np.unique(fractions.round(9), axis=0)
    if np.linalg.matrix_rank(recipes, tol=1e-6) < len(names):
        direction = np.abs(np.linalg.svd(recipes)[2][-1])
        mixed = [ink for ink, part in zip(names, direction, strict=True) if part > 1e-3]
        listed = ", ".join(f"'{ink}'" for ink in mixed)
        raise InputError(
            f"the recipes do not tell {listed} apart, for they always come in the same "
            "proportions; add a drawdown of one of them alone."
        )


def _thickness(
    drawdowns: Sequence[Drawdown], sd: float | None
) -> tuple[bool, FloatArray, FloatArray]:
    """Whether any thickness is known, the nominal thickness (D,), and its relative sd (D,)."""
    given = np.array([np.nan if d.thickness_um is None else d.thickness_um for d in drawdowns])
    known = np.isfinite(given)
    if not known.any():
        deviation = np.full(known.shape, UNKNOWN_SD if sd is None else sd)
        return False, np.ones(known.shape), deviation
    deviation = np.where(known, MEASURED_SD if sd is None else sd, GUESSED_SD)
    return True, np.where(known, given, np.nanmedian(given)), deviation


def _covariance(drawdowns: Sequence[Drawdown], sd: FloatArray, within: float) -> FloatArray:
    """Prior covariance (D, D) of log thickness: common per film, plus a part per reading."""
    films = [d.same_film for d in drawdowns]
    numbers = np.array([films.index(film) for film in films])
    same = (numbers[:, None] == numbers).astype(np.float64)
    return np.asarray(same * np.outer(sd, sd) + within**2 * np.diag((sd > 0).astype(float)))


def _priors(
    covariance: FloatArray, inks: int, strength_sd: float, directness_sd: float
) -> tuple[FloatArray, BoolArray]:
    """Prior precision of the shared unknowns (thickness, strengths, η), and mask of the free."""
    films = len(covariance)
    loose = np.diag(covariance) > 0
    free = np.concatenate([loose, np.full(inks, strength_sd > 0), [directness_sd > 0]])
    held = covariance + np.diag(np.where(loose, 1e-8, 1.0))
    precision = np.eye(free.size)
    precision[:films, :films] = np.linalg.inv(held)
    index = np.arange(films, free.size)
    precision[index[:-1], index[:-1]] = strength_sd**-2 if strength_sd > 0 else 1.0
    precision[-1, -1] = directness_sd**-2 if directness_sd > 0 else 1.0
    return precision, free


def _cards(drawdowns: Sequence[Drawdown]) -> tuple[FloatArray, IndexArray]:
    """The distinct bare cards (m, 31), and the index (D,) of each drawdown's card."""
    seen: dict[bytes, int] = {}
    which = [seen.setdefault(d.card.tobytes(), len(seen)) for d in drawdowns]
    cards = {seen[d.card.tobytes()]: d.card for d in drawdowns}
    return np.array([cards[at] for at in range(len(cards))]), np.array(which, dtype=np.intp)
