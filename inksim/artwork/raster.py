"""A decoded picture brought to 8-bit sRGB with straight alpha: color conversion, limits, dpi.

Every reader of artwork (PNG, TIFF, …) ends in a `Raster`; `rgba_from_image` is the one place
where a decoded picture of any mode becomes 8-bit sRGB with straight alpha.
"""

from __future__ import annotations

import io
import math
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageCms

from inksim.common import InputError, Uint8Array

PLACEHOLDER_DPI = (72.0, 96.0)  # what programs write when nobody chose a size
SIZE_UNKNOWN = "its print size is unknown"
"""How every note ends that says why; who prints the picture all the same says at what size."""
LARGE_PIXELS, STRIP_PIXELS = 1 << 24, 1 << 22
"""A picture of more pixels is converted in strips, so that what lies between stays small."""
_TURN = threading.RLock()
METER_STEP_DPI = 0.0127  # half of one pixel per meter, the step in which PNG stores resolution


@dataclass(frozen=True, kw_only=True)
class Source:
    """One file in memory and what the caller allows: `frame` counts from 0."""

    data: bytes = field(repr=False)
    name: str
    max_megapixels: float
    frame: int = 0
    called: str = "artwork"

    def fault(self, sentence: str) -> InputError:
        """An error whose one sentence starts with the file's name."""
        return InputError(f"{self.called} '{self.name}' {sentence}")


@dataclass(frozen=True, kw_only=True, eq=False)
class Raster:
    """A decoded picture: `rgba` (H, W, 4) uint8 sRGB, straight alpha; `spots` (H, W) as stored."""

    rgba: Uint8Array
    mode: str
    dpi: float | None
    notes: tuple[str, ...]
    spots: dict[str, Uint8Array] = field(default_factory=dict)


def check_size(width: int, height: int, source: Source) -> None:
    """Refuse, from the header alone, a picture with no pixels or with too many to decode."""
    if width < 1 or height < 1:
        raise source.fault(f"has no pixels: its header says {width} × {height}; export it again.")
    megapixels = width * height / 1e6
    if megapixels > source.max_megapixels:
        raise source.fault(
            f"is {width} × {height} pixels ({_short(megapixels)} megapixels), and at most "
            f"{source.max_megapixels:g} megapixels are read; scale it to its print size at 300 dpi."
        )


@contextmanager
def in_turn(width: int, height: int) -> Iterator[None]:
    """Work on one large picture at a time, so that visitors together take no more than one does.

    Small ones wait for nobody.
    """
    if width * height <= LARGE_PIXELS:
        yield
        return
    with _TURN:
        yield


def _short(number: float) -> str:
    return f"{number:.0f}" if number >= 10 else f"{number:.2g}"


def sane_dpi(value: object, notes: list[str]) -> float | None:
    """Pixels per inch from a file's (x, y) pair; None, with the reason noted, where it says none.

    Accepts 10 to 10 000 per inch: outside it is a unit mistake, not a print size.
    """
    try:
        x, y = (float(v) for v in value)  # type: ignore[attr-defined]
    except (TypeError, ValueError, ZeroDivisionError):
        notes.append(f"The file gives no resolution, so {SIZE_UNKNOWN}.")
        return None
    if not (math.isfinite(x) and math.isfinite(y) and 10.0 <= x <= 1e4 and 10.0 <= y <= 1e4):
        notes.append(
            f"The file's resolution ({x:g} × {y:g} per inch) makes no sense, so {SIZE_UNKNOWN}."
        )
        return None
    whole = round(x)
    dpi = float(whole) if abs(x - whole) <= METER_STEP_DPI else round(x, 2)
    if abs(x - y) > 0.01 * x:
        notes.append(
            f"The file's resolution differs across ({x:.4g}) and down ({y:.4g} per inch); "
            "the one across is used, with square pixels."
        )
    if dpi in PLACEHOLDER_DPI:
        notes.append(f"{dpi:g} dpi is often a placeholder, not a print size: check the width.")
    return dpi


def eight_bit(values: NDArray[np.uint16]) -> Uint8Array:
    """16-bit code values to the nearest of 8 bits, v/257 rounded, exact for all 65 536."""
    wide = values.astype(np.uint32)
    wide *= 255
    wide += 32895
    wide >>= 16
    return wide.astype(np.uint8)


