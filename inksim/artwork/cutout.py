"""An artwork as if the customer had sent it on transparent: its flat background cut out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from inksim.artwork.artwork import NO_TRANSPARENCY, Artwork
from inksim.artwork.background import KEEP, parsed_wish
from inksim.artwork.flats import Flats, find_flats
from inksim.artwork.labels import CLOTH, MOST_FLATS
from inksim.common import BoolArray, IndexArray, Uint8Array

RING = 2  # pixels to both sides of an edge that may be a mix of background and ink
BARE, FULL = 0.08, 0.92  # coverage that noise alone explains is none, or all


def without_background(artwork: Artwork, *, background: str = KEEP) -> Artwork:
    """The artwork with its background transparent.

    `background` is 'keep', 'auto' or '#rrggbb', see `find_flats`. Edges of flat art become the
    ink's flat at its partial coverage, so that no fringe of background color is left; edges of a
    tonal picture stay as they are. The notes say what was left out. Raises InputError as
    `find_flats` does, with at most 30 flats.
    """
    if not parsed_wish(background).leave_out:
        return artwork
    flats = find_flats(artwork, max_colours=MOST_FLATS, background=background)
    said = flats.notes[-1]
    gone = (flats.labels == CLOTH) & (artwork.rgba[..., 3] >= 128)
    if flats.background is None or not gone.any():
        return replace(artwork, notes=(*artwork.notes, said))
    rgba = artwork.rgba.copy()
    rgba[gone] = 0
    if not flats.tonal:
        _unmix(rgba, artwork.rgba, flats, gone)
    rgba.setflags(write=False)
    notes = (*(note for note in artwork.notes if note != NO_TRANSPARENCY), said)
    return replace(artwork, rgba=rgba, notes=notes)


def _unmix(rgba: Uint8Array, before: Uint8Array, flats: Flats, gone: BoolArray) -> None:
    """Give the pixels along the cut the ink's flat color and its share in their mix as alpha.

    A pixel c of background b and ink a has the coverage (c − b)·(a − b)/|a − b|², in sRGB code
    values as drawing programs blend. The ink is the pixel's own, or the one nearby that fits best.
    """
    assert flats.background is not None
    inks = np.array([c.rgb for c in flats.colours], dtype=np.float64)
    ground = np.array(flats.background.rgb, dtype=np.float64)
    labels = np.where(gone | (before[..., 3] >= 128), flats.labels, CLOTH)
    rows, columns = np.nonzero(_along(gone, labels > CLOTH))
    away = before[rows, columns, :3] - ground
    best = np.full(len(rows), np.inf)
    number, share = np.zeros(len(rows), dtype=np.intp), np.zeros(len(rows))
    own = labels[rows, columns]
    for other in _around(labels, rows, columns):
        ink = np.where(own > CLOTH, own, other)
        span = inks[np.maximum(ink, 1) - 1] - ground
        part = np.clip((away * span).sum(axis=1) / (span**2).sum(axis=1), 0.0, 1.0)
        gap = np.linalg.norm(away - part[:, None] * span, axis=1)
        better = (ink > CLOTH) & (gap < best)
        best[better], number[better], share[better] = gap[better], ink[better], part[better]
    found = number > 0
    # What the plates say stays: a pixel on a plate is at least half covered, one beside it is less.
    share = np.where(own > CLOTH, np.maximum(share, 0.503), np.minimum(share, 0.497))
    share = np.where(share < BARE, 0.0, np.where(share > FULL, 1.0, share))
    alpha = np.rint(255 * share).astype(np.uint8)
    rows, columns = rows[found], columns[found]
    rgba[rows, columns, :3] = inks[number[found] - 1]
    rgba[rows, columns, 3] = alpha[found]


def _along(gone: BoolArray, kept: BoolArray) -> BoolArray:
    """Where (H, W) a pixel lies within `RING` of the cut, on either side of it."""
    from scipy import ndimage

    return np.asarray(
        (gone & ndimage.maximum_filter(kept, size=2 * RING + 1))
        | (kept & ndimage.maximum_filter(gone, size=2 * RING + 1))
    )


def _around(labels: Uint8Array, rows: IndexArray, columns: IndexArray) -> list[Uint8Array]:
    """Labels (n,) of the pixels one and `RING` steps away, in eight directions each."""
    height, width = labels.shape
    seen = []
    for far in range(1, RING + 1):
        for down, across in ((0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1)):
            r = np.clip(rows + far * down, 0, height - 1)
            seen.append(labels[r, np.clip(columns + far * across, 0, width - 1)])
    return seen
