"""Find the flat colors of an artwork and label every pixel with one of them, or with bare cloth.

`palette` finds the colors, `labels` puts every pixel on one of them or on the bare cloth;
here the two meet the artwork, and what is found is named, measured and judged.
Time is linear in pixels; memory stays near 3 bytes a pixel beside the input.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from inksim.artwork.artwork import Artwork
from inksim.artwork.background import (
    ALIKE,
    KEEP,
    Background,
    chosen_background,
    described,
    found_background,
    from_outside,
    left_out_words,
    parsed_wish,
)
from inksim.artwork.compression import LOSSY, grain_of, unbled
from inksim.artwork.labels import (
    CLOTH,
    HOPELESS,
    MOST_FLATS,
    PixelLabels,
    label_pixels,
    near_share,
    posterised,
)
from inksim.artwork.palette import flat_palette, noisy_palette, peaks, typical_colours, unlike
from inksim.artwork.pixels import OPAQUE, strips, words_of
from inksim.colour import hex_from_rgb8
from inksim.common import MM_PER_INCH, BoolArray, InputError, Int64Array, Uint8Array, Uint32Array

TONAL_BELOW = 0.90  # share of the printed area that flats explain in flat artwork
MANY_FLATS = 0.75  # the same where edges are not counted
CLEAN_ABOVE = 0.995
SOFT_ABOVE = 0.10  # share of partly transparent pixels that edges alone do not reach
FAINTEST, SOLID = 0x01000000, 0xFF000000  # as words, alpha in the top byte


@dataclass(frozen=True, kw_only=True)
class FlatColour:
    """One plate: its sRGB color and how much it prints. `area_share` is of all printed pixels."""

    rgb: tuple[int, int, int]
    hex: str
    pixels: int
    area_share: float
    area_mm2: float | None


@dataclass(frozen=True, kw_only=True, eq=False)
class Flats:
    """`labels` (H, W) uint8, read-only: 0 bare cloth, n the n-th of `colours`.

    `explained` is the share of printed pixels that a flat, or the edge between two, accounts for;
    `tonal` says that it is too small for the picture to be flat artwork, and that the rest is not
    the noise of compression. `background` is the flat that surrounds the picture, None where none
    does: still one of `colours`, unless `find_flats` was asked to leave it out.
    """

    labels: Uint8Array
    colours: tuple[FlatColour, ...]
    tonal: bool
    explained: float
    notes: tuple[str, ...]
    background: Background | None = None

    def plate(self, number: int) -> BoolArray:
        """Where flat `number` (1 to N; 0 is the bare cloth) prints, (H, W)."""
        if not 0 <= number <= len(self.colours):
            raise InputError(
                f"there is no plate {number}; this artwork has plates 1 to {len(self.colours)}."
            )
        return np.equal(self.labels, number)


def find_flats(
    artwork: Artwork,
    *,
    max_colours: int = 12,
    min_area_share: float = 0.0005,
    background: str = KEEP,
) -> Flats:
    """Find the flat colors of `artwork` and put every pixel on one plate or on the cloth.

    `min_area_share` (0 to 1) is the share of the printed area below which a color is no flat of
    its own. Raises InputError when there are more than `max_colours` (1 to 30) flats and a kept
    background, which may still be left out. A tonal picture is not refused: it is marked, and
    posterized onto its flats and, where those are few, its typical colors. Flats come largest
    first.

    `background` is 'keep', 'auto' (leave out the one found) or '#rrggbb' (leave out that flat);
    all of that color is left out, or with ' outside' after it only what touches the border (always
    so in a tonal picture). Raises InputError where no flat has that color, or there is no other.
    """
    wish = parsed_wish(background)
    if not 1 <= max_colours <= MOST_FLATS:
        raise InputError(f"max_colours is {max_colours}; allowed is 1 to {MOST_FLATS}.")
    if not 0 <= min_area_share < 1:
        raise InputError(f"min_area_share is {min_area_share}; allowed is 0 up to 1.")
    words = words_of(artwork.rgba)
    painted = int(np.count_nonzero(words >= OPAQUE))
    lossy = artwork.format in LOSSY
    palette, plates = _own_flats(words, floor=_floor(min_area_share, painted), lossy=lossy)
    grain = grain_of(words, plates.labels, palette[:MOST_FLATS], lossy=lossy)
    tonal = _explained(plates, painted) < TONAL_BELOW and not grain.compressed
    if grain.compressed:
        palette = np.concatenate([grain.colours, palette[MOST_FLATS:]])
    if len(palette) > MOST_FLATS:  # too many to judge by the plates
        tonal = near_share(words, palette) < MANY_FLATS
    if len(palette) > min(max_colours + 1, MOST_FLATS) and not tonal:
        raise _too_many(artwork, palette, max_colours)
    if tonal and (_explained(plates, painted) < HOPELESS or len(palette) > max_colours):
        typical = unlike(typical_colours(words, max_colours), palette)
        palette = np.concatenate([palette, typical])[:max_colours]
        plates = replace(posterised(words, palette), unexplained=plates.unexplained)
    order = _by_area(plates.labels, len(palette))
    palette, labels = palette[order], _renumbered(plates.labels, order)
    explained = _explained(plates, painted)
    tonal = tonal and explained < TONAL_BELOW
    notes = _notes(words, explained, painted, tonal=tonal)
    number = found_background(labels, palette)
    ground = None if number is None else described(labels, palette, number)
    if wish.leave_out:
        number = chosen_background(wish, palette, number, name=artwork.name)
        if number is None:
            notes.append("No background was found: nothing is left out.")
        else:
            ground = described(labels, palette, number)
            gone = labels == number
            if tonal:
                gone &= _near(words, palette[number - 1])
            if tonal or wish.outside_only:
                gone = from_outside(gone)
            notes.append(left_out_words(ground, gone, labels == number))
            labels = np.where(gone, np.uint8(CLOTH), labels)
            order = _by_area(labels, len(palette))
            palette, labels = palette[order], _renumbered(labels, order)
    most = max_colours + (ground is not None and not wish.leave_out)
    if len(palette) > most and not tonal:
        raise _too_many(artwork, palette, max_colours)
    labels = np.ascontiguousarray(labels[: artwork.height_px, : artwork.width_px])
    labels.setflags(write=False)
    return Flats(
        labels=labels,
        colours=_areas(labels, palette, artwork.dpi),
        tonal=tonal,
        explained=explained,
        notes=tuple(notes),
        background=ground,
    )


def _too_many(artwork: Artwork, palette: Int64Array, most: int) -> InputError:
    return InputError(
        f"artwork '{artwork.name}' has {len(palette)} flat colors, and at most {most} "
        f"are separated; {_nearest_pair(palette)}, or allow more colors (up to {MOST_FLATS})."
    )


def _near(words: Uint32Array, colour: Int64Array) -> BoolArray:
    """Where (H, W) the pixels are of this color but for noise."""
    near = words >= OPAQUE
    for channel, value in enumerate(colour):
        code = (words >> np.uint32(8 * channel) & np.uint32(255)).astype(np.int16)
        near &= np.abs(code - np.int16(value)) <= ALIKE
    return near


def _own_flats(words: Uint32Array, *, floor: float, lossy: bool) -> tuple[Int64Array, PixelLabels]:
    """The flats and the plates; thin lines and noisy flats have no blocks and come in a second go.

    The plates use the first `MOST_FLATS` flats; with none, nothing is explained.
    """
    palette = flat_palette(words, floor=floor)
    plates = label_pixels(words, palette[:MOST_FLATS])
    if plates.unexplained >= floor:
        blocks = len(palette)
        palette = np.concatenate([palette, noisy_palette(words, palette, floor=floor)])
        lines = unlike(peaks(*plates.odd, floor=floor), palette)
        if lossy:
            lines = unbled(lines, palette)
        palette = np.concatenate([palette, lines])
        if len(palette) > blocks:
            plates = label_pixels(words, palette[:MOST_FLATS])
    return palette, plates


def _floor(share: float, painted: int) -> float:
    """Fewest blocks of a flat: its share of the print, and a handful in tiny pictures."""
    return max(share * painted, min(4.0, painted / 4))


def _explained(plates: PixelLabels, painted: int) -> float:
    return max(0.0, 1.0 - plates.unexplained / painted) if painted else 1.0


def _notes(words: Uint32Array, explained: float, painted: int, *, tonal: bool) -> list[str]:
    """What a shop should know before it trusts the plates."""
    notes = []
    if tonal:
        notes.append(
            f"This is not flat artwork: flat colors explain only {explained:.0%} of the printed "
            "area; the rest is a gradient or a picture and needs halftones. Here it is posterized."
        )
    elif explained < CLEAN_ABOVE:
        notes.append(
            f"{1 - explained:.1%} of the printed area is none of these flat colors (gradients, "
            "noise or tiny details) and went to the nearest."
        )
    soft = int(np.count_nonzero((words >= FAINTEST) & (words < SOLID)))
    if soft > SOFT_ABOVE * painted:
        notes.append(
            f"{soft / words.size:.0%} of the picture is partly transparent; a plate cannot be: "
            "half and more prints in full, less does not print."
        )
    return notes


def _by_area(labels: Uint8Array, flats: int) -> Int64Array:
    """Indices of the flats that print at all, largest first."""
    counts = _counts(labels, flats)[1:]
    order = np.argsort(-counts, kind="stable")
    return order[counts[order] > 0]


def _renumbered(labels: Uint8Array, order: Int64Array) -> Uint8Array:
    if np.array_equal(order, np.arange(len(order))):
        return labels
    table = np.zeros(256, dtype=np.uint8)
    table[order + 1] = np.arange(len(order)) + 1
    return table.take(labels)


def _nearest_pair(palette: Int64Array) -> str:
    gap = np.linalg.norm(palette[:, None] - palette[None], axis=-1)
    gap[np.diag_indices(len(palette))] = np.inf
    a, b = np.unravel_index(np.argmin(gap), gap.shape)
    one, two = hex_from_rgb8(palette[a]), hex_from_rgb8(palette[b])
    return f"make near ones the same, such as {one} and {two}"


def _counts(labels: Uint8Array, flats: int) -> Int64Array:
    """(flats + 1,) pixels of each label."""
    counts = np.zeros(flats + 1, dtype=np.int64)
    for top, bottom in strips(*labels.shape):
        for number in range(len(counts)):
            counts[number] += np.count_nonzero(labels[top:bottom] == number)
    return counts


def _areas(labels: Uint8Array, palette: Int64Array, dpi: float | None) -> tuple[FlatColour, ...]:
    counts = _counts(labels, len(palette))
    printed = max(1, int(counts[1:].sum()))
    pixel_mm2 = None if dpi is None else (MM_PER_INCH / dpi) ** 2
    return tuple(
        FlatColour(
            rgb=(int(rgb[0]), int(rgb[1]), int(rgb[2])),
            hex=hex_from_rgb8(rgb),
            pixels=int(count),
            area_share=int(count) / printed,
            area_mm2=None if pixel_mm2 is None else int(count) * pixel_mm2,
        )
        for rgb, count in zip(palette, counts[1:], strict=True)
    )
