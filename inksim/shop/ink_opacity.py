"""How well each ink of a shop covers: at its usual films, and how thick it would have to be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.colour import BANDS, Viewing
from inksim.printing import (
    OPAQUE,
    Build,
    Card,
    Layer,
    covering_thickness_um,
    film_contrast_ratio,
    tabulate,
    wet_deposit_um,
)
from inksim.shop.shop import Shop
from inksim.stock import Garment, Ink

# The deposit does not depend on the cloth: any that takes every kind of ink serves.
ANY_CLOTH = Garment(
    name="any",
    reflectance=np.full(BANDS, 0.5),
    fibres={"cotton": 1.0},
    undyed=np.full(BANDS, 0.5),
    discharge_grade=5,
)


@dataclass(frozen=True, kw_only=True)
class Film:
    """An even dry film of an ink by a screen and passes, and its contrast ratio on the card."""

    screen: str
    passes: int
    film_um: float
    contrast_ratio: float


@dataclass(frozen=True, kw_only=True)
class Hiding:
    """How an ink covers: its usual films; covers_um: dry film that reaches the asked ratio.

    covers_um is None where no film does; times_usual: how many of the thickest usual film it is.
    """

    ink: Ink
    films: tuple[Film, ...]
    covers_um: float | None

    @property
    def times_usual(self) -> float | None:
        """Covering film over the thickest usual one."""
        if self.covers_um is None:
            return None
        return self.covers_um / max(film.film_um for film in self.films)


def hiding(
    shop: Shop, inks: Sequence[Ink], *, card: Card, viewing: Viewing, ratio: float = OPAQUE
) -> list[Hiding]:
    """Tell how inks cover, in order."""
    return [
        Hiding(
            ink=ink,
            films=_usual_films(shop, ink, card=card, viewing=viewing),
            covers_um=covering_thickness_um(ink.K, ink.S, card=card, viewing=viewing, ratio=ratio),
        )
        for ink in inks
    ]


def _usual_films(shop: Shop, ink: Ink, *, card: Card, viewing: Viewing) -> tuple[Film, ...]:
    """Films as this shop's habits print them: straight and over a base, or as a base."""
    habits = shop.habits
    if ink.kind == "white-base":
        ways = [(habits.white_base_threads_per_inch, habits.white_base_passes)]
    elif ink.kind == "discharge-base":
        ways = [(habits.discharge_base_threads_per_inch, habits.discharge_base_passes)]
    else:
        ways = [
            (habits.straight_threads_per_inch, min(habits.straight_passes, ink.max_passes)),
            (habits.over_base_threads_per_inch, min(habits.over_base_passes, ink.max_passes)),
        ]
    layers = [
        Layer(ink=ink, screen=shop.screen_near(count, ink=ink), passes=passes)
        for count, passes in ways
    ]
    table = tabulate([Build(garment=ANY_CLOTH, layers=(layer,)) for layer in layers])
    dry = wet_deposit_um(table, shop.press.values)[:, 0] * ink.solids_by_volume
    ratios = film_contrast_ratio(ink.K, ink.S, thickness_um=dry, card=card, viewing=viewing)
    return tuple(
        Film(
            screen=layer.screen.name,
            passes=layer.passes,
            film_um=float(film_um),
            contrast_ratio=float(ratio),
        )
        for layer, film_um, ratio in zip(layers, dry, ratios, strict=True)
    )
