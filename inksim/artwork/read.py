"""Read a picture file as 8-bit sRGB pixels with straight alpha, and say what it does not tell.

The kind is read from the file's first bytes, never from its name. Size and kind are checked
before any pixel is decoded. What a file cannot tell (resolution, profile, transparency) is said
in `Artwork.notes`, never guessed in silence.
"""

from __future__ import annotations

import hashlib
import io
import struct
import warnings
import zlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import numpy as np
from PIL import (
    BmpImagePlugin,
    GifImagePlugin,
    Image,
    ImageFile,
    ImageOps,
    JpegImagePlugin,
    PngImagePlugin,
    TiffImagePlugin,
    WebPImagePlugin,
)

from inksim.artwork.artwork import NO_TRANSPARENCY, Artwork
from inksim.artwork.background import KEEP, parsed_wish
from inksim.artwork.cutout import without_background
from inksim.artwork.layered import read_layered
from inksim.artwork.raster import (
    SIZE_UNKNOWN,
    Raster,
    Source,
    check_size,
    in_turn,
    rgba_from_image,
    sane_dpi,
)
from inksim.artwork.tiff import pillow_reads, read_layout, read_tiff
from inksim.artwork.vector import read_pdf, read_svg
from inksim.artwork.webp import check_webp
from inksim.common import MM_PER_INCH, InputError, Uint8Array

ORIENTATION = 0x0112  # the EXIF mark, 1 to 8; 1 is upright
MAX_FILE_BYTES = 2**30
START_OF_SCAN, MOST_SCANS = b"\xff\xda", 100
"""A JPEG's marker, which coded pixels cannot hold (ITU-T T.81, B.1.1); a scan costs a pass over all
pixels, and progressive pictures have about ten."""
ASSUMED_DPI = 300.0
LEAST_DPI = 150.0
"""Pixels per inch below which flat art shows steps in print (common practice, no source)."""
DRAWN = ("SVG", "PDF")  # drawn at the size they are wanted


def read_artwork(
    source: str | Path | bytes,
    *,
    name: str | None = None,
    max_megapixels: float = 150,
    frame: int = 0,
    background: str = KEEP,
) -> Artwork:
    """Read one picture file, or its bytes.

    Accepts the kinds in `READERS`; `source` is a path, or the bytes with a `name` for messages.
    `frame` picks a frame of an animation or a page of a TIFF. The picture is (H, W, 4) uint8, sRGB.
    `background` is what to do with the flat that surrounds it, see `without_background`.
    Raises InputError, in one sentence, for anything that is not a whole picture of at most
    `max_megapixels`.
    """
    parsed_wish(background)
    data, shown = bytes_of(source, name)
    request = Source(data=data, name=shown, max_megapixels=max_megapixels, frame=frame)
    if frame < 0:
        raise request.fault(f"has no frame {frame}; frames count from 0.")
    kind = detect_kind(request)
    damaged = False
    try:
        with warnings.catch_warnings(record=True) as told:
            warnings.simplefilter("always")
            raster = READERS[kind](request)
        damaged = bool(told)
    except InputError:
        raise
    except MemoryError:
        raise request.fault("needs more memory than this computer has; scale it down.") from None
    except Exception as error:  # decoders raise anything on damaged files
        early = isinstance(error.__cause__ or error, struct.error)
        why = "it ends too early; " if early else ""
        raise request.fault(
            f"looks like {kind} but cannot be decoded: {why}it is cut short or damaged; "
            "export it again."
        ) from error
    notes = [*_notes_on_name(shown, kind), *raster.notes, *_notes_on_alpha(raster.rgba)]
    if damaged:
        notes.append("Marks in the file beside its pixels are damaged and were left out.")
    artwork = Artwork(
        name=shown,
        rgba=_read_only(raster.rgba),
        dpi=raster.dpi,
        notes=tuple(notes),
        sha256=hashlib.sha256(data).hexdigest(),
        format=kind,
        mode=raster.mode,
        spots=MappingProxyType({k: _read_only(v) for k, v in raster.spots.items()}),
    )
    return without_background(artwork, background=background)


