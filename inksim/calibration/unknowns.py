"""The unknowns of a calibration: what each is, its prior, and what it moves.

All have the prior N(0, 1): they are in units of their prior standard deviations. First come the
press's parameters. What is unknown of the stock comes in parts, an ink, a cloth or a lot each, and
every unknown of a part adds a pattern over the bands to logarithms of the builds: to ln K and ln S
of the films of an ink, to ln K/S of a cloth, and to what a discharge leaves of it. An ink has the
strengths and the shapes of its `SpectralError`; a lot has strengths about those of its ink or cloth
[assumption: as lots of measured ones differ]. What is of cloths and lots is nuisance: it keeps the
press unbiased, and is not kept, for the next lot is another. So is the error that the readings of
one picture have in common: three unknowns each, that move the Lab of all its readings.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from inksim.calibration.print_reading import PrintReading
from inksim.colour import BANDS
from inksim.common import BoolArray, FloatArray
from inksim.stock import (
    CLOTH_KS_SD,
    DISCHARGE_LEFT_SD,
    INK_K_SD,
    INK_S_SD,
    MEANINGS,
    Garment,
    Ink,
    Press,
    PressValues,
    error_of,
    error_of_cloth,
    lab_root,
)

Kind = Literal["ink", "ink lot", "cloth", "cloth lot", "discharge"]
K, S = 0, 1  # of a film's pair of logarithms
CLOTH, LEFT = 0, 1  # of the cloth's, which stands behind the films'


@dataclass(frozen=True, kw_only=True, eq=False)
class Part:
    """Unknowns of one ink, cloth or lot.

    name: of it. start: its first unknown. scale (m,): one standard deviation of each, of a
    logarithm; 1 for a place along a shape. patterns (m, 2, 31): what one standard deviation adds to
    a pair of logarithms, of a film (ln K, ln S) or of the cloth (ln K/S, ln of what a discharge
    leaves). at (R, L + 1): the films of each reading, then its cloth, that it moves. labels (m,).
    """

    kind: Kind
    name: str
    start: int
    scale: FloatArray
    patterns: FloatArray
    at: BoolArray
    labels: tuple[str, ...]

    @property
    def columns(self) -> slice:
        """Where its unknowns stand in u."""
        return slice(self.start, self.start + len(self.scale))


@dataclass(frozen=True, kw_only=True, eq=False)
class Unknowns:
    """The unknowns u (n,): the press's parameters, then the parts of the stock.

    parameters: names of those with an sd. scale (n,): one standard deviation, in the parameter's
    unit or as a logarithm. pictures: keys of those that readings share an error of, three unknowns
    each, behind the parts; offsets (R, 3, 3P): what one of them adds to the Lab of each. least,
    most (n,): the range of u. of_ink (n,): mask of what belongs to an ink itself, and not to a lot
    of it.
    """

    parameters: tuple[str, ...]
    parts: tuple[Part, ...]
    pictures: tuple[str, ...]
    offsets: FloatArray
    scale: FloatArray
    least: FloatArray
    most: FloatArray
    of_ink: BoolArray

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return int(self.scale.size)

    @property
    def inks(self) -> tuple[Part, ...]:
        """The inks, as they stand after the parameters."""
        return tuple(part for part in self.parts if part.kind == "ink")

    @property
    def of_pictures(self) -> slice:
        """The unknowns of the pictures, the last ones."""
        return slice(self.size - self.offsets.shape[-1], self.size)

    @property
    def kept(self) -> BoolArray:
        """Mask (n,) of what a calibration keeps: the press and its inks."""
        return self.of_ink | (np.arange(self.size) < len(self.parameters))

    @property
    def labels(self) -> tuple[str, ...]:
        """Name of each unknown."""
        stock = (label for part in self.parts for label in part.labels)
        axes = (f"{axis} of picture {key}" for key in self.pictures for axis in ("L*", "a*", "b*"))
        return (*self.parameters, *stock, *axes)

    def press_moves(self, u: FloatArray) -> FloatArray:
        """What u (..., n) adds to the parameters, (..., p)."""
        own = slice(0, len(self.parameters))
        return np.asarray(u[..., own] * self.scale[own])

    def stock_moves(self, u: FloatArray) -> FloatArray:
        """What u (D, n) adds to the pairs of logarithms (D, R, L + 1, 2, 31)."""
        own = slice(len(self.parameters), self.of_pictures.start)
        return np.tensordot(u[:, own], self._patterns, axes=1)

    def read_off(self, u: FloatArray) -> FloatArray:
        """What u (D, n) adds to the Lab of the readings by their pictures, (D, R, 3)."""
        return np.asarray(np.einsum("rkp,dp->drk", self.offsets, u[:, self.of_pictures]))

    @cached_property
    def _patterns(self) -> FloatArray:
        """What one sd of each unknown of the stock adds, (n - p, R, L + 1, 2, 31)."""
        first = len(self.parameters)
        made = np.zeros((self.of_pictures.start - first, *self.parts[0].at.shape, 2, BANDS))
        for part in self.parts:
            for at, pattern in enumerate(part.patterns, start=part.start - first):
                made[at, part.at] = pattern
        return made


class _Parts:
    """Collects the parts, one after the other."""

    def __init__(self, start: int) -> None:
        self.made: list[Part] = []
        self.end = start

    def add(
        self,
        kind: Kind,
        name: str,
        at: BoolArray,
        steps: Sequence[tuple[str, float, FloatArray]],
    ) -> None:
        """Steps: label, scale, and pattern (2, 31) of one standard deviation."""
        labels, scale, patterns = zip(*steps, strict=True)
        self.made.append(
            Part(
                kind=kind, name=name, start=self.end, scale=np.array(scale),
                patterns=np.array(patterns), at=at, labels=labels,
            )
        )  # fmt: skip
        self.end += len(scale)


def unknowns_of(readings: Sequence[PrintReading], press: Press) -> Unknowns:
    """List the unknowns that the readings bear on."""
    names = tuple(n for n in PressValues._fields if getattr(press, n).sd > 0)
    parts = _Parts(len(names))
    inks: dict[str, Ink] = {}
    for reading in readings:
        inks.update({layer.ink.name: layer.ink for layer in reading.build.layers})
    cloths = {reading.build.garment.name: reading.build.garment for reading in readings}
    films = max(len(reading.build.layers) for reading in readings)

    def films_where(what: Callable[[PrintReading, int], bool]) -> BoolArray:
        at = np.zeros((len(readings), films + 1), dtype=np.bool_)
        for row, reading in enumerate(readings):
            for film in range(len(reading.build.layers)):
                at[row, film] = what(reading, film)
        return at

    def cloths_where(what: Callable[[PrintReading], bool]) -> BoolArray:
        at = np.zeros((len(readings), films + 1), dtype=np.bool_)
        at[:, films] = [what(reading) for reading in readings]
        return at

    for name, ink in inks.items():
        at = films_where(lambda r, film, name=name: r.build.layers[film].ink.name == name)  # type: ignore[misc]
        parts.add("ink", name, at, list(_ink_steps(ink)))
    for name, garment in cloths.items():
        at = cloths_where(lambda r, name=name: r.build.garment.name == name)  # type: ignore[misc]
        parts.add("cloth", name, at, list(_cloth_steps(garment)))
    for name, garment in cloths.items():
        at = cloths_where(
            lambda r, name=name: (  # type: ignore[misc]
                r.build.garment.name == name and r.build.layers[0].ink.kind == "discharge-base"
            )
        )
        if at.any():
            sd = DISCHARGE_LEFT_SD[garment.discharged is not None]
            parts.add("discharge", name, at, [(f"dye left in {name}", sd, _pattern(LEFT, sd))])
    for name in inks:
        lots = {
            lot
            for r in readings
            for layer, lot in zip(r.build.layers, r.lots, strict=True)
            if layer.ink.name == name
        }
        for lot in sorted(lots - {""}):
            at = films_where(
                lambda r, film, name=name, lot=lot: (  # type: ignore[misc]
                    r.build.layers[film].ink.name == name and r.lots[film] == lot
                )
            )
            parts.add("ink lot", f"{name}, lot {lot}", at, list(_lot_steps(f"{name}, lot {lot}")))
    for name in cloths:
        lots = {r.garment_lot for r in readings if r.build.garment.name == name}
        for lot in sorted(lots - {""}):
            at = cloths_where(
                lambda r, name=name, lot=lot: (  # type: ignore[misc]
                    r.build.garment.name == name and r.garment_lot == lot
                )
            )
            sd = CLOTH_KS_SD["measured"]
            step = (f"dye of {name}, lot {lot}", sd, _pattern(CLOTH, sd))
            parts.add("cloth lot", f"{name}, lot {lot}", at, [step])
    return _unknowns(names, press, tuple(parts.made), *_pictures(readings))


def _pictures(readings: Sequence[PrintReading]) -> tuple[tuple[str, ...], FloatArray]:
    """Pictures that readings share an error of, and offsets (R, 3, 3P): see `Unknowns`.

    An error of a picture is as large in ΔE00 for all its readings, and moves like colors alike.
    """
    of_each = [reading.noise.pictures for reading in readings]
    keys = tuple(dict.fromkeys(key for shares in of_each for key in shares))
    offsets = np.zeros((len(readings), 3, len(keys), 3))
    for at, (reading, shares) in enumerate(zip(readings, of_each, strict=True)):
        for key, off in shares.items():
            offsets[at, :, keys.index(key)] = lab_root(reading.seen, off)
    return keys, offsets.reshape(len(readings), 3, -1)


def _unknowns(
    names: tuple[str, ...],
    press: Press,
    parts: tuple[Part, ...],
    pictures: tuple[str, ...],
    offsets: FloatArray,
) -> Unknowns:
    sds = [getattr(press, name).sd for name in names]
    of_pictures = np.ones(offsets.shape[-1])
    scale = np.concatenate([sds, *(part.scale for part in parts), of_pictures])
    least, most = np.full(scale.size, -np.inf), np.full(scale.size, np.inf)
    for at, name in enumerate(names):
        value, sd = getattr(press, name)
        least[at] = (MEANINGS[name].least - value) / sd
        most[at] = (MEANINGS[name].most - value) / sd
    of_ink = np.zeros(scale.size, dtype=np.bool_)
    for part in parts:
        of_ink[part.columns] = part.kind == "ink"
    return Unknowns(
        parameters=names, parts=parts, pictures=pictures, offsets=offsets, scale=scale,
        least=least, most=most, of_ink=of_ink,
    )  # fmt: skip


def _pattern(which: int, step: float | FloatArray) -> FloatArray:
    pattern = np.zeros((2, BANDS))
    pattern[which] = step
    return pattern


def _ink_steps(ink: Ink) -> list[tuple[str, float, FloatArray]]:
    """Strengths and shapes of an ink, in the order of a `Strength`."""
    error = error_of(ink)
    return [
        (f"K of {ink.name}", error.K, _pattern(K, error.K)),
        (f"S of {ink.name}", error.S, _pattern(S, error.S)),
        *(
            (f"shape {at} of {ink.name}", 1.0, shape)
            for at, shape in enumerate(error.shapes, start=1)
        ),
    ]


def _lot_steps(name: str) -> list[tuple[str, float, FloatArray]]:
    """Strengths of a lot of an ink about the ink's own."""
    k, s = INK_K_SD["measured"], INK_S_SD["measured"]
    return [(f"K of {name}", k, _pattern(K, k)), (f"S of {name}", s, _pattern(S, s))]


def _cloth_steps(garment: Garment) -> list[tuple[str, float, FloatArray]]:
    """Dye of a cloth, and the shapes of it that are not known."""
    error = error_of_cloth(garment)
    return [
        (f"dye of {garment.name}", error.ks, _pattern(CLOTH, error.ks)),
        *(
            (f"shape {at} of the dye of {garment.name}", 1.0, _pattern(CLOTH, shape))
            for at, shape in enumerate(error.shapes, start=1)
        ),
    ]
