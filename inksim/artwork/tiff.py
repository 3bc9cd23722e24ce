"""TIFF beyond 8-bit color: 16 bits, separate planes, and the spot channels that Pillow drops.

tifffile reads the tags; libtiff, inside Pillow, decompresses one strip or tile at a time into
the room its size in the tags allows, so a damaged or hostile file cannot ask for more.
"""

from __future__ import annotations

import io
import logging
import math
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, TiffImagePlugin

from inksim.artwork.raster import Raster, Source, check_size, eight_bit, rgba_from_image, sane_dpi
from inksim.common import CM_PER_INCH, Uint8Array

# TIFF 6.0, Adobe 1992: Photometric, Compression, Predictor, ExtraSamples
WHITE_IS_ZERO, BLACK_IS_ZERO, RGB, PALETTE, SEPARATED, YCBCR, CIELAB = 0, 1, 2, 3, 5, 6, 8
COLOUR_SAMPLES = {WHITE_IS_ZERO: 1, BLACK_IS_ZERO: 1, RGB: 3, SEPARATED: 4}
UNCOMPRESSED, HORIZONTAL = 1, 2
LOSSLESS = (UNCOMPRESSED, 5, 8, 32773, 32946, 34925, 50000)  # LZW, Deflate, PackBits, LZMA, Zstd
UNSPECIFIED, PREMULTIPLIED, STRAIGHT = 0, 1, 2
ORIENTATION, RESOLUTION_X, RESOLUTION_Y, RESOLUTION_UNIT = 274, 282, 283, 296
INK_SET, INK_NAMES, EXTRA_SAMPLES, PHOTOSHOP, ICC_PROFILE = 332, 333, 338, 34377, 34675
MOST_SAMPLES = 16
MOST_SEGMENTS = 1_000_000
KNOWN = (
    ORIENTATION, RESOLUTION_X, RESOLUTION_Y, RESOLUTION_UNIT, INK_SET, INK_NAMES, PHOTOSHOP,
    ICC_PROFILE,
)  # fmt: skip
"""The tags that are read here: others may be as large as the file, each."""
PER_INCH = {2: 1.0, 3: CM_PER_INCH}

# tifffile logs what it finds odd; what matters of it becomes a note or an error here.
logging.getLogger("tifffile").addHandler(logging.NullHandler())


@dataclass(frozen=True, kw_only=True)
class Layout:
    """How one page of a TIFF stores its samples. `extras` has one kind for each extra sample."""

    width: int
    height: int
    samples: int
    bits: int
    photometric: int
    compression: int
    predictor: int
    planar: bool
    extras: tuple[int, ...]
    segment: tuple[int, int]  # rows and columns of one strip or tile
    offsets: tuple[int, ...]
    counts: tuple[int, ...]
    byteorder: str
    fill_order: int
    tags: dict[int, Any]
    pages: int

    @property
    def colours(self) -> int:
        """Samples of a pixel that are its color, without alpha and spots."""
        return self.samples - len(self.extras)


def read_layout(source: Source, notes: list[str]) -> Layout:
    """The layout of page `source.frame`; raises InputError for what no reader here decodes."""
    import tifffile

    with tifffile.TiffFile(io.BytesIO(source.data)) as tiff:
        pages = len(tiff.pages)
        if source.frame >= pages:
            raise source.fault(f"has {pages} page(s); page {source.frame + 1} does not exist.")
        page = tiff.pages[source.frame].aspage()
        check_size(page.imagewidth, page.imagelength, source)
        tags = {tag.code: tag.value for tag in page.tags if tag.code in KNOWN}
        _check_segments(page, source)
        layout = Layout(
            width=page.imagewidth,
            height=page.imagelength,
            samples=page.samplesperpixel,
            bits=_same(page.bitspersample, "bits per sample", source),
            photometric=int(page.photometric or 0),
            compression=int(page.compression),
            predictor=int(page.predictor),
            planar=int(page.planarconfig or 1) == 2 and page.samplesperpixel > 1,
            extras=_extras(page, notes),
            segment=_segment_shape(page),
            offsets=tuple(page.dataoffsets),
            counts=tuple(page.databytecounts),
            byteorder=tiff.byteorder,
            fill_order=int(page.fillorder),
            tags=tags,
            pages=pages,
        )
        sample_format = _same(page.sampleformat, "sample format", source)
    if layout.bits > 16 or sample_format not in (1, 4):
        raise source.fault(
            f"stores {layout.bits}-bit numbers that are no plain code values; "
            "save it with 8 or 16 bits a channel."
        )
    return layout


