"""Sheets of drawdowns with one slip each, as they happen: for the tests of what is named.

Of 29 sheets of each slip (six kinds of studio, seeds 21 to 25) the film was named for a white's
thickness a tenth of itself in 97 % (the sheet refused in all), any thickness ten times itself 72 %,
a tint's parts swapped 86 %, cards swapped 93 %, a reading of another film 97 %; none of the good
sheets was refused. Slips not said moved the tints that were not drawn down by 0.5 ΔE00 at most, but
for 1 + 2 swapped to 2 + 1 (2.0 at most), which an ink of twice the strength would explain as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from inksim.drawdowns.drawdown import Drawdown
from tests.accuracy._studio import Studio, World
from tests.accuracy.drawdowns import FAULTS, HIDING

TOLD = {"told": True, "told_error": 0.05}
CAREFUL = {"strength": 0.05, "weighing": 0.02, "film": 0.1, "gain": 0.002, **TOLD}
WORLDS = {
    "radiative, thin, all faults": World(truth=1.0, colours=4, **{**FAULTS, **TOLD}),
    "radiative, hiding, all faults": World(truth=1.0, colours=4, **HIDING, **{**FAULTS, **TOLD}),
    "radiative, thin, careful": World(truth=1.0, colours=4, **CAREFUL),
    "Kubelka–Munk, careful": World(colours=4, **CAREFUL),
    "radiative, one color, careful": World(truth=1.0, colours=1, **CAREFUL),
    "halfway, 8:d, 1 + 2, careful": World(
        truth=0.5, colours=4, geometry="d:8-sci", tint=0.33, **CAREFUL
    ),
}


class Slipped(NamedTuple):
    """A sheet, what was done to it, and the indices of the films it was done to."""

    slip: str
    sheet: list[Drawdown]
    at: tuple[int, ...]


def slipped(studio: Studio) -> Iterator[Slipped]:
    """The studio's sheet as it is, and with each slip at a place that its seed chooses."""
    sheet, rng = studio.fitted, np.random.default_rng(studio.seed)
    films: dict[tuple[object, ...], list[int]] = {}
    for i, d in enumerate(sheet):
        films.setdefault(tuple(sorted(d.recipe.items())), []).append(i)
    white = films[("white", 1.0),]
    tints = [own for recipe, own in films.items() if len(recipe) == 2]

    def one_of(those: list[list[int]]) -> list[int]:
        return those[int(rng.integers(len(those)))]

    def put(new: dict[int, Drawdown]) -> list[Drawdown]:
        return [new.get(i, d) for i, d in enumerate(sheet)]

    def thicker(own: list[int], times: float) -> list[Drawdown]:
        return put(
            {i: replace(sheet[i], thickness_um=times * float(sheet[i].thickness_um or 1.0))
             for i in own}
        )  # fmt: skip

    yield Slipped("none", sheet, ())
    yield Slipped("white's thickness / 10", thicker(white, 0.1), tuple(white))
    own = one_of(list(films.values()))
    yield Slipped("a thickness × 10", thicker(own, 10.0), tuple(own))
    own = one_of(tints)
    parts = [
        dict(zip(sheet[i].recipe, [*sheet[i].recipe.values()][::-1], strict=True)) for i in own
    ]
    swapped = {i: replace(sheet[i], recipe=p) for i, p in zip(own, parts, strict=True)}
    yield Slipped("parts of a tint swapped", put(swapped), tuple(own))
    a, b = own = one_of(list(films.values()))
    cards = {a: replace(sheet[a], reading=sheet[b].measured),
             b: replace(sheet[b], reading=sheet[a].measured)}  # fmt: skip
    yield Slipped("cards swapped", put(cards), tuple(own))
    i = int(rng.integers(len(sheet)))
    others = [d for d in sheet if d.card_word == sheet[i].card_word and d.recipe != sheet[i].recipe]
    wrong = replace(sheet[i], reading=others[int(rng.integers(len(others)))].measured)
    own = films[tuple(sorted(sheet[i].recipe.items()))]
    yield Slipped("a reading of another film", put({i: wrong}), tuple(own))
