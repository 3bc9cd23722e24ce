"""A photograph or a scan, its tone curve undone where it is looked at."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inksim.artwork import codes_of_photo
from inksim.common import BoolArray, Float32Array, InputError, Uint8Array
from inksim.photo.curves import profile_curves, srgb_curves, through_profile

KEY_DIGITS = 12
Box = tuple[int, int, int, int]
"""Left, top, right, bottom in pixels, the last two outside."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Picture:
    """A picture's codes (H, W, 3) and the light (3, levels) that each code stands for.

    `key` is the beginning of the file's SHA-256; `said` tells which curve was undone.
    """

    name: str
    key: str
    codes: NDArray[Any]
    curves: Float32Array
    said: str
    notes: tuple[str, ...]

    @property
    def width(self) -> int:
        """Pixels across."""
        return int(self.codes.shape[1])

    @property
    def height(self) -> int:
        """Pixels down."""
        return int(self.codes.shape[0])

    def fault(self, sentence: str) -> InputError:
        """An error whose sentence begins with the picture's name."""
        return InputError(f"picture '{self.name}' {sentence}")

    def light(self, box: Box) -> Float32Array:
        """Linear light (h, w, 3) of a box, 1 at the file's white."""
        codes = self.crop(box)
        return np.stack([self.curves[at][codes[..., at]] for at in range(3)], axis=-1)

    def clipped(self, box: Box) -> tuple[BoolArray, BoolArray]:
        """(h, w) where a channel is at the lower, and where one is at the upper end of its codes.

        Within half of 8 bits' last step.
        """
        codes = self.crop(box)
        top = self.curves.shape[1] - 1
        edge = top // 510
        return (codes <= edge).any(axis=-1), (codes >= top - edge).any(axis=-1)

    def crop(self, box: Box) -> NDArray[Any]:
        """Codes of a box."""
        left, top, right, bottom = box
        return self.codes[top:bottom, left:right]

    def small(self, widest: int) -> tuple[Uint8Array, int]:
        """The picture in 8 bits, every n-th pixel so that no side is longer; and that n."""
        step = max(1, -(-max(self.width, self.height) // widest))
        codes = self.codes[::step, ::step]
        eight = codes if codes.dtype == np.uint8 else (codes >> 8).astype(np.uint8)
        return np.ascontiguousarray(eight), step


def read_picture(source: str | Path | bytes, *, name: str | None = None) -> Picture:
    """Decode a JPEG, PNG, TIFF or WebP and find the curve of its codes.

    The embedded profile's curves are undone, its primaries left; a profile of tables is converted
    to sRGB by Little CMS; a file without one is taken to have the curve of sRGB.

    Raises
    ------
    InputError : no such file, no decoder for it, no color in it, too many pixels.
    """
    read = codes_of_photo(source, name=name)
    notes = list(read.notes)
    codes: NDArray[Any] = read.codes
    levels = np.linspace(0.0, 1.0, 256 if codes.dtype == np.uint8 else 1 << 16)
    curves, said = srgb_curves(levels), "the curve of sRGB, as nothing else is stated"
    if read.icc:
        try:
            own = profile_curves(read.icc, levels)
            if own is None:
                if codes.dtype != np.uint8:
                    notes.append("16-bit values were cut to 8 bits for the profile's tables.")
                    codes = (codes >> 8).astype(np.uint8)
                codes = through_profile(read.icc, codes)
                curves = srgb_curves(np.linspace(0.0, 1.0, 256))
                said = "the embedded profile, which has tables"
            else:
                curves, said = own, "the curves of the embedded profile"
        except ValueError as error:
            notes.append(f"The embedded color profile was ignored ({error}): taken as sRGB.")
    elif read.gamma is not None:
        curves = np.tile((levels ** (1.0 / read.gamma)).astype(np.float32), (3, 1))
        said = f"the file's gamma mark, {read.gamma:.4g}"
    return Picture(
        name=read.name, key=read.sha256[:KEY_DIGITS], codes=codes, curves=curves, said=said,
        notes=tuple(notes),
    )  # fmt: skip
