"""Draw flat prints: one table look-up per pixel, at full size, as a crop or reduced.

An artwork is a picture of labels, uint8 (H, W): 0 is bare cloth, every other label one printed
build. The cloth is a seamless tile of thickness quantiles (`cloth_tile.knit_tile`). A pixel's
color is a function of its label and its quantile, so a garment or a build is changed by changing
one table of L x 256 colors, and the full picture costs one look-up per pixel.

Reduced pictures are averaged in linear light, as the eye does from further away.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inksim.artwork import encode8_dithered
from inksim.colour import Viewing, decode_srgb, encode_srgb, linear_srgb, srgb8, within_srgb, xyz
from inksim.common import (
    BoolArray,
    Float32Array,
    FloatArray,
    IndexArray,
    InputError,
    Uint8Array,
    Uint32Array,
)
from inksim.optics import LEVELS, level_quantiles
from inksim.picture.reduce import Coverage, Weave, frozen, knots_of

MAX_LABELS = 256
_STRIP_ROWS = 32  # one strip's indices and colors stay in the second-level cache
_BAND_BYTES = 4 << 20  # of cloth colors at a time, for the same reason


@dataclass(frozen=True, kw_only=True, eq=False)
class Look:
    """What each label looks like at each thickness quantile.

    table: uint32 (L*256,), little-endian bytes R, G, B, 255 in 8-bit sRGB, index label*256 + q.
    linear: (L, 256, 3) the same in linear sRGB, 0..1, before rounding.
    in_gamut: (L,) False where a screen cannot show the label's swatch.
    """

    table: Uint32Array
    linear: FloatArray
    in_gamut: BoolArray

    @property
    def labels(self) -> int:
        return int(self.linear.shape[0])


def colour_table(reflectance: FloatArray, viewing: Viewing, *, shading: float = 0.12) -> Look:
    """Colors of L labels at 256 thickness quantiles from external reflectances (L, 256, 31).

    Level v is the quantile q = (v + 0.5)/256. The swatch of a label is the mean over q in linear
    light, as the screen can show it (`within_srgb`). All that is done here to the
    levels keeps that mean, so a flat area of the picture has its swatch as its mean:

    - Proud fibers (low q) catch a little more light: the light is multiplied by
      1 + shading (0.5 - q) [assumption; shading 0 to 1, 0.12 by eye], then each label and channel
      is scaled back to its unshaded mean.
    - Levels outside the screen's gamut are clipped and the rest of their label and channel is
      shifted until the mean is the swatch again (a policy for pictures: the area's color is
      kept, its unevenness is not).
    - Rounding errors of the 8-bit codes are carried from one quantile to the next, so that they
      cancel over the area; the fibers act as the dither. A color that does not vary is rounded.

    Raises InputError for another shape, more than 256 labels, or a reflectance that is not finite.
    """
    reflectance = np.asarray(reflectance, dtype=float)
    if reflectance.ndim != 3 or reflectance.shape[1] != LEVELS or not reflectance.shape[0]:
        raise InputError(
            f"reflectances to draw have shape {reflectance.shape}; "
            "give labels x 256 quantiles x 31 bands."
        )
    if reflectance.shape[0] > MAX_LABELS:
        raise InputError(
            f"the picture has {reflectance.shape[0]} labels; at most 256 can be drawn, "
            "so merge colors of the artwork."
        )
    if not np.all(np.isfinite(reflectance)):
        label = int(np.argwhere(~np.isfinite(reflectance))[0][0])
        raise InputError(f"the reflectance of label {label} is not a number; check its inks.")
    if not 0 <= shading <= 1:
        raise InputError(f"the shading of the cloth is {shading:g}; it must be 0 to 1.")
    seen = xyz(reflectance, viewing)
    _, in_gamut = srgb8(seen.mean(axis=1), viewing)
    shaded = _shade(linear_srgb(seen, viewing), amount=shading)
    light = _into_gamut(shaded, within_srgb(shaded.mean(axis=1), viewing))
    return Look(
        table=frozen(_pack(_level_codes(light))),
        linear=frozen(light),
        in_gamut=frozen(in_gamut),
    )


def _shade(plain: FloatArray, *, amount: float) -> FloatArray:
    """Light (L, 256, 3) shaded by fiber height; the mean over the levels is kept."""
    shaded = plain * (1.0 + amount * (0.5 - level_quantiles()))[:, None]
    before, after = plain.mean(axis=1, keepdims=True), shaded.mean(axis=1, keepdims=True)
    scale = np.divide(before, after, out=np.ones_like(after), where=np.abs(after) > 1e-12)
    return np.asarray(shaded * scale)


def _into_gamut(light: FloatArray, swatch: FloatArray) -> FloatArray:
    """Light (L, 256, 3) within 0..1 whose mean over the levels is the swatch (L, 3).

    clip(light + shift) with the shift per label and channel found by bisection: the mean rises
    with the shift, and the levels' own range, either way, brackets it.
    """
    shown = np.clip(light, 0.0, 1.0)
    off = np.abs(light.mean(axis=1) - swatch) > 1e-12
    out = np.any(shown != light, axis=1) | off
    if not out.any():
        return light
    values = light.transpose(0, 2, 1)[out]
    wanted = swatch[out]
    low, high = -values.max(axis=1), 1.0 - values.min(axis=1)
    for _ in range(60):
        middle = (low + high) / 2
        below = np.clip(values + middle[:, None], 0.0, 1.0).mean(axis=1) < wanted
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    moved = shown.transpose(0, 2, 1).copy()
    moved[out] = np.clip(values + high[:, None], 0.0, 1.0)
    return np.ascontiguousarray(moved.transpose(0, 2, 1))


def _level_codes(light: FloatArray) -> Uint8Array:
    """8-bit codes (L, 256, 3), each level's rounding error in linear light carried to the next."""
    codes = np.empty(light.shape, dtype=np.uint8)
    varies = np.ptp(light, axis=1) > 1e-9
    carried = np.zeros(varies.shape)
    for level in range(light.shape[1]):
        wanted = light[:, level] + carried
        code = np.rint(encode_srgb(wanted) * 255.0)
        carried = np.where(varies, wanted - decode_srgb(code / 255.0), 0.0)
        codes[:, level] = code.astype(np.uint8)
    return codes


