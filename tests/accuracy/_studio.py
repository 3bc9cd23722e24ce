"""Simulated studios: inks of known K and S, drawn down, mixed and read with real-world faults.

The truth is Kubelka–Munk or radiative transfer; each fault has a size of its own. All draws come
from one seed. Inks are invented: absorption edges and bands of six kinds of color, S falling with
wavelength, organic colors with little S, inorganic ones with more; a white that absorbs below 410
nm; a black.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

import numpy as np

from inksim.colour.grid import WAVELENGTHS_NM as NM
from inksim.drawdowns.drawdown import Drawdown
from inksim.optics.kubelka_munk import (
    Surface,
    external_from_internal,
    film_over,
    internal_from_external,
)
from tests.accuracy._radiative import Instrument

Recipe = Mapping[str, float]


@dataclass(frozen=True, kw_only=True)
class World:
    """How a studio differs from a perfect one; relative standard deviations where not said.

    truth: share of radiative transfer in the readings, the rest is Kubelka–Munk. thickness_um and
    pigment: films of 20 µm let light through, of 75 µm with less pigment mostly hide. film,
    within_film: thickness of films, and of one film over the two cards. told: whether thicknesses
    are told, off by told_error. strength: of an ink's share. weighing: of a mixture's. crowding:
    loss of the white's S per volume fraction. sheen: gloss (R) that the instrument catches. bronze:
    colored gloss (R) of a masstone, of each color up to twice that or none, by the square of its
    share; strongest to the red of where the color absorbs. strong: factor on K of the first two
    colors, for pigments whose tints in white still are dark. gain: drift. card: error of the cards'
    readings. blur: band-pass. emission: (peak nm, height) of the fluorescence of the ink named
    'color 2'.
    """

    truth: float = 0.0
    geometry: str = "45:0"
    index: float = 1.5
    k1: float = 0.04
    k2: float = 0.596
    thickness_um: float = 20.0
    pigment: float = 1.0
    film: float = 0.08
    within_film: float = 0.02
    told: bool = False
    told_error: float = 0.0
    strength: float = 0.0
    weighing: float = 0.0
    crowding: float = 0.0
    noise: float = 0.002
    gain: float = 0.0
    card: float = 0.0
    sheen: float = 0.0
    bronze: float = 0.0
    strong: float = 1.0
    blur: float = 0.0
    colours: int = 12
    tint: float = 0.1
    unseen: tuple[float, ...] = (0.05, 0.25, 0.5)
    emission: tuple[float, float] | None = None


@dataclass(frozen=True, kw_only=True)
class InkTruth:
    """K, S per µm and the scattering asymmetry g."""

    K: np.ndarray
    S: np.ndarray
    g: float


@dataclass
class Studio:
    """The drawdowns of a world: masstones and one tint each to fit, other tints to predict."""

    world: World
    seed: int
    inks: dict[str, InkTruth] = field(init=False)
    cards: dict[str, np.ndarray] = field(init=False)
    fitted: list[Drawdown] = field(init=False)
    unseen: list[Drawdown] = field(init=False)

    def __post_init__(self) -> None:
        """Mix, draw down and read everything."""
        w = self.world
        self._rng = np.random.default_rng(self.seed)
        self.inks = _inks(self._rng, w)
        self._strength = {
            name: 1.0 if name == "white" else float(np.exp(w.strength * self._rng.normal()))
            for name in self.inks
        }
        bronzes = np.random.default_rng(self.seed).uniform(0.0, 2.0, len(self.inks))
        self._bronze = {
            name: w.bronze * size * _bronzing(self.inks[name].K)
            for name, size in zip(self.inks, bronzes, strict=True)
        }
        bare = _cards(self._rng)
        self._inside = {c: np.asarray(internal_from_external(R)) for c, R in bare.items()}
        self.cards = {c: self._read(self._bare(inside)) for c, inside in self._inside.items()}
        if w.card:
            self.cards = {
                c: np.clip(R * (1 + w.card * self._rng.normal()), 1e-4, 1.0)
                for c, R in self.cards.items()
            }
        self.fitted, self.unseen = [], []
        for name in self.inks:
            self.fitted += self.draw_down({name: 1.0})
        for name in (n for n in self.inks if n != "white"):
            self.fitted += self.draw_down({name: w.tint, "white": 1.0 - w.tint})
            for c in w.unseen:
                self.unseen += self.draw_down({name: c, "white": 1.0 - c})

    def draw_down(self, recipe: Recipe) -> list[Drawdown]:
        """One film over black and over white."""
        w, draw = self.world, self._rng.normal
        thickness = w.thickness_um * np.exp(w.film * draw())
        told = thickness * np.exp(w.told_error * draw()) if w.told else None
        sheen = w.sheen * (1.0 + 0.5 * draw())
        films = []
        for card, inside in self._inside.items():
            K, S, g = self._mixture(recipe)
            R = self._film(K, S, g, thickness * np.exp(w.within_film * draw()), inside) + sheen
            R = R + sum(c**2 * self._bronze[name] for name, c in recipe.items())
            if w.emission and "color 2" in recipe:
                R = R + self._emitted(R, recipe["color 2"], card)
            films.append(
                Drawdown(
                    recipe=recipe, backing=self.cards[card], reading=self._read(R),
                    thickness_um=told,
                )
            )  # fmt: skip
        return films

    def _mixture(self, recipe: Recipe) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        w = self.world
        parts = {ink: c * self._strength[ink] for ink, c in recipe.items()}
        if len(parts) > 1:
            parts = {i: c * np.exp(w.weighing * self._rng.normal()) for i, c in parts.items()}
        total = sum(parts.values())
        K, S, gS = np.zeros((3, NM.size))
        for ink, part in parts.items():
            c, truth = part / total, self.inks[ink]
            crowded = (1 - w.crowding * c) / (1 - w.crowding) if ink == "white" else 1.0
            K = K + c * truth.K
            S = S + c * truth.S * crowded
            gS = gS + c * truth.S * crowded * truth.g
        return K, S, gS / S

    def _film(
        self, K: np.ndarray, S: np.ndarray, g: np.ndarray, um: float, card: np.ndarray
    ) -> np.ndarray:
        """Reading without faults: the world's share of each truth."""
        w = self.world
        R = np.zeros(NM.size)
        if w.truth < 1.0:
            inside = film_over(K, S, thickness_um=um, backing=card)
            # A surface of its own k1, k2; the cards keep the usual one, as they are not painted.
            R = R + (1.0 - w.truth) * external_from_internal(inside, surface=Surface(w.k1, w.k2))
        if w.truth > 0.0:
            instrument = _instrument(w.geometry.removesuffix("-sci").removesuffix("-sce"), w.index)
            R = R + w.truth * instrument.read(K * um / 2, 4 / 3 * S * um / (1 - g), g, card)
        return R + (w.k1 if w.geometry == "d:8-sci" else 0.0)

    def _bare(self, card: np.ndarray) -> np.ndarray:
        nothing = np.full(NM.size, 1e-9)
        return self._film(nothing, nothing, np.zeros(NM.size), 1.0, card)

    def _emitted(self, R: np.ndarray, share: float, card: str) -> np.ndarray:
        """Emission at a peak by what is absorbed 50–90 nm below it; less over black."""
        assert self.world.emission is not None
        peak, height = self.world.emission
        taken = 1.0 - R[(peak - 90 <= NM) & (peak - 50 >= NM)].mean()
        seen = 1.0 if card == "white" or share < 1.0 else 0.5
        of_ink = 1.0 if share == 1.0 else share / (share + 0.12)
        return height * taken * of_ink * seen * _bell(peak, 18.0)

    def _read(self, R: np.ndarray) -> np.ndarray:
        w = self.world
        if w.blur:
            wide = np.pad(R, 1, mode="edge")
            R = (1 - 2 * w.blur) * R + w.blur * (wide[:-2] + wide[2:])
        R = R * (1 + w.gain * self._rng.normal()) + w.noise * self._rng.normal(size=R.size)
        return np.clip(R, 1e-4, 2.0)


