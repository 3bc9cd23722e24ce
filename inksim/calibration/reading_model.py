"""Forward model of a calibration: readings of prints as a function of its unknowns.

The unknowns u are in units of their prior standard deviations, so that each has the prior N(0, 1):
the press's parameters, ln K and ln S of every ink in the prints, ln K/S of every cloth (from lot to
lot) and the logarithm of the dye that a discharge leaves in it. The last two are nuisance
parameters, so that a lot of cloth does not bias the press; they are not kept.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import Viewing, check_plausible_lab, lab as lab_of
from inksim.common import MM_PER_INCH, BoolArray, FloatArray, IndexArray, InputError
from inksim.optics import dot_coverage, dot_radius
from inksim.printing import Build, BuildTable, lower, mean_reflectance, tabulate
from inksim.stock import (
    CLOTH_KS_SD,
    DISCHARGE_LEFT_SD,
    INK_K_SD,
    INK_S_SD,
    MEANINGS,
    Ink,
    Press,
    PressValues,
    Provenance,
    frozen_spectrum,
    least_sure,
)

STEP = 0.02  # of u, for central differences: Lab is smooth and exact to 1e-10
_LEAST_DOT = 1e-12  # reflectance under which a Yule-Nielsen root is not taken


@dataclass(frozen=True, kw_only=True, eq=False)
class PrintReading:
    """A reading of a real print: the build, and its spectrum or Lab.

    Parameters
    ----------
    build : with the inks as filed, not as a calibrated press prints them (`Shop.before`).
    reflectance : (31,) external, 45:0 or specular excluded; or
    lab : (3,) under `viewing`, where there is no spectrum.
    weight : how many measurements the reading is the mean of; above 0.
    coverage, lines_per_inch : of the top color's halftone; 1 and None for a solid.
    """

    name: str
    build: Build
    reflectance: FloatArray | None = None
    lab: FloatArray | None = None
    viewing: Viewing = Viewing()
    weight: float = 1.0
    coverage: float = 1.0
    lines_per_inch: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        """Check the reading; freeze its spectrum."""
        where = f"reading '{self.name}'"
        if (self.reflectance is None) == (self.lab is None):
            raise InputError(f"{where}: give a spectrum or Lab, one of them.")
        if self.reflectance is not None:
            spectrum = frozen_spectrum(self.reflectance, what=where, most=1.5)
            object.__setattr__(self, "reflectance", spectrum)
        else:
            listed = check_plausible_lab(np.asarray(self.lab, dtype=np.float64), where=where)
            object.__setattr__(self, "lab", listed)
        if not 0 < self.weight < np.inf:
            raise InputError(
                f"{where}: weight is {self.weight:g}; it is how many measurements the reading is "
                "the mean of, above 0."
            )
        if not 0 < self.coverage <= 1:
            raise InputError(
                f"{where}: coverage is {self.coverage:g}; it is the top color's share of the area, "
                "above 0 and at most 1."
            )
        if self.coverage < 1 and not (self.lines_per_inch or 0) > 0:
            raise InputError(
                f"{where}: a halftone of {self.coverage:.0%} needs its lines per inch."
            )

    @property
    def seen(self) -> FloatArray:
        """Lab (3,) under `viewing`."""
        if self.reflectance is not None:
            return lab_of(self.reflectance, self.viewing)
        assert self.lab is not None
        return self.lab

    @property
    def what(self) -> Hashable:
        """Key of what was printed: equal for two readings of one build."""
        layers = tuple(
            (at.ink.name, at.screen.name, at.passes, at.flash) for at in self.build.layers
        )
        return (self.build.garment.name, layers, self.coverage, self.lines_per_inch)


@dataclass(frozen=True, kw_only=True, eq=False)
class Unknowns:
    """The unknowns u (n,), in the order press, ln K, ln S, cloths, discharges.

    parameters: names of the press's parameters with an sd; inks, cloths, discharged: names.
    scale (n,): one standard deviation, in the parameter's unit or as a logarithm. least, most
    (n,): the range of u.
    """

    parameters: tuple[str, ...]
    inks: tuple[str, ...]
    cloths: tuple[str, ...]
    discharged: tuple[str, ...]
    scale: FloatArray
    least: FloatArray
    most: FloatArray

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return int(self.scale.size)

    @property
    def of_ink(self) -> BoolArray:
        """Mask (n,) of the unknowns that belong to an ink."""
        start, count = len(self.parameters), 2 * len(self.inks)
        at = np.arange(self.size)
        return np.asarray((at >= start) & (at < start + count))

    @property
    def labels(self) -> tuple[str, ...]:
        """Name of each unknown."""
        return (
            *self.parameters,
            *(f"K of {name}" for name in self.inks),
            *(f"S of {name}" for name in self.inks),
            *(f"dye of {name}" for name in self.cloths),
            *(f"dye left in {name}" for name in self.discharged),
        )

    def split(
        self, u: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
        """Scaled parts of u (..., n): press, ln K, ln S, cloths, discharges."""
        i, c = len(self.inks), len(self.cloths)
        ends = np.cumsum([len(self.parameters), i, i, c])
        press, k, s, cloth, left = np.split(u * self.scale, ends, axis=-1)
        return press, k, s, cloth, left


def unknowns_of(readings: Sequence[PrintReading], press: Press) -> Unknowns:
    """List the unknowns that the readings bear on."""
    inks: dict[str, Ink] = {}
    cloths: dict[str, float] = {}
    left: dict[str, float] = {}
    for reading in readings:
        inks.update({layer.ink.name: layer.ink for layer in reading.build.layers})
        garment = reading.build.garment
        cloths[garment.name] = CLOTH_KS_SD[garment.data]
        if reading.build.layers[0].ink.kind == "discharge-base":
            left[garment.name] = DISCHARGE_LEFT_SD[garment.discharged is not None]
    names = tuple(n for n in PressValues._fields if getattr(press, n).sd > 0)
    k = [INK_K_SD[ink.data] for ink in inks.values()]
    s = [INK_S_SD[ink.data] for ink in inks.values()]
    sds = [getattr(press, n).sd for n in names]
    scale = np.array([*sds, *k, *s, *cloths.values(), *left.values()])
    least, most = np.full(scale.size, -np.inf), np.full(scale.size, np.inf)
    for at, name in enumerate(names):
        value, sd = getattr(press, name)
        least[at] = (MEANINGS[name].least - value) / sd
        most[at] = (MEANINGS[name].most - value) / sd
    return Unknowns(
        parameters=names,
        inks=tuple(inks),
        cloths=tuple(cloths),
        discharged=tuple(left),
        scale=scale,
        least=least,
        most=most,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class ReadingModel:
    """R readings and their forward model. read (R, 3): Lab as read, each under its own viewing."""

    readings: tuple[PrintReading, ...]
    press: Press
    unknowns: Unknowns
    table: BuildTable
    ink_at: IndexArray
    cloth_at: IndexArray
    left_at: IndexArray
    read: FloatArray

    @property
    def ink_data(self) -> Provenance:
        """The least certain provenance of the inks."""
        layers = [layer for reading in self.readings for layer in reading.build.layers]
        return least_sure(*(layer.ink.data for layer in layers))

    def values(self, u: FloatArray) -> PressValues:
        """The press's parameters at u (..., n): numbers, or arrays (...)."""
        moved = dict(
            zip(
                self.unknowns.parameters,
                np.moveaxis(self.unknowns.split(u)[0], -1, 0),
                strict=True,
            )
        )
        found = {}
        for name in PressValues._fields:
            value = getattr(self.press, name).value
            meaning = MEANINGS[name]
            if name in moved:
                found[name] = np.clip(value + moved[name], meaning.least, meaning.most)
            else:
                found[name] = np.full(u.shape[:-1], value)
        return PressValues(**found)

    def _moved(self, u: FloatArray) -> BuildTable:
        """The build table (D, B, ...) at u (D, n)."""
        _, ln_k, ln_s, cloth, left = (
            np.concatenate([part, np.zeros((*part.shape[:-1], 1))], axis=-1)
            for part in self.unknowns.split(u)
        )
        table = self.table
        factors = [np.exp(ln[:, self.ink_at])[..., None] for ln in (ln_k, ln_s)]
        cloth_ks = table.cloth_ks * np.exp(cloth[:, self.cloth_at])[..., None]
        done = np.minimum(
            table.discharged_ks * np.exp(left[:, self.left_at])[..., None],
            np.maximum(cloth_ks, table.discharged_ks),
        )
        return replace(
            table,
            K=table.K * factors[0],
            S=table.S * factors[1],
            cloth_ks=cloth_ks,
            discharged_ks=np.where(table.discharges[:, None], done, cloth_ks),
        )

    def reflectance(self, u: FloatArray) -> FloatArray:
        """Reflectance (D, R, 31) of all readings at u (D, n)."""
        table, values = self._moved(u), self.values(u)
        R = mean_reflectance(lower(table, values))
        tints = [at for at, reading in enumerate(self.readings) if reading.coverage < 1.0]
        if tints:
            under = mean_reflectance(lower(_without_top(table, self.readings), values))
            R[:, tints] = self._halftone(R[:, tints], under[:, tints], values, tints)
        return R

    def _halftone(
        self, solid: FloatArray, under: FloatArray, values: PressValues, tints: Sequence[int]
    ) -> FloatArray:
        """Yule-Nielsen mean of dots and the area between (`optics.halftone`), for many presses."""
        coverage = np.array([self.readings[at].coverage for at in tints])
        lines = np.array([self.readings[at].lines_per_inch for at in tints], dtype=np.float64)
        border = np.asarray(values.dot_growth_um)[:, None] * lines / (1000.0 * MM_PER_INCH)
        radius = dot_radius(coverage)
        area = dot_coverage(radius + np.minimum(radius, border))[..., None]
        n = np.asarray(values.yule_nielsen_n)[:, None, None]
        roots = [np.maximum(R, _LEAST_DOT) ** (1.0 / n) for R in (solid, under)]
        return np.asarray((area * roots[0] + (1.0 - area) * roots[1]) ** n)

    def lab(self, u: FloatArray) -> FloatArray:
        """Lab (D, R, 3) of all readings at u (D, n), each under its own viewing."""
        R = self.reflectance(u)
        found = np.empty((*R.shape[:2], 3))
        for viewing in {reading.viewing for reading in self.readings}:
            here = [at for at, reading in enumerate(self.readings) if reading.viewing == viewing]
            found[:, here] = lab_of(R[:, here], viewing)
        return found

    def jacobian(self, u: FloatArray) -> FloatArray:
        """Jacobian dLab/du (R, 3, n), by central differences inside the range."""
        least, most = self.unknowns.least, self.unknowns.most
        steps = STEP * np.eye(self.unknowns.size)
        up, down = np.clip(u + steps, least, most), np.clip(u - steps, least, most)
        both = self.lab(np.concatenate([up, down]))
        taken = np.sum(up - down, axis=1)
        slope = (both[: len(up)] - both[len(up) :]) / taken[:, None, None]
        return np.moveaxis(slope, 0, -1)


