"""Where something is the case in a picture, and where most happens in it (level 4)."""

from __future__ import annotations

import numpy as np

from inksim.common import BoolArray, FloatArray, Uint8Array
from inksim.separation import laid_on

MARK = (20, 20, 20)


def marked(
    rgba: Uint8Array, where: BoolArray, *, cloth: tuple[int, int, int], most_px: int
) -> Uint8Array:
    """A pale gray picture (h, w, 3) of the artwork on its cloth, black where it is marked."""
    step = max(1, -(-max(rgba.shape[:2]) // most_px))
    small = np.ascontiguousarray(rgba[::step, ::step])
    gray = laid_on(small, cloth)[..., :3].mean(axis=-1)
    pale = np.rint(150.0 + gray * (100.0 / 255.0)).astype(np.uint8)
    picture = np.repeat(pale[..., None], 3, axis=-1)
    picture[where[::step, ::step]] = MARK
    return picture


def busiest(planes: Uint8Array, high: int, wide: int) -> tuple[int, int]:
    """Row and column of the window, high × wide, in which planes (C, H, W) change most."""
    change = np.zeros(planes.shape[1:])
    for plane in planes.astype(np.float32):
        change[:, 1:] += np.abs(np.diff(plane, axis=1))
        change[1:] += np.abs(np.diff(plane, axis=0))
    return _densest(change, high, wide)


def _densest(weight: FloatArray, high: int, wide: int) -> tuple[int, int]:
    if min(high, wide) < 1:
        return 0, 0
    total = np.pad(weight.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    inside = total[high:, wide:] - total[:-high, wide:] - total[high:, :-wide]
    inside += total[:-high, :-wide]
    row, column = np.unravel_index(int(inside.argmax()), inside.shape)
    return int(row), int(column)


def window_on_edges(labels: Uint8Array, *, size_px: int) -> tuple[slice, slice]:
    """Rows and columns of the window of a picture of labels (H, W) with most edges in it."""
    height, width = labels.shape
    high, wide = min(size_px, height), min(size_px, width)
    rough = labels[::4, ::4]
    edges = np.zeros(rough.shape)
    edges[:, 1:] += rough[:, 1:] != rough[:, :-1]
    edges[1:] += rough[1:] != rough[:-1]
    y, x = _densest(edges, high // 4, wide // 4)
    top, left = min(4 * y, height - high), min(4 * x, width - wide)
    return slice(top, top + high), slice(left, left + wide)
