"""The artwork: a picture as a customer sent it, in 8-bit sRGB, with what its file did not tell."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from inksim.common import MM_PER_INCH, Uint8Array

NO_TRANSPARENCY = "There is no transparency: the whole rectangle prints, its background included."


@dataclass(frozen=True, kw_only=True, eq=False)
class Artwork:
    """A picture to print. `rgba` is (H, W, 4) uint8, sRGB, straight alpha, read-only.

    `dpi` is pixels per inch, or None where the file does not say. `spots` holds extra channels
    (H, W) uint8 by name, as stored. `sha256` is of the file's bytes; `format` and `mode` are what
    the file was before conversion.
    """

    name: str
    rgba: Uint8Array
    dpi: float | None
    notes: tuple[str, ...]
    sha256: str
    format: str
    mode: str
    spots: Mapping[str, Uint8Array]

    @property
    def width_px(self) -> int:
        """Width in pixels."""
        return int(self.rgba.shape[1])

    @property
    def height_px(self) -> int:
        """Height in pixels."""
        return int(self.rgba.shape[0])

    @property
    def width_mm(self) -> float | None:
        """Width at the file's resolution, None where it has none."""
        return None if self.dpi is None else self.width_px / self.dpi * MM_PER_INCH

    @property
    def height_mm(self) -> float | None:
        """Height at the file's resolution, None where it has none."""
        return None if self.dpi is None else self.height_px / self.dpi * MM_PER_INCH
