"""The kinds of files that customers send, made here: name, type and bytes of each."""

from __future__ import annotations

import os

import numpy as np
import pytest
from _pytest.mark import ParameterSet
from PIL import Image, ImageDraw

from tests.artwork.test_profiles import CORNERS
from tests.pictures import cmyk_profile, encoded
from tests.ui.test_current_job import jpeg

TWELVE = (
    "#d8362a", "#e8742c", "#f2c12e", "#4f9a3a", "#1f6f63", "#2a9fc4",
    "#2d57a8", "#2b2e6b", "#6a3a86", "#c94f93", "#7a4a2c", "#20201f",
)  # fmt: skip


def white_art() -> bytes:
    """White lettering on transparent ground, 3 × 1 inches at 150 dpi."""
    image = Image.new("RGBA", (450, 150), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    for left in (20, 160, 300):
        draw.rectangle((left, 20, left + 100, 130), fill="#ffffff")
    return encoded(image, "PNG", dpi=(150, 150))


def twelve_colours() -> bytes:
    """Twelve bars on transparent ground, 4 × 2 inches at 150 dpi."""
    image = Image.new("RGBA", (600, 300), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    for at, code in enumerate(TWELVE):
        draw.rectangle((50 * at + 4, 10, 50 * at + 45, 289), fill=code)
    return encoded(image, "PNG", dpi=(150, 150))


def cmyk_art() -> bytes:
    """A red square on paper white, for printing on paper: four inks and their profile."""
    image = Image.new("CMYK", (600, 450), (0, 0, 0, 0))
    ImageDraw.Draw(image).rectangle((150, 100, 450, 350), fill=(0, 255, 255, 0))
    profile = cmyk_profile("paper", CORNERS)
    return encoded(image, "JPEG", quality=95, dpi=(150, 150), icc_profile=profile)


def photograph() -> bytes:
    """Shades in every direction and the grain of a sensor, 4 × 3 inches at 100 dpi."""
    y, x = np.mgrid[0:300, 0:400] / 400.0
    shades = np.stack([0.2 + 0.7 * x, 0.15 + 0.6 * y, 0.8 - 0.25 * (x + y)], axis=-1)
    grain = np.random.default_rng(18).normal(0.0, 0.02, shades.shape)
    codes = np.rint(255 * (shades + grain).clip(0.0, 1.0)).astype(np.uint8)
    return encoded(Image.fromarray(codes), "JPEG", quality=88, dpi=(100, 100))


def huge_art() -> bytes:
    """18 megapixels of two flats on transparent ground, 12.5 × 9 inches at 400 dpi."""
    image = Image.new("RGBA", (5000, 3600), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    draw.rectangle((300, 300, 2400, 3300), fill="#e8622c")
    draw.ellipse((2700, 800, 4700, 2800), fill="#0f5c63")
    return encoded(image, "PNG", dpi=(400, 400), compress_level=1)


Art = tuple[str, str, bytes]
LOGO: Art = ("logo.jpg", "image/jpeg", jpeg(dpi=(150, 150)))
WHITE: Art = ("white.png", "image/png", white_art())
BARS: Art = ("bars.png", "image/png", twelve_colours())
CMYK: Art = ("paper.jpg", "image/jpeg", cmyk_art())
PHOTO: Art = ("harbor.jpg", "image/jpeg", photograph())
HUGE: Art = ("banner.png", "image/png", huge_art())
ON_WHITE = (LOGO, CMYK)
"""Those whose white is to be left out by a click."""
EVERY = (LOGO, WHITE, CMYK, PHOTO, BARS, HUGE)
WIDTHS = (390, 1280)


def walked(*kept: tuple[int, Art]) -> list[ParameterSet]:
    """Widths and artworks of a path: these, or each at both widths under INKSIM_EVERY_PATH."""
    if os.environ.get("INKSIM_EVERY_PATH"):
        kept = tuple((width, art) for width in WIDTHS for art in EVERY)
    return [pytest.param(width, art, id=f"{art[0]}-{width}") for width, art in kept]
