"""What a picture shows inside an outline: mean light, how even it is, how much of it is clipped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.common import FloatArray
from inksim.photo.geometry import Point, Region
from inksim.photo.picture import Box, Picture
from inksim.photo.seen import Seen

BLOCKS = 4
"""A region is cut into so many blocks across and down; their means tell how even it is."""
LIT = 0.05
"""Light of a color's lightest channel from which one at its lower end is vivid and not dark."""
_STRIP_PIXELS = 1 << 20


@dataclass(frozen=True, kw_only=True, eq=False)
class Patch:
    """A region as seen, and what a camera does not need to know of it.

    blocks : (M, 3) mean light of the blocks that lie inside for half or more.
    pixels : how many it has; noise : (3,) standard deviation of its pixels.
    below : share of its pixels of which a channel is at its lower end and none at its upper,
        though one is lit: a vivid color, not a dark one.
    """

    seen: Seen
    blocks: FloatArray
    pixels: int
    noise: FloatArray
    below: float = 0.0

    @property
    def unevenness(self) -> float:
        """Standard deviation of its blocks over their mean, of the channel with most light."""
        best = int(np.argmax(self.seen.rgb))
        spread = self.blocks[:, best].std(ddof=1) if len(self.blocks) > 1 else 0.0
        return float(spread / max(self.seen.rgb[best], 1e-4))


def box_of(outline: Sequence[Point], picture: Picture) -> Box:
    """The smallest box of whole pixels around an outline, as far as it is in the picture."""
    points = np.array(outline)
    left, top = np.floor(points.min(axis=0)).astype(int)
    right, bottom = np.ceil(points.max(axis=0)).astype(int) + 1
    return (
        max(0, int(left)), max(0, int(top)),
        min(picture.width, int(right)), min(picture.height, int(bottom)),
    )  # fmt: skip


def is_inside(outline: Sequence[Point], picture: Picture) -> bool:
    """Whether all of an outline is in the picture, to a pixel."""
    x, y = np.array(outline).T
    across = (x >= -1).all() and (x <= picture.width).all()
    return bool(across and (y >= -1).all() and (y <= picture.height).all())


def sampled(picture: Picture, region: Region) -> Patch:
    """Mean light inside a region, its pixels gone through in strips.

    The deviation of the mean comes from the blocks, so that a knit, a fold or grain that is wider
    than a pixel is not taken for independent noise of every pixel.

    Raises
    ------
    InputError : no pixel's middle lies inside.
    """
    from skimage.measure import grid_points_in_poly

    left, top, right, bottom = box_of(region.outline, picture)
    across, down = right - left, bottom - top
    sums, squares = np.zeros((BLOCKS * BLOCKS, 3)), np.zeros(3)
    counts, clipped, below = np.zeros(BLOCKS * BLOCKS), 0, 0
    column = np.minimum(np.arange(max(across, 1)) * BLOCKS // max(across, 1), BLOCKS - 1)
    step = max(1, _STRIP_PIXELS // max(across, 1))
    for first in range(top, bottom if across > 0 else top, step):
        strip = (left, first, right, min(first + step, bottom))
        # (row, column) of the outline, from the strip's corner
        corners = np.array(region.outline)[:, ::-1] - (first, left)
        inside = grid_points_in_poly((strip[3] - first, across), corners)  # type: ignore[no-untyped-call]
        light = picture.light(strip)[inside].astype(float)
        row = np.minimum((np.arange(first, strip[3]) - top) * BLOCKS // down, BLOCKS - 1)
        block = (row[:, None] * BLOCKS + column[None, :])[inside]
        for channel in range(3):
            sums[:, channel] += np.bincount(block, light[:, channel], BLOCKS * BLOCKS)
        counts += np.bincount(block, minlength=BLOCKS * BLOCKS)
        squares += np.einsum("ic,ic->c", light, light)
        low, high = (each[inside] for each in picture.clipped(strip))
        clipped += int(np.count_nonzero(low | high))
        below += int(np.count_nonzero(low & ~high & (light.max(axis=1) > LIT)))
    pixels = int(counts.sum())
    if not pixels:
        raise picture.fault(f"has no pixel inside the region '{region.name}'; draw it larger.")
    mean = sums.sum(axis=0) / pixels
    full = across * down / (BLOCKS * BLOCKS)
    whole = counts >= 0.5 * full
    blocks = sums[whole] / counts[whole, None]
    noise = np.sqrt(np.maximum(squares / pixels - mean**2, 0.0))
    own = noise / np.sqrt(pixels)
    if len(blocks) > 1:
        own = np.maximum(own, blocks.std(axis=0, ddof=1) / np.sqrt(len(blocks)))
    x, y = region.centre
    seen = Seen(
        name=region.name, rgb=mean, rgb_sd=own, x=x / picture.width, y=y / picture.height,
        clipped=clipped / pixels,
    )  # fmt: skip
    return Patch(
        seen=seen, blocks=blocks, pixels=pixels, noise=noise, below=below / pixels
    )  # fmt: skip
