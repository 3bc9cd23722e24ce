"""A flat print as an indexed picture: another garment is another palette (level 5).

A pixel is one of at most 256 places: label × fiber level. Its colors are in the palette alone, so a
file is recolored by writing its palette chunk anew, without decoding a pixel.
"""

from __future__ import annotations

import struct
import zlib

import numpy as np

from inksim.colour import decode_srgb, encode_srgb
from inksim.common import InputError, Uint8Array
from inksim.optics import LEVELS
from inksim.picture import Look

PLACES = 256
LEAST_LEVELS = 4
PNG_START = b"\x89PNG\r\n\x1a\n"


def levels_for(labels: int) -> int:
    """Fiber levels that are left for each of some labels: a power of two, at least four."""
    if not 1 <= labels <= PLACES // LEAST_LEVELS:
        raise InputError(
            f"an indexed picture holds 1 to {PLACES // LEAST_LEVELS} labels, not {labels}; "
            "merge colors of the artwork, or save it in full color."
        )
    return min(LEVELS, 1 << int(np.log2(PLACES // labels)))


def index_picture(labels: Uint8Array, tile: Uint8Array, *, count: int) -> Uint8Array:
    """Places (H, W) of labels (H, W) 0..count − 1 on cloth: label × levels + level of the tile."""
    if labels.ndim != 2 or labels.dtype != np.uint8 or not labels.size:
        raise InputError("labels to index must be 8-bit, rows x columns.")
    if int(labels.max()) >= count:
        raise InputError(f"the picture uses label {labels.max()}, but there are {count}.")
    levels = levels_for(count)
    shift = int(np.log2(LEVELS // levels))
    height, width = labels.shape
    level = np.take(tile >> shift, np.arange(width) % tile.shape[1], axis=1)
    out = labels * np.uint8(levels) if levels < LEVELS else np.zeros_like(labels)
    for row in range(height):
        out[row] += level[row % tile.shape[0]]
    return out


def palette_of(look: Look) -> Uint8Array:
    """Palette (256, 3) of a look, in the order of `index_picture`; places that are free are black.

    A level's color is the mean of its quantiles in linear light; what rounding to 8 bits adds is
    carried to the next, so that an even area keeps its swatch as mean.
    """
    levels = levels_for(look.labels)
    light = look.linear.reshape(look.labels, levels, LEVELS // levels, 3).mean(axis=2)
    codes = np.zeros((PLACES, 3), dtype=np.uint8)
    carried = np.zeros((look.labels, 3))
    for level in range(levels):
        wanted = light[:, level] + carried
        code = np.rint(encode_srgb(wanted) * 255.0)
        carried = np.clip(wanted, 0.0, 1.0) - decode_srgb(code / 255.0)
        codes[level : look.labels * levels : levels] = code.astype(np.uint8)
    return codes


def indexed_png(places: Uint8Array, palette: Uint8Array, *, dpi: float) -> bytes:
    """A PNG of places (H, W) and their palette."""
    import io

    from PIL import Image

    image = Image.fromarray(places).convert("L")
    image.putpalette(palette.tobytes())
    out = io.BytesIO()
    image.save(out, format="PNG", dpi=(dpi, dpi), compress_level=6, bits=8)
    return out.getvalue()


def recoloured(png: bytes, palette: Uint8Array) -> bytes:
    """The same indexed PNG with another palette: nothing but its PLTE chunk is written anew.

    Raises
    ------
    InputError : no PNG, a damaged one, or one without a palette.
    """
    if not png.startswith(PNG_START):
        raise InputError("the picture to recolor is no PNG; give one that inksim indexed.")
    at = len(PNG_START)
    while at + 12 <= len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        name, end = png[at + 4 : at + 8], at + 12 + length
        if end > len(png):
            break
        if name == b"PLTE":
            colours = palette[: length // 3]
            data = b"PLTE" + np.ascontiguousarray(colours, dtype=np.uint8).tobytes()
            chunk = struct.pack(">I", len(data) - 4) + data + struct.pack(">I", zlib.crc32(data))
            return png[:at] + chunk + png[end:]
        if name == b"IDAT":
            raise InputError("the picture to recolor has no palette; give one that inksim indexed.")
        at = end
    raise InputError("the picture to recolor is cut short; index it again.")