def printed_at(artwork: Artwork) -> tuple[float, tuple[str, ...]]:
    """Pixels per inch of an artwork's print, and its notes: of the file, or `ASSUMED_DPI`.

    The note that says why a size is unknown then says what is assumed instead.
    """
    if artwork.dpi is not None:
        return artwork.dpi, artwork.notes
    assumed = f"{ASSUMED_DPI:.0f} dpi is assumed"
    notes = sized_notes(artwork, instead=assumed)
    return ASSUMED_DPI, notes if notes != artwork.notes else (*notes, f"{assumed}.")


def sized_notes(artwork: Artwork, *, instead: str) -> tuple[str, ...]:
    """Notes of an artwork: the one that says its size is unknown says what is taken instead."""
    return tuple(note.replace(SIZE_UNKNOWN, instead) for note in artwork.notes)


def too_small_note(artwork: Artwork, *, width_mm: float) -> str | None:
    """One sentence where flat art has too few pixels for its printed width in mm, else None.

    Too few are fewer than `LEAST_DPI` to the inch. A drawing (SVG, PDF) is never too small. Raises
    InputError for a width that is not above 0.
    """
    if not width_mm > 0:
        raise InputError(f"the printed width is {width_mm:g} mm; it must be above 0.")
    dpi = artwork.width_px / width_mm * MM_PER_INCH
    if artwork.format in DRAWN or dpi >= LEAST_DPI:
        return None
    least = int(np.ceil(width_mm / MM_PER_INCH * LEAST_DPI - 1e-9))
    return (
        f"Too small for its place: {artwork.width_px} pixels over {width_mm:.0f} mm are "
        f"{dpi:.0f} per inch, and edges show steps below about {LEAST_DPI:.0f}; ask for a drawing "
        f"(SVG or PDF) or a picture at least {least} pixels wide."
    )


def at_width(artwork: Artwork, width_mm: float) -> Artwork:
    """The artwork at the resolution at which its print is so wide.

    Raises
    ------
    InputError : a width that is not above 0, or no number.
    """
    if not 0 < width_mm < float("inf"):
        raise InputError(f"a print {width_mm:g} mm wide is asked for; give a width above 0.")
    notes = sized_notes(artwork, instead=f"a print {width_mm:g} mm wide is asked for")
    return replace(artwork, dpi=artwork.width_px / width_mm * MM_PER_INCH, notes=notes)


def bytes_of(source: str | Path | bytes, name: str | None) -> tuple[bytes, str]:
    """The file's bytes and its name for messages; InputError for one too large or not there."""
    if isinstance(source, bytes | bytearray | memoryview):
        return bytes(source), name or "artwork"
    path = Path(source)
    shown = name or path.name
    try:
        size = path.stat().st_size
        if size > MAX_FILE_BYTES:
            raise InputError(
                f"artwork '{shown}' is {size / 1e9:.1f} GB, and at most "
                f"{MAX_FILE_BYTES / 1e9:.1f} GB are read; save it compressed or at print size."
            )
        return path.read_bytes(), shown
    except ValueError:  # a character that no path has
        raise InputError(
            f"artwork '{shown}' is no name that a file can have; check the path."
        ) from None
    except OSError as error:
        raise InputError(
            f"artwork '{shown}' cannot be opened ({error.strerror}): {path}; check the path."
        ) from None


def _read_only(pixels: Uint8Array) -> Uint8Array:
    view = np.ascontiguousarray(pixels)
    view.setflags(write=False)
    return view


# --- What kind of file it is ---------------------------------------------------------------------

