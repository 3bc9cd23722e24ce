"""A picture to read, and what reading a file says of it or refuses it with."""

from __future__ import annotations

import io

import numpy as np
import pytest
import tifffile
from PIL import Image

from inksim.artwork.artwork import Artwork
from inksim.artwork.read import read_artwork
from inksim.common.errors import InputError

OPAQUE = "There is no transparency: the whole rectangle prints, its background included."
EVERY_KIND = ("PNG", "TIFF", "WebP", "JPEG", "GIF", "BMP")


def picture(mode: str = "RGBA", size: tuple[int, int] = (40, 30)) -> Image.Image:
    """A picture with every level somewhere and, in RGBA, every alpha."""
    y, x = np.mgrid[0 : size[1], 0 : size[0]]
    rgba = np.stack([x * 6, y * 8, (x + y) * 3, 255 - y * 8], axis=-1).astype(np.uint8)
    return Image.fromarray(rgba).convert(mode)


def said(art: Artwork, *parts: str) -> bool:
    """Whether one note holds all these words."""
    return any(all(part in note for part in parts) for note in art.notes)


def refused(data: bytes, **options: object) -> str:
    """The one sentence with which these bytes are refused."""
    with pytest.raises(InputError) as caught:
        read_artwork(data, name="logo.png", **options)  # type: ignore[arg-type]
    text = str(caught.value)
    assert text.startswith("artwork 'logo.png' "), text
    assert "\n" not in text
    assert text.endswith(".")
    return text


def tiff_by(pixels: np.ndarray, **options: object) -> bytes:
    """By tifffile, the writer independent of the reader under test."""
    out = io.BytesIO()
    tifffile.imwrite(out, pixels, **options)  # type: ignore[arg-type]
    return out.getvalue()


DEEP = np.random.default_rng(3).integers(0, 65_536, (37, 53, 5)).astype(np.uint16)
