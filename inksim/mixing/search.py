"""Search for mixtures: every small set of inks, first roughly on a few builds, then well on all.

1. Of each route the builds at the ends (most ink, and on bare cloth least) are looked at with every
   set of up to three inks, on every second band.
2. A fourth ink is added to the best of them: a color that four inks reach is near to what three of
   the four do.
3. The best sets are carried to every build that takes them, and the best of those are worked out
   by the print model as it stands.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import delta_e_2000
from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.decision import work_class
from inksim.mixing.aim import Aim
from inksim.mixing.candidates import OpenBuilds, start_theta
from inksim.mixing.films import PrintedFilms
from inksim.mixing.inversion import Sets, StockArrays, descend, joined, mixture
from inksim.mixing.small_parts import idle, set_keys
from inksim.printing import ROUTES

FIRST_INKS = 3
FIRST_STEPS, MORE_STEPS, CARRIED_STEPS, LAST_STEPS = 4, 4, 3, 8
GROWN, KEPT, KEPT_BY_ROUTE = 60, 32, 10
HOPELESS = 6.0
"""A route whose nearest set is this much farther than the nearest of all gets no further ink, as it
is only told for comparison [assumption]."""
ENOUGH = 1e-6
REACHED_DE00, REACHED_SPECTRUM = 0.5, 0.05
"""A first look this near counts as reaching the color; nearer where a spectrum tells more."""
CARRIED, MOST_KEPT = 3000, 160
"""Sets times builds that are worked out for all builds, and most sets: of few builds more sets."""
ALIKE_DE00 = 0.5
"""Builds of a set this much farther than its nearest are weighed by their work [assumption]."""
MORE_INK = 0.15
"""Of a film: about the standard deviation of a deposit on a press that is not calibrated."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Question:
    """What is looked for: films, inks and rules as arrays, and the aim.

    work, amount (N,): of the builds, and their wet ink, µm. price (n,): of each ink's volume.
    least: wet share of the smallest part, 0..1. sets (P, m): that are allowed. tolerance: ΔE00.
    """

    builds: OpenBuilds
    films: PrintedFilms
    stock: StockArrays
    aim: Aim
    sets: IndexArray
    work: FloatArray
    amount: FloatArray
    price: FloatArray
    least: float
    tolerance: float

    @property
    def reached(self) -> float:
        """Distance below which a set counts as reaching the target."""
        return REACHED_DE00 if self.aim.spectrum is None else REACHED_SPECTRUM

    @property
    def route(self) -> IndexArray:
        """Route (N,) of each build."""
        return self.builds.space.route


def search(question: Question) -> Sets:
    """The nearest mixtures of the best sets of inks, on the builds worth weighing."""
    films, aim = question.films.coarse(), question.aim.coarse(question.films.coarse().every)
    few = question.sets[(question.sets >= 0).sum(axis=1) <= FIRST_INKS]
    ends = _ends(question)
    looked = _on(question, few, ends)
    looked = descend(looked, question.stock.on(films.every), films, aim=aim, steps=FIRST_STEPS)
    if question.sets.shape[1] > FIRST_INKS:
        grown = looked
        for size in range(FIRST_INKS + 1, question.sets.shape[1] + 1):
            grown = _grown(question, grown, size)
            if not len(grown):
                break
            grown = descend(grown, question.stock.on(films.every), films, aim=aim, steps=MORE_STEPS)
            looked = joined([looked, grown])
    carried = _carried(question, _best_sets(question, looked))
    exact = replace(aim, exact=True)
    carried = descend(
        carried, question.stock.on(films.every), films, aim=exact, steps=CARRIED_STEPS
    )
    picked = _picked(question, carried)
    found = descend(
        picked, question.stock, question.films, aim=question.aim, steps=LAST_STEPS, enough=ENOUGH
    )
    return found.take(~idle(found, route=question.route[found.film]))


def _on(question: Question, ink: IndexArray, films: IndexArray) -> Sets:
    """Every set on each of the films that takes all its inks."""
    film = np.repeat(films, len(ink))
    ink = np.tile(ink, (films.size, 1))
    able = _takes(question, ink, film)
    ink, film = ink[able], film[able]
    return Sets(
        ink=ink,
        film=film,
        theta=start_theta(ink, question.stock),
        least=question.least,
        square=np.full(len(ink), np.inf),
    )


def _takes(question: Question, ink: IndexArray, film: IndexArray) -> BoolArray:
    return np.asarray((question.builds.allowed[film[:, None], ink] | (ink < 0)).all(axis=1))


def _ends(question: Question) -> IndexArray:
    """Builds to begin with: of each route that with the most ink, straight also the least."""
    found = []
    for route in range(len(ROUTES)):
        own = np.flatnonzero(question.route == route)
        if not own.size:
            continue
        fit = question.builds.allowed[own].sum(axis=1)
        own = own[fit == fit.max()]
        order = own[np.lexsort((own, question.amount[own]))]
        found.append(order[-1])
        if question.builds.space.base[order[0]] < 0 and order.size > 1:
            found.append(order[0])
    return np.array(found, dtype=np.intp)