def rgba_from_image(
    image: Image.Image,
    *,
    icc: bytes | None,
    source: Source,
    notes: list[str],
    alpha: Image.Image | None = None,
) -> Uint8Array:
    """A decoded picture of any Pillow mode as sRGB RGBA (H, W, 4) uint8, straight alpha.

    `icc` is the embedded profile: it is honored (relative colorimetric, black point
    compensation); without one RGB and gray are taken as sRGB and CMYK goes through `plain_cmyk`.
    `alpha` (mode L) is for pictures whose mode has none. Whatever is converted, assumed or lost
    is appended to `notes`.
    """
    width, height = image.size
    if width * height <= LARGE_PIXELS:
        return _rgba_of(image, icc=icc, source=source, notes=notes, alpha=alpha)
    rows = max(1, STRIP_PIXELS // width)
    made = np.empty((height, width, 4), dtype=np.uint8)
    for top in range(0, height, rows):
        box = (0, top, width, min(top + rows, height))
        part = None if alpha is None else alpha.crop(box)
        said = notes if top == 0 else []  # every strip says the same
        made[top : box[3]] = _rgba_of(
            image.crop(box), icc=icc, source=source, notes=said, alpha=part
        )
    return made


def _rgba_of(
    image: Image.Image,
    *,
    icc: bytes | None,
    source: Source,
    notes: list[str],
    alpha: Image.Image | None,
) -> Uint8Array:
    if image.mode == "RGBA" and icc is None and alpha is None:
        return np.asarray(image)
    base, own_alpha = _split_alpha(image, source, notes)
    alpha = alpha or own_alpha
    rgb = _rgb_by_profile(base, icc, notes) if icc else None
    if rgb is None:
        rgb = _rgb_without_profile(base, notes)
    if alpha is None:
        return np.asarray(rgb.convert("RGBA"))
    rgb.putalpha(alpha)
    return np.asarray(rgb)


def _split_alpha(
    image: Image.Image, source: Source, notes: list[str]
) -> tuple[Image.Image, Image.Image | None]:
    """Color in mode L, RGB, CMYK or LAB, and alpha in mode L or None."""
    mode = image.mode
    if mode in ("I;16", "I;16L", "I;16B", "I;16N"):
        notes.append("16-bit gray was rounded to 8 bits.")
        return _grey_16(image)
    if mode in ("I", "F"):
        raise source.fault(
            "stores 32-bit numbers, which have no defined white; save it with 8 or 16 bits."
        )
    mark = image.info.get("transparency")
    if mode == "1":
        image = image.convert("L")
        if mark is not None:
            image.info["transparency"] = mark
    if mode in ("P", "PA"):
        transparent = mode == "PA" or mark is not None
        image = image.convert("RGBA" if transparent else "RGB")
    elif mode in ("YCbCr", "HSV", "RGBX"):
        image = image.convert("RGB")
    elif mode == "La":
        image = image.convert("LA")
    elif mode == "RGBa":
        image = image.convert("RGBA")
    elif image.mode in ("L", "RGB") and mark is not None:
        image = image.convert("LA" if image.mode == "L" else "RGBA")
    if image.mode == "LA":
        return image.getchannel("L"), image.getchannel("A")
    if image.mode == "RGBA":
        return image.convert("RGB"), image.getchannel("A")
    if image.mode not in ("L", "RGB", "CMYK", "LAB"):
        raise source.fault(f"has pixels of the kind '{mode}'; save it as 8-bit RGB.")
    return image, None


def _grey_16(image: Image.Image) -> tuple[Image.Image, Image.Image | None]:
    """16-bit gray to 8 bits; a PNG's one transparent gray level becomes alpha."""
    values = np.asarray(image).astype(np.uint16)
    level = image.info.get("transparency")
    alpha = None
    if isinstance(level, int):
        alpha = Image.fromarray(np.where(values == level, 0, 255).astype(np.uint8))
    return Image.fromarray(eight_bit(values)), alpha


def _rgb_by_profile(base: Image.Image, icc: bytes, notes: list[str]) -> Image.Image | None:
    """`base` through its embedded profile to sRGB; None, with the reason noted, if it cannot be."""
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(icc))
        space = str(profile.profile.xcolor_space).strip()
        label = (profile.profile.profile_description or "unnamed").strip()
    except (ImageCms.PyCMSError, OSError, TypeError, ValueError):
        notes.append("The embedded color profile is damaged and was ignored.")
        return None
    if space == "RGB" and base.mode == "L":
        base = base.convert("RGB")
    wanted = {"GRAY": "L", "RGB": "RGB", "CMYK": "CMYK", "Lab": "LAB"}.get(space)
    if wanted != base.mode:
        notes.append(
            f"The embedded profile '{label}' is for {space}, not for this picture; it was ignored."
        )
        return None
    try:
        transform = _to_srgb(profile, base.mode)
    except ImageCms.PyCMSError:
        notes.append(f"The embedded profile '{label}' cannot be used and was ignored.")
        return None
    if base.mode == "RGB" and _changes_nothing(transform):
        return base
    notes.append(
        f"Converted from the embedded profile '{label}' to sRGB "
        "(relative colorimetric, black point compensation)."
    )
    converted = ImageCms.applyTransform(base, transform)
    assert converted is not None  # None only when asked to work in place
    return converted


def _to_srgb(profile: ImageCms.ImageCmsProfile, mode: str) -> ImageCms.ImageCmsTransform:
    return ImageCms.buildTransform(
        profile,
        ImageCms.createProfile("sRGB"),
        mode,
        "RGB",
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        ImageCms.Flags.BLACKPOINTCOMPENSATION,
    )


def _changes_nothing(transform: ImageCms.ImageCmsTransform) -> bool:
    """Whether an RGB transform moves no color of a 9 × 9 × 9 grid by more than one level."""
    steps = np.linspace(0, 255, 9).round().astype(np.uint8)
    grid = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(9, 81, 3)
    before = Image.fromarray(grid)
    after = ImageCms.applyTransform(before, transform)
    if after is None:
        return False
    moved = np.asarray(ImageChops.difference(before, after))
    return int(moved.max()) <= 1


def _rgb_without_profile(base: Image.Image, notes: list[str]) -> Image.Image:
    if base.mode == "CMYK":
        notes.append(
            "CMYK without a usable profile: converted by the plain formula "
            "R = (1 − C)(1 − K), which is not how any press prints; "
            "for true colors embed the profile or export as sRGB."
        )
        return plain_cmyk(base)
    if base.mode == "LAB":
        notes.append("Converted from Lab (D50) to sRGB.")
        lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
        converted = ImageCms.applyTransform(base, _to_srgb(lab, "LAB"))
        assert converted is not None
        return converted
    return base.convert("RGB")


def plain_cmyk(image: Image.Image) -> Image.Image:
    """CMYK to RGB by R = (1 − C)(1 − K) and so on: device values, no press, no profile."""
    c, m, y, k = (ImageChops.invert(band) for band in image.split())
    return Image.merge("RGB", [ImageChops.multiply(band, k) for band in (c, m, y)])
