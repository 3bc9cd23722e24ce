"""The background of a picture: the flat color that surrounds what is to be printed.

A JPEG has no transparency, so a logo comes on a rectangle of white (or of another color) that
nobody wants printed. Found from the plates, in which noise and soft edges are already settled.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from inksim.colour import hex_from_rgb8, rgb8_from_hex
from inksim.common import BoolArray, InputError, Int64Array, Uint8Array

KEEP, AUTO, OUTSIDE = "keep", "auto", "outside"
MOST_OF_BORDER = 0.6  # [assumption] least share of the border that a background covers
LEAST_AREA = 0.05  # [assumption] and of the picture, connected to the border: less is a frame
ALIKE = 16  # code values within which a flat is the color asked for: compression shifts colors
COARSE = 500  # pixels to which the shorter side is thinned out to follow a region


class Wish(NamedTuple):
    """What to do with a background: `colour` is None for the one found."""

    leave_out: bool
    colour: tuple[int, int, int] | None
    outside_only: bool


@dataclass(frozen=True, kw_only=True)
class Background:
    """A flat that surrounds the picture; `border_share` and `area_share` (0 to 1) of the picture.

    `area_share` counts all of that color, enclosed islands too.
    """

    rgb: tuple[int, int, int]
    hex: str
    border_share: float
    area_share: float

    @property
    def words(self) -> str:
        """Name it with its color: 'white background #ffffff'."""
        name = "white " if min(self.rgb) >= 245 else "black " if max(self.rgb) <= 10 else ""
        return f"{name}background {self.hex}"

    @property
    def offer(self) -> str:
        """Say in a sentence that the background is kept, and how to leave it out."""
        return f"Its {self.words} would be printed; it can be left out."


def parsed_wish(text: str) -> Wish:
    """Parse a wish: 'keep', 'auto' or '#rrggbb'; the last two may be followed by ' outside'.

    'auto' leaves out the background found, '#rrggbb' the flat of that color: all of it, because
    the counters of letters on a white-backed logo are background as well. With ' outside' islands
    that do not touch the border stay, such as the white eyes of a mascot. Raises InputError.
    """
    first, _, rest = text.strip().partition(" ")
    colour = None
    if first not in (KEEP, AUTO):
        try:
            r, g, b = (int(v) for v in rgb8_from_hex(first))
        except InputError:
            rest = "?"
        else:
            colour = (r, g, b)
    if rest not in ("", OUTSIDE) or (first == KEEP and rest):
        raise InputError(
            f"background is '{text}'; allowed is keep, auto or a color code such as #ffffff, the "
            "last two also followed by 'outside' (auto outside), which keeps enclosed islands."
        )
    return Wish(first != KEEP, colour, rest == OUTSIDE)


def found_background(labels: Uint8Array, palette: Int64Array) -> int | None:
    """The number of the flat (1 to N) that most likely is background; None where there is none.

    `labels` (H, W) are 0 for bare cloth, n for flat n of `palette` (N, 3). It covers most of the
    border, and what of it is connected to the border is no mere frame. A picture of one flat has
    none, and neither has one with transparency around it.
    """
    counts = np.bincount(_border(labels), minlength=len(palette) + 1)
    number = int(counts.argmax())
    if number == 0 or counts[number] < MOST_OF_BORDER * counts.sum():
        return None
    step = max(1, min(labels.shape) // COARSE)
    thinned = labels[::step, ::step]
    if not np.any((thinned != number) & (thinned > 0)) and not _others(labels, number):
        return None
    area = np.count_nonzero(from_outside(thinned == number))
    return number if area >= LEAST_AREA * thinned.size else None


def _others(labels: Uint8Array, number: int) -> bool:
    return bool(np.any((labels != number) & (labels > 0)))


def _border(labels: Uint8Array) -> Uint8Array:
    """(2 W + 2 H,) the labels along the border."""
    return np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])


def chosen_background(
    wish: Wish, palette: Int64Array, found: int | None, *, name: str
) -> int | None:
    """The number of the flat to leave out, by the wish; None where nothing was found.

    Raises InputError for a color that no flat has, or that is the only one.
    """
    if wish.colour is None:
        return found
    gap = np.abs(palette - np.array(wish.colour)).max(axis=1)
    if not len(palette) or gap.min() > ALIKE:
        flats = ", ".join(hex_from_rgb8(rgb) for rgb in palette[:12]) or "none"
        raise InputError(
            f"artwork '{name}' has no flat of the color {hex_from_rgb8(wish.colour)} to leave out; "
            f"its flats are {flats}: name one of them, or give background 'keep'."
        )
    if len(palette) == 1:
        raise InputError(
            f"artwork '{name}' has one color, {hex_from_rgb8(palette[0])}: without it nothing "
            "would print; give background 'keep'."
        )
    return int(gap.argmin()) + 1


def from_outside(mask: BoolArray) -> BoolArray:
    """What of a mask (H, W) is connected to its border, through the sides of pixels."""
    from scipy import ndimage

    pieces, count = ndimage.label(mask)
    touching = np.zeros(count + 1, dtype=bool)
    touching[_border(pieces)] = True
    touching[0] = False
    return np.asarray(touching[pieces])


def described(labels: Uint8Array, palette: Int64Array, number: int) -> Background:
    """Flat `number` as the background of its picture."""
    r, g, b = (int(v) for v in palette[number - 1])
    return Background(
        rgb=(r, g, b),
        hex=hex_from_rgb8((r, g, b)),
        border_share=float((_border(labels) == number).mean()),
        area_share=float((labels == number).mean()),
    )


def left_out_words(ground: Background, gone: BoolArray, all_of_it: BoolArray) -> str:
    """One sentence on what is left out: `gone` of `all_of_it`, both (H, W)."""
    kept = np.count_nonzero(all_of_it) - np.count_nonzero(gone)
    if kept > 0:
        return f"Its {ground.words} is left out; islands of that color inside the design print."
    if np.array_equal(from_outside(gone), gone):
        return f"Its {ground.words} is left out."
    return (
        f"Its {ground.words} is left out, islands inside the design too; to print those, "
        f"give background '{ground.hex} {OUTSIDE}'."
    )
