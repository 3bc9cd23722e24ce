"""Find the flat colors of a picture among its edges, gradients and noise.

A flat color shows itself by 2 × 2 blocks of one exact color: antialiased edges are one pixel
wide, and tonal pictures change from pixel to pixel. Where noise lies over the flats, blocks of
nearly one color are looked at instead.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

import numpy as np
from PIL import Image

from inksim.artwork.pixels import CLOTH_CODE, codes_of, keys_of, rgb_of, sample, strips
from inksim.common import BoolArray, FloatArray, Int64Array, Uint32Array

# Distances are in code values, of the channel that differs most.
MERGE = 4  # colors closer than this are one flat
FAIR_PART = 0.25
NOISE = 16  # reach of compression noise around a flat
DUST = 0.005  # share of other colors near a flat from which the picture is noisy
SHADE = 12  # reach of the look for a gradient around a color
SHADES = 6.0  # more colors than this around one are steps of a gradient
MOST_COLOURS = 4096  # the commonest colors, among which the flats are sought
MOST_PEAKS = 256

GRAIN = 12  # most that noise sets neighbors apart
HALO = 40  # reach of what compression and blurring leave around a flat
MIXED = 32.0  # distance to the line between two flats within which a color is their mix
MOST_CUBES = 64


def flat_palette(words: Uint32Array, *, floor: float) -> Int64Array:
    """(N, 3) flat colors, largest first: those with at least `floor` blocks of 2 × 2 alike."""
    codes, counts = _block_colours(words)
    return peaks(codes, counts, floor=floor, among=sample(words))


def _block_colours(words: Uint32Array) -> tuple[Uint32Array, Int64Array]:
    """Every color that fills 2 × 2 blocks, and how many blocks it fills."""
    height, width = words.shape
    seen: list[Uint32Array] = []
    sizes: list[Int64Array] = []
    for top, bottom in strips(height, width):
        codes = codes_of(words[top : min(bottom + 1, height)])
        across = codes[:, 1:] == codes[:, :-1]
        block = across[1:] & across[:-1] & (codes[1:, 1:] == codes[:-1, 1:])
        # A run of blocks along a row has one color, so runs are counted, not pixels.
        walled = np.zeros((block.shape[0], width + 1), dtype=bool)
        walled[:, 1:-1] = block
        flat = walled.ravel()
        turns = np.flatnonzero(flat[1:] != flat[:-1])
        starts, ends = turns[::2], turns[1::2]
        rows, columns = np.divmod(starts, width + 1)
        few, size = _merged(codes[rows, columns], ends - starts)
        seen.append(few)
        sizes.append(size)
    codes, counts = _merged(np.concatenate(seen), np.concatenate(sizes))
    colour = codes != CLOTH_CODE
    return codes[colour], counts[colour]


def _merged(codes: Uint32Array, weights: Int64Array) -> tuple[Uint32Array, Int64Array]:
    """Each color once, with its summed weight."""
    unique, inverse = np.unique(codes, return_inverse=True)
    total = np.bincount(inverse, weights=weights, minlength=len(unique))
    return unique, total.astype(np.int64)


def peaks(
    codes: Uint32Array, counts: Int64Array, *, floor: float, among: Uint32Array | None = None
) -> Int64Array:
    """(N, 3) the colors with at least `floor` counts that stand alone, largest first.

    A color stands alone when it holds most of the counts within `MERGE` of it, and a fair part of
    the pixels there, of which `among` is a sample: steps of a gradient and noise do not. Away from
    every such flat, a whole narrow range of shades also counts as one flat, unless its
    surroundings are a gradient.
    """
    order = np.argsort(-counts, kind="stable")[:MOST_COLOURS]
    rgb, size = rgb_of(codes[order]), counts[order].astype(np.float64)
    gaps = [_gap(rgb, colour) for colour in rgb[size >= floor][:MOST_PEAKS]]
    alone = [n for n, gap in enumerate(gaps) if size[n] >= 0.5 * size[gap <= MERGE].sum()]
    if among is not None:
        pixels = np.asfortranarray(rgb_of(among[among != CLOTH_CODE]))  # read by channel
        alone = [n for n in alone if _part_of_near(rgb[n], pixels) >= FAIR_PART]
    flats: list[int] = []
    for this in alone:
        close = [other for other in alone if gaps[this][other] <= NOISE]
        dust = size[gaps[this] <= NOISE].sum() - size[close].sum()
        # In a noisy picture, what is near a bigger flat is its noise.
        if dust < DUST * size[this] or not set(close) & set(flats):
            flats.append(this)
    for this, gap in enumerate(gaps):
        if all(gap[flat] > 2 * SHADE for flat in flats) and not _is_a_gradient(gap, size):
            flats.append(this)
    return rgb[sorted(flats)]


def _gap(rgb: Int64Array, colour: Int64Array) -> Int64Array:
    """(n,) distance of colors (n, 3) from one."""
    red, green, blue = (np.abs(rgb[:, c] - colour[c]) for c in range(3))
    return np.asarray(np.maximum(np.maximum(red, green), blue))


def _part_of_near(colour: Int64Array, pixels: Int64Array) -> float:
    """Share of exactly this color among the pixels within `MERGE` of it."""
    gap = _gap(pixels, colour)
    same, near = int(np.count_nonzero(gap == 0)), int(np.count_nonzero(gap <= MERGE))
    return same / max(1, near)


def _is_a_gradient(gap: Int64Array, size: FloatArray) -> bool:
    """Whether half as much again lies just around, spread over more than `SHADES` colors.

    Spread is the participation ratio (Σn)²/Σn²: the number of colors, were they equally common.
    """
    core = size[gap <= MERGE]
    shell = size[(gap > MERGE) & (gap <= SHADE)]
    spread = shell.sum() ** 2 > SHADES * (shell**2).sum()
    return bool(spread and shell.sum() > 0.5 * core.sum())


# --- Flats under noise ---------------------------------------------------------------------------


def noisy_palette(words: Uint32Array, known: Int64Array, *, floor: float) -> Int64Array:
    """(N, 3) flats that no exact block shows, because noise lies over them.

    Counts blocks of 2 × 2 whose colors differ by at most `GRAIN` on a grid of 32³ cells. A flat,
    far from the `known` ones, is a cube of 3³ cells with at least `floor` blocks to which the
    surrounding 7³ cells add at most half: gradients are longer, pictures wider. The mix of two
    flats is no flat, unless there is much of it: compression leaves such halos along edges.
    """
    counts, totals = np.zeros(32**3), np.zeros((3, 32**3))
    told = np.ones((32, 32, 32), dtype=bool)  # cells that can still tell of a flat
    for flat in known:
        told[_cells(flat >> 3, (HALO >> 3) - 3)] = False
    telling = np.append(told.transpose(2, 1, 0).ravel(), False)
    for top, bottom in strips(*words.shape):
        rgb = rgb_of(_even_blocks(words[top : bottom + 1], telling))
        cells = (rgb >> 3) @ np.array([1024, 32, 1])
        counts += np.bincount(cells, minlength=counts.size)
        for channel in range(3):
            totals[channel] += np.bincount(cells, weights=rgb[:, channel], minlength=counts.size)
    grid, sums = counts.reshape(32, 32, 32), totals.reshape(3, 32, 32, 32)
    cubes, free = _cube_sums(grid), np.ones(grid.shape, dtype=bool)
    for flat in known:
        free[_cells(flat >> 3, HALO >> 3)] = False
    flats = list(known)
    for _ in range(MOST_CUBES):
        at = np.array(np.unravel_index(np.where(free, cubes, -1).argmax(), free.shape))
        size = float(cubes[tuple(at)])
        if not free.any() or size < max(floor, 1.0):
            break
        total = sums[:, *_cells(at, 1)].reshape(3, -1).sum(axis=1)
        colour = np.rint(total / size).astype(np.int64)
        alone = grid[_cells(at, 3)].sum() <= 1.5 * size
        if alone and (size >= 20 * floor or not _is_a_mix(colour, flats)):
            flats.append(colour)
        free[_cells(at, 2)] = False
    return np.array(flats[len(known) :], dtype=np.int64).reshape(-1, 3)


def _even_blocks(words: Uint32Array, telling: BoolArray) -> Uint32Array:
    """Colors of the upper left pixels of the 2 × 2 blocks that are nearly of one color.

    Only of those whose 15-bit color is `telling` (2¹⁵ + 1,).
    """
    at = np.flatnonzero(telling.take(keys_of(words[:-1, :-1])))
    width = words.shape[1]
    at += at // (width - 1)  # places in the picture, whose rows are one longer
    corners = [codes_of(words.ravel().take(at + step)) for step in (0, 1, width, width + 1)]
    even = np.ones(len(at), dtype=bool)
    for shift in (0, 8, 16):
        channel = [(codes >> shift & np.uint32(255)).astype(np.uint8) for codes in corners]
        even &= np.maximum.reduce(channel) - np.minimum.reduce(channel) <= GRAIN
    return np.asarray(corners[0][even])


def _cells(at: Int64Array, half: int) -> tuple[slice, ...]:
    """The cube of `half` cells to every side of cell `at`."""
    return tuple(slice(max(0, int(v) - half), int(v) + half + 1) for v in at)


def _cube_sums(grid: FloatArray) -> FloatArray:
    """Sum over the 3³ cells around each cell."""
    for axis in range(3):
        before, after = np.roll(grid, 1, axis), np.roll(grid, -1, axis)
        np.moveaxis(before, axis, 0)[0] = 0
        np.moveaxis(after, axis, 0)[-1] = 0
        grid = before + grid + after
    return grid


def unlike(colours: Int64Array, known: Int64Array) -> Int64Array:
    """Those of `colours`, largest first, that are no halo of a known flat and no mix of others."""
    own = [c for c in colours if (np.abs(known - c).max(axis=1) > HALO).all()]
    for colour in reversed(own.copy()):
        others = [*known, *(c for c in own if c is not colour)]
        if _is_a_mix(colour, others):
            own = [c for c in own if c is not colour]
    return np.array(own, dtype=np.int64).reshape(-1, 3)


def _is_a_mix(colour: Int64Array, flats: Sequence[Int64Array]) -> bool:
    """Whether `colour` lies within `MIXED` of the line between two of the flats."""
    for number, one in enumerate(flats):
        for other in flats[:number]:
            span = (other - one).astype(np.float64)
            share = np.clip((colour - one) @ span / (span @ span), 0.0, 1.0)
            if np.linalg.norm(one + share * span - colour) <= MIXED:
                return True
    return False


# --- No flats ------------------------------------------------------------------------------------


def typical_colours(words: Uint32Array, most: int) -> Int64Array:
    """(N, 3) up to `most` colors that stand for a tonal picture: median cut, dark ones first."""
    codes = sample(words)
    rgb = rgb_of(codes[codes != CLOTH_CODE]).astype(np.uint8)
    if not len(rgb):
        return np.empty((0, 3), dtype=np.int64)
    cut = Image.fromarray(rgb[None]).quantize(most, Image.Quantize.MEDIANCUT)
    used = [cast(int, index) for _, index in cut.getcolors() or []]
    table = np.array(cut.getpalette(), dtype=np.int64).reshape(-1, 3)
    return np.unique(table[used], axis=0)