def _pack(codes: Uint8Array) -> Uint32Array:
    rgbx = np.full((*codes.shape[:-1], 4), 255, dtype=np.uint8)
    rgbx[..., :3] = codes
    return rgbx.reshape(-1, 4).view("<u4").ravel()


# Full size


def render_flat(labels: Uint8Array, look: Look, tile: Uint8Array) -> Uint8Array:
    """The print at full size: uint8 (H, W, 4), RGBX, from labels uint8 (H, W).

    One look-up per pixel; the tile repeats from the top left corner without a seam. Needs the
    result and about 1 % more memory. Raises InputError for a label that the look does not have.
    """
    _check(labels, look, tile)
    return _draw(labels, look, tile, x=0, y=0)


def render_crop(
    labels: Uint8Array, look: Look, tile: Uint8Array, *, x: int, y: int, width: int, height: int
) -> Uint8Array:
    """Part of the print, 1:1: exactly the same pixels as that part of `render_flat`.

    The window is cut to the picture; InputError when none of it is inside.
    """
    rows, columns = labels.shape
    left, right = max(0, x), min(columns, x + width)
    top, bottom = max(0, y), min(rows, y + height)
    if left >= right or top >= bottom:
        raise InputError(
            f"the window at ({x}, {y}), {width} x {height} px, lies outside the picture of "
            f"{columns} x {rows} px; move it inside."
        )
    window = labels[top:bottom, left:right]
    _check(window, look, tile)
    return _draw(window, look, tile, x=left, y=top)


