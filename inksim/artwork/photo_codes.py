"""A photograph or a scan as its file has it: RGB codes of 8 or 16 bits, upright, not converted.

Artwork is shown, so it becomes sRGB; a photograph is measured, so nothing of it is rounded twice.
"""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFile, ImageOps

from inksim.artwork.raster import Source, check_size, in_turn
from inksim.artwork.read import (
    MOST_SCANS,
    PLUGINS,
    START_OF_SCAN,
    bytes_of,
    detect_kind,
    is_turned,
    seek,
)
from inksim.artwork.tiff import pillow_reads, read_codes, read_layout
from inksim.artwork.webp import check_webp
from inksim.common import InputError

KINDS = ("JPEG", "PNG", "TIFF", "WebP")
MOST_MEGAPIXELS, MOST_DEEP_MEGAPIXELS = 100.0, 50.0
"""Of 8 and of 16 bits a channel: what is held at once stays below a gigabyte."""
RAW = (".dng", ".cr2", ".cr3", ".nef", ".arw", ".raf", ".orf", ".rw2", ".pef", ".srw", ".raw")
BIT_DEPTH = 24
"""Where a PNG's first chunk has it."""
_ROWS = 256


@dataclass(frozen=True, kw_only=True, eq=False)
class PhotoCodes:
    """`codes` (H, W, 3), uint8 or uint16; `gamma` and `icc` are what the file says of them."""

    name: str
    codes: NDArray[Any]
    icc: bytes | None
    gamma: float | None
    sha256: str
    format: str
    notes: tuple[str, ...]


def codes_of_photo(source: str | Path | bytes, *, name: str | None = None) -> PhotoCodes:
    """Decode a photograph or a scan: JPEG, PNG, TIFF or WebP.

    Raises
    ------
    InputError : another format, with how to export it; gray, CMYK or layered pictures; too many
        pixels; a damaged file.
    """
    data, shown = bytes_of(source, name)
    request = Source(data=data, name=shown, max_megapixels=MOST_MEGAPIXELS, called="picture")
    kind = _kind(request)
    notes: list[str] = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            codes, icc, gamma = _decoded(request, kind, notes)
    except InputError:
        raise
    except MemoryError:
        raise request.fault("needs more memory than this computer has; make it smaller.") from None
    except Exception as error:  # decoders raise anything on damaged files
        raise request.fault(
            f"looks like {kind} but cannot be decoded: it is cut short or damaged; copy it from "
            "the camera again."
        ) from error
    codes.setflags(write=False)
    return PhotoCodes(
        name=shown, codes=codes, icc=icc, gamma=gamma, format=kind, notes=tuple(notes),
        sha256=hashlib.sha256(data).hexdigest(),
    )  # fmt: skip


def _kind(source: Source) -> str:
    if Path(source.name).suffix.lower() in RAW:
        raise source.fault(
            "is a camera's raw file, for which inksim has no decoder; export it as 16-bit TIFF or "
            "as JPEG, without any change to color or tone."
        )
    return detect_kind(
        source, reads=KINDS,
        instead="export or share the photo as JPEG, or the scan as TIFF",
    )  # fmt: skip


def _decoded(
    source: Source, kind: str, notes: list[str]
) -> tuple[NDArray[Any], bytes | None, float | None]:
    """Decode a file to its codes, embedded profile and gamma mark."""
    if kind == "TIFF":
        layout = read_layout(source, notes)
        if not pillow_reads(layout):
            deep = MOST_DEEP_MEGAPIXELS if layout.bits == 16 else MOST_MEGAPIXELS
            check_size(
                layout.width, layout.height,
                replace(source, data=b"", max_megapixels=deep),
            )  # fmt: skip
            with in_turn(layout.width, layout.height):
                codes = np.ascontiguousarray(read_codes(source, layout, notes))
            return codes, layout.tags.get(34675), None
    if kind == "JPEG" and source.data.count(START_OF_SCAN) > MOST_SCANS:
        raise source.fault(f"has more than {MOST_SCANS} scans, which no camera writes.")
    if kind == "WebP":
        check_webp(source)
    with PLUGINS[kind](io.BytesIO(source.data)) as image:
        check_size(*image.size, source)
        seek(image, source, notes)
        if kind == "PNG" and image.mode in ("RGB", "RGBA") and source.data[BIT_DEPTH] == 16:
            return _deep_png(image, source, notes), _profile(image), _gamma(image)
        with in_turn(*image.size):
            return _pixels(image, source, notes), _profile(image), _gamma(image)


def _profile(image: Image.Image) -> bytes | None:
    found = image.info.get("icc_profile")
    return found if isinstance(found, bytes) else None


def _gamma(image: Image.Image) -> float | None:
    """The gamma mark of a PNG that has no sRGB mark, which would overrule it."""
    found = image.info.get("gamma")
    return float(found) if found and "srgb" not in image.info else None


def _deep_png(image: ImageFile.ImageFile, source: Source, notes: list[str]) -> NDArray[Any]:
    """(H, W, 3) uint16: Pillow unpacks either byte of 16 bits, so it is asked for one, then both.

    PNG stores the high byte first (ISO/IEC 15948, 7.1); taken as low byte first, the other is kept.
    """
    check_size(*image.size, replace(source, max_megapixels=MOST_DEEP_MEGAPIXELS))
    with in_turn(*image.size):
        codes = _pixels(image, source, notes).astype(np.uint16) << 8
        with PLUGINS["PNG"](io.BytesIO(source.data)) as again:
            again.tile = [each._replace(args=f"{again.mode};16L") for each in again.tile]
            codes |= _pixels(again, source, [])
    return codes


def _pixels(image: ImageFile.ImageFile, source: Source, notes: list[str]) -> NDArray[Any]:
    if image.mode in ("1", "L", "LA", "La") or image.mode.startswith(("I", "F")):
        raise source.fault("is gray and holds no color; photograph or scan in color.")
    if image.mode not in ("RGB", "RGBA", "RGBX", "P", "YCbCr"):
        raise source.fault(f"is stored as {image.mode}; export it as RGB, not converted for print.")
    marked = is_turned(image)
    image.load()
    if image.has_transparency_data and _is_seen_through(image):
        notes.append(
            "Parts of it are transparent, and were read as the color stored there: take the photo "
            "as the camera wrote it, not cut out."
        )
    upright: Image.Image = image
    if is_turned(image):
        upright = ImageOps.exif_transpose(image)
        marked = True
    if marked:
        notes.append("Turned upright as the file's orientation mark says.")
    return _array(upright)


def _is_seen_through(image: Image.Image) -> bool:
    alpha = (image if image.mode == "RGBA" else image.convert("RGBA")).getchannel("A")
    return alpha.getextrema()[0] != 255


def _array(image: Image.Image) -> NDArray[Any]:
    """(H, W, 3) uint8, in strips: a large picture is never there three times."""
    width, height = image.size
    made = np.empty((height, width, 3), dtype=np.uint8)
    for top in range(0, height, _ROWS):
        box = (0, top, width, min(top + _ROWS, height))
        made[top : box[3]] = np.asarray(image.crop(box).convert("RGB"))
    return made
