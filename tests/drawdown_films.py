"""Films on cards for the tests of drawdowns: a studio's, and noise-free ones of any K and S."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

from inksim.colour.grid import BANDS
from inksim.drawdowns.characterisation import Characterisation, characterise
from inksim.drawdowns.drawdown import Drawdown
from inksim.optics.kubelka_munk import external_from_internal, film_over, internal_from_external
from tests.accuracy._studio import Studio, World
from tests.accuracy.drawdowns import PLAIN

HELD = {**PLAIN}  # thickness, strength and directness held: K and S alone are unknown
EXACT = {"film": 0.0, "within_film": 0.0}
BLACK, WHITE = np.full(BANDS, 0.01), np.full(BANDS, 0.80)


@cache
def studio(world: World, seed: int = 1) -> Studio:
    return Studio(world, seed)


def fit_of(made: Studio, **options: Any) -> Characterisation:
    return characterise(made.fitted, geometry=made.world.geometry, **options)  # type: ignore[arg-type]


def films(
    K: np.ndarray, S: np.ndarray, *, recipe: dict[str, float], um: float = 20.0, **more: Any
) -> list[Drawdown]:
    """One noise-free film over both cards."""
    made = []
    for card in (BLACK, WHITE):
        inside = film_over(K, S, thickness_um=um, backing=internal_from_external(card))
        reading = external_from_internal(inside)
        made.append(Drawdown(recipe=recipe, backing=card, reading=reading, **more))
    return made


def flat(value: float) -> np.ndarray:
    return np.full(BANDS, value)


CLEAR_INK = flat(0.05), flat(0.006)  # K, S per µm
CHALK = flat(1e-4), flat(0.2)


def known_ink(strength: float = 1.0, **more: Any) -> list[Drawdown]:
    """A clear ink and a white, alone and mixed; the ink really holds so many times its share."""
    made = []
    for part in (1.0, 0.3, 0.1, 0.03, 0.0):
        true = part * strength / (part * strength + 1.0 - part)
        K, S = (true * a + (1.0 - true) * b for a, b in zip(CLEAR_INK, CHALK, strict=True))
        recipe = {ink: c for ink, c in (("ink", part), ("white", 1.0 - part)) if c > 0}
        made += films(K, S, recipe=recipe, **more)
    return made
