"""Rules that put an edge pixel on a plate, given the plates around it: the surest first.

Each takes colors c (n,) of 24 bits, the plates around them as bits (n,), bit n for the n-th flat
and bit 0 for the cloth, and the palette (N, 3). It returns plates (n,), `UNDECIDED` to wait for a
wider look, and which colors are odd (n,): no flat explains them. Distances are Euclidean, in
sRGB code values, because that is where drawing programs blend.
"""

from __future__ import annotations

import numpy as np

from inksim.artwork.pixels import rgb_of
from inksim.common import BoolArray, FloatArray, Int64Array, Uint8Array

Judged = tuple[Uint8Array, BoolArray]

UNDECIDED = 255
SAME = 8  # code values: within this of a flat, in every channel, a pixel may be that flat
LIKE = SAME * 3**0.5  # the same as a distance
CLEAR = 24.0  # distance to a plate nearby up to which there is no doubt
FIT = 40.0  # distance from a plate, or from the mix of two, that noise can explain


def _around(
    codes: Int64Array, bits: Int64Array, palette: Int64Array
) -> tuple[FloatArray, Int64Array, FloatArray, FloatArray]:
    """The plates and colors around a color c.

    Distance (n, N) to each flat, infinite where it is not around; the nearest (n,) of those, a;
    and for every flat b the share (n, N) of b in the mix of a and b nearest to c, and the gap
    (n, N) from c to that mix.
    """
    c, b = rgb_of(codes).astype(np.float64), palette.astype(np.float64)
    cc, bb, cb, ab = (c**2).sum(axis=1), (b**2).sum(axis=1), c @ b.T, b @ b.T
    around = (bits[:, None] >> np.arange(1, len(palette) + 1)) & 1 == 1
    squared = cc[:, None] + bb - 2 * cb
    distance = np.where(around, np.sqrt(squared), np.inf)
    nearest = distance.argmin(axis=1)
    rows = np.arange(len(c))
    aa, ca, ab = bb[nearest, None], cb[rows, nearest, None], ab[nearest]
    along = cb - ca - ab + aa  # (c - a)·(b - a)
    span = np.maximum(aa + bb - 2 * ab, 1e-9)
    share = np.clip(along / span, 0.0, 1.0)
    gap = squared[rows, nearest, None] - 2 * share * along + share**2 * span
    return distance, nearest, share, np.sqrt(np.maximum(gap, 0.0))


def mix_of_two(codes: Int64Array, bits: Int64Array, palette: Int64Array) -> Judged:
    """The nearer of two plates around whose mix this color is, beyond doubt."""
    distance, nearest, _, gap = _around(codes, bits, palette)
    around = np.isfinite(distance)
    mixed = (around & (gap <= LIKE)).any(axis=1) & (around.sum(axis=1) > 1)
    labels = np.where(mixed, nearest + 1, UNDECIDED)
    return labels.astype(np.uint8), np.zeros(len(codes), dtype=bool)


def between_two(codes: Int64Array, bits: Int64Array, palette: Int64Array) -> Judged:
    """The nearest plate around, if it alone, or its mix with another one around, fits."""
    distance, nearest, _, gap = _around(codes, bits, palette)
    around = np.isfinite(distance)
    mixed = (around & (gap <= FIT)).any(axis=1) & (around.sum(axis=1) > 1)
    sure = mixed | (distance.min(axis=1) <= LIKE)
    return np.where(sure, nearest + 1, UNDECIDED).astype(np.uint8), np.zeros(len(codes), dtype=bool)


def beside_one(codes: Int64Array, bits: Int64Array, palette: Int64Array) -> Judged:
    """Noise around a plate, else a thin stroke's soft pixel: a mix with any flat, by larger part.

    Noise belongs to edges; amid one plate it is odd, for it may be a texture.
    """
    distance, nearest, share, gap = _around(codes, bits, palette)
    closest, rows = distance.min(axis=1), np.arange(len(codes))
    around = np.isfinite(distance)
    seen = np.where(around & (around.sum(axis=1) > 1)[:, None], gap, np.inf).min(axis=1) <= FIT
    partner = np.where(seen[:, None] & ~around, np.inf, gap).argmin(axis=1)
    mixed = (gap[rows, partner] <= FIT) & (closest > CLEAR)
    labels = np.where(mixed & (share[rows, partner] > 0.5), partner, nearest) + 1
    labels = np.where(np.isfinite(closest), labels, UNDECIDED)
    amid = bits & (bits - 1) == 0
    odd = np.where(closest > CLEAR, ~mixed & (closest > FIT), amid & (closest > LIKE))
    return labels.astype(np.uint8), odd & (labels != UNDECIDED)


def nearest_of_all(codes: Int64Array, bits: Int64Array, palette: Int64Array) -> Judged:
    """Far from every plate: the nearest flat in color."""
    distance, nearest, _, _ = _around(codes, np.full_like(bits, -1), palette)
    return (nearest + 1).astype(np.uint8), distance.min(axis=1) > LIKE
