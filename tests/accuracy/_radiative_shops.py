"""Films by radiative transfer over cards and cloths, of inks that are known by their hex alone.

No press: films are even and of the thickness that is stated. The truth shares with inksim only what
an ink is drawn from; see tests/accuracy/_radiative.py.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from inksim.colour.viewing import lab
from inksim.printing.build import Build, Layer
from inksim.stock.garment import BRIGHTEST, Garment
from inksim.stock.press import Parameter, Press, PressValues
from tests.accuracy._radiative import Instrument
from tests.accuracy._shops import D50, LOOK_CARD, LOOK_UM, DrawnShop, filed_inks, screen, take_look
from tests.accuracy._worlds import InkTruth, Rng, draw_cloth, draw_ink, internal

INKS, FILMS = 3, 2
ABSORBS, SCATTERS_ONCE, SCATTERS_OFTEN, OFTEN = 0.72, 2.8, 4.0 / 3.0, 0.03
"""Absorption over K, reduced scattering over S of films that scatter little, and of those that
scatter much, from an S of about OFTEN on: with these a fit by Kubelka and Munk to films lit at 45°
gives about K and S back, which is where published figures come from. In diffuse light they would be
1/2 and 4/3."""
HAZE = (0.001, 0.006)
"""Light that a dry surface itself throws into the instrument, specular excluded: no film reads
less."""
EVEN = {"release": 1.0, "cv_cloth": 0.0, "cv_base": 0.0, "soak": 0.0, "contact": 0.0}


@cache
def _instrument() -> Instrument:
    return Instrument("45:0")


def even_press() -> Press:
    """A press that lays down exactly what is stated, evenly, and nothing soaks in.

    The haze of the films' surface is as little known as on any press.
    """
    press = Press(name="even")
    values = {name: EVEN.get(name, getattr(press, name).value) for name in PressValues._fields}
    sure = {name: Parameter(value, 0.0) for name, value in values.items()}
    return replace(press, **sure | {"surface_haze": press.surface_haze})


def film(ink: InkTruth, g: float, um: float, cards: np.ndarray, *, haze: float) -> np.ndarray:
    """Readings (n, 31) of one film in optical contact with Lambertian cards (n, 31), internal."""
    n, asymmetry = len(cards), np.full(cards.size, g)
    K, S = np.tile(ink.K, n), np.tile(ink.S, n)
    seldom = 1.0 / (1.0 + S.mean() / OFTEN)
    reduced = SCATTERS_OFTEN + seldom * (SCATTERS_ONCE - SCATTERS_OFTEN)
    absorbs, scatters = ABSORBS * K * um, reduced * S * um / (1 - g)
    read = _instrument().read(absorbs, scatters, asymmetry, cards.ravel())
    return np.asarray(np.clip(haze + read.reshape(cards.shape), 1e-4, BRIGHTEST))


def draw_radiative_shop(rng: Rng) -> DrawnShop:
    """Three inks, two films of each, over black, white and two cloths."""
    backings = [np.full(31, 0.012), np.full(31, rng.uniform(0.75, 0.85)), *(
        draw_cloth(rng) for _ in range(2)
    )]  # fmt: skip
    cards, haze = np.array([internal(card) for card in backings]), rng.uniform(*HAZE)
    bare = film(InkTruth(parts=()), 0.0, 1.0, cards, haze=haze)
    cloths = [
        Garment(name=f"card {at}", reflectance=reading, fibers={"cotton": 1.0}, data="measured")
        for at, reading in enumerate(bare)
    ]
    truths = {f"color {at}": draw_ink(rng) for at in range(INKS)}
    forward = {name: rng.uniform(0.3, 0.7) for name in truths}
    fields, looks = {}, {}
    for name, ink in truths.items():

        def look_at(um: float, card: np.ndarray, ink=ink, g=forward[name]) -> np.ndarray:  # type: ignore[no-untyped-def]
            return film(ink, g, um, internal(card)[None], haze=haze)[0]

        fields[name] = take_look(look_at, rng)
        looks[name] = look_at(LOOK_UM["color"], np.full(31, LOOK_CARD))
    filed = filed_inks(fields, dict.fromkeys(truths, "color"))
    builds, truth, seen = [], [], []
    for name, ink in truths.items():
        for um in np.exp(rng.uniform(np.log(2.5), np.log(16.0), FILMS)):
            layer = Layer(ink=filed[name], screen=screen(um / filed[name].solids_by_volume))
            builds += [Build(garment=cloth, layers=(layer,)) for cloth in cloths]
            truth.append(film(ink, forward[name], um, cards, haze=haze))
            seen += [looks[name]] * len(cloths)
    return DrawnShop(
        stock="recovered", filed=builds, press=even_press(),
        truth=lab(np.concatenate(truth), D50), looks=lab(np.array(seen), D50),
    )  # fmt: skip
