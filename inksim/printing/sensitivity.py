"""Sensitivity of a prediction: one-standard-deviation moves along independent directions.

The press's parameters move along the principal axes of their covariance, and the calibrated inks
with them by their conditional expectation; the conditional covariance of those inks, all other
inks, the cloth and what a discharge leaves are directions of their own. All directions are
independent, and each move is made in all builds at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from inksim.common import FloatArray, IndexArray
from inksim.printing.build import BuildTable
from inksim.stock import MEANINGS, Press, PressValues

_NOTHING = 1e-12  # variance below which an axis is not moved
_LEAST_ROOM = 0.25  # standard deviations: with less on one side both moves go to the other


@dataclass(frozen=True, kw_only=True, eq=False)
class StockSds:
    """Prior standard deviations of the stock of B builds, of logarithms.

    K, S (B, L): of each layer's ink, 0 pads; ink (B, L): its name, '' pads; cloth (B,): of the
    cloth's K/S; left (B,): of the dye that a discharge leaves.
    """

    K: FloatArray
    S: FloatArray
    ink: npt.NDArray[np.object_]
    cloth: FloatArray
    left: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Axis:
    """Two moves along one principal axis of the covariance of the press.

    up, down: its parameters, at (2,) standard deviations along the axis: 1 and −1, less where a
    parameter's range ends before, or both on one side of a value at a bound. strengths (m, 2): how
    ln K and ln S of each of the press's strengths move with one standard deviation.
    """

    up: PressValues
    down: PressValues
    at: tuple[float, float]
    strengths: FloatArray


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
                    strengths=moved.reshape(-1, 2),
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
    """Conditional covariance (2m, 2m) of ln K, ln S of the strengths, given the parameters."""
    size, covariance = len(PressValues._fields), press.covariance
    across = covariance[size:, :size]
    known = np.linalg.pinv(covariance[:size, :size], rcond=_NOTHING, hermitian=True)
    return np.asarray(covariance[size:, size:] - across @ known @ across.T)


def placed(press: Press, sds: StockSds) -> IndexArray:
    """Index (B, L) of each layer's ink among the press's strengths; −1 for none."""
    place = np.full(sds.ink.shape, -1, dtype=np.intp)
    for at, strength in enumerate(press.strengths):
        place[sds.ink == strength.ink] = at
    return place


def moved_inks(table: BuildTable, ln: FloatArray, *, steps: float) -> BuildTable:
    """Move ln K and ln S of a table by `steps` times ln (B, L, 2)."""
    factor = np.exp(steps * ln)[..., None, :]
    return replace(table, K=table.K * factor[..., 0], S=table.S * factor[..., 1])


def press_directions(
    table: BuildTable, place: IndexArray, axes: Sequence[Axis]
) -> Iterator[tuple[tuple[BuildTable, PressValues], tuple[BuildTable, PressValues]]]:
    """Each axis of the press up and down, with the inks whose strength goes with it."""
    for axis in axes:
        if not axis.strengths.any():
            yield (table, axis.up), (table, axis.down)
            continue
        ln = np.concatenate([axis.strengths, np.zeros((1, 2))])[place]
        yield (
            (moved_inks(table, ln, steps=axis.at[0]), axis.up),
            (moved_inks(table, ln, steps=axis.at[1]), axis.down),
        )


def ink_steps(sds: StockSds, place: IndexArray, *, press: Press) -> FloatArray:
    """Inks' directions: steps (2L, B, L, 2) of one standard deviation in ln K and ln S per layer.

    K and S of each layer's ink are independent, by provenance; where the press has a strength for
    the ink, the covariance that its parameters leave takes their place, build by build.
    """
    builds, layers = sds.K.shape
    sd = np.stack([sds.K, sds.S], axis=-1).reshape(builds, 2 * layers) * press.ink_sd_factor
    steps = np.zeros((2 * layers, builds, 2 * layers))
    at = np.arange(2 * layers)
    steps[at, :, at] = sd.T
    known = np.flatnonzero((place >= 0).any(axis=1))
    if known.size:
        kinds, kind = np.unique(place[known], axis=0, return_inverse=True)
        row = np.stack([2 * kinds, 2 * kinds + 1], axis=-1).reshape(len(kinds), -1)
        left = left_of_strengths(press)[row[:, :, None], row[:, None, :]]
        unknown = (row < 0)[:, :, None] | (row < 0)[:, None, :]
        block = np.where(unknown, 0.0, left)[kind.reshape(-1)]
        block[:, at, at] += np.where(row[kind.reshape(-1)] < 0, sd[known] ** 2, 0.0)
        variance, axes = np.linalg.eigh(block)
        roots = np.sqrt(np.maximum(variance, 0.0))
        steps[:, known] = np.moveaxis(axes * roots[:, None, :], -1, 0)
    return steps.reshape(2 * layers, builds, layers, 2)


def cloth_directions(table: BuildTable, sds: StockSds) -> Iterator[tuple[BuildTable, BuildTable]]:
    """One standard deviation up and down of the cloth, and of what a discharge leaves in it."""
    cloth = sds.cloth[:, None]
    yield tuple(  # type: ignore[misc]
        replace(table, cloth_ks=table.cloth_ks * np.exp(sign * cloth)) for sign in (1.0, -1.0)
    )
    if table.discharges.any():
        left = sds.left[:, None] * table.discharges[:, None]
        most = np.maximum(table.cloth_ks, table.discharged_ks)
        yield tuple(  # type: ignore[misc]
            replace(
                table,
                discharged_ks=np.minimum(table.discharged_ks * np.exp(sign * left), most),
            )
            for sign in (1.0, -1.0)
        )
