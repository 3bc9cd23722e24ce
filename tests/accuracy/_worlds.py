"""Worlds whose truth is known and not the program's: pigments, inks, cloths, presses.

Nothing here is drawn from a prior of inksim. Pigments absorb in bands that are lopsided Gaussians
over wave number; an ink is one or two of them, with or without white. Errors have heavy or cut
tails, and are of shape as well as of strength: bands move, widen and rise on their own. Cloths are
measured textiles, dyed deeper or paler. A press's parameters have the mean and the spread that the
generic press states, for want of better, but by other distributions.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from inksim.colour.grid import WAVELENGTHS_NM as NM, resample
from inksim.optics.kubelka_munk import (
    external_from_internal,
    film_over,
    internal_from_external,
    ks_from_reflectance,
    reflectance_from_ks,
)
from inksim.stock.press import MEANINGS, Press, PressValues
from tests.conftest import read_textiles

Rng = np.random.Generator
WAVE = 1e7 / NM  # wave number, 1/cm
TAILS: tuple[Callable[[Rng], float], ...] = (
    lambda rng: rng.uniform(-np.sqrt(3.0), np.sqrt(3.0)),
    lambda rng: rng.standard_t(5) / np.sqrt(5.0 / 3.0),
    lambda rng: rng.laplace() / np.sqrt(2.0),
    lambda rng: (rng.triangular(0.0, 0.2, 1.0) - 0.4) / 0.2160,
    lambda rng: (rng.beta(2.0, 3.0) - 0.4) / 0.2,
)
"""Distributions of mean 0 and standard deviation 1, none of them normal."""


def off(rng: Rng, sd: float) -> float:
    """A factor whose logarithm is off by sd, by one of the distributions."""
    return float(np.exp(sd * TAILS[rng.integers(len(TAILS))](rng)))


@dataclass(frozen=True, kw_only=True)
class Pigment:
    """Bands (n, 4): place (1/cm), width to the red and to the blue (1/cm), height; and a floor.

    K per µm of dry ink is peak times their sum; slope: of S over wavelength; S at 550 nm per µm.
    """

    bands: np.ndarray
    floor: float
    peak: float
    S550: float
    slope: float
    lilt: float

    @property
    def K(self) -> np.ndarray:
        """K (31,) per µm."""
        place, red, blue, height = self.bands.T[:, :, None]
        width = np.where(place > WAVE, red, blue)
        bands = height * np.exp(-(((WAVE - place) / width) ** 2))
        return self.peak * (bands.sum(axis=0) + self.floor)

    @property
    def S(self) -> np.ndarray:
        """S (31,) per µm: falls with wavelength, bends about the band (anomalous dispersion)."""
        bend = 1.0 + self.lilt * np.tanh((self.bands[0, 0] - WAVE) / 1500.0)
        return self.S550 * (NM / 550.0) ** -self.slope * bend

    def moved(self, rng: Rng, *, size: float = 1.0) -> Pigment:
        """A pigment like it: of another maker or another batch; size 1: what one takes for it."""
        count = len(self.bands)
        bands = self.bands.copy()
        bands[:, 0] += size * rng.uniform(-350.0, 350.0) + size * rng.uniform(-150, 150, count)
        bands[:, 1:3] *= np.exp(size * rng.uniform(-0.3, 0.3, (count, 2)))
        bands[1:, 3] *= np.exp(size * 0.25 * rng.standard_t(5, count - 1))
        return replace(
            self,
            bands=bands,
            floor=self.floor * off(rng, 0.4 * size),
            peak=self.peak * off(rng, 0.28 * size),
            S550=self.S550 * off(rng, 0.30 * size),
            slope=self.slope + size * rng.uniform(-0.4, 0.4),
        )


def draw_pigment(rng: Rng) -> Pigment:
    """Any color; one in eight a black or gray."""
    u = rng.uniform
    strength, scatter = 10 ** u(-0.95, -0.15), 10 ** u(-2.5, -1.5)
    if rng.random() < 0.125:
        bands = np.array([[u(17_000, 24_000), u(9_000, 20_000), u(9_000, 20_000), 1.0]])
        return Pigment(bands=bands, floor=0.1, peak=strength, S550=scatter, slope=u(0.0, 1.0),
                       lilt=0.0)  # fmt: skip
    place = 1e7 / u(395, 690)
    bands = [
        [place, u(450, 1500), u(1200, 3500), 1.0],
        [place + u(1100, 2200), u(700, 1500), u(1200, 4500), u(0.2, 0.9)],
        [1e7 / u(365, 440), u(1000, 2500), 4000.0, u(0.0, 0.7)],
    ]
    return Pigment(
        bands=np.array(bands), floor=10 ** u(-2.8, -1.6), peak=strength, S550=scatter,
        slope=u(0.5, 2.5), lilt=u(-0.2, 0.2),
    )  # fmt: skip


def draw_white(rng: Rng) -> Pigment:
    """Titanium white: absorbs from 410 nm down."""
    bands = np.array([[1e7 / 385, rng.uniform(500, 900), 4000.0, 1.0]])
    return Pigment(bands=bands, floor=rng.uniform(1e-3, 6e-3), peak=0.2,
                   S550=np.exp(rng.uniform(np.log(0.25), np.log(0.95))),
                   slope=rng.uniform(0.3, 0.9), lilt=0.0)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class InkTruth:
    """Pigments by their share of the dry ink."""

    parts: tuple[tuple[float, Pigment], ...]

    @property
    def K(self) -> np.ndarray:
        """K (31,) per µm."""
        return np.asarray(sum((c * pigment.K for c, pigment in self.parts), np.full(31, 1e-9)))

    @property
    def S(self) -> np.ndarray:
        """S (31,) per µm."""
        return np.asarray(sum((c * pigment.S for c, pigment in self.parts), np.full(31, 1e-9)))

    def moved(self, rng: Rng, *, size: float = 1.0) -> InkTruth:
        """An ink like it: see `Pigment.moved`."""
        return InkTruth(
            parts=tuple(
                (share * off(rng, 0.15 * size) if len(self.parts) > 1 else share,
                 pigment.moved(rng, size=size))
                for share, pigment in self.parts
            )
        )  # fmt: skip

    def film(self, um: float, backing: np.ndarray) -> np.ndarray:
        """Reading (31,) of an even film over a backing read as given."""
        under = internal_from_external(backing)
        return np.asarray(
            external_from_internal(film_over(self.K, self.S, thickness_um=um, backing=under))
        )


def draw_ink(rng: Rng) -> InkTruth:
    """A color: one or two pigments, three in ten with white."""
    parts = [(1.0, draw_pigment(rng))]
    if rng.random() < 0.35:
        share = rng.uniform(0.1, 0.5)
        parts = [(1.0 - share, parts[0][1]), (share, draw_pigment(rng))]
    if rng.random() < 0.30:
        white = rng.uniform(0.05, 0.45)
        parts = [((1.0 - white) * share, p) for share, p in parts] + [(white, draw_white(rng))]
    return InkTruth(parts=tuple(parts))


@cache
def textiles() -> np.ndarray:
    """33 measured textiles (n, 31): Vrhel, Gershon & Iwan 1994."""
    cloths = read_textiles()
    each = [resample(r, wavelengths_nm=cloths.wavelengths_nm).values for r in cloths.reflectance]
    return np.clip(np.array(each), 2e-3, 0.93)


def cloth_from_ks(ks: np.ndarray) -> np.ndarray:
    """Reading (31,) of cloth of an internal K/S."""
    return np.asarray(external_from_internal(reflectance_from_ks(ks)))


def internal(reading: np.ndarray) -> np.ndarray:
    """Reflectance (31,) under the surface of a sample read as given."""
    return np.asarray(internal_from_external(reading))


def ks_of(cloth: np.ndarray) -> np.ndarray:
    """Internal K/S (31,) of cloth from its reading."""
    return np.asarray(ks_from_reflectance(internal_from_external(cloth)))


def draw_cloth(rng: Rng) -> np.ndarray:
    """A textile, dyed up to eight times as deep or half as deep."""
    which = rng.integers(len(textiles()))
    return np.clip(cloth_from_ks(ks_of(textiles()[which]) * 2 ** rng.uniform(-1, 3)), 4e-3, 0.93)


def wave(rng: Rng, *, nodes: int = 5) -> np.ndarray:
    """A smooth curve (31,) of rms 1: straight lines between random nodes, rounded off."""
    at = np.sort(rng.uniform(390, 710, nodes))
    curve = np.interp(NM, at, rng.uniform(-1, 1, nodes))
    curve = np.convolve(np.pad(curve, 3, mode="edge"), np.ones(7) / 7, mode="valid")
    return np.asarray(curve / max(float(np.sqrt(np.mean(curve**2))), 1e-3))


def draw_press(rng: Rng, press: Press) -> PressValues:
    """A press about the generic one, by other distributions than the normal."""
    found = {}
    for name in PressValues._fields:
        value, sd = getattr(press, name)
        meaning = MEANINGS[name]
        drawn = value + sd * TAILS[rng.integers(len(TAILS))](rng)
        found[name] = float(np.clip(drawn, meaning.least, meaning.most))
    return PressValues(**found)
