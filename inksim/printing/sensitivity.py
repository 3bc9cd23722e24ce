"""Sensitivity of a prediction: one-standard-deviation moves along independent directions.

The press's parameters move along the principal axes of their covariance, and the calibrated inks
with them by their conditional expectation; the conditional covariance of those inks, all other
inks, the cloth and what a discharge leaves are directions of their own. All directions are
independent, and each move is made in all builds at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from inksim.colour import BANDS
from inksim.common import FloatArray, IndexArray
from inksim.printing.build import BuildTable
from inksim.stock import (
    DISCHARGE_LEFT_SD,
    MEANINGS,
    Garment,
    Ink,
    Press,
    PressValues,
    error_of,
    error_of_cloth,
)

_NOTHING = 1e-12  # variance below which an axis is not moved
_LEAST_ROOM = 0.25  # standard deviations: with less on one side both moves go to the other


@dataclass(frozen=True, kw_only=True, eq=False)
class StockErrors:
    """How far the stock of B builds may be off.

    ink (B, L): each layer's ink in the tables of I inks, −1 pads; names (I,); sds (I, C): standard
    deviation of each coordinate of an ink's error, ln K, ln S, then its shapes (1, or 0 pads);
    basis (I, C, 2, 31): what a coordinate adds to ln K and ln S of each band.
    cloth (B,): the garment in the tables of G; cloths (G, E, 31): one-sd directions of its ln K/S;
    left (G,): sd of the logarithm of the dye that a discharge leaves.
    """

    ink: IndexArray
    names: tuple[str, ...]
    sds: FloatArray
    basis: FloatArray
    cloth: IndexArray
    cloths: FloatArray
    left: FloatArray

    def take(self, which: IndexArray | slice) -> StockErrors:
        """Return those of some builds."""
        return replace(self, ink=self.ink[which], cloth=self.cloth[which])


def stock_errors(
    inks: Sequence[Ink], garments: Sequence[Garment], *, ink: IndexArray, cloth: IndexArray
) -> StockErrors:
    """Errors of builds by index: ink (B, L) into inks, −1 pads, cloth (B,) into garments."""
    errors = [error_of(each) for each in inks]
    most = max((len(error.shapes) for error in errors), default=0)
    rows = max(1, len(inks))  # of bare cloth alone a row of nothing
    sds = np.zeros((rows, 2 + most))
    basis = np.zeros((rows, 2 + most, 2, BANDS))
    basis[:, 0, 0] = basis[:, 1, 1] = 1.0
    for at, error in enumerate(errors):
        count = len(error.shapes)
        sds[at, :2] = error.K, error.S
        sds[at, 2 : 2 + count] = 1.0
        basis[at, 2 : 2 + count] = error.shapes
    return StockErrors(
        ink=ink,
        names=tuple(each.name for each in inks),
        sds=sds,
        basis=basis,
        cloth=cloth,
        cloths=_cloth_directions(garments),
        left=np.array([DISCHARGE_LEFT_SD[g.discharged is not None] for g in garments]),
    )


def _cloth_directions(garments: Sequence[Garment]) -> FloatArray:
    """One-sd directions (G, E, 31) of ln K/S: all bands together, then each shape; 0 pads."""
    errors = [error_of_cloth(garment) for garment in garments]
    most = max((len(error.shapes) for error in errors), default=0)
    made = np.zeros((len(garments), 1 + most, BANDS))
    for at, error in enumerate(errors):
        made[at, 0] = error.ks
        made[at, 1 : 1 + len(error.shapes)] = error.shapes
    return made


@dataclass(frozen=True, kw_only=True, eq=False)
class Axis:
    """Two moves along one principal axis of the covariance of the press.

    up, down: its parameters, at (2,) standard deviations along the axis: 1 and −1, less where a
    parameter's range ends before, or both on one side of a value at a bound. strengths (m,): how
    the coordinates of the press's strengths move with one standard deviation.
    """

    up: PressValues
    down: PressValues
    at: tuple[float, float]
    strengths: FloatArray


HALFTONE = ("dot_growth_um", "yule_nielsen_n")
"""Parameters of halftones alone."""


def press_axes(press: Press) -> list[Axis]:
    """Principal axes of the covariance of the press's parameters, and the inks' response to each.

    Given parameters p, strengths s are expected at C_sp·C_pp⁻¹·(p − p̂): along the axis a of
    variance v a step of √v moves them by C_sp·a/√v. A parameter that is known for certain is left
    out, so that it cannot reorder the axes of the others where two are equally unsure.
    """
    size = len(PressValues._fields)
    values, covariance = np.array(press.values, dtype=np.float64), press.covariance
    unsure = np.flatnonzero(np.diag(covariance)[:size] > 0.0)
    variance, among_unsure = np.linalg.eigh(covariance[np.ix_(unsure, unsure)])
    axes = np.zeros((size, unsure.size))
    axes[unsure] = among_unsure
    least = np.array([MEANINGS[name].least for name in PressValues._fields])
    most = np.array([MEANINGS[name].most for name in PressValues._fields])
    found = []
    for size_of, axis in zip(variance, axes.T, strict=True):
        if size_of > _NOTHING:
            step = np.sqrt(size_of) * axis
            at = _places(step, below=values - least, above=most - values)
            up, down = (np.clip(values + place * step, least, most) for place in at)
            moved = covariance[size:, :size] @ axis / np.sqrt(size_of)
            found.append(
                Axis(
                    up=PressValues(*up.tolist()),
                    down=PressValues(*down.tolist()),
                    at=at,
                    strengths=moved,
                )
            )
    return found


def _places(step: FloatArray, *, below: FloatArray, above: FloatArray) -> tuple[float, float]:
    """Positions of the two moves on an axis, in steps, so that no parameter leaves its range.

    A move that is cut off at a bound would look like curvature. Where an axis is shut on both
    sides, by two parameters at their bounds, there is no such place: the moves are cut off then.
    """
    moving = np.abs(step) > 1e-9 * (below + above)
    size, rising = np.abs(step[moving]), step[moving] > 0
    up, down = (
        min(1.0, float((np.where(rising == forward, above[moving], below[moving]) / size).min()))
        for forward in (True, False)
    )
    if min(up, down) >= _LEAST_ROOM:
        return up, -down
    if max(up, down) < _LEAST_ROOM:
        return 1.0, -1.0
    return (up, up / 2.0) if up > down else (-down / 2.0, -down)


def left_of_strengths(press: Press) -> FloatArray:
    """Conditional covariance of the strengths' coordinates, given the parameters."""
    size, covariance = len(PressValues._fields), press.covariance
    across = covariance[size:, :size]
    known = np.linalg.pinv(covariance[:size, :size], rcond=_NOTHING, hermitian=True)
    return np.asarray(covariance[size:, size:] - across @ known @ across.T)