def _without_top(table: BuildTable, readings: Sequence[PrintReading]) -> BuildTable:
    """The same builds without their top film."""
    volume = table.ink_volume_um.copy()
    for at, reading in enumerate(readings):
        volume[at, len(reading.build.layers) - 1] = 0.0
    return replace(table, ink_volume_um=volume)


def reading_model(readings: Sequence[PrintReading], press: Press) -> ReadingModel:
    """Set up the model of some readings; press: before calibration, its sds are the priors."""
    unknowns = unknowns_of(readings, press)
    table = tabulate([reading.build for reading in readings])
    ink_at = np.full(table.passes.shape, len(unknowns.inks), dtype=np.intp)
    for row, reading in enumerate(readings):
        for column, layer in enumerate(reading.build.layers):
            ink_at[row, column] = unknowns.inks.index(layer.ink.name)
    garments = [reading.build.garment.name for reading in readings]
    left = dict(zip(unknowns.discharged, range(len(unknowns.discharged)), strict=True))
    return ReadingModel(
        readings=tuple(readings),
        press=press,
        unknowns=unknowns,
        table=table,
        ink_at=ink_at,
        cloth_at=np.array([unknowns.cloths.index(name) for name in garments], dtype=np.intp),
        left_at=np.array([left.get(name, len(left)) for name in garments], dtype=np.intp),
        read=np.stack([reading.seen for reading in readings]),
    )