def _bronzing(K: np.ndarray) -> np.ndarray:
    """Shape of a bronze: the absorption, moved 40 nm to the red (anomalous dispersion), peak 1."""
    return np.interp(NM - 40.0, NM, K / K.max()) * (0.0 if K.min() > 0.3 * K.max() else 1.0)


@cache
def _instrument(geometry: str, index: float) -> Instrument:
    return Instrument(geometry, index=index)


def _bell(centre: float, width: float) -> np.ndarray:
    return np.exp(-0.5 * ((NM - centre) / width) ** 2)


def _edge(centre: float, width: float) -> np.ndarray:
    return 1.0 / (1.0 + np.exp((NM - centre) / width))


def _cards(rng: np.random.Generator) -> dict[str, np.ndarray]:
    white = 0.80 + 0.02 * rng.normal() - 0.08 * _bell(400, 15) - 0.02 * _edge(450, 25)
    black = 0.008 + 0.004 * rng.random() + 0.003 * (NM - 550) / 150
    return {"black": black, "white": white + 0.02 * _bell(470, 30)}


def _absorption(kind: int, rng: np.random.Generator) -> np.ndarray:
    """Shape of K for yellow, red, blue, green, magenta and earth."""
    u = rng.uniform
    return [
        lambda: _edge(u(470, 530), u(8, 18)),
        lambda: _edge(u(560, 610), u(8, 16)) * (0.7 + 0.5 * _bell(520, 40)),
        lambda: _bell(u(590, 640), 40) + 0.3 * _bell(680, 25) + 0.25 * _bell(400, 25),
        lambda: _bell(u(620, 660), 40) + 0.8 * _edge(440, 18),
        lambda: _bell(u(530, 570), 32) + 0.35 * _bell(420, 30),
        lambda: 0.3 + 0.7 * _edge(u(480, 580), 40),
    ][kind]()


