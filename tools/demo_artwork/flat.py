"""A canvas of a few flat colors on transparent ground, drawn oversized and averaged down."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import numpy as np
from PIL import Image, ImageDraw
from scipy.ndimage import distance_transform_edt

from inksim.common import Float32Array, FloatArray, Uint8Array

from .curves import Path

SUPERSAMPLE = (4, 12)  # at full size; at most, for small pictures of the same detail


class FlatCanvas:
    """Areas of palette numbers; 0 is bare ground, ``palette[i - 1]`` is color ``i``.

    Coordinates are design pixels: the full-size picture's, whatever ``scale`` it is drawn at.
    """

    def __init__(self, size: tuple[int, int], *, scale: float = 1.0) -> None:
        self.size = size
        self.scale = scale
        self.out_size = (round(size[0] * scale), round(size[1] * scale))
        self.fine = int(np.clip(round(SUPERSAMPLE[0] / scale), *SUPERSAMPLE))
        self._k = scale * self.fine
        self.image = Image.new("L", (self.out_size[0] * self.fine, self.out_size[1] * self.fine), 0)
        self._draw = ImageDraw.Draw(self.image)

    def like(self) -> FlatCanvas:
        """An empty canvas of the same size and scale."""
        return FlatCanvas(self.size, scale=self.scale)

    def fill(self, path: Path, ink: int) -> None:
        self._draw.polygon([tuple(p) for p in np.rint(path * self._k).tolist()], fill=ink)

    def line(self, path: Path, ink: int, *, width: float, closed: bool = False) -> None:
        """A line of constant width with round joins and ends."""
        p = np.vstack([path, path[:1]]) if closed else path
        p = p[np.concatenate([[True], np.hypot(*np.diff(p, axis=0).T) > 1e-6])]
        half = width / 2
        for a, b in pairwise(p):
            d = (b - a) / np.hypot(*(b - a)) * half
            n = np.array([-d[1], d[0]])
            self.fill(np.array([a + n, b + n, b - n, a - n]), ink)
        self.dots(p, ink, radius=half)

    def dots(self, centres: Iterable[FloatArray], ink: int, *, radius: float) -> None:
        for x, y in centres:
            box = ((x - radius) * self._k, (y - radius) * self._k)
            self._draw.ellipse([*box, (x + radius) * self._k, (y + radius) * self._k], fill=ink)

    def shape(self, path: Path, ink: int, *, edge: int, width: float) -> None:
        """A filled area with an outline of ``width`` outside it."""
        self.line(path, edge, width=2 * width, closed=True)
        self.fill(path, edge)
        self.fill(path, ink)

    def paste(self, other: FlatCanvas, *, inside: Path) -> None:
        """Lay another canvas over this one, only inside a path."""
        mask = self.like()
        mask.fill(inside, 255)
        self.image.paste(other.image, mask=mask.image)

    def coverage(self, colours: int) -> Float32Array:
        """Share of each output pixel under each color: (h, w, colors), sums at most 1."""
        (w, h), fine = self.out_size, self.fine
        out = np.empty((h, w, colours), np.float32)
        rows = max(1, 2_000_000 // (w * fine**2))
        for top in range(0, h, rows):
            bottom = min(h, top + rows)
            box = (0, top * fine, w * fine, bottom * fine)
            block = np.asarray(self.image.crop(box))
            block = block.reshape(bottom - top, fine, w, fine)
            for ink in range(colours):
                out[top:bottom, :, ink] = (block == ink + 1).sum(axis=(1, 3), dtype=np.float32)
        return out / fine**2


def keyline(coverage: Float32Array, ink: int, *, width_px: float, close_px: float) -> Float32Array:
    """Coverage with a line of one color laid under everything and ``width_px`` beyond it.

    A morphological closing: grow by width + close, shrink by close. It fills bare slits and
    specks too small to print clean.
    """
    covered = coverage.sum(axis=2)
    grown = distance_transform_edt(covered < 0.5) <= width_px + close_px
    reach = distance_transform_edt(grown) - close_px + 0.5
    line = np.clip(reach, 0.0, 1.0).astype(np.float32)
    out = coverage.copy()
    out[:, :, ink - 1] += np.maximum(line - covered, 0.0)
    return out


def to_rgba(coverage: Float32Array, palette: Uint8Array) -> Uint8Array:
    """8-bit RGBA with straight alpha: colors mix by area, bare ground is (0, 0, 0, 0)."""
    alpha = coverage.sum(axis=2, keepdims=True)
    rgb = coverage @ palette.astype(np.float32) / np.maximum(alpha, 1e-6)
    alpha8 = np.rint(np.clip(alpha, 0.0, 1.0) * 255).astype(np.uint8)
    rgb8 = np.where(alpha8 > 0, np.rint(rgb), 0).astype(np.uint8)
    return np.concatenate([rgb8, alpha8], axis=2)
