"""A mask drawn over its artwork or print, and the window of a picture with most detail in it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inksim.common import BoolArray, FloatArray, Uint8Array
from inksim.separation import laid_on

MARK = (20, 20, 20)
DARK_LINE, LIGHT_LINE = (20, 20, 20), (244, 244, 244)
HATCH_STROKES = 400
"""Strokes of a hatching along the longer side: dark, light, and two that leave the picture."""
Window = tuple[slice, slice]
"""Rows and columns of a picture."""


def marked(
    rgba: Uint8Array,
    where: BoolArray,
    *,
    cloth: tuple[int, int, int],
    most_px: int,
    least_px: int = 0,
) -> Uint8Array:
    """A pale gray picture (h, w, 3) of the artwork on its cloth, black where it is marked.

    where : of the artwork's pixels, or of a larger picture of the same. least_px: least width of a
    mark, so that none is missed however small; 0 shows every step-th pixel as it is.
    """
    step = max(1, -(-max(rgba.shape[:2]) // most_px))
    small = np.ascontiguousarray(rgba[::step, ::step])
    grey = laid_on(small, cloth)[..., :3].mean(axis=-1)
    pale = np.rint(150.0 + grey * (100.0 / 255.0)).astype(np.uint8)
    picture = np.repeat(pale[..., None], 3, axis=-1)
    picture[_spread(where, pale.shape, least_px) if least_px else where[::step, ::step]] = MARK
    return picture


def hatched(picture: Uint8Array, where: BoolArray) -> Uint8Array:
    """The picture (h, w, 3) with hatching where it is marked; between the lines it is as it was.

    where: of the picture's pixels, or of another size of the same. Lines are in pairs of a dark and
    a light one: one of the two is seen on any color.
    """
    high, wide = picture.shape[:2]
    rows, columns = (
        np.arange(n) * of // n for n, of in zip((high, wide), where.shape, strict=True)
    )
    here = where[np.ix_(rows, columns)]
    stroke = max(2, round(max(high, wide) / HATCH_STROKES))
    phase = np.add.outer(np.arange(high), np.arange(wide)) // stroke % 4
    drawn = picture.copy()
    drawn[here & (phase == 0)] = DARK_LINE
    drawn[here & (phase == 1)] = LIGHT_LINE
    return drawn


def _spread(where: BoolArray, shape: tuple[int, ...], least_px: int) -> BoolArray:
    """A mask at another size (h, w), with no place lost and each at least so wide."""
    from scipy import ndimage

    small = np.zeros(shape, dtype=bool)
    rows, columns = np.nonzero(where)
    small[rows * shape[0] // where.shape[0], columns * shape[1] // where.shape[1]] = True
    return np.asarray(ndimage.maximum_filter(small, size=least_px))


def window_on_change(planes: Sequence[Uint8Array], *, size_px: int) -> Window:
    """The window, size_px high and wide, in which planes (H, W) change most."""
    rough = [plane[::4, ::4].astype(np.float32) for plane in planes]
    change = np.zeros(rough[0].shape)
    for plane in rough:
        change[:, 1:] += np.abs(np.diff(plane, axis=1))
        change[1:] += np.abs(np.diff(plane, axis=0))
    return _densest(change, planes[0].shape, size_px)


def window_on_edges(labels: Uint8Array, *, size_px: int) -> Window:
    """The window, size_px high and wide, of a picture of labels (H, W) with most edges in it."""
    rough = labels[::4, ::4]
    edges = np.zeros(rough.shape)
    edges[:, 1:] += rough[:, 1:] != rough[:, :-1]
    edges[1:] += rough[1:] != rough[:-1]
    return _densest(edges, labels.shape, size_px)


def _densest(weight: FloatArray, shape: tuple[int, ...], size_px: int) -> Window:
    """The window of a picture with the largest sum of weights, given for every fourth pixel."""
    high, wide = min(size_px, shape[0]), min(size_px, shape[1])
    down, across = high // 4, wide // 4
    row, column = 0, 0
    if min(down, across) > 0:
        total = np.pad(weight.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
        inside = total[down:, across:] - total[:-down, across:] - total[down:, :-across]
        inside += total[:-down, :-across]
        row, column = (int(at) for at in np.unravel_index(int(inside.argmax()), inside.shape))
    top, left = min(4 * row, shape[0] - high), min(4 * column, shape[1] - wide)
    return slice(top, top + high), slice(left, left + wide)
