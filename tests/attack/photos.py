"""Photographs to attack: chart and shirt in a picture, whose bytes or profile are spoiled."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from PIL import Image, ImageCms

from inksim.photo import Region, chart_of, drawn, read_photo, read_picture
from inksim.reports import photo_csv, photo_text
from tests.attack.engine import Broken
from tests.pictures import encoded

CORNERS = ((2.0, 2.0), (45.0, 2.0), (45.0, 45.0), (2.0, 45.0))
SHIRT = Region(name="shirt", outline=((50.0, 10.0), (80.0, 10.0), (80.0, 40.0), (50.0, 40.0)))


def sound() -> Sequence[bytes]:
    """A gray card beside a shirt, in every kind of file, and with a profile of curves."""
    import io

    import tifffile

    pixels = np.full((50, 90, 3), 200, dtype=np.uint8)
    pixels[2:46, 2:46], pixels[10:40, 50:80] = (118, 120, 115), (150, 60, 40)
    image = Image.fromarray(pixels)
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    deep = io.BytesIO()
    tifffile.imwrite(deep, pixels.astype(np.uint16) * 257, photometric="rgb")
    return [
        *(encoded(image, kind, icc_profile=profile) for kind in ("JPEG", "PNG", "TIFF", "WEBP")),
        encoded(image, "PNG"),
        deep.getvalue(),
    ]


def read(path: Path) -> None:
    """Read it through a gray card, and all that is then shown and written."""
    found = read_photo(
        read_picture(path), chart_of("gray"), corners=CORNERS, regions=[SHIRT], surround=[SHIRT]
    )
    if not all(np.isfinite(each.lab).all() for each in found.readings):
        raise Broken("a color read from a photo is no number")
    photo_text(found), photo_csv(found), drawn(found)
