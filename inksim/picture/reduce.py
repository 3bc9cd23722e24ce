"""Reduce labels and cloth by a whole factor, once for every garment.

A preview shows the artwork smaller. What covers each output pixel, and which thickness quantiles
the cloth has inside it, depend on neither garment nor ink: they are worked out once and kept, and
`render.recolour` turns them into a picture for any look.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from inksim.common import Float32Array, FloatArray, IndexArray, InputError, Uint8Array
from inksim.optics import LEVELS

T = TypeVar("T", bound=np.generic)


def _hats(count: int) -> FloatArray:
    """Piecewise linear basis (256, count) over the levels, knots dense at both ends (cosine).

    The thin and the thick end are where a film's color bends most.
    """
    knots = (LEVELS - 1) / 2 * (1 - np.cos(np.pi * np.arange(count) / (count - 1)))
    levels = np.arange(LEVELS, dtype=float)
    return np.stack([np.interp(levels, knots, hat) for hat in np.eye(count)], axis=1)


HATS: FloatArray = _hats(24)
"""Colors over the 256 levels are carried as 24 knot values; real films are then within one
8-bit code, and the mean over the levels is exact (see `knots_of`)."""


def knots_of(light: FloatArray) -> FloatArray:
    """Knot values (24, ...) of light over the levels (256, ...), by least squares.

    The hats add up to 1, so the residual has mean 0: the mean over the levels is kept exactly.
    """
    return np.asarray(np.linalg.pinv(HATS) @ light)


def frozen(array: NDArray[T]) -> NDArray[T]:
    """The same array, read-only from now on."""
    array.setflags(write=False)
    return array


@dataclass(frozen=True, kw_only=True, eq=False)
class Coverage:
    """Labels reduced by a whole factor: what covers each output pixel. Garment-independent.

    label: uint8 (h, w), the only label of a pure pixel (of a mixed one: its lowest).
    mixed: (n,) flat indices, ascending, of the pixels that more than one label covers.
    start: (n,) where each mixed pixel's entries begin; entry_label, entry_weight: (m,), the labels
    that cover it and their shares of its area, which sum to 1.
    """

    factor: int
    label: Uint8Array
    mixed: IndexArray
    start: IndexArray
    entry_label: Uint8Array
    entry_weight: Float32Array

    @property
    def shape(self) -> tuple[int, int]:
        """Height and width in pixels."""
        return (int(self.label.shape[0]), int(self.label.shape[1]))


@dataclass(frozen=True, kw_only=True, eq=False)
class Weave:
    """A cloth tile reduced by a whole factor: per output pixel the weights (h, w, 24) of the knots.

    They sum to 1. Repeats like the tile; cut to the picture where that is smaller.
    """

    factor: int
    weight: Float32Array


def reduction_factor(shape: tuple[int, int], *, max_px: int) -> int:
    """Least whole factor that brings the longer side to max_px or less."""
    if max_px < 1:
        raise InputError(f"a preview of at most {max_px} px is asked for; give at least 1.")
    return max(1, -(-max(shape) // max_px))


def reduce_labels(labels: Uint8Array, factor: int) -> Coverage:
    """Area coverage of each label in every factor x factor block of labels uint8 (H, W).

    Blocks cut by the right or bottom edge count the area that is there. Slow part of a preview,
    the same for every garment: keep the result.
    """
    if labels.ndim != 2 or labels.dtype != np.uint8 or not labels.size or factor < 1:
        raise InputError(
            f"labels of shape {labels.shape} and type {labels.dtype} cannot be reduced by "
            f"{factor}; give 8-bit integers, rows x columns, and a factor of at least 1."
        )
    rows, columns = (-(-side // factor) for side in labels.shape)
    block = (min(factor, labels.shape[0]), min(factor, labels.shape[1]))
    lowest = np.empty((rows, columns), dtype=np.uint8)
    found: list[tuple[IndexArray, IndexArray, Uint8Array, Float32Array]] = []
    step = max(1, 512 // factor)  # output rows at a time, to keep the work small
    for top in range(0, rows, step):
        band = labels[top * factor : (top + step) * factor]
        low, entries = _reduce_band(band, block=block)
        lowest[top : top + step] = low
        found.append((entries[0] + top * columns, *entries[1:]))
    pixel, first, label, weight = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return Coverage(
        factor=factor,
        label=frozen(lowest),
        mixed=frozen(pixel[np.flatnonzero(first)]),
        start=frozen(np.flatnonzero(first)),
        entry_label=frozen(label.astype(np.uint8)),
        entry_weight=frozen(weight.astype(np.float32)),
    )


def _reduce_band(
    band: Uint8Array, *, block: tuple[int, int]
) -> tuple[Uint8Array, tuple[IndexArray, IndexArray, Uint8Array, Float32Array]]:
    """Lowest label of each block and, for mixed blocks, (pixel, is-first, label, share) entries."""
    down, across = block
    rows, columns = -(-band.shape[0] // down), -(-band.shape[1] // across)
    pad = (rows * down - band.shape[0], columns * across - band.shape[1])
    full = np.pad(band, ((0, pad[0]), (0, pad[1])), mode="edge") if any(pad) else band
    low = _block_extreme(np.minimum, full, block)
    high = _block_extreme(np.maximum, full, block)
    i, j = np.nonzero(low != high)
    blocks = full.reshape(rows, down, columns, across)[i, :, j, :]
    inside_y = i[:, None] * down + np.arange(down) < band.shape[0]
    inside_x = j[:, None] * across + np.arange(across) < band.shape[1]
    inside = inside_y[:, :, None] & inside_x[:, None, :]
    count = int(high.max()) + 1
    cell = np.arange(i.size)[:, None, None] * count + blocks
    area = np.bincount(cell[inside], minlength=i.size * count).reshape(i.size, count)
    which, label = np.nonzero(area)
    share = area[which, label] / area.sum(axis=1)[which]
    first = np.diff(which, prepend=-1)
    return low, ((i * columns + j)[which], first, label.astype(np.uint8), share.astype(np.float32))


def _block_extreme(pick: np.ufunc, full: Uint8Array, block: tuple[int, int]) -> Uint8Array:
    """Least or greatest of each block; down first, where the machine works on whole rows."""
    down = pick.reduce(full.reshape(-1, block[0], full.shape[1]), axis=1)
    extreme: Uint8Array = down[:, :: block[1]].copy()
    for offset in range(1, block[1]):
        pick(extreme, down[:, offset :: block[1]], out=extreme)
    return extreme


def reduce_tile(tile: Uint8Array, factor: int, shape: tuple[int, int]) -> Weave:
    """The cloth tile for a picture reduced by *factor* to *shape* (h, w). Garment-independent.

    The reduced tile repeats after tile/gcd(tile, factor) pixels, so it has no seam either. An
    output pixel that spans more than a tile gets one whole tile: its mean, exactly.
    """
    period = [side // int(np.gcd(side, factor)) for side in tile.shape]
    rows, columns = (min(p, s) for p, s in zip(period, shape, strict=True))
    down, across = (min(factor, side) for side in tile.shape)
    x = (np.arange(columns)[:, None] * factor + np.arange(across)).ravel() % tile.shape[1]
    wide = np.take(tile, x, axis=1)
    place = np.repeat(np.arange(columns), across) * LEVELS
    weight = np.empty((rows, columns, HATS.shape[1]), dtype=np.float32)
    hats = (HATS / (down * across)).astype(np.float32)
    for row in range(rows):
        y = np.arange(row * factor, row * factor + down) % tile.shape[0]
        counts = np.bincount((wide[y] + place).ravel(), minlength=columns * LEVELS)
        weight[row] = counts.reshape(columns, LEVELS).astype(np.float32) @ hats
    return Weave(factor=factor, weight=frozen(weight))