def _grown(question: Question, looked: Sets, size: int) -> Sets:
    """The best sets of one ink less with every further ink, no set twice on one film."""
    nearest = float(looked.square.min())
    parts = []
    for film in np.unique(looked.film):
        own = np.flatnonzero((looked.film == film) & (looked.count == size - 1))
        own = own[np.argsort(looked.square[own], kind="stable")[:GROWN]]
        if not own.size or np.sqrt(looked.square[own[0]]) > np.sqrt(nearest) + HOPELESS:
            continue
        begun = looked.take(own)
        more = np.arange(len(question.stock.solids))
        ink = np.repeat(begun.ink, more.size, axis=0)
        ink[:, size - 1] = np.tile(more, len(begun))
        new = (ink[:, : size - 1] != ink[:, size - 1 : size]).all(axis=1)
        theta = np.repeat(begun.theta, more.size, axis=0)
        top = np.where(begun.ink >= 0, begun.theta, -np.inf).max(axis=1)
        theta[:, size - 1] = np.repeat(top - 2.0, more.size)
        key = np.sort(ink, axis=1)
        _, first = np.unique(key[new], axis=0, return_index=True)
        at = np.flatnonzero(new)[first]
        able = _takes(question, ink[at], np.full(at.size, film)) & _among(key[at], question.sets)
        at = at[able]
        parts.append(
            Sets(
                ink=ink[at], film=np.full(at.size, film), theta=theta[at],
                least=looked.least, square=np.full(at.size, np.inf),
            )
        )  # fmt: skip
    if not parts:
        return looked.take(np.zeros(0, dtype=np.intp))
    return joined(parts)


def _among(ink: IndexArray, sets: IndexArray) -> BoolArray:
    return np.isin(set_keys(ink), set_keys(sets))


def _best_sets(question: Question, looked: Sets) -> Sets:
    """The nearest sets over all films, and some of each route: one each, as nearest.

    Of those that reach the color, which are many, half are the steadiest and half the cheapest.
    """
    looked = looked.take(~idle(looked, route=question.route[looked.film]))
    distance = np.maximum(np.sqrt(looked.square), question.reached)
    most = int(np.clip(CARRIED // len(question.builds.space), KEPT, MOST_KEPT))
    dear = np.sum(looked.wet * question.price[looked.ink], axis=1)
    steady = wobble(question, looked, coarse=True)
    kept = []
    for second in (steady, dear):
        order = np.lexsort((second, distance))
        key, route = set_keys(looked.ink)[order], question.route[looked.film][order]
        _, first = np.unique(key * len(ROUTES) + route, return_index=True)
        first.sort()
        some = [first[route[first] == r][: KEPT_BY_ROUTE // 2] for r in range(len(ROUTES))]
        kept.append(order[np.concatenate([first[: most // 2], *some])])
    return looked.take(np.unique(np.concatenate(kept)))


def wobble(question: Question, sets: Sets, *, coarse: bool = False) -> FloatArray:
    """ΔE00 (P,) that `MORE_INK` of the film makes: what moves a print most from press to press."""
    films = question.films.coarse() if coarse else question.films
    k, s, solids = mixture(sets, question.stock.on(films.every))
    aim = question.aim.coarse(films.every)
    one, more = (
        aim.lab(films.reflectance(sets.film, k * by, s * by, solids=solids * by))
        for by in (1.0, 1.0 + MORE_INK)
    )
    return delta_e_2000(one, more)


def _carried(question: Question, best: Sets) -> Sets:
    """Each set on every build of its route that takes it."""
    route = question.route[best.film]
    pair, film = np.nonzero(route[:, None] == question.route[None])
    able = _takes(question, best.ink[pair], film)
    pair, film = pair[able], film[able]
    moved = best.take(pair)
    return replace(moved, film=film, square=np.full(len(pair), np.inf))


def _picked(question: Question, carried: Sets) -> Sets:
    """Of each set by each route three builds: the nearest, and of those about as near two more.

    They are the one of least work (`work_class`), and the steadiest (`wobble`).
    """
    distance, steady = np.sqrt(carried.square), wobble(question, carried, coarse=True)
    work = work_class(question.work[carried.film])
    group = set_keys(carried.ink) * len(ROUTES) + question.route[carried.film]
    order = np.lexsort((distance, group))
    starts = np.flatnonzero(np.diff(group[order])) + 1
    kept = []
    for own in np.split(order, starts):
        alike = own[distance[own] <= max(question.tolerance / 2, distance[own[0]] + ALIKE_DE00)]
        easy = alike[np.lexsort((steady[alike], work[alike]))[0]]
        kept.append(np.unique([own[0], easy, alike[np.argmin(steady[alike])]]))
    return carried.take(np.concatenate(kept))
