"""A picture with what was read drawn on it, so that one sees whether it was the right place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from inksim.common import REGULAR, Uint8Array, spelled
from inksim.photo.geometry import Point
from inksim.photo.read import PhotoRead

if TYPE_CHECKING:
    from PIL import ImageDraw

WIDEST_PX = 1400
CHART, REGION, SURROUND = (255, 214, 0), (0, 229, 255), (255, 120, 220)
_DARK = (0, 0, 0)


def drawn(read: PhotoRead, *, widest: int = WIDEST_PX) -> Uint8Array:
    """The picture (H, W, 3), no side above `widest`, with all that was looked at.

    The first patch of the chart is filled, so that its turn is seen.
    """
    from PIL import Image, ImageDraw, ImageFont

    pixels, step = read.picture.small(widest)
    image = Image.fromarray(pixels)
    draw = ImageDraw.Draw(image)
    font = ImageFont.truetype(REGULAR, max(12, image.width // 32))
    grid = read.placed.grid
    corners = [(float(x), float(y)) for x, y in grid.corners]
    _outline(draw, corners, CHART, step)
    for row in range(grid.rows):
        for column in range(grid.columns):
            patch = grid.patch(row, column)
            if row == column == 0:
                draw.polygon([(x / step, y / step) for x, y in patch], fill=CHART)
            _outline(draw, patch, CHART, step)
    for regions, colour in ((read.surround, SURROUND), (read.regions, REGION)):
        for region in regions:
            _outline(draw, region.outline, colour, step)
            x, y = np.min(region.outline, axis=0) / step
            words = spelled(region.name)[:40]
            draw.text((x + 3, y + 3), words, font=font, fill=colour,
                      stroke_width=2, stroke_fill=_DARK)  # fmt: skip
    return np.asarray(image)


def _outline(
    draw: ImageDraw.ImageDraw, points: Sequence[Point], colour: tuple[int, int, int], step: int
) -> None:
    closed = [(x / step, y / step) for x, y in (*points, points[0])]
    draw.line(closed, fill=_DARK, width=4)
    draw.line(closed, fill=colour, width=2)