def pillow_reads(layout: Layout) -> bool:
    """Whether Pillow decodes this page without losing bits or channels, or warning of its size."""
    whole = not layout.extras or (
        layout.photometric in (BLACK_IS_ZERO, RGB)
        and layout.extras in ((PREMULTIPLIED,), (STRAIGHT,))
    )
    named_inks = layout.tags.get(INK_SET, 1) != 1
    small = layout.width * layout.height <= (Image.MAX_IMAGE_PIXELS or math.inf)
    return layout.bits <= 8 and whole and small and not (layout.planar or named_inks)


def read_tiff(source: Source, layout: Layout, notes: list[str]) -> Raster:
    """The page's color as sRGB RGBA, its alpha, and every other channel by name in `spots`."""
    _refuse_unreadable(layout, source)
    pixels = _upright(layout, source, notes)
    if layout.bits == 16:
        notes.append("16-bit values were rounded to 8 bits.")
    if layout.photometric == WHITE_IS_ZERO:
        pixels[..., 0] = 255 - pixels[..., 0]
    colours = layout.colours
    is_alpha = [kind in (PREMULTIPLIED, STRAIGHT) for kind in layout.extras]
    alpha_at = colours + is_alpha.index(True) if any(is_alpha) else None
    image = _image(pixels, layout, alpha_at)
    rgba = rgba_from_image(
        image,
        icc=layout.tags.get(ICC_PROFILE),
        source=source,
        notes=notes,
        alpha=Image.fromarray(pixels[..., alpha_at]) if alpha_at and colours == 4 else None,
    )
    spots = {
        name: np.ascontiguousarray(pixels[..., at])
        for at, name in _spot_names(layout).items()
        if at != alpha_at
    }
    if spots:
        notes.append(
            f"{len(spots)} extra channel(s) ({', '.join(spots)}) are kept aside as stored; "
            "the picture shows only the color channels."
        )
    dpi = _dpi(layout, notes)
    return Raster(rgba=rgba, mode=_mode(layout), dpi=dpi, notes=tuple(notes), spots=spots)


def read_codes(source: Source, layout: Layout, notes: list[str]) -> NDArray[Any]:
    """The page's RGB codes (H, W, 3) as stored, uint8 or uint16, upright; other channels dropped.

    Raises
    ------
    InputError : a page that is not RGB, or that is packed as no reader here unpacks.
    """
    _refuse_unreadable(layout, source)
    if layout.photometric != RGB:
        raise source.fault("is not stored as RGB; export it as RGB, with 8 or 16 bits.")
    return _upright(layout, source, notes, deep=True)[..., :3]


def _check_segments(page: Any, source: Source) -> None:
    """Refuse tiles that are larger than the picture may be, and more of them than pixels need."""
    if page.is_tiled:
        check_size(int(page.tilewidth), int(page.tilelength), source)
    if len(page.dataoffsets) > MOST_SEGMENTS:
        raise source.fault(
            f"lists more than {MOST_SEGMENTS:,} strips or tiles; save it again with fewer."
        )


def _same(value: object, what: str, source: Source) -> int:
    values = set(value) if isinstance(value, tuple | list) else {value}
    if len(values) != 1:
        raise source.fault(f"mixes {what} ({value}) between channels; save it with 8 bits each.")
    only = values.pop()
    return int(only) if isinstance(only, int) else 1


def _extras(page: Any, notes: list[str]) -> tuple[int, ...]:
    """The kind of each extra sample, the tag completed where the file leaves it out."""
    colours = COLOUR_SAMPLES.get(int(page.photometric or 0), page.samplesperpixel)
    count = max(0, page.samplesperpixel - colours)
    given = page.tags.get(EXTRA_SAMPLES)
    kinds = () if given is None else given.value
    kinds = tuple(int(k) for k in (kinds if isinstance(kinds, tuple) else (kinds,)))
    if not kinds and count == 1 and colours in (1, 3):
        notes.append("The file does not say what its extra channel is: taken as transparency.")
        return (STRAIGHT,)
    padded: tuple[int, ...] = (*kinds, *(UNSPECIFIED,) * count)
    return padded[:count]


def _segment_shape(page: Any) -> tuple[int, int]:
    if page.is_tiled:
        return int(page.tilelength), int(page.tilewidth)
    return min(int(page.rowsperstrip or page.imagelength), page.imagelength), page.imagewidth


