"""Chart of a recipe: ΔE00 against the share of the two inks of which a gram does most."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from inksim.artwork import SURROUND
from inksim.common import BOLD, REGULAR, Uint8Array, spelled
from inksim.reports.job_chart import ticks
from inksim.reports.pdf import INK, RULE, SOFT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PIL import ImageDraw, ImageFont

    from inksim.mixing import ShareCurve

WIDE, HIGH = 1260, 400
PANELS = ((70, 600), (720, 1230))
TOP, LOW = 84, 330
DRAWN = 2


def share_chart(curves: Sequence[ShareCurve], *, tolerance: float) -> Uint8Array:
    """Draw the first two curves side by side, uint8 (h, w, 3), on one scale of ΔE00.

    The recipe is the filled dot; the dashed line is the tolerance.
    """
    from PIL import Image, ImageDraw, ImageFont

    page = Image.new("RGB", (WIDE, HIGH), SURROUND)
    draw = ImageDraw.Draw(page)
    font, bold = ImageFont.truetype(REGULAR, 17), ImageFont.truetype(BOLD, 19)
    shown = curves[:DRAWN]
    up = ticks(0.0, max(tolerance, *(float(each.off.max()) for each in shown)))
    for curve, (left, right) in zip(shown, PANELS, strict=False):
        _panel(draw, font, bold, curve, up=up, left=left, right=right, tolerance=tolerance)
    return np.array(page)


def _panel(
    draw: ImageDraw.ImageDraw, font: ImageFont.FreeTypeFont, bold: ImageFont.FreeTypeFont,
    curve: ShareCurve, *, up: list[float], left: int, right: int, tolerance: float,
) -> None:  # fmt: skip
    first, last = 100 * float(curve.share.min()), 100 * float(curve.share.max())
    across = [value for value in ticks(first, last) if first <= value <= last]

    def place(share: float, off: float) -> tuple[float, float]:
        x = left + (right - left) * (100 * share - first) / (last - first)
        return x, LOW - (LOW - TOP) * off / up[-1]

    for value in across:
        x, _ = place(value / 100, 0)
        draw.line([(x, TOP), (x, LOW)], fill=RULE)
        draw.text((x, LOW + 6), f"{value:g}", font=font, fill=INK, anchor="ma")
    for value in up:
        _, y = place(0, value)
        draw.line([(left, y), (right, y)], fill=RULE)
        draw.text((left - 8, y), f"{value:g}", font=font, fill=INK, anchor="rm")
    draw.text((left, 16), spelled(curve.ink.name), font=bold, fill=INK)
    said = f"1 g more moves the print by ΔE00 {curve.per_gram:.2f}"
    draw.text((left, 44), spelled(said), font=font, fill=INK)
    words = "% of the bucket's weight; up: ΔE00 from the target"
    draw.text((left, LOW + 32), words, font=font, fill=SOFT)
    _, limit = place(0, tolerance)
    for x in range(left, right, 16):
        draw.line([(x, limit), (min(x + 9, right), limit)], fill=INK, width=2)
    points = [place(float(s), float(o)) for s, o in zip(curve.share, curve.off, strict=True)]
    draw.line(points, fill=INK, width=4, joint="curve")
    x, y = points[curve.at]
    draw.ellipse([x - 8, y - 8, x + 8, y + 8], fill=INK)