SIGNATURES: tuple[tuple[bytes, str], ...] = (
    (b"\x89PNG\r\n\x1a\n", "PNG"),
    (b"\xff\xd8\xff", "JPEG"),
    (b"II*\x00", "TIFF"),
    (b"MM\x00*", "TIFF"),
    (b"II+\x00", "TIFF"),
    (b"MM\x00+", "TIFF"),
    (b"GIF87a", "GIF"),
    (b"GIF89a", "GIF"),
    (b"BM", "BMP"),
    (b"%PDF", "PDF"),
    (b"8BPS", "PSD"),
    (b"%!PS", "PostScript"),
    (b"\xc5\xd0\xd3\xc6", "PostScript"),
    (b"PK\x03\x04", "ZIP archive"),
    (b"gimp xcf", "layered picture"),
)
SUFFIXES = {
    ".png": "PNG",
    ".apng": "PNG",
    ".jpg": "JPEG",
    ".jpeg": "JPEG",
    ".tif": "TIFF",
    ".tiff": "TIFF",
    ".webp": "WebP",
    ".gif": "GIF",
    ".bmp": "BMP",
    ".svg": "SVG",
    ".svgz": "SVG",
    ".pdf": "PDF",
    ".psd": "PSD",
    ".psb": "PSD",
}


def detect_kind(
    source: Source,
    *,
    reads: Iterable[str] = (),
    instead: str = "export it as PNG with transparency, at print size and 300 dpi",
) -> str:
    """The kind of these bytes, one of `reads` or else a key into `READERS`.

    Raises InputError for any other, with what to do `instead`.
    """
    data = source.data
    reads = tuple(reads) or tuple(READERS)
    readable = ", ".join(reads)
    if not data:
        raise source.fault("is empty (0 bytes); export it again.")
    kind = next((kind for start, kind in SIGNATURES if data.startswith(start)), None)
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        kind = "WebP"
    elif data[4:8] == b"ftyp":
        kind = "HEIC, HEIF or AVIF picture"
    elif kind is None and b"<svg" in _start_of_text(data):
        kind = "SVG"
    if kind is None:
        raise source.fault(f"is not a picture inksim knows; it reads {readable}.")
    if kind not in reads:
        raise source.fault(f"is a {kind}, which inksim does not read; {instead}.")
    return kind


def _start_of_text(data: bytes) -> bytes:
    """The first 4096 bytes, unpacked if they are gzip's."""
    if data[:2] != b"\x1f\x8b":
        return data[:4096]
    try:
        return zlib.decompressobj(wbits=31).decompress(data, 4096)
    except zlib.error:
        return b""


def _notes_on_name(name: str, kind: str) -> list[str]:
    said = SUFFIXES.get(Path(name).suffix.lower())
    if said is None or said == kind:
        return []
    return [f"The name says {said}, but the file is {kind}; it was read as {kind}."]


def _notes_on_alpha(rgba: Uint8Array) -> list[str]:
    alpha = rgba[..., 3]
    if not alpha.any():
        return ["The picture is fully transparent: nothing would print."]
    if alpha.min() == 255:
        return [NO_TRANSPARENCY]
    return []


# --- Readers -------------------------------------------------------------------------------------

PLUGINS: dict[str, Callable[[io.BytesIO], ImageFile.ImageFile]] = {
    "PNG": PngImagePlugin.PngImageFile,
    "JPEG": JpegImagePlugin.JpegImageFile,
    "TIFF": TiffImagePlugin.TiffImageFile,
    "WebP": WebPImagePlugin.WebPImageFile,
    "GIF": GifImagePlugin.GifImageFile,
    "BMP": BmpImagePlugin.BmpImageFile,
}


def read_with_pillow(source: Source, kind: str, notes: Sequence[str] = ()) -> Raster:
    """Decode with the one Pillow plug-in for `kind`.

    The plug-in is called directly: `Image.open` would try every format on a damaged file, and
    warns about sizes that `check_size` has already judged.
    """
    said = list(notes)
    if kind == "JPEG" and source.data.count(START_OF_SCAN) > MOST_SCANS:
        raise source.fault(
            f"has more than {MOST_SCANS} scans, which no camera or program writes; save it again "
            "as PNG."
        )
    if kind == "WebP":
        check_webp(source)
    with PLUGINS[kind](io.BytesIO(source.data)) as image:
        check_size(*image.size, source)
        seek(image, source, said)
        check_size(*image.size, source)
        mode = image.mode
        dpi = sane_dpi(image.info.get("dpi"), said)
        with in_turn(*image.size):
            rgba = _decoded(image, kind, source, said)
    return Raster(rgba=rgba, mode=mode, dpi=dpi, notes=tuple(said))


