"""Tone curves of a picture's file, undone: from its codes to light that adds up.

ISO 15076-1 (ICC.1:2022): 7.3 tag table, 10.6 curveType, 10.18 parametricCurveType; the clauses are
cited from memory. The three primaries of a profile are left as they are: a `camera` is fitted to
the patches of a chart and learns them.
"""

from __future__ import annotations

import io
import struct

import numpy as np
from PIL import Image, ImageCms

from inksim.colour import decode_srgb
from inksim.common import Float32Array, FloatArray, Uint8Array

_TAGS = (b"rTRC", b"gTRC", b"bTRC")
_MOST_TAGS = 100
_STRIP_ROWS = 256


def profile_curves(icc: bytes, codes: FloatArray) -> Float32Array | None:
    """Light (3, N) of the codes (N,) 0..1 by the profile's three curves; None if it has none.

    Raises
    ------
    ValueError : a profile that is damaged, or whose curves fall.
    """
    tags = _tags(icc)
    if not all(tag in tags for tag in _TAGS):
        return None
    light = np.stack([_curve(tags[tag], codes) for tag in _TAGS])
    rises = np.isfinite(light).all() and (np.diff(light) >= -1e-6).all()
    if not (rises and (light[:, -1] > 0.5).all()):
        raise ValueError("a curve of the profile falls")
    return np.clip(light, 0.0, None).astype(np.float32)


def srgb_curves(codes: FloatArray) -> Float32Array:
    """Light (3, N) of codes (N,) 0..1 by the curve of IEC 61966-2-1."""
    return np.tile(np.asarray(decode_srgb(codes), dtype=np.float32), (3, 1))


def _tags(icc: bytes) -> dict[bytes, bytes]:
    try:
        (count,) = struct.unpack_from(">I", icc, 128)
        entries = [
            struct.unpack_from(">4sII", icc, 132 + 12 * at) for at in range(min(count, _MOST_TAGS))
        ]
    except struct.error as error:
        raise ValueError("the profile is cut short") from error
    return {name: icc[start : start + size] for name, start, size in entries}


def _curve(tag: bytes, codes: FloatArray) -> FloatArray:
    try:
        if tag[:4] == b"curv":
            return _table(tag, codes)
        if tag[:4] == b"para":
            return _parametric(tag, codes)
    except struct.error as error:
        raise ValueError("a curve of the profile is cut short") from error
    raise ValueError("a curve of the profile is of an unknown kind")


def _table(tag: bytes, codes: FloatArray) -> FloatArray:
    (count,) = struct.unpack_from(">I", tag, 8)
    if count == 0:
        return codes
    if count == 1:
        (power,) = struct.unpack_from(">H", tag, 12)
        return np.asarray(codes ** (power / 256.0))
    values = np.frombuffer(tag, dtype=">u2", count=min(count, 1 << 16), offset=12) / 65535.0
    return np.interp(codes, np.linspace(0.0, 1.0, len(values)), values)


def _parametric(tag: bytes, codes: FloatArray) -> FloatArray:
    """Y = (aX + b)^g + e above d, cX + f below it; the kinds 0 to 3 leave some of them out."""
    (kind,) = struct.unpack_from(">H", tag, 8)
    if kind > 4:
        raise ValueError("a curve of the profile is of an unknown kind")
    given = struct.unpack_from(f">{(1, 3, 4, 5, 7)[kind]}i", tag, 12)
    g, a, b, c, d, e, f = [v / 65536.0 for v in given] + [0.0] * (7 - len(given))
    if kind == 0:
        a, b, c, d = 1.0, 0.0, 0.0, 0.0
    elif kind in (1, 2):
        # the constant of kind 2 holds on both sides of -b/a
        d, e, f = (-b / a if a else 1.0), c, c
        c = 0.0
    with np.errstate(invalid="ignore", over="ignore", divide="ignore"):
        above = np.clip(a * codes + b, 0.0, None) ** g + e
    return np.asarray(np.where(codes >= d, above, c * codes + f))


def through_profile(icc: bytes, pixels: Uint8Array) -> Uint8Array:
    """Pixels (H, W, 3) in sRGB, by Little CMS: for a profile of tables, which has no curves.

    Raises
    ------
    ValueError : a profile that is none of RGB, or is damaged.
    """
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(icc))
        srgb = ImageCms.createProfile("sRGB")
        transform = ImageCms.buildTransform(
            profile, srgb, "RGB", "RGB", ImageCms.Intent.RELATIVE_COLORIMETRIC
        )
    except (ImageCms.PyCMSError, OSError, TypeError) as error:
        raise ValueError("the profile cannot be used") from error
    made = np.empty_like(pixels)
    for top in range(0, len(pixels), _STRIP_ROWS):
        strip = Image.fromarray(np.ascontiguousarray(pixels[top : top + _STRIP_ROWS]))
        converted = ImageCms.applyTransform(strip, transform)
        assert converted is not None  # None only when asked to work in place
        made[top : top + _STRIP_ROWS] = np.asarray(converted)
    return made