def _refuse_unreadable(layout: Layout, source: Source) -> None:
    if layout.photometric == SEPARATED and layout.tags.get(INK_SET, 1) == 2:
        names = _ink_names(layout)
        raise source.fault(
            f"holds {layout.samples} ink channels ({', '.join(names) or 'unnamed'}) and no color "
            "picture; export RGB or CMYK with the spots as extra channels."
        )
    if layout.photometric not in COLOUR_SAMPLES or layout.colours not in (1, 3, 4):
        raise source.fault(
            f"stores {layout.bits}-bit color of TIFF kind {layout.photometric} with "
            f"{layout.samples} channels, which inksim does not read; save it as RGB."
        )
    if layout.compression not in LOSSLESS:
        raise source.fault(
            f"uses TIFF compression {layout.compression} on {layout.samples} channels of "
            f"{layout.bits} bits; save it with LZW, ZIP or no compression."
        )
    if layout.predictor not in (1, HORIZONTAL) or layout.bits not in (8, 16):
        raise source.fault(
            f"stores {layout.bits}-bit channels with predictor {layout.predictor}; "
            "save it with 8 or 16 bits and LZW, ZIP or no compression."
        )
    if layout.samples > MOST_SAMPLES:
        raise source.fault(
            f"has {layout.samples} channels, and at most {MOST_SAMPLES} are read; "
            "save it without the extra ones."
        )


# --- Samples -------------------------------------------------------------------------------------


def _samples(layout: Layout, source: Source, *, deep: bool = False) -> NDArray[Any]:
    """(H, W, samples) in 8 bits, or `deep` in the file's own, segment by segment."""
    kind = np.uint16 if deep and layout.bits == 16 else np.uint8
    pixels = np.empty((layout.height, layout.width, layout.samples), dtype=kind)
    parts = [slice(s, s + 1) for s in range(layout.samples)] if layout.planar else [slice(None)]
    rows, columns = layout.segment
    segments = _segments(layout)
    for part in parts:
        for top in range(0, layout.height, rows):
            for left in range(0, layout.width, columns):
                room = pixels[top : top + rows, left : left + columns, part]
                try:
                    offset, count = next(segments)
                except StopIteration:
                    raise source.fault(
                        "lists too few strips for its size; it is damaged, export it again."
                    ) from None
                tiled = columns != layout.width
                shape = (rows if tiled else room.shape[0], columns, room.shape[2])
                data = source.data[offset : offset + count]
                values = _values(data, layout, shape)[: room.shape[0], : room.shape[1]]
                room[:] = eight_bit(values) if values.dtype.itemsize > kind().itemsize else values
    return pixels


def _segments(layout: Layout) -> Iterator[tuple[int, int]]:
    return zip(layout.offsets, layout.counts, strict=False)


def _values(data: bytes, layout: Layout, shape: tuple[int, int, int]) -> NDArray[Any]:
    """One segment decompressed, its differences summed, as stored."""
    rows, columns, samples = shape
    row_bytes = columns * samples * layout.bits // 8
    if layout.compression != UNCOMPRESSED:
        data = _decompressed(data, layout, row_bytes=row_bytes, rows=rows)
    if len(data) < rows * row_bytes:
        raise OSError(f"a strip holds {len(data)} of {rows * row_bytes} bytes")
    kind = np.dtype(np.uint8) if layout.bits == 8 else np.dtype(f"{layout.byteorder}u2")
    values: NDArray[Any] = np.frombuffer(data, dtype=kind, count=rows * columns * samples)
    values = values.reshape(shape).astype(kind.newbyteorder("="))
    if layout.predictor == HORIZONTAL:
        values = np.cumsum(values, axis=1, dtype=values.dtype)
    return values


def _decompressed(data: bytes, layout: Layout, *, row_bytes: int, rows: int) -> bytes:
    """A segment's bytes, by wrapping it as the only strip of a one-channel TIFF."""
    entries = [
        (256, 4, row_bytes),
        (257, 4, rows),
        (258, 3, 8),
        (259, 3, layout.compression),
        (262, 3, BLACK_IS_ZERO),
        (266, 3, layout.fill_order),
        (273, 4, 8 + 2 + 12 * 10 + 4),
        (277, 3, 1),
        (278, 4, rows),
        (279, 4, len(data)),
    ]
    head = struct.pack("<2sHIH", b"II", 42, 8, len(entries))
    body = b"".join(struct.pack("<HHII", tag, kind, 1, value) for tag, kind, value in entries)
    with TiffImagePlugin.TiffImageFile(io.BytesIO(head + body + bytes(4) + data)) as strip:
        return strip.tobytes()


