"""Which colours of a picture are flats, and which are edges, gradients or noise.

A flat colour shows itself by 2 × 2 blocks of one exact colour: antialiased edges are one pixel
wide, and tonal pictures change from pixel to pixel.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from inksim.strips import CLOTH_CODE, OPAQUE, Codes, Triples, codes_of, rgb_of, strips

MERGE = 4  # code values: colours closer than this in every channel are one flat
NOISE = 16  # reach of compression noise around a flat
SHADE = 12  # reach of the look for a gradient around a colour
SHADES = 6.0  # more colours than this around one are steps of a gradient
MOST_COLOURS = 4096  # the commonest colours, among which the flats are sought
SAMPLE = 1 << 16


def flat_palette(words: Codes, *, floor: float) -> Triples:
    """(N, 3) flat colours, largest first: those with at least `floor` blocks of 2 × 2 alike."""
    codes, counts = _block_colours(words)
    return peaks(codes, counts, floor=floor)


def _block_colours(words: Codes) -> tuple[Codes, NDArray[np.int64]]:
    """Every colour that fills 2 × 2 blocks, and how many blocks it fills."""
    height, width = words.shape
    seen: list[Codes] = []
    sizes: list[NDArray[np.int64]] = []
    for top, bottom in strips(height, width):
        codes = codes_of(words[top : min(bottom + 1, height)])
        across = codes[:, 1:] == codes[:, :-1]
        block = across[1:] & across[:-1] & (codes[1:, 1:] == codes[:-1, 1:])
        # A run of blocks along a row has one colour, so runs are counted, not pixels.
        walled = np.zeros((block.shape[0], width + 1), dtype=bool)
        walled[:, 1:-1] = block
        flat = walled.ravel()
        turns = np.flatnonzero(flat[1:] != flat[:-1])
        starts, ends = turns[::2], turns[1::2]
        rows, columns = np.divmod(starts, width + 1)
        few, size = merged(codes[rows, columns], ends - starts)
        seen.append(few)
        sizes.append(size)
    codes, counts = merged(np.concatenate(seen), np.concatenate(sizes))
    colour = codes != CLOTH_CODE
    return codes[colour], counts[colour]


def merged(codes: Codes, weights: NDArray[np.int64]) -> tuple[Codes, NDArray[np.int64]]:
    """Each colour once, with its summed weight."""
    unique, inverse = np.unique(codes, return_inverse=True)
    total = np.bincount(inverse, weights=weights, minlength=len(unique))
    return unique, total.astype(np.int64)


def peaks(codes: Codes, counts: NDArray[np.int64], *, floor: float) -> Triples:
    """(N, 3) the colours with at least `floor` counts that stand alone, largest first.

    A colour stands alone when it holds most of what lies within `MERGE` of it: steps of a
    gradient and noise do not. Away from every such flat, a whole narrow range of shades also
    counts as one flat, unless its surroundings are a gradient: half as much again, spread over
    more than `SHADES` colours (participation ratio (Σn)²/Σn²).
    """
    order = np.argsort(-counts, kind="stable")[:MOST_COLOURS]
    order = order[counts[order] >= floor / 20]
    rgb, size = rgb_of(codes[order]), counts[order].astype(np.float64)
    gaps = [np.abs(rgb - colour).max(axis=1) for colour in rgb[size >= floor]]
    alone = [this for this, gap in enumerate(gaps) if _stands_alone(this, gap, size)]
    flats: list[int] = []
    for this in alone:  # the noise of one flat is no other flat
        bigger = [other for other in flats if gaps[other][this] <= NOISE]
        if all(size[this] >= 0.02 * size[other] for other in bigger):
            flats.append(this)
    for this, gap in enumerate(gaps):
        if all(gap[flat] > 2 * SHADE for flat in flats) and not _is_a_gradient(gap, size):
            flats.append(this)
    return rgb[sorted(flats)]


def _stands_alone(this: int, gap: NDArray[np.int64], size: NDArray[np.float64]) -> bool:
    return bool(size[this] >= 0.5 * size[gap <= MERGE].sum())


def _is_a_gradient(gap: NDArray[np.int64], size: NDArray[np.float64]) -> bool:
    core = size[gap <= MERGE]
    shell = size[(gap > MERGE) & (gap <= SHADE)]
    spread = shell.sum() ** 2 > SHADES * (shell**2).sum()
    return bool(spread and shell.sum() > 0.5 * core.sum())


def typical_colours(words: Codes, most: int) -> Triples:
    """(N, 3) up to `most` colours that stand for a tonal picture: median cut, dark ones first."""
    codes = words.ravel()[:: words.size // SAMPLE + 1]
    rgb = rgb_of(codes[codes >= OPAQUE]).astype(np.uint8)
    if not len(rgb):
        return np.empty((0, 3), dtype=np.int64)
    cut = Image.fromarray(rgb[None]).quantize(most, Image.Quantize.MEDIANCUT)
    used = cut.getcolors() or []
    table = np.array(cut.getpalette(), dtype=np.int64).reshape(-1, 3)
    return np.unique(table[[index for _, index in used]], axis=0)