def _inks(rng: np.random.Generator, world: World) -> dict[str, InkTruth]:
    inks = {}
    for at in range(world.colours):
        organic, kind = rng.random() < 0.6, int(rng.integers(0, 6))
        weak = (1.0 if organic else 0.35) * (0.4 if not organic or kind == 5 else 1.0)
        peak = 10 ** rng.uniform(-0.6, 0.3) * weak * world.pigment
        K = peak * (_absorption(kind, rng) + 10 ** rng.uniform(-2.6, -1.5))
        low, high = (-2.4, -1.4) if organic else (-1.9, -0.9)
        S = 10 ** rng.uniform(low, high) * world.pigment * (NM / 550) ** -rng.uniform(0.5, 3)
        S = S * (1 + 0.15 * rng.normal() * np.tanh((NM - 550) / 60) + 0.15 * K / peak)
        if world.emission and at == 2:
            K = peak * (1.0 * _edge(world.emission[0] - 25, 7.0) + 1e-3)
        if at < 2:
            K = K * world.strong
        inks[f"color {at}"] = InkTruth(K=K, S=S, g=float(rng.uniform(0.3, 0.7)))
    K = world.pigment * (2e-4 + 0.075 * _edge(398, 6))
    S = world.pigment * rng.uniform(0.12, 0.35) * (NM / 550) ** -0.6
    inks["white"] = InkTruth(K=K, S=S, g=0.55)
    K, S = world.pigment * 0.9 * (NM / 550) ** -0.2, world.pigment * 0.02 * (NM / 550) ** -1.0
    inks["black"] = InkTruth(K=K, S=S, g=0.6)
    return inks
