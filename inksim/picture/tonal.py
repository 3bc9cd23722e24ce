"""Draw tonal prints: one table look-up a pixel from the artwork, or spectrally from the plates.

A picture in register is drawn straight from the artwork: what its colors print to is a table over
RGB and the fiber quantile (`tonal_look`). Plates that are out of register, choked or edited are no
longer functions of the artwork's color; `draw_plates` mixes them pixel by pixel.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.artwork import encode8_dithered, fine_codes
from inksim.colour import Viewing, linear_srgb, weights, within_srgb, xyz
from inksim.common import BoolArray, Float32Array, FloatArray, InputError, Uint8Array, Uint32Array
from inksim.optics import level_quantiles, thickness_factor
from inksim.separation import (
    Axes,
    SeenColours,
    TonalModel,
    at_colours,
    by_strips,
    laid_on,
    mosaic,
    mosaic_xyz,
    nodes_near,
    quick_xyz,
)

LEVEL_BITS = 5
LEVELS = 1 << LEVEL_BITS
"""Fiber quantiles a tonal picture distinguishes; a tile has eight times as many."""
CODES = 64
"""Codes a channel that the table has; between them the picture is dithered, 2 × 2 pixels."""
BARE = CODES**3
SHADING = 0.12
"""Light that proud fibers catch, as for flat prints (`render.colour_table`)."""
FINE_SHIFT = 1
FINE_LEVELS = 256 >> FINE_SHIFT
"""Quantiles that `draw_plates` distinguishes."""
_STRIP_ROWS = 32
_BLOCK = 1 << 15


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalLook:
    """What every color of the artwork looks like printed, at every fiber quantile.

    table: uint32 ((64³ + 1)·32,), bytes R, G, B, 255 in 8-bit sRGB; the last 32 are bare cloth.
    cloth: sRGB of the bare garment, on which transparent artwork is laid. outside: bool (64³ + 1,),
    the prints that a screen cannot show; they lose chroma.
    """

    table: Uint32Array
    cloth: tuple[int, int, int]
    outside: BoolArray


def level_points(model: TonalModel, levels: int = LEVELS) -> FloatArray:
    """Quantile (levels,) that stands for each level: the one of its mean film on bare cloth.

    The middle would do but for the first and the last level, where thickness bends most.
    """
    from scipy.special import gammainc

    cv = float(np.max(model.slabs.first_cv))
    if cv < 1e-6:
        return _middles(levels)
    factor = thickness_factor(level_quantiles(), cv=cv).reshape(levels, -1).mean(axis=1)
    return np.asarray(gammainc(1.0 / cv**2, factor / cv**2))


def _middles(levels: int) -> FloatArray:
    return (np.arange(levels) + 0.5) / levels


def tonal_look(
    model: TonalModel,
    viewing: Viewing,
    *,
    axes: Axes,
    coverage: Float32Array,
    cloth: tuple[int, int, int],
    seen: SeenColours | None = None,
) -> TonalLook:
    """Table of printed colors from coverages (n, n, n, C) on a lattice over RGB, n odd.

    The mean over the quantiles of each entry is the print's swatch, within the screen's gamut;
    the fibers' part is worked out on every second node, added, and made smaller where it would
    leave 0..1, so that the mean stays (as `render.colour_table` does for flats). seen: colors of
    the picture to draw; the entries that it does not come near are left 0.
    """
    codes = _table_codes()
    every = [_entries_of(codes)] * 3
    needed = np.full((CODES,) * 3, True) if seen is None else nodes_near(seen.cells, every)
    # Blue is the slowest in the index.
    places = np.flatnonzero(needed.transpose())
    three, turned = (codes,) * 3, axes[::-1]
    prints = at_colours(coverage.transpose(2, 1, 0, 3), turned, three, places)
    within = np.clip(prints, 0.0, 1.0).astype(np.float64)  # past 1 by rounding only
    mean = linear_srgb(quick_xyz(model, within, viewing), viewing)
    outside = np.zeros(BARE + 1, dtype=np.bool_)
    outside[places] = np.any((mean < -1e-3) | (mean > 1.001), axis=-1)
    middle = within_srgb(mean, viewing).astype(np.float32)
    every_other = (axes[0][::2], axes[1][::2], axes[2][::2])
    asked = None if seen is None else seen.nodes(every_other)
    swings = _swings(model, viewing, coverage[::2, ::2, ::2], asked)
    ends = np.concatenate([swings.min(axis=3), swings.max(axis=3)], axis=-1)
    low, high = np.split(
        at_colours(ends.transpose(2, 1, 0, 3), every_other[::-1], three, places), 2, axis=1
    )
    room = np.minimum(
        np.divide(middle, -low, out=np.ones_like(middle), where=low < 0),
        np.divide(1.0 - middle, high, out=np.ones_like(middle), where=high > 0),
    )
    room = np.minimum(room, 1.0)
    table = np.zeros((BARE + 1, LEVELS, 4), dtype=np.uint8)
    rows = max(1, _BLOCK // LEVELS)
    flat = swings.transpose(2, 1, 0, 3, 4).reshape(*(axis.size for axis in every_other[::-1]), -1)
    for top in range(0, places.size, rows):
        part = slice(top, top + rows)
        swing = at_colours(flat, every_other[::-1], three, places[part]).reshape(-1, LEVELS, 3)
        light = middle[part, None] + room[part, None] * swing
        table[places[part], :, :3] = _codes(light)
    table[places, :, 3] = 255
    bare = within_srgb(linear_srgb(xyz(model.cloth, viewing), viewing), viewing)
    table[BARE, :, :3] = _codes((_shade()[:, None] * bare).astype(np.float32))
    table[BARE, :, 3] = 255
    return TonalLook(
        table=table.reshape(-1, 4).view("<u4").ravel(),
        cloth=cloth,
        outside=outside,
    )


def _entries_of(codes: FloatArray) -> BoolArray:
    """Which entries (128, 64) a channel's codes of 7 bits fall on, however they are dithered."""
    pairs = np.arange(256)
    pairs -= pairs // CODES
    first, last = pairs[::2, None] >> 2, (pairs[1::2, None] + 3) >> 2
    at = np.arange(codes.size)
    return np.asarray((at >= first) & (at <= last))