def _draw(labels: Uint8Array, look: Look, tile: Uint8Array, *, x: int, y: int) -> Uint8Array:
    rows, columns = labels.shape
    wide = np.take(tile, np.arange(x, x + columns) % tile.shape[1], axis=1)
    out = np.empty((rows, columns), dtype="<u4")
    index = np.empty((_STRIP_ROWS, columns), dtype=np.uint16)
    for top in range(0, rows, _STRIP_ROWS):
        strip = labels[top : top + _STRIP_ROWS]
        at = index[: strip.shape[0]]
        np.left_shift(strip, 8, out=at, dtype=np.uint16)
        cloth = np.arange(y + top, y + top + strip.shape[0]) % tile.shape[0]
        np.bitwise_or(at, wide[cloth], out=at)
        # Labels are checked, so "clip" never clips; it spares a buffered copy.
        np.take(look.table, at, out=out[top : top + _STRIP_ROWS], mode="clip")
    return out.view(np.uint8).reshape(rows, columns, 4)


def _check(labels: Uint8Array, look: Look, tile: Uint8Array) -> None:
    for array, what in ((labels, "labels"), (tile, "cloth tile")):
        if array.ndim != 2 or array.dtype != np.uint8 or not array.size:
            raise InputError(
                f"the {what} to draw have shape {array.shape} and type {array.dtype}; "
                "give 8-bit integers, rows x columns, at least one pixel."
            )
    _check_label(int(labels.max()), look)


def _check_label(highest: int, look: Look) -> None:
    if highest >= look.labels:
        raise InputError(
            f"the artwork uses label {highest}, but colors are given for labels 0 to "
            f"{look.labels - 1}; give a build for every label."
        )


# Reduced


def recolour(coverage: Coverage, weave: Weave, look: Look) -> Uint8Array:
    """The reduced picture uint8 (h, w, 3): label shares x each label's cloth, in linear light.

    Where labels meet inside an output pixel, each takes the mean of its own color over that
    pixel's fibers: shape and fibers are taken as independent there. The mean stays honest, also
    in the dark, where codes are dithered.
    """
    if coverage.factor != weave.factor:
        raise InputError(
            f"labels are reduced by {coverage.factor} and the cloth by {weave.factor}; "
            "reduce both by the same factor."
        )
    _check_label(int(max(coverage.label.max(), coverage.entry_label.max(initial=0))), look)
    rows, columns = coverage.shape
    knots = knots_of(look.linear.transpose(1, 0, 2).reshape(LEVELS, -1)).astype(np.float32)
    high, wide = weave.weight.shape[:2]
    band = max(1, _BAND_BYTES // (wide * look.labels * 12))
    across = (np.arange(columns) % wide) * look.labels
    out = np.empty((rows, columns, 3), dtype=np.uint8)
    for first in range(0, high, band):
        # One row for each (position in the band, label).
        weight = weave.weight[first : first + band].reshape(-1, knots.shape[0])
        cloth = (weight @ knots).reshape(-1, 3)
        for top in range(first, rows, high):
            strip = slice(top, min(top + band, top - first + high, rows))
            down = np.arange(strip.stop - strip.start)[:, None] * (wide * look.labels)
            linear = cloth[down + across + coverage.label[strip]]
            _blend_mixed(linear, coverage, cloth, strip=strip, position=down + across)
            out[strip] = encode8_dithered(linear, top=strip.start)
    return out


def _blend_mixed(
    linear: Float32Array,
    coverage: Coverage,
    cloth: Float32Array,
    *,
    strip: slice,
    position: IndexArray,
) -> None:
    """Overwrite the mixed pixels of a strip of output rows with their blends."""
    columns = coverage.shape[1]
    a, b = np.searchsorted(coverage.mixed, [strip.start * columns, strip.stop * columns])
    if a == b:
        return
    start = coverage.start[a:b]
    end = coverage.start[b] if b < coverage.start.size else coverage.entry_label.size
    pixel = coverage.mixed[a:b] - strip.start * columns
    length = np.diff(np.append(start, end))
    entries = slice(int(start[0]), int(end))
    row = np.repeat(position.ravel()[pixel], length) + coverage.entry_label[entries]
    light = cloth[row] * coverage.entry_weight[entries, None]
    linear.reshape(-1, 3)[pixel] = np.add.reduceat(light, start - start[0], axis=0)
