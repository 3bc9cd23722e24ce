"""Picture files made byte by byte, for what the usual writers refuse to write or cannot."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Sequence
from typing import Any

import numpy as np
from PIL import Image

from inksim.artwork.artwork import Artwork
from inksim.picture.reduce import reduce_labels, reduce_tile, reduction_factor
from inksim.picture.render import Look, recolour, render_flat


def encoded(image: Image.Image, kind: str, **options: Any) -> bytes:
    """The bytes of `image` saved as `kind`."""
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def artwork(image: Image.Image | np.ndarray, *, dpi: float | None = 300.0) -> Artwork:
    """An Artwork straight from pixels, without a file."""
    rgba = np.array(image.convert("RGBA") if isinstance(image, Image.Image) else image)
    rgba.setflags(write=False)
    return Artwork(
        name="test art", rgba=rgba, dpi=dpi, notes=(), sha256="", format="PNG", mode="RGBA",
        spots={},
    )  # fmt: skip


def render_scaled(
    labels: np.ndarray, look: Look, tile: np.ndarray, *, max_px: int = 1200
) -> np.ndarray:
    """A print reduced to `max_px` at most as the product reduces it, RGB."""
    factor = reduction_factor(labels.shape, max_px=max_px)
    if factor == 1:
        return render_flat(labels, look, tile)[..., :3]
    coverage = reduce_labels(labels, factor)
    return recolour(coverage, reduce_tile(tile, factor, coverage.shape), look)


def two_squares() -> Image.Image:
    """Orange and, over its lower right corner, teal, on nothing: 600 × 500 px."""
    image = Image.new("RGBA", (600, 500), (0, 0, 0, 0))
    image.paste((232, 98, 44, 255), (100, 100, 400, 400))
    image.paste((15, 92, 99, 255), (250, 250, 500, 450))
    return image


def png(
    width: int,
    height: int,
    *,
    bits: int,
    colour_type: int,
    rows: bytes,
    chunks: Sequence[tuple[bytes, bytes]] = (),
) -> bytes:
    """A PNG (W3C PNG specification) with these raw rows, each led by its filter byte."""
    head = struct.pack(">IIBBBBB", width, height, bits, colour_type, 0, 0, 0)
    body = [(b"IHDR", head), *chunks, (b"IDAT", zlib.compress(rows)), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + tag + data + struct.pack(">I", zlib.crc32(tag + data))
        for tag, data in body
    )


def tiff(
    data: bytes, tags: dict[int, tuple[int, Sequence[int] | bytes]], *, byteorder: str = "<"
) -> bytes:
    """A one-strip TIFF 6.0: `tags` maps a number to (field type, values); strip tags are added."""
    size = {1: 1, 2: 1, 3: 2, 4: 4, 7: 1}
    letter = {3: "H", 4: "I"}
    tags = {**tags, 273: (4, [0]), 279: (4, [len(data)])}
    start = 8 + 2 + 12 * len(tags) + 4
    tail = b""
    entries = []
    for number in sorted(tags):
        kind, values = tags[number]
        if number == 273:
            values = [-1]  # known only when the tail is
        raw = (
            values
            if isinstance(values, bytes)
            else b"".join(struct.pack(byteorder + letter[kind], max(v, 0)) for v in values)
        )
        count = len(raw) // size[kind]
        if len(raw) <= 4:
            field = raw.ljust(4, b"\0")
        else:
            field = struct.pack(byteorder + "I", start + len(tail))
            tail += raw + b"\0" * (len(raw) % 2)
        entries.append((number, kind, count, field))
    where = struct.pack(byteorder + "I", start + len(tail))
    body = b"".join(
        struct.pack(byteorder + "HHI", number, kind, count) + (where if number == 273 else field)
        for number, kind, count, field in entries
    )
    mark = b"II" if byteorder == "<" else b"MM"
    head = mark + struct.pack(byteorder + "HIH", 42, 8, len(entries))
    return head + body + bytes(4) + tail + data


def lzw(data: bytes, *, row_bytes: int) -> bytes:
    """`data` as one LZW strip, by libtiff."""
    rows = len(data) // row_bytes
    file = encoded(
        Image.frombytes("L", (row_bytes, rows), data),
        "TIFF",
        compression="tiff_lzw",
        strip_size=len(data) + 1,
    )
    with Image.open(io.BytesIO(file)) as image:
        (offset,), (count,) = image.tag_v2[273], image.tag_v2[279]
    return file[offset : offset + count]


# --- ICC profiles (ISO 15076-1, version 2 layout) ------------------------------------------------


def _s15(value: float) -> bytes:
    return struct.pack(">i", round(value * 65536))


def _text(text: str) -> bytes:
    raw = text.encode() + b"\0"
    return b"desc" + bytes(4) + struct.pack(">I", len(raw)) + raw + bytes(4 + 4 + 2 + 1 + 67)


def _profile(kind: bytes, space: bytes, pcs: bytes, tags: Sequence[tuple[bytes, bytes]]) -> bytes:
    white = b"XYZ " + bytes(4) + _s15(0.9642) + _s15(1.0) + _s15(0.8249)
    tags = [*tags, (b"wtpt", white), (b"cprt", b"text" + bytes(4) + b"none\0")]
    at = 128 + 4 + 12 * len(tags)
    table, body = struct.pack(">I", len(tags)), b""
    for name, data in tags:
        table += name + struct.pack(">II", at + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    size = at + len(body)
    illuminant = _s15(0.9642) + _s15(1.0) + _s15(0.8249)
    head = (
        struct.pack(">I4sI4s4s4s", size, bytes(4), 0x02400000, kind, space, pcs)
        + struct.pack(">6H", 2026, 1, 1, 0, 0, 0)
        + b"acsp"
        + bytes(4 + 4 + 4 + 4 + 8 + 4)
        + illuminant
        + bytes(48)
    )
    return head + table + body


def _gamma(value: float) -> bytes:
    return b"curv" + bytes(4) + struct.pack(">IH", 1, round(value * 256)) + bytes(2)


def rgb_profile(name: str, *, xyz_d50: np.ndarray, gamma: float) -> bytes:
    """Matrix profile; columns of `xyz_d50` (3, 3) are red, green, blue under D50."""
    tags = [(b"desc", _text(name))]
    for letter, column in zip(b"rgb", xyz_d50.T, strict=True):
        xyz = b"XYZ " + bytes(4) + b"".join(_s15(v) for v in column)
        tags += [(bytes([letter]) + b"XYZ", xyz), (bytes([letter]) + b"TRC", _gamma(gamma))]
    return _profile(b"mntr", b"RGB ", b"XYZ ", tags)


def grey_profile(name: str, *, gamma: float) -> bytes:
    """Gray of one gamma."""
    tags = [(b"desc", _text(name)), (b"kTRC", _gamma(gamma))]
    return _profile(b"mntr", b"GRAY", b"XYZ ", tags)


def cmyk_profile(name: str, corners: np.ndarray) -> bytes:
    """Table profile (lut8) whose 16 corners (2, 2, 2, 2, 3: C M Y K) are Lab under D50."""
    lab = np.asarray(corners, dtype=float).reshape(16, 3)
    table = np.stack([lab[:, 0] * 2.55, lab[:, 1] + 128, lab[:, 2] + 128], axis=-1)
    ramp = bytes(range(256))
    lut = b"mft1" + bytes(4) + bytes([4, 3, 2, 0])
    lut += b"".join(_s15(v) for v in np.eye(3).ravel())
    lut += ramp * 4 + table.round().astype(np.uint8).tobytes() + ramp * 3
    return _profile(b"prtr", b"CMYK", b"Lab ", [(b"desc", _text(name)), (b"A2B0", lut)])