def _table_codes() -> FloatArray:
    """Artwork codes (64,) at which the table has entries: where c − c//64 is a multiple of 4."""
    code = np.arange(256)
    return np.asarray([code[code - code // 64 == 4 * at][0] for at in range(CODES)], dtype=float)


def _shade(levels: int = LEVELS) -> FloatArray:
    """Factors (levels,) of light on proud (low) and sunken fibers, mean 1."""
    return np.asarray(1.0 + SHADING * (0.5 - _middles(levels)))


def _swings(
    model: TonalModel, viewing: Viewing, coverage: Float32Array, asked: BoolArray | None
) -> Float32Array:
    """Linear sRGB (m, m, m, 32, 3) of every level minus the mean over the levels.

    asked: the nodes (m, m, m) to work out, all if None; at others it is 0.
    """
    where = np.full(coverage.shape[:3], True) if asked is None else asked
    shares = model.weights(coverage[where])
    light = np.stack(
        [linear_srgb(_level_xyz(model, viewing, R, shares, paired=True), viewing)
         for R in model.primaries(level_points(model))],
        axis=1,
    )  # fmt: skip
    plain = light.mean(axis=1, keepdims=True)
    light *= _shade()[:, None]
    shaded = light.mean(axis=1, keepdims=True)
    light *= np.divide(plain, shaded, out=np.ones_like(plain), where=np.abs(shaded) > 1e-9)
    light -= light.mean(axis=1, keepdims=True)
    swings = np.zeros((*where.shape, LEVELS, 3), dtype=np.float32)
    swings[where] = light
    return swings


def _level_xyz(
    model: TonalModel, viewing: Viewing, R: FloatArray, shares: FloatArray, *, paired: bool
) -> FloatArray:
    """XYZ (M, 3) of prints at one fiber quantile, whose primaries are R (P, 31)."""
    one = mosaic(
        R[None],
        quantile_weight=np.ones(1),
        light=weights(viewing.light, viewing.observer),
        n=model.n,
        has_base=model.has_base,
        paired=paired,
    )
    return mosaic_xyz(one, shares)


def _codes(light: Float32Array) -> Uint8Array:
    """8-bit codes of light (..., 32, 3) 0..1, cut at a threshold that differs by the level.

    The fibers thus dither: over an area the mean keeps what 8 bits cannot hold.
    """
    # Neighboring levels get far thresholds.
    turned = np.array([int(f"{level:0{LEVEL_BITS}b}"[::-1], 2) for level in range(LEVELS)])
    threshold = ((2 * turned + 1) * 256 // (2 * LEVELS)).astype(np.uint16)
    return ((fine_codes(light) + threshold[:, None]) >> 8).astype(np.uint8)


def render_tonal(
    rgba: Uint8Array, look: TonalLook, tile: Uint8Array, *, x: int = 0, y: int = 0
) -> Uint8Array:
    """The print of a picture, in register: uint8 (H, W, 4), RGBX.

    rgba: (H, W, 4) sRGB with straight alpha, a window of the whole picture whose corner is at
    (x, y). One look-up a pixel; needs the result and little more.
    """
    if rgba.ndim != 3 or rgba.shape[2] != 4 or rgba.dtype != np.uint8 or not rgba.size:
        raise InputError(
            f"the picture to draw has shape {rgba.shape} and type {rgba.dtype}; "
            "give 8-bit RGBA, rows x columns x 4."
        )
    height, width = rgba.shape[:2]
    out = np.empty((height, width), dtype="<u4")
    wide = np.take(tile >> (8 - LEVEL_BITS), np.arange(x, x + width) % tile.shape[1], axis=1)
    dither = np.array([[0, 2], [3, 1]], dtype=np.uint32) * np.uint32(0x010101)
    columns = dither[:, np.arange(x, x + width) % 2]

    def work(top: int, low: int) -> None:
        for row in range(top, low, _STRIP_ROWS):
            end = min(low, row + _STRIP_ROWS)
            laid = laid_on(rgba[row:end], look.cloth)
            rows = np.arange(y + row, y + end)
            index = _entries(laid, columns[rows % 2])
            index <<= np.uint32(LEVEL_BITS)
            index |= wide[rows % tile.shape[0]]
            np.take(look.table, index, out=out[row:end], mode="clip")

    by_strips(height, width, work)
    return out.view(np.uint8).reshape(height, width, 4)


def beyond_screen(rgba: Uint8Array, look: TonalLook) -> BoolArray:
    """Where (H, W) the print is more colorful, lighter or darker than a screen can show."""
    height, width = rgba.shape[:2]
    out = np.empty((height, width), dtype=np.bool_)
    middle = np.full((1, width), 0x010101, dtype=np.uint32)

    def work(top: int, low: int) -> None:
        for row in range(top, low, _STRIP_ROWS):
            end = min(low, row + _STRIP_ROWS)
            index = _entries(laid_on(rgba[row:end], look.cloth), middle)
            np.take(look.outside, index, out=out[row:end], mode="clip")

    by_strips(height, width, work)
    return out


def _entries(rgba: Uint8Array, dither: Uint32Array) -> Uint32Array:
    """Entry (h, w) of each pixel: its color on 64 codes a channel, dithered; or bare cloth.

    The bytes of a word are worked on together: c − c//64 is 0..252, in steps of 4 from entry to
    entry, and adding 0..3 takes the next entry as often as the color lies nearer to it.
    """
    words = np.ascontiguousarray(rgba).view("<u4")[..., 0]
    fields = words & np.uint32(0xFFFFFF)
    fields -= (fields >> np.uint32(6)) & np.uint32(0x030303)
    fields += dither
    fields >>= np.uint32(2)
    index = fields & np.uint32(0x3F)
    fields >>= np.uint32(2)
    index |= fields & np.uint32(0xFC0)
    fields >>= np.uint32(2)
    index |= fields & np.uint32(0x3F000)
    if rgba[..., 3].min(initial=255) == 0:
        index[words < 1 << 24] = BARE
    return index


def shifted(plate: Uint8Array, *, dx_px: float, dy_px: float) -> Uint8Array:
    """A plate (H, W) moved right and down by pixels, whole or not; what moves in is bare."""
    from scipy.ndimage import shift

    if dx_px == 0 and dy_px == 0:
        return plate
    moved = shift(plate.astype(np.float32), (dy_px, dx_px), order=1, mode="constant", cval=0.0)
    return np.asarray(np.rint(moved).astype(np.uint8))


def draw_plates(
    model: TonalModel,
    coverages: Sequence[Uint8Array] | Uint8Array,
    tile: Uint8Array,
    viewing: Viewing,
    *,
    x: int = 0,
    y: int = 0,
) -> Uint8Array:
    """The print of plates as they lie, register errors and all: uint8 (h, w, 3), sRGB.

    Every pixel is a mosaic of its own coverages at its own fiber quantile, worked out spectrally:
    about a second a megapixel, meant for windows.

    Parameters
    ----------
    coverages : C plates (h, w) uint8 of what is on the shirt, 255 a solid, base first; a window of
        the picture whose corner is at (x, y).
    """
    plates = np.stack(list(coverages))
    if len(plates) != model.plates:
        raise InputError(f"{len(plates)} plates are given for a print of {model.plates}.")
    height, width = plates.shape[1:]
    out = np.empty((height, width, 3), dtype=np.uint8)
    plain = model.primaries(level_points(model, FINE_LEVELS))
    # Each primary is shaded and keeps its mean, and so in good approximation do their mosaics.
    primaries = plain * _shade(FINE_LEVELS)[:, None, None]
    primaries *= plain.mean(axis=0) / primaries.mean(axis=0)
    rows = max(1, _BLOCK // width)
    wide = np.take(tile >> FINE_SHIFT, np.arange(x, x + width) % tile.shape[1], axis=1)
    for top in range(0, height, rows):
        part = plates[:, top : top + rows]
        level = wide[np.arange(y + top, y + top + part.shape[1]) % tile.shape[0]].ravel()
        shares = model.weights(part.reshape(len(plates), -1).T / 255.0)
        light = np.empty((level.size, 3))
        order = np.argsort(level, kind="stable")
        ends = np.cumsum(np.bincount(level, minlength=FINE_LEVELS))
        for at in range(FINE_LEVELS):
            here = order[(ends[at - 1] if at else 0) : ends[at]]
            seen = _level_xyz(model, viewing, primaries[at], shares[here], paired=False)
            light[here] = linear_srgb(seen, viewing)
        light = within_srgb(light, viewing)
        strip = light.reshape(part.shape[1], width, 3).astype(np.float32)
        out[top : top + rows] = encode8_dithered(strip, top=y + top)
    return out
