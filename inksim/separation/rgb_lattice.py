"""Lattices over sRGB: trilinear interpolation, look-up tables for pictures, strips, compositing.

Nodes are even in the power code 255·(c/255)^¾, so that they are closer in dark colors. For pictures
the lattice is interpolated to a table of all colors of 7 bits a channel, one look-up per pixel;
pictures are processed in strips, on two threads.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inksim.common import FloatArray, InputError, Uint8Array

F = TypeVar("F", np.float32, np.float64)

BEND = 0.75
MOST_NODES = 65
BESIDE = 2.0
"""Codes from a node that must be to the two beside it."""
STRIP_PIXELS = 1 << 19


def node_codes(nodes: int, *, through: float | None = None) -> FloatArray:
    """Code values (nodes,) of the nodes along one channel, 0..255, not integer.

    through: a code that must be a node; the nearest inner node is moved there, and two more nodes
    go close beside it. A cloth's own color needs no ink, and the colors around it, solved a whole
    step away, would lie in a notch of their mixtures with that.
    """
    if not 3 <= nodes <= MOST_NODES:
        raise InputError(f"a lattice of {nodes} nodes is asked for; give 3 to {MOST_NODES}.")
    codes = 255.0 * np.linspace(0.0, 1.0, nodes) ** (1.0 / BEND)
    if through is not None:
        through = min(max(through, 1.0), 254.0)
        nearest = round((through / 255.0) ** BEND * (nodes - 1))
        at = min(max(nearest, 1), nodes - 2)
        codes[at] = through
        beside = [max(through - BESIDE, (codes[at - 1] + through) / 2.0),
                  min(through + BESIDE, (codes[at + 1] + through) / 2.0)]  # fmt: skip
        codes = np.sort(np.concatenate([codes, beside]))
    return np.asarray(codes)


Axes = tuple[FloatArray, FloatArray, FloatArray]
"""Codes of the nodes along red, green and blue."""


def even_axes(nodes: int) -> Axes:
    """The same nodes along all three channels."""
    return (node_codes(nodes),) * 3


def node_colours(axes: Axes) -> FloatArray:
    """Codes (n³, 3) of all nodes, red slowest."""
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)


def line_weights(codes: ArrayLike, *, nodes: FloatArray) -> FloatArray:
    """Linear interpolation weights (len(codes), n) from nodes (n,) to codes 0..255."""
    at, place = (
        (np.clip(np.asarray(c, dtype=float), 0.0, 255.0) / 255.0) ** BEND for c in (nodes, codes)
    )
    low = np.clip(np.searchsorted(at, place, side="right") - 1, 0, at.size - 2)
    share = (place - at[low]) / (at[low + 1] - at[low])
    weights = np.zeros((place.size, at.size))
    rows = np.arange(place.size)
    weights[rows, low] = 1.0 - share
    weights[rows, low + 1] = share
    return weights


def times(a: NDArray[F], b: NDArray[F]) -> NDArray[F]:
    """Product a (M, K) @ b (K, N) in pieces small enough for the matrix library to use one thread.

    Its threads busy-wait for each other, which on a loaded machine takes ten times as long as the
    product.
    """
    rows = max(1, 200_000 // b.size)
    whole = len(a) // rows * rows
    out = np.empty((len(a), b.shape[1]), dtype=a.dtype)
    pieces = a[:whole].reshape(-1, rows, a.shape[1])
    np.matmul(pieces, b, out=out[:whole].reshape(-1, rows, b.shape[1]))
    out[whole:] = a[whole:] @ b
    return out


def resampled(values: NDArray[F], axes: Axes, onto: Axes) -> NDArray[F]:
    """Interpolate values (n, n, n, K) from the nodes of one lattice to those of another."""
    cube = np.moveaxis(values, 3, 0)
    for nodes, codes in zip(axes, onto, strict=True):
        # The first axis moves last and is interpolated there; three turns restore the order.
        along = line_weights(codes, nodes=nodes).T.astype(values.dtype)
        turned = np.ascontiguousarray(np.moveaxis(cube, 1, 3))
        filled = times(turned.reshape(-1, turned.shape[3]), np.ascontiguousarray(along))
        cube = filled.reshape(*turned.shape[:3], along.shape[1])
    return np.ascontiguousarray(np.moveaxis(cube, 0, 3))


def refined(values: FloatArray, axes: Axes, onto: Axes) -> FloatArray:
    """`resampled` on flat arrays: values (n³, K) to (m³, K)."""
    cube = values.reshape(*(axis.size for axis in axes), -1)
    return resampled(cube, axes, onto).reshape(-1, cube.shape[3])


@dataclass(frozen=True, kw_only=True, eq=False)
class PictureTable:
    """Look-up table from sRGB colors to up to 8 bytes.

    entries: (2²¹ + 1,) uint64. A color is truncated to 7 bits a channel, red lowest; the entry is
    for the middle of the two codes that share it, so none is more than half a code off. The last
    entry, all zeros, is for fully transparent pixels.
    """

    channels: int
    entries: NDArray[np.uint64]

    def __call__(self, rgba: Uint8Array) -> Uint8Array:
        """Look up a strip (h, w, 4) RGBA: (h, w, 8) bytes, of which the first `channels` count."""
        words = np.ascontiguousarray(rgba).view("<u4")[..., 0]
        fields = words >> np.uint32(1)
        index = fields & np.uint32(0x7F)
        fields >>= np.uint32(1)
        index |= fields & np.uint32(0x3F80)
        fields >>= np.uint32(1)
        index |= fields & np.uint32(0x1FC000)
        if rgba[..., 3].min(initial=255) == 0:
            index[words < 1 << 24] = NOTHING
        found = np.take(self.entries, index, mode="clip")
        return found.view(np.uint8).reshape(*index.shape, 8)


NOTHING = 1 << 21


def picture_table(
    values: NDArray[np.floating], axes: Axes, *, nothing_at: tuple[int, int, int] | None = None
) -> PictureTable:
    """Make a table from lattice values (n, n, n, K ≤ 8), clipped to 0..1, as bytes value × 255.

    nothing_at: a color whose entry is 0, such as the cloth's own, which needs no ink.
    """
    channels = values.shape[3]
    middles = np.minimum(np.arange(128) * 2 + 0.5, 255.0)
    # Blue is the slowest in the index.
    turned = np.ascontiguousarray(values.transpose(2, 1, 0, 3), dtype=np.float32)
    entries = np.zeros((NOTHING + 1, 8), dtype=np.uint8)
    for first in range(channels):
        one = np.ascontiguousarray(turned[..., first : first + 1])
        fine = resampled(one, axes[::-1], (middles,) * 3)
        entries[:NOTHING, first] = np.rint(np.clip(fine, 0.0, 1.0) * 255.0).reshape(-1)
    if nothing_at is not None:
        red, green, blue = (code >> 1 for code in nothing_at)
        entries[red | green << 7 | blue << 14] = 0
    return PictureTable(channels=channels, entries=entries.reshape(-1).view("<u8"))


def row_strips(height: int, width: int) -> Iterator[tuple[int, int]]:
    """Strips of rows (top, bottom) of about `STRIP_PIXELS` pixels each."""
    rows = max(1, STRIP_PIXELS // max(1, width))
    for top in range(0, height, rows):
        yield top, min(height, top + rows)


def by_strips(height: int, width: int, work: Callable[[int, int], None]) -> None:
    """Run work(top, bottom) on all strips of a picture, two at a time; errors are raised."""
    with ThreadPoolExecutor(max_workers=2) as pool:
        for done in [pool.submit(work, top, low) for top, low in row_strips(height, width)]:
            done.result()


def laid_on(rgba: Uint8Array, ground: tuple[int, int, int]) -> Uint8Array:
    """Composite a strip (h, w, 4) on a ground color in code values: c = α·art + (1 − α)·ground.

    As picture editors do; rounded. Alpha is kept in the fourth byte. A strip without transparency
    is returned as it is.
    """
    alpha = rgba[..., 3]
    if alpha.min(initial=255) == 255:
        return rgba
    out = np.empty_like(rgba)
    out[..., 3] = alpha
    a = alpha.astype(np.uint32)
    for channel, code in enumerate(ground):
        blend = rgba[..., channel] * a
        blend += (255 - a) * np.uint32(code) + 128
        blend += blend >> 8  # x/255, rounded: (x + 128 + (x + 128)/256)/256
        blend >>= 8
        out[..., channel] = blend
    return out
