"""8-bit sRGB pictures: decode, encode, reduce in linear light, save.

Light adds up, code values do not: a fine black and white check is code 188 from afar, not 128.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inksim.artwork.png import unfiltered_png
from inksim.colour import decode_srgb, encode_srgb
from inksim.common import PROGRAM, Float32Array, InputError, Uint8Array, visible, write_whole

if TYPE_CHECKING:
    from PIL import Image
    from PIL.PngImagePlugin import PngInfo

SURROUND: tuple[int, int, int] = (171, 171, 171)
"""Neutral gray, L* 70, to stand round a picture (ISO 3664 asks for a neutral surround)."""

# 16-bit linear steps are 20 times finer than the finest 8-bit sRGB step (1/255/12.92).
_STEPS = 65535
_BAND_PIXELS = 1 << 18  # reduced at a time: its light stays in the cache


@lru_cache(maxsize=1)
def _decode_table() -> Float32Array:
    table = np.asarray(decode_srgb(np.arange(256) / 255.0), dtype=np.float32)
    table.setflags(write=False)
    return table


@lru_cache(maxsize=1)
def _encode_table() -> Uint8Array:
    codes = encode_srgb(np.arange(_STEPS + 1) / _STEPS)
    table = np.rint(np.asarray(codes) * 255.0).astype(np.uint8)
    table.setflags(write=False)
    return table


def decode8(rgb8: Uint8Array) -> Float32Array:
    """Linear light 0..1 of 8-bit sRGB codes (IEC 61966-2-1), any shape."""
    return np.take(_decode_table(), rgb8)


def encode8(linear: ArrayLike) -> Uint8Array:
    """8-bit sRGB codes of linear light, rounded; light outside 0..1 is clipped."""
    return np.take(_encode_table(), _steps(np.asarray(linear, dtype=np.float32)))


def _steps(linear: Float32Array) -> NDArray[np.intp]:
    scaled = np.clip(linear, 0.0, 1.0) * np.float32(_STEPS) + np.float32(0.5)
    return scaled.astype(np.intp)


_DARK_CODE = 64


@lru_cache(maxsize=1)
def _fine_table() -> NDArray[np.uint16]:
    table = np.rint(encode_srgb(np.arange(_STEPS + 1) / _STEPS) * (255.0 * 256)).astype(np.uint16)
    table.setflags(write=False)
    return table


def fine_codes(linear: Float32Array) -> NDArray[np.uint16]:
    """sRGB codes of linear light times 256: add a threshold of 0..255, then shift right by 8."""
    return np.take(_fine_table(), _steps(linear))


@lru_cache(maxsize=1)
def _thresholds() -> NDArray[np.uint16]:
    """Ordered dither 8 x 8 (Bayer 1973), each of 64 thresholds once, their mean half a code."""
    order = np.zeros((1, 1), dtype=np.int64)
    for _ in range(3):
        order = np.block([[4 * order, 4 * order + 2], [4 * order + 3, 4 * order + 1]])
    return (4 * order + 2).astype(np.uint16)


def encode8_dithered(linear: Float32Array, *, top: int = 0) -> Uint8Array:
    """8-bit sRGB codes of linear light (h, w, 3): dark ones dithered, the others rounded.

    Below code 64 half an 8-bit step is up to 0.3 dE00, so there an ordered pattern of neighboring
    codes keeps the mean of an area. top is the picture's row where this strip begins.
    """
    fine = fine_codes(linear)
    rows, columns = np.arange(top, top + linear.shape[0]) % 8, np.arange(linear.shape[1]) % 8
    pattern = _thresholds()[rows[:, None], columns[None, :], None]
    fine += np.where(fine < _DARK_CODE * 256, pattern, np.uint16(128))
    return (fine >> 8).astype(np.uint8)


def resampled_light(
    planes: Iterable[Float32Array], how: Callable[[Image.Image], Image.Image]
) -> Float32Array:
    """Planes of light (H, W), each resampled by Pillow as *how* says, stacked to (h, w, C)."""
    from PIL import Image

    return np.stack(
        [np.asarray(how(Image.fromarray(np.ascontiguousarray(p)))) for p in planes], axis=-1
    )


def reduce_light(rgba: Uint8Array, factor: int) -> Float32Array:
    """Mean linear light times alpha, and mean alpha, (h, w, 4), of factor x factor pixels.

    rgba: (H, W, 4), straight alpha. Blocks cut by the right or bottom edge average what is there.
    """
    height, width = rgba.shape[:2]
    rows = max(1, _BAND_PIXELS // (width * factor))
    small = np.empty((-(-height // factor), -(-width // factor), 4), dtype=np.float32)
    for top in range(0, small.shape[0], rows):
        band = rgba[top * factor : (top + rows) * factor]
        alpha = band[..., 3].astype(np.float32) / np.float32(255)
        light = (*(np.asarray(_light(band[..., c])) * alpha for c in range(3)), alpha)
        small[top : top + rows] = resampled_light(light, lambda plane: plane.reduce(factor))
    small.setflags(write=False)
    return small


def halve_light(light: Float32Array) -> Float32Array:
    """Halve the size of such light: mean of 2 x 2; a last odd row or column stands for itself."""
    small = resampled_light(np.moveaxis(light, -1, 0), lambda plane: plane.reduce(2))
    small.setflags(write=False)
    return small


def laid_on_ground(light: Float32Array, ground: Uint8Array) -> Uint8Array:
    """What `reduce_light` gives laid on a ground color (3,) in linear light: uint8 (h, w, 3)."""
    return encode8(light[..., :3] + decode8(ground) * (1.0 - light[..., 3:]))


def shrink_to(rgb8: Uint8Array, *, width: int, height: int) -> Uint8Array:
    """The picture reduced in linear light to fit width x height px; it is never enlarged.

    rgb8: (H, W, 3), or (H, W, 4) with the fourth channel ignored. Area averaging, proportions kept
    to the nearest pixel. Returns uint8 (h, w, 3).
    """
    from PIL import Image

    if rgb8.ndim != 3 or rgb8.shape[2] not in (3, 4) or rgb8.dtype != np.uint8 or not rgb8.size:
        raise InputError(
            f"a picture to reduce has shape {rgb8.shape} and type {rgb8.dtype}; "
            "give 8-bit RGB or RGBX, rows x columns x 3 or 4."
        )
    rows, columns = rgb8.shape[:2]
    scale = min(1.0, width / columns, height / rows)
    size = (max(1, round(columns * scale)), max(1, round(rows * scale)))
    if size == (columns, rows):
        return np.ascontiguousarray(rgb8[..., :3])
    # Pillow works along the rows first, and each row alone: bands of them stay in the cache.
    band = max(1, _BAND_PIXELS // columns)
    narrow = np.empty((3, rows, size[0]), dtype=np.float32)
    for top in range(0, rows, band):
        for channel, plane in enumerate(narrow):
            light = _light(rgb8[top : top + band, :, channel])
            plane[top : top + band] = light.resize((size[0], light.height), Image.Resampling.BOX)
    return encode8(resampled_light(narrow, lambda plane: plane.resize(size, Image.Resampling.BOX)))


def _light(codes: Uint8Array) -> Image.Image:
    """`decode8` of a plane of codes (h, w), as Pillow has it and in a third of the time."""
    from PIL import Image

    image = Image.fromarray(np.ascontiguousarray(codes))
    return image.point(_decode_table().tolist(), "F")


def save_png(
    path: str | os.PathLike[str],
    rgbx: Uint8Array,
    *,
    dpi: float,
    about: str,
    srgb: bool = True,
    compress_level: int = 1,
) -> Path:
    """Write a lossless RGB PNG that says its resolution and, with srgb, its color space.

    rgbx is uint8 (H, W, 3) or (H, W, 4), the fourth channel ignored. about: what the picture is
    and how far it can be trusted (see `png_info`). The folder is made; the file appears whole or
    not at all. Returns the path. The same picture gives the same bytes.
    """
    if rgbx.ndim != 3 or rgbx.shape[2] not in (3, 4) or rgbx.dtype != np.uint8 or not rgbx.size:
        raise InputError(
            f"a picture to save has shape {rgbx.shape} and type {rgbx.dtype}; "
            "give 8-bit RGB or RGBX, rows x columns x 3 or 4."
        )
    if not 1 <= dpi <= 10_000:
        raise InputError(f"the resolution to save is {dpi:g} dpi; it must be 1 to 10000.")
    target = Path(path)
    packed = unfiltered_png(
        rgbx,
        compress_level=compress_level,
        dpi=(dpi, dpi),
        icc_profile=_srgb_profile() if srgb else None,
        pnginfo=png_info(about),
    )
    target.parent.mkdir(parents=True, exist_ok=True)
    write_whole(target, packed)
    return target


def png_info(about: str) -> PngInfo:
    """A PNG's own words, as keywords of its specification have them: Description, Software."""
    from PIL.PngImagePlugin import PngInfo

    words = PngInfo()
    words.add_text("Description", visible(about, keep="\n"))
    words.add_text("Software", PROGRAM)
    return words


def _srgb_profile() -> bytes:
    """Little CMS's sRGB profile with a fixed creation date, so that files are reproducible."""
    from PIL import ImageCms

    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    date_1998_12_01 = b"".join(n.to_bytes(2, "big") for n in (1998, 12, 1, 0, 0, 0))
    profile[24:36] = date_1998_12_01  # ICC.1 header, dateTimeNumber
    return bytes(profile)
