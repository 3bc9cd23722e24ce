"""sRGB (IEC 61966-2-1): XYZ under any white to code values and back, by Bradford adaptation."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from inksim.colour.adaptation import adapting
from inksim.colour.viewing import Viewing, lab_from_xyz, xyz_from_lab
from inksim.common import BoolArray, FloatArray, InputError, Uint8Array

#: CIE xy of the sRGB primaries and of its white, D65 (IEC 61966-2-1).
SRGB_PRIMARIES: FloatArray = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
SRGB_WHITE: FloatArray = np.array([0.3127, 0.3290])
HALF_CODE = 0.5 / 255.0
UNSEEN = 1.0
"""ΔE*ab that is hardly seen in a saturated color: it is cut off, not mapped [assumption]."""
_HALVINGS = 16
"""Of a share of chroma: to 0.005 in a* and b*."""


@cache
def _srgb_matrix() -> FloatArray:
    """Linear sRGB to XYZ (Y of white = 1), from primaries and white; shape (3, 3), columns RGB."""
    columns = np.column_stack([SRGB_PRIMARIES, 1.0 - SRGB_PRIMARIES.sum(axis=1)]).T
    return np.asarray(columns * np.linalg.solve(columns, _srgb_white_xyz()))


def _srgb_white_xyz() -> FloatArray:
    x, y = SRGB_WHITE
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


@cache
def _xyz_to_linear(viewing: Viewing) -> FloatArray:
    """Matrix (3, 3) from XYZ under a viewing (Y = 100) to linear sRGB (white = 1)."""
    adapt = adapting(viewing.white / 100.0, _srgb_white_xyz())
    return np.asarray(np.linalg.solve(_srgb_matrix(), adapt) / 100.0)


def linear_srgb(xyz: ArrayLike, viewing: Viewing) -> FloatArray:
    """Linear sRGB (..., 3), unclipped: below 0 or above 1 is out of gamut.

    The viewing's white is adapted to sRGB's D65 by the Bradford transform (ICC.1:2022, Annex E),
    so the perfect diffuser is (1, 1, 1) under any light.
    """
    return np.asarray(xyz, dtype=float) @ _xyz_to_linear(viewing).T


def encode_srgb(linear: ArrayLike) -> FloatArray:
    """Code values 0-1 of linear sRGB, clipped to the gamut (IEC 61966-2-1)."""
    v = np.clip(np.asarray(linear, dtype=float), 0.0, 1.0)
    return np.asarray(np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1.0 / 2.4) - 0.055))


def decode_srgb(code: ArrayLike) -> FloatArray:
    """Linear sRGB of code values 0-1 (IEC 61966-2-1)."""
    v = np.asarray(code, dtype=float)
    return np.where(v <= 0.04045, v / 12.92, ((np.maximum(v, 0.0) + 0.055) / 1.055) ** 2.4)


def within_srgb(linear: ArrayLike, viewing: Viewing) -> FloatArray:
    """Linear sRGB (..., 3) as a screen shows it, within 0..1: less chroma, same L* and hue.

    What lies outside moves straight to the gray of its own CIELAB lightness, under the viewing,
    until cutting off what is still outside moves it by no more than `UNSEEN`: the chroma search of
    CSS Color 4 (W3C, from memory), in CIELAB. Of the demo's builds outside, cutting off alone
    turned the hue by 4.0° in the mean and 9.9° at most; this by 0.7° and 1.3°, in OKLab to the
    gamut's edge by 1.2° and 7.2°; all three are 2.5 ΔE00 away in the mean, 5.8 at most.
    """
    light = np.asarray(linear, dtype=float)
    shown = np.clip(light, 0.0, 1.0)
    out = np.any(light != shown, axis=-1)
    if out.any():
        back = np.linalg.inv(_xyz_to_linear(viewing)).T
        lab = lab_from_xyz(light[out] @ back, viewing)
        lab[:, 0] = np.clip(lab[:, 0], 0.0, 100.0)
        # as it stands, then between what is near enough and what is not
        low, high, share = np.zeros(len(lab)), np.full(len(lab), 2.0), np.ones(len(lab))
        for _ in range(_HALVINGS):
            tried = np.concatenate([lab[:, :1], share[:, None] * lab[:, 1:]], axis=-1)
            cut = np.clip(linear_srgb(xyz_from_lab(tried, viewing), viewing), 0.0, 1.0)
            off = np.sum((lab_from_xyz(cut @ back, viewing) - tried) ** 2, axis=-1)
            near = off <= UNSEEN**2
            low, high = np.where(near, share, low), np.where(near, high, np.minimum(share, high))
            share = np.where(low >= 1.0, 1.0, (low + np.minimum(high, 1.0)) / 2.0)
        kept = np.concatenate([lab[:, :1], low[:, None] * lab[:, 1:]], axis=-1)
        shown[out] = np.clip(linear_srgb(xyz_from_lab(kept, viewing), viewing), 0.0, 1.0)
    return np.asarray(shown)


def srgb8(xyz: ArrayLike, viewing: Viewing) -> tuple[Uint8Array, BoolArray]:
    """8-bit sRGB (..., 3), rounded, and whether each color (...) is inside the sRGB gamut.

    Inside means that clipping moves no channel by more than half an 8-bit code. What is outside
    loses chroma (`within_srgb`).
    """
    linear = linear_srgb(xyz, viewing)
    lowest, highest = -HALF_CODE / 12.92, ((1.0 + HALF_CODE + 0.055) / 1.055) ** 2.4
    in_gamut = np.all((linear >= lowest) & (linear <= highest), axis=-1)
    codes = np.rint(encode_srgb(within_srgb(linear, viewing)) * 255.0).astype(np.uint8)
    return codes, np.asarray(in_gamut)


def hex_code(xyz: ArrayLike, viewing: Viewing) -> tuple[str, bool]:
    """The nearest sRGB code "#rrggbb" of one XYZ (3,), and whether it is inside the gamut."""
    rgb, in_gamut = srgb8(xyz, viewing)
    return hex_from_rgb8(rgb), bool(in_gamut)


def xyz_from_srgb8(rgb8: ArrayLike, viewing: Viewing) -> FloatArray:
    """XYZ (..., 3) under the viewing of 8-bit sRGB (..., 3): the inverse of srgb8 in gamut."""
    linear = decode_srgb(np.asarray(rgb8, dtype=float) / 255.0)
    return np.asarray(linear @ np.linalg.inv(_xyz_to_linear(viewing)).T)


def rgb8_from_hex(text: str) -> Uint8Array:
    """8-bit RGB (3,) of "#rgb" or "#rrggbb", with or without "#"; else raises InputError."""
    digits = text.strip().removeprefix("#")
    if len(digits) == 3:
        digits = "".join(2 * d for d in digits)
    if len(digits) != 6 or not all(d in "0123456789abcdefABCDEF" for d in digits):
        raise InputError(
            f"'{text}' is not a color code; write six hex digits such as #1a2b3c, or three."
        )
    return np.array(list(bytes.fromhex(digits)), dtype=np.uint8)


def hex_from_rgb8(rgb8: ArrayLike) -> str:
    """The code "#rrggbb" of 8-bit RGB (3,): the inverse of rgb8_from_hex."""
    return "#" + bytes(np.asarray(rgb8, dtype=np.uint8).tolist()).hex()


def lab_from_hex(text: str, viewing: Viewing) -> FloatArray:
    """CIELAB (3,) under the viewing of an sRGB code "#rgb" or "#rrggbb"."""
    return lab_from_xyz(xyz_from_srgb8(rgb8_from_hex(text), viewing), viewing)


def readable_on(code: str) -> str:
    """Black or white, whichever reads better on a color (WCAG relative luminance)."""
    red, green, blue = (float(v) for v in decode_srgb(rgb8_from_hex(code) / 255.0))
    luminance = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    return "#000000" if (luminance + 0.05) / 0.05 >= 1.05 / (luminance + 0.05) else "#ffffff"
