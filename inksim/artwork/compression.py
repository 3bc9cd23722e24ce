"""Flat art under lossy compression: told from pictures, and the colors of its flats put right.

Compression leaves most pixels of a flat at one color, rounded block by block, and noise beside
every edge; with color kept at half size (4:2:0) thin strokes take on their surroundings' color.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inksim.artwork.palette import NOISE
from inksim.artwork.pixels import OPAQUE, codes_of, rgb_of
from inksim.common import FloatArray, Int64Array, Uint8Array, Uint32Array

LOSSY = ("JPEG", "WebP")
"""Formats whose pixels may be off; a picture saved again as another is taken as it is."""
SAMPLE_PIXELS = 1 << 19
REACH = 2  # pixels from an edge at which a pixel lies inside its flat
EXACT = 0.35  # least share of exact pixels inside flats: 0.5 and more in art, below 0.2 in pictures
NOISY = 0.002  # least share of nearly exact ones
FAR_PART = 0.2  # most of the inexact that are no noise: 0.12 in art, 0.35 and more in pictures
VAGUE = 0.15  # share of exact pixels below which a flat is no flat …
VAGUE_PART = 0.08  # … and most of the inside that such hold: 0.04 in art, 0.2 in pictures on a page
ENOUGH = 50  # noisy pixels from which a mean is taken
ROUNDED = 2.5  # code values by which compression rounds a flat at most
BLED = 16.0  # code values by which luma and chroma of a mix may be off

TO_YCC = np.array(
    [
        [0.299, 0.587, 0.114],
        [-0.168736, -0.331264, 0.5],
        [0.5, -0.418688, -0.081312],
    ]
)
"""Luma and chroma as JPEG files keep them (ITU-T T.871, section 7)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Grain:
    """`compressed`: whether noise lies over flats; `colours` (N, 3): the flats, put right if so."""

    compressed: bool
    colours: Int64Array


def grain_of(words: Uint32Array, labels: Uint8Array, palette: Int64Array, *, lossy: bool) -> Grain:
    """Judge the pixels inside the flats of a `lossy` picture, on a sample of rows.

    A flat's commonest color is off by what its blocks were rounded by. The blocks that an edge
    crosses are rounded differently each, so their noise has a mean nearer to the truth, but for
    channels near 0 or 255, where noise has one side only.
    """
    plain = Grain(compressed=False, colours=palette)
    height, width = labels.shape
    if not lossy or not len(palette) or min(height, width) <= 2 * REACH:
        return plain
    step = max(1, height * width // SAMPLE_PIXELS)
    rows = np.arange(REACH, height - REACH, step)
    middle = labels[rows, REACH:-REACH]
    inside = (middle > 0) & (words[rows, REACH:-REACH] >= OPAQUE)
    for down in (-REACH, 0, REACH):
        line = labels[rows + down]
        for across in (0, REACH, 2 * REACH):
            inside &= line[:, across : across + middle.shape[1]] == middle
    own = middle[inside].astype(np.int64) - 1
    codes = codes_of(words[rows, REACH:-REACH][inside])
    off = np.flatnonzero(codes != (palette @ np.array([1, 1 << 8, 1 << 16]))[own])
    away = rgb_of(codes[off]) - palette[own[off]]
    near = np.abs(away).max(axis=1) <= NOISE
    count, noisy = len(own), int(np.count_nonzero(near))
    size, inexact = (np.bincount(each, minlength=len(palette)) for each in (own, own[off]))
    vague = int(size[size - inexact < VAGUE * size].sum())
    if (
        count - len(off) < EXACT * count
        or noisy < NOISY * count
        or len(off) - noisy > FAR_PART * len(off)
        or vague > VAGUE_PART * count
    ):
        return plain
    number = own[off][near]
    size = np.bincount(number, minlength=len(palette))
    shift = (
        np.stack(
            [np.bincount(number, weights=each, minlength=len(palette)) for each in away[near].T],
            axis=-1,
        )
        / np.maximum(size, 1)[:, None]
    )
    at_end = (palette < ROUNDED) | (palette > 255 - ROUNDED)
    shift[(size < ENOUGH)[:, None] | at_end] = 0.0
    put_right = np.rint(palette + np.clip(shift, -ROUNDED, ROUNDED))
    return Grain(compressed=True, colours=np.clip(put_right, 0, 255).astype(np.int64))


def unbled(colours: Int64Array, known: Int64Array) -> Int64Array:
    """Those of `colours` that are not what compression makes of thin strokes of the `known`.

    There luma is that of either flat or between them, and chroma, kept at half size, is a mix of
    both.
    """
    own = [c for c in colours if not _is_bled(c, known)]
    return np.array(own, dtype=np.int64).reshape(-1, 3)


def _is_bled(colour: Int64Array, known: Int64Array) -> bool:
    ycc: FloatArray = known @ TO_YCC.T
    this = colour @ TO_YCC.T
    for number, one in enumerate(ycc):
        for other in ycc[:number]:
            low, high = min(one[0], other[0]) - BLED, max(one[0], other[0]) + BLED
            span = other[1:] - one[1:]
            share = np.clip((this[1:] - one[1:]) @ span / max(span @ span, 1e-9), 0.0, 1.0)
            if (
                low <= this[0] <= high
                and np.hypot(*(one + share * (other - one) - this)[1:]) <= BLED
            ):
                return True
    return False