# --- What the samples are ------------------------------------------------------------------------


def _image(pixels: Uint8Array, layout: Layout, alpha_at: int | None) -> Image.Image:
    """The color samples, with alpha for gray and RGB, as a Pillow picture."""
    colours = layout.colours
    if alpha_at is None or colours == 4:
        mode = {1: "L", 3: "RGB", 4: "CMYK"}[colours]
        chosen = pixels[..., :colours]
    else:
        premultiplied = layout.extras[alpha_at - colours] == PREMULTIPLIED
        mode = {1: "LA", 3: "RGBA"}[colours]
        mode = mode.replace("A", "a") if premultiplied else mode
        chosen = pixels[..., [*range(colours), alpha_at]]
    size = (pixels.shape[1], pixels.shape[0])
    return Image.frombytes(mode, size, np.ascontiguousarray(chosen).tobytes())


def _upright(
    layout: Layout, source: Source, notes: list[str], *, deep: bool = False
) -> NDArray[Any]:
    """The page's samples, turned as the orientation tag (1 to 8) says."""
    if layout.pages > 1:
        notes.append(f"The file has {layout.pages} pages; page {source.frame + 1} was read.")
    pixels = _samples(layout, source, deep=deep)
    mark = layout.tags.get(ORIENTATION, 1)
    if mark not in range(2, 9):
        return pixels
    notes.append("Turned upright as the file's orientation mark says.")
    if mark in (5, 7):
        pixels = pixels.swapaxes(0, 1)
    if mark in (2, 4):
        return np.flip(pixels, axis=1 if mark == 2 else 0)
    return np.rot90(pixels, {3: 2, 5: 0, 6: -1, 7: 2, 8: 1}[mark])


def _mode(layout: Layout) -> str:
    base = {1: "gray", 3: "RGB", 4: "CMYK"}[layout.colours]
    extra = f" + {len(layout.extras)}" if layout.extras else ""
    return f"{base}{extra}, {layout.bits}-bit"


def _dpi(layout: Layout, notes: list[str]) -> float | None:
    per_inch = PER_INCH.get(int(layout.tags.get(RESOLUTION_UNIT, 2)))
    pair = layout.tags.get(RESOLUTION_X), layout.tags.get(RESOLUTION_Y)
    if per_inch is None or None in pair:
        return sane_dpi(None, notes)
    x, y = (v[0] / v[1] * per_inch if v[1] else 0.0 for v in pair)  # type: ignore[index]
    return sane_dpi((x, y), notes)


def _spot_names(layout: Layout) -> dict[int, str]:
    """A name for every extra sample by its position: the file's own, else 'channel 5'."""
    first = layout.colours
    given = _ink_names(layout)[first:] or _photoshop_names(layout.tags.get(PHOTOSHOP, b""))
    names: dict[int, str] = {}
    for at in range(first, layout.samples):
        from_end = at - layout.samples  # a name for transparency, if any, comes first
        name = given[from_end].strip() if len(given) >= -from_end else ""
        names[at] = name if name and name not in names.values() else f"channel {at + 1}"
    return names


def _ink_names(layout: Layout) -> list[str]:
    text = layout.tags.get(INK_NAMES, "")
    if isinstance(text, bytes):
        text = text.decode("utf-8", "replace")
    return [name for name in str(text).split("\x00") if name]


def _photoshop_names(block: object) -> list[str]:
    """Channel names in an image resource block: resource 1045 (UTF-16), else 1006 (Pascal)."""
    if not isinstance(block, bytes):
        return []
    found: dict[int, bytes] = {}
    at = 0
    while block[at : at + 4] == b"8BIM" and at + 12 <= len(block):
        number = int.from_bytes(block[at + 4 : at + 6])
        at += 6 + (block[at + 6] + 2) // 2 * 2
        size = int.from_bytes(block[at : at + 4])
        found[number] = block[at + 4 : at + 4 + size]
        at += 4 + (size + 1) // 2 * 2
    wide, narrow = found.get(1045, b""), found.get(1006, b"")
    names: list[str] = []
    at = 0
    while at < len(wide) and len(names) < MOST_SAMPLES:
        end = at + 4 + 2 * int.from_bytes(wide[at : at + 4])
        names.append(wide[at + 4 : end].decode("utf-16-be", "replace").rstrip("\x00"))
        at = end
    while at < len(narrow) and not wide and len(names) < MOST_SAMPLES:
        end = at + 1 + narrow[at]
        names.append(narrow[at + 1 : end].decode("latin-1"))
        at = end
    return names