def strength_rows(press: Press, errors: StockErrors) -> IndexArray:
    """Rows (I, C) of each ink's coordinates among the press's strengths; −1 where it has none."""
    rows = np.full(errors.sds.shape, -1, dtype=np.intp)
    for strength, each in zip(press.strengths, press.strength_rows, strict=True):
        for at, name in enumerate(errors.names):
            if name == strength.ink:
                rows[at, : each.size] = each[: len(rows[at])] - len(PressValues._fields)
    return rows


class InkKinds(NamedTuple):
    """Builds by the inks of their layers: the kinds (k, L), and each build's kind (B,)."""

    kinds: IndexArray
    kind: IndexArray


def ink_kinds(errors: StockErrors) -> InkKinds:
    """Which inks meet in a build: far fewer than there are builds."""
    kinds, kind = np.unique(errors.ink, axis=0, return_inverse=True)
    return InkKinds(kinds, np.asarray(kind.reshape(-1), dtype=np.intp))


def factors_of(errors: StockErrors, kinds: InkKinds, steps: FloatArray) -> FloatArray:
    """Factors (n, k, L, 2, 31) on K and S that steps (n, k, L, C) along the coordinates make."""
    basis = np.where(kinds.kinds[..., None, None, None] < 0, 0.0, errors.basis[kinds.kinds])
    k, layers, C = basis.shape[:3]
    flat = steps.reshape(-1, k * layers, C).transpose(1, 0, 2)
    ln = flat @ basis.reshape(k * layers, C, -1)
    return np.exp(ln.transpose(1, 0, 2).reshape(-1, k, layers, 2, BANDS))


