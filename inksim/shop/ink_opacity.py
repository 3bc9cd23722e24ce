"""Opacity of each ink of a shop: contrast ratio of its usual films, film that covers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.colour import BANDS, Viewing
from inksim.printing import (
    OPAQUE,
    Build,
    Card,
    covering_thickness_um,
    film_contrast_ratio,
    tabulate,
    wet_deposit_um,
)
from inksim.shop.shop import Shop
from inksim.shop.usual_builds import Place, usual_layer
from inksim.stock import Garment, Ink

# The deposit does not depend on the cloth: any that takes every kind of ink serves.
ANY_CLOTH = Garment(
    name="any",
    reflectance=np.full(BANDS, 0.5),
    fibers={"cotton": 1.0},
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
    """Opacity of an ink: its usual films; covers_um: dry film that reaches the asked ratio.

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
    """Opacity of inks, in order."""
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
    places: dict[str, tuple[Place, ...]] = {
        "white-base": ("white_base",),
        "discharge-base": ("discharge_base",),
    }
    layers = [
        usual_layer(shop, ink, place) for place in places.get(ink.kind, ("straight", "over_base"))
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
