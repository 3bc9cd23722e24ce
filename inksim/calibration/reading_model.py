"""Forward model of a calibration: readings of prints as a function of its unknowns.

The unknowns are in unknowns.py. A print's reflectance in a band depends on K, S and K/S in that
band alone: the slopes by the logarithms of each film and of the cloth are taken once, in all bands
together, and chained to the patterns of all that is unknown of the stock. So the number of shapes
costs next to nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from inksim.calibration.print_reading import PrintReading
from inksim.calibration.unknowns import CLOTH, LEFT, K, S, Unknowns, unknowns_of
from inksim.colour import BANDS, Viewing, lab as lab_of, lab_from_xyz, xyz
from inksim.common import MM_PER_INCH, FloatArray
from inksim.optics import dot_coverage, dot_radius
from inksim.printing import BuildTable, Layer, lower, mean_reflectance, tabulate
from inksim.stock import MEANINGS, Press, PressValues, Provenance, least_sure

STEP = 0.02  # of a parameter, in its sds, for central differences: Lab is smooth, exact to 1e-10
LN_STEP = 0.01  # of a logarithm
_XYZ_STEP = 1e-4
_LEAST_DOT = 1e-12  # reflectance under which a Yule-Nielsen root is not taken


@dataclass(frozen=True, kw_only=True, eq=False)
class ReadingModel:
    """R readings and their forward model. read (R, 3): Lab as read, each under its own viewing."""

    readings: tuple[PrintReading, ...]
    press: Press
    unknowns: Unknowns
    table: BuildTable
    read: FloatArray

    @property
    def ink_data(self) -> Provenance:
        """The least certain provenance of the inks."""
        return least_sure(*(layer.ink.data for layer in self._layers))

    @property
    def ink_trust(self) -> Provenance:
        """Whose `INK_SD_FACTOR_PRIOR` holds for the inks.

        Of a measured ink that states its own error nobody would think that it is exact: it counts
        as one that was not measured.
        """
        return least_sure(
            *(
                "recovered" if at.ink.data == "measured" and at.ink.error is not None
                else at.ink.data
                for at in self._layers
            )
        )  # fmt: skip

    @property
    def _layers(self) -> list[Layer]:
        return [layer for reading in self.readings for layer in reading.build.layers]

    def values(self, u: FloatArray) -> PressValues:
        """The press's parameters at u (..., n): numbers, or arrays (...)."""
        own = [PressValues._fields.index(name) for name in self.unknowns.parameters]
        found = np.tile(np.array(self.press.values, dtype=np.float64), (*u.shape[:-1], 1))
        found[..., own] += self.unknowns.press_moves(u)
        least, most = np.array([MEANINGS[name][2:] for name in PressValues._fields]).T
        return PressValues(*np.moveaxis(np.clip(found, least, most), -1, 0))

    def _moved(self, ln: FloatArray) -> BuildTable:
        """The build table (D, R, ...) with its logarithms moved by ln (D, R, L + 1, 2, 31)."""
        table = self.table
        factor = np.exp(ln)
        films, cloth = factor[:, :, :-1], factor[:, :, -1]
        cloth_ks = table.cloth_ks * cloth[..., CLOTH, :]
        done = np.minimum(
            table.discharged_ks * cloth[..., LEFT, :],
            np.maximum(cloth_ks, table.discharged_ks),
        )
        return replace(
            table,
            K=table.K * films[..., K, :],
            S=table.S * films[..., S, :],
            cloth_ks=cloth_ks,
            discharged_ks=np.where(table.discharges[:, None], done, cloth_ks),
        )

    def reflectance(self, u: FloatArray) -> FloatArray:
        """Reflectance (D, R, 31) of all readings at u (D, n)."""
        return self._printed(self.values(u), self.unknowns.stock_moves(u))

    def _printed(self, values: PressValues, ln: FloatArray) -> FloatArray:
        """Reflectance (D, R, 31) for parameters (D,) and moved logarithms (D, R, L + 1, 2, 31)."""
        table = self._moved(ln)
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
        """Lab (D, R, 3) of all readings at u (D, n), each under its own viewing.

        As read: with the error that the readings of one picture share.
        """
        return self._seen(self.reflectance(u)) + self.unknowns.read_off(u)

    def _seen(self, R: FloatArray) -> FloatArray:
        found = np.empty((*R.shape[:2], 3))
        for viewing, here in self._viewings():
            found[:, here] = lab_of(R[:, here], viewing)
        return found

    def _viewings(self) -> list[tuple[Viewing, list[int]]]:
        """Each viewing, and the readings under it."""
        seen: dict[Viewing, list[int]] = {}
        for at, reading in enumerate(self.readings):
            seen.setdefault(reading.viewing, []).append(at)
        return list(seen.items())

    def jacobian(self, u: FloatArray) -> FloatArray:
        """Jacobian dLab/du (R, 3, n) at u (n,).

        The last one is kept: each round of a fit begins where the one before it ended.
        """
        place = u.tobytes()
        if place not in self._kept:
            self._kept.clear()
            self._kept[place] = self._jacobian(u)
            self._kept[place].flags.writeable = False
        return self._kept[place]

    @cached_property
    def _kept(self) -> dict[bytes, FloatArray]:
        return {}

    def _jacobian(self, u: FloatArray) -> FloatArray:
        # all steps are printed together: of a few readings the arrays are small
        unknowns, moving = self.unknowns, self._moving()
        moved = self._press_steps(u)
        ends = [1, len(moved), 2 * len(moving)]
        ln = np.repeat(unknowns.stock_moves(u[None]), sum(ends), axis=0)
        for at, (place, which) in enumerate(moving, start=sum(ends[:2])):
            ln[at, :, place, which] += LN_STEP
            ln[at + len(moving), :, place, which] -= LN_STEP
        still = np.broadcast_to(u, (ends[2], u.size))
        R = self._printed(self.values(np.concatenate([u[None], moved, still])), ln)
        here, of_press, of_ln = np.split(R, np.cumsum(ends)[:2])
        slopes = np.zeros((len(self.readings), 3, unknowns.size))
        up, down = np.split(self._seen(of_press), 2)
        taken = np.sum(moved[: len(up)] - moved[len(up) :], axis=1)
        slopes[..., : len(unknowns.parameters)] = np.moveaxis(up - down, 0, -1) / taken
        slopes[..., unknowns.of_pictures] = unknowns.offsets
        by_band = self._lab_slopes(here[0])
        up, down = np.split(of_ln, 2)
        for (place, which), slope in zip(moving, (up - down) / (2.0 * LN_STEP), strict=True):
            bands = by_band * slope[:, None]
            for part in unknowns.parts:
                rows = part.at[:, place]
                if rows.any():
                    slopes[rows, :, part.columns] += bands[rows] @ part.patterns[:, which].T
        return slopes

    def _press_steps(self, u: FloatArray) -> FloatArray:
        """Steps (2p, n) up and then down each parameter, inside its range."""
        unknowns = self.unknowns
        steps = STEP * np.eye(unknowns.size)[: len(unknowns.parameters)]
        moved = np.concatenate([u + steps, u - steps])
        return np.asarray(np.clip(moved, unknowns.least, unknowns.most))

    def _moving(self) -> list[tuple[int, int]]:
        """Places and pairs' members that some unknown moves: see `Part`."""
        moved = np.zeros((self.unknowns.parts[0].at.shape[1], 2), dtype=np.bool_)
        for part in self.unknowns.parts:
            places, members = part.at.any(axis=0), part.patterns.any(axis=(0, 2))
            moved |= np.outer(places, members)
        return [(int(place), int(which)) for place, which in np.argwhere(moved)]

    def _lab_slopes(self, R: FloatArray) -> FloatArray:
        """dLab/dR (R, 3, 31) of the readings at their reflectance (R, 31)."""
        found = np.empty((len(R), 3, BANDS))
        h = _XYZ_STEP * np.eye(3)
        for viewing, here in self._viewings():
            at = xyz(R[here], viewing)[:, None]
            by_xyz = (lab_from_xyz(at + h, viewing) - lab_from_xyz(at - h, viewing)) / (
                2.0 * _XYZ_STEP
            )
            found[here] = by_xyz.mT @ xyz(np.eye(BANDS), viewing).T
        return found


def _without_top(table: BuildTable, readings: Sequence[PrintReading]) -> BuildTable:
    """The same builds without their top film."""
    volume = table.ink_volume_um.copy()
    for at, reading in enumerate(readings):
        volume[at, len(reading.build.layers) - 1] = 0.0
    return replace(table, ink_volume_um=volume)


def reading_model(readings: Sequence[PrintReading], press: Press) -> ReadingModel:
    """Set up the model of some readings; press: before calibration, its sds are the priors."""
    return ReadingModel(
        readings=tuple(readings),
        press=press,
        unknowns=unknowns_of(readings, press),
        table=tabulate([reading.build for reading in readings]),
        read=np.stack([reading.seen for reading in readings]),
    )