def with_inks(table: BuildTable, kinds: InkKinds, factors: FloatArray) -> BuildTable:
    """Return the table with K and S times factors (k, L, 2, 31)."""
    moved = factors[kinds.kind]
    return replace(table, K=table.K * moved[..., 0, :], S=table.S * moved[..., 1, :])


def axis_steps(axis: Axis, rows: IndexArray, kinds: InkKinds) -> FloatArray:
    """Steps (k, L, C) of the inks' coordinates that go with one standard deviation of an axis."""
    moves = np.append(axis.strengths, 0.0)[rows]
    return np.where(kinds.kinds[..., None] < 0, 0.0, moves[kinds.kinds])


def ink_steps(
    errors: StockErrors, rows: IndexArray, kinds: InkKinds, *, press: Press
) -> FloatArray:
    """Inks' directions: steps (L·C, k, L, C) of one standard deviation, layer by layer.

    The coordinates of each layer's ink are independent; where the press has a strength for the
    ink, the covariance that its parameters leave takes their place. Its triangular root is taken:
    the directions of a film move the films above it along, as far as they are correlated, and
    never those below.
    """
    count, layers = kinds.kinds.shape
    sds = np.where(kinds.kinds[..., None] < 0, 0.0, errors.sds[kinds.kinds])
    C = sds.shape[-1]
    own = (sds * press.ink_sd_factor).reshape(count, layers * C)
    steps = np.zeros((layers * C, count, layers * C))
    at = np.arange(layers * C)
    steps[at, :, at] = own.T
    row = np.where(kinds.kinds[..., None] < 0, -1, rows[kinds.kinds]).reshape(count, -1)
    known = np.flatnonzero((row >= 0).any(axis=1))
    if known.size:
        left = left_of_strengths(press)[row[known][:, :, None], row[known][:, None, :]]
        missing = row[known] < 0
        block = np.where(missing[:, :, None] | missing[:, None, :], 0.0, left)
        block[:, at, at] += np.where(missing, own[known] ** 2, 0.0)
        variance, axes = np.linalg.eigh(block)
        roots = (axes * np.sqrt(np.maximum(variance, 0.0))[:, None, :]).mT
        steps[:, known] = np.moveaxis(np.linalg.qr(roots).R, 1, 0)
    return steps.reshape(layers * C, count, layers, C)


def cloth_factors(errors: StockErrors) -> FloatArray:
    """Factors (E, G, 31) on K/S of the cloths, one standard deviation along each direction."""
    return np.exp(np.moveaxis(errors.cloths, 1, 0))


def with_discharge_left(table: BuildTable, errors: StockErrors, *, steps: float) -> BuildTable:
    """Return the table with more or less of the dye that a discharge leaves."""
    left = np.exp(steps * errors.left[errors.cloth] * table.discharges)[:, None]
    most = np.maximum(table.cloth_ks, table.discharged_ks)
    return replace(table, discharged_ks=np.minimum(table.discharged_ks * left, most))


def is_seen(axis: Axis) -> bool:
    """Whether a solid print can depend on an axis: one of halftones alone it cannot."""
    if axis.strengths.any():
        return True
    return any(
        getattr(axis.up, name) != getattr(axis.down, name)
        for name in PressValues._fields
        if name not in HALFTONE
    )
