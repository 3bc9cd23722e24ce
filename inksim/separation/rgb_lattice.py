"""Lattices over sRGB: trilinear interpolation, look-up tables for pictures, strips, compositing.

Nodes are even in the power code 255·(c/255)^¾, so that they are closer in dark colors. For pictures
the lattice is interpolated to a table of the colors of 7 bits a channel that the picture has, one
look-up per pixel; pictures are processed in strips, on two threads.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import product
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inksim.common import (
    BoolArray,
    Float32Array,
    FloatArray,
    IndexArray,
    InputError,
    Uint8Array,
    Uint32Array,
)

F = TypeVar("F", np.float32, np.float64)

BEND = 0.75
MOST_NODES = 65
MARGIN = 4
"""Codes from a picture's own colors within which a lattice is asked too, by its dither."""
BESIDE = 2.0
"""Codes from a node that must be to the two beside it."""
STRIP_PIXELS = 1 << 19
_BLOCK = 1 << 17


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


def _between(codes: ArrayLike, nodes: FloatArray) -> tuple[IndexArray, FloatArray]:
    """The node below each code 0..255, and how far it is to the next one, 0..1."""
    at, place = (
        (np.clip(np.asarray(c, dtype=float), 0.0, 255.0) / 255.0) ** BEND for c in (nodes, codes)
    )
    low = np.clip(np.searchsorted(at, place, side="right") - 1, 0, at.size - 2)
    return low, (place - at[low]) / (at[low + 1] - at[low])


def line_weights(codes: ArrayLike, *, nodes: FloatArray) -> FloatArray:
    """Linear interpolation weights (len(codes), n) from nodes (n,) to codes 0..255."""
    low, share = _between(codes, nodes)
    weights = np.zeros((low.size, nodes.size))
    rows = np.arange(low.size)
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


def at_colours(values: Float32Array, axes: Axes, codes: Axes, places: IndexArray) -> Float32Array:
    """Interpolate values (n, n, n, K) at some colors of a finer lattice: (M, K).

    codes: of the finer lattice; places (M,): the colors' places in it, the last axis fastest.
    """
    flat = np.ascontiguousarray(values, dtype=np.float32).reshape(-1, values.shape[3])
    shape = tuple(each.size for each in codes)
    each = [_between(along, nodes) for along, nodes in zip(codes, axes, strict=True)]
    strides = (axes[1].size * axes[2].size, axes[2].size, 1)
    out = np.empty((places.size, flat.shape[1]), dtype=np.float32)
    rows = max(1, _BLOCK // flat.shape[1])
    for top in range(0, places.size, rows):
        part = np.unravel_index(places[top : top + rows], shape)
        low = [line[0][at] * step for line, at, step in zip(each, part, strides, strict=True)]
        share = [line[1][at].astype(np.float32) for line, at in zip(each, part, strict=True)]
        first = low[0] + low[1] + low[2]
        found = [flat[first + np.dot(up, strides)] for up in product((0, 1), repeat=3)]
        for along in reversed(share):  # what is even stays so, to the last bit
            pairs = zip(found[::2], found[1::2], strict=True)
            found = [one + along[:, None] * (two - one) for one, two in pairs]
        out[top : top + rows] = found[0]
    return out


def nodes_near(places: BoolArray, reach: Sequence[BoolArray]) -> BoolArray:
    """Which nodes (n, n, n) some places (m, m, m) need; reach (m, n): those of each, a channel."""
    for along in reach:
        counts = places.reshape(len(along), -1).T.astype(np.float32) @ along.astype(np.float32)
        places = (counts > 0).reshape(*places.shape[1:], along.shape[1])
    return places


def coarser(asked: BoolArray, axes: Axes, onto: Axes, *, around: int) -> BoolArray:
    """The nodes of a coarser lattice that some are interpolated from, and the ones around them."""
    reach = []
    for nodes, wider in zip(axes, onto, strict=True):
        low, _ = _between(nodes, wider)
        at = np.arange(wider.size)
        reach.append((at >= low[:, None] - around) & (at <= low[:, None] + 1 + around))
    return nodes_near(asked, reach)


@dataclass(frozen=True, kw_only=True, eq=False)
class SeenColours:
    """The colors that a picture on a cloth has, of 7 bits a channel.

    cells: (128, 128, 128) red, green, blue.
    """

    cells: BoolArray

    def nodes(self, axes: Axes) -> BoolArray:
        """Nodes (n, n, n) of a lattice between which these colors lie, or any `MARGIN` from one."""
        reach = []
        for nodes in axes:
            first = np.arange(0, 256, 2)
            low, _ = _between(first - MARGIN, nodes)
            high, _ = _between(first + 1 + MARGIN, nodes)
            at = np.arange(nodes.size)
            reach.append((at >= low[:, None]) & (at <= high[:, None] + 1))
        return nodes_near(self.cells, reach)


def seen_colours(rgba: Uint8Array, ground: tuple[int, int, int]) -> SeenColours:
    """Find the colors of a picture (H, W, 4) laid on a ground color."""
    seen = np.zeros(NOTHING + 1, dtype=bool)

    def work(top: int, low: int) -> None:
        seen[_cells(laid_on(rgba[top:low], ground))] = True

    by_strips(rgba.shape[0], rgba.shape[1], work)
    return SeenColours(cells=seen[:NOTHING].reshape(128, 128, 128).transpose())


def _cells(rgba: Uint8Array) -> Uint32Array:
    """Place (h, w) of each pixel's color among those of 7 bits a channel, red lowest."""
    words = np.ascontiguousarray(rgba).view("<u4")[..., 0]
    fields = words >> np.uint32(1)
    index = fields & np.uint32(0x7F)
    fields >>= np.uint32(1)
    index |= fields & np.uint32(0x3F80)
    fields >>= np.uint32(1)
    index |= fields & np.uint32(0x1FC000)
    if rgba[..., 3].min(initial=255) == 0:
        index[words < 1 << 24] = NOTHING
    return index


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
        index = _cells(rgba)
        found = np.take(self.entries, index, mode="clip")
        return found.view(np.uint8).reshape(*index.shape, 8)


NOTHING = 1 << 21


def picture_table(
    values: NDArray[np.floating],
    axes: Axes,
    *,
    nothing_at: tuple[int, int, int] | None = None,
    seen: SeenColours | None = None,
) -> PictureTable:
    """Make a table from lattice values (n, n, n, K ≤ 8), clipped to 0..1, as bytes value × 255.

    nothing_at: a color whose entry is 0, such as the cloth's own, which needs no ink. seen: the
    colors that are asked for; the entries of others are 0.
    """
    channels = values.shape[3]
    middles = np.minimum(np.arange(128) * 2 + 0.5, 255.0)
    # Blue is the slowest in the index.
    turned = np.asarray(values.transpose(2, 1, 0, 3), dtype=np.float32)
    places = np.arange(NOTHING) if seen is None else np.flatnonzero(seen.cells.transpose())
    fine = at_colours(turned, axes[::-1], (middles,) * 3, places)
    entries = np.zeros((NOTHING + 1, 8), dtype=np.uint8)
    entries[places, :channels] = np.rint(np.clip(fine, 0.0, 1.0) * 255.0)
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