def _decoded(image: ImageFile.ImageFile, kind: str, source: Source, notes: list[str]) -> Uint8Array:
    marked = is_turned(image)
    image.load()
    if kind == "PNG":
        _mend_png(image, source.data, notes)
    # A PNG's mark may follow its pixels; a TIFF's is gone, because its decoder obeyed it.
    marked_after = is_turned(image)
    turned = ImageOps.exif_transpose(image) if marked_after else image
    if marked or marked_after:
        notes.append("Turned upright as the file's orientation mark says.")
    icc = image.info.get("icc_profile")
    return rgba_from_image(turned, icc=icc, source=source, notes=notes)


def is_turned(image: Image.Image) -> bool:
    """Whether the EXIF mark says so; a damaged mark says nothing, and costs no picture."""
    try:
        return image.getexif().get(ORIENTATION) in range(2, 9)
    except Exception:  # the parser of EXIF raises anything on damaged data
        return False


def _mend_png(image: Image.Image, data: bytes, notes: list[str]) -> None:
    """Put right what Pillow leaves at the PNG's own depth, and say what was not applied.

    The one transparent level or color is given in the file's bits (PNG specification, tRNS),
    the pixels in 8. A gamma mark without a profile is overruled by sRGB, as programs do.
    """
    bits = data[24]
    mark = image.info.get("transparency")
    if bits == 16 and image.mode == "RGB":
        notes.append("16-bit values were cut to 8 bits.")
        if isinstance(mark, tuple):
            image.info["transparency"] = tuple(v >> 8 for v in mark)
    elif bits == 16 and image.mode in ("RGBA", "LA"):
        notes.append("16-bit values were cut to 8 bits.")
    elif bits < 8 and image.mode in ("1", "L") and isinstance(mark, int) and mark < 2**bits:
        image.info["transparency"] = mark * 255 // (2**bits - 1)
    gamma = image.info.get("gamma", 1 / 2.2)
    overruled = "srgb" in image.info or "icc_profile" in image.info
    if not overruled and abs(gamma - 1 / 2.2) > 0.01:
        notes.append(f"The file's gamma mark ({gamma:g}) was not applied: read as sRGB.")


def seek(image: ImageFile.ImageFile, source: Source, notes: list[str]) -> None:
    """Go to the frame or page that is asked for, and say so where there are more."""
    frames = int(getattr(image, "n_frames", 1))
    if source.frame >= frames:
        raise source.fault(f"has {frames} frame(s); frame {source.frame} does not exist.")
    if frames > 1:
        notes.append(f"The file has {frames} frames or pages; number {source.frame + 1} was read.")
        image.seek(source.frame)


def _read_tiff(source: Source) -> Raster:
    notes: list[str] = []
    layout = read_layout(source, notes)
    if pillow_reads(layout):
        return read_with_pillow(source, "TIFF", notes)
    with in_turn(layout.width, layout.height):
        return read_tiff(source, layout, notes)


READERS: dict[str, Callable[[Source], Raster]] = {
    "PNG": lambda source: read_with_pillow(source, "PNG"),
    "TIFF": _read_tiff,
    "WebP": lambda source: read_with_pillow(source, "WebP"),
    "JPEG": lambda source: read_with_pillow(source, "JPEG"),
    "GIF": lambda source: read_with_pillow(source, "GIF"),
    "BMP": lambda source: read_with_pillow(source, "BMP"),
    "SVG": read_svg,
    "PDF": read_pdf,
    "PSD": read_layered,
}
