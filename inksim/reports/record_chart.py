"""Picture of a record: stated chances against what landed, and prints against promises by month."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from inksim.artwork import SURROUND
from inksim.common import BOLD, REGULAR, Uint8Array, counted, spelled
from inksim.ledger import Outcome, TrackRecord
from inksim.reports.job_chart import ticks
from inksim.reports.pdf import INK, RULE, SOFT

if TYPE_CHECKING:
    from PIL import ImageDraw, ImageFont

WIDE, HIGH = 1260, 560
TOP, LOW = 130, 470
CHANCES = (90, 450)
MONTHS = (590, 1220)


def draw_record(record: TrackRecord) -> Uint8Array:
    """Draw a record, uint8 (h, w, 3): at the left its chances, at the right its prints over time.

    A print is a dot, filled where its ink's lot is not the ink's first; the line is the median of a
    month, the bar its quartiles.
    """
    from PIL import Image, ImageDraw, ImageFont

    page = Image.new("RGB", (WIDE, HIGH), SURROUND)
    draw = ImageDraw.Draw(page)
    font, bold = (ImageFont.truetype(f, 15) for f in (REGULAR, BOLD))
    marked = "INVENTED record of the demo shop" if record.invented else f"Record of {record.name}"
    draw.text((24, 22), spelled(marked), font=ImageFont.truetype(BOLD, 22), fill=INK)
    foot = (
        f"{counted(record.scored, 'print')} of {counted(record.colours, 'color')} in "
        f"{counted(record.proofs, 'proof')}."
    )
    if record.invented:
        foot += " No press printed these."
    draw.text((24, HIGH - 26), spelled(foot), font=font, fill=SOFT)
    if not record.prints:
        draw.text((24, 70), spelled(" ".join(record.said)), font=font, fill=INK)
        return np.array(page)
    _chances(draw, font, bold, record)
    _months(draw, font, bold, record)
    return np.array(page)


def _chances(
    draw: ImageDraw.ImageDraw, font: ImageFont.FreeTypeFont, bold: ImageFont.FreeTypeFont,
    record: TrackRecord,
) -> None:  # fmt: skip
    """Share landed over the chance stated; on the diagonal where promises are kept."""
    left, right = CHANCES

    def place(x: float, y: float) -> tuple[float, float]:
        return left + (right - left) * x, LOW - (LOW - TOP) * y

    draw.text((24, 76), spelled("share that landed, and its 95 % range"), font=bold, fill=INK)
    for percent in (0, 25, 50, 75, 100):
        at = percent / 100
        draw.line([place(0, at), place(1, at)], fill=RULE)
        draw.text((left - 10, place(0, at)[1]), f"{percent}", font=font, fill=INK, anchor="rm")
        draw.text((place(at, 0)[0], LOW + 8), f"{percent}", font=font, fill=INK, anchor="ma")
    draw.line([place(0, 0), place(1, 1)], fill=SOFT, width=2)
    draw.text(((left + right) / 2, LOW + 32), spelled("chance stated, %"), font=font, fill=INK,
              anchor="ma")  # fmt: skip
    for each in record.bins:
        if each.prints:
            x, y = place(each.stated, each.share)
            draw.line([place(each.stated, each.low), place(each.stated, each.high)], INK, 2)
            draw.ellipse((x - 6, y - 6, x + 6, y + 6), fill=INK)
            over = x > right - 80
            at_side = (x - 10, y) if over else (x + 10, y)
            words = f"{each.landed} of {each.prints}"
            draw.text(at_side, words, font=font, fill=INK, anchor="rm" if over else "lm")


def _months(
    draw: ImageDraw.ImageDraw, font: ImageFont.FreeTypeFont, bold: ImageFont.FreeTypeFont,
    record: TrackRecord,
) -> None:  # fmt: skip
    """ΔE00 found less the median promised, print by print and by month."""
    left, right = MONTHS
    months = record.by("month")
    values = [each.farther for each in record.prints]
    up = ticks(min(0.0, *values), max(1.0, *values))
    first, count = _month(months[0].name), _month(months[-1].name) - _month(months[0].name) + 1
    later = later_lots(record.prints)

    def place(month: float, value: float) -> tuple[float, float]:
        x = left + (right - left) * (month - first) / count
        return x, LOW - (LOW - TOP) * (value - up[0]) / (up[-1] - up[0])

    words = "ΔE00 found less the median promised (filled: a later lot of the ink)"
    draw.text((left - 40, 76), spelled(words), font=bold, fill=INK)
    for value in up:
        y = place(first, value)[1]
        draw.line([(left, y), (right, y)], fill=INK if value == 0 else RULE)
        draw.text((left - 10, y), f"{value:g}", font=font, fill=INK, anchor="rm")
    for each in record.prints:
        day = date.fromisoformat(each.read_on)
        x, y = place(_month(each.read_on[:7]) + (day.day - 0.5) / 31, each.farther)
        filled = SOFT if each.ink_lot in later.get(each.ink, ()) else None
        draw.ellipse((x - 3, y - 3, x + 3, y + 3), outline=SOFT, fill=filled)
    line = []
    step = max(1, round(count / 8))
    for month in months:
        at = _month(month.name)
        line.append(place(at + 0.5, month.farther))
        draw.line([place(at + 0.5, month.low), place(at + 0.5, month.high)], fill=INK, width=3)
        if (at - first) % step == 0:
            x = place(at + 0.5, 0)[0]
            draw.text((x, LOW + 8), month.name, font=font, fill=INK, anchor="ma")
            draw.text((x, LOW + 28), f"{month.prints}", font=font, fill=SOFT, anchor="ma")
    if len(line) > 1:
        draw.line(line, fill=INK, width=2)
    for x, y in line:
        draw.ellipse((x - 5, y - 5, x + 5, y + 5), fill=INK)


def _month(name: str) -> int:
    year, month = name.split("-")
    return 12 * int(year) + int(month) - 1


def later_lots(prints: Sequence[Outcome]) -> dict[str, set[str]]:
    """Lots of each ink but the one that was read first."""
    found: dict[str, list[str]] = {}
    for each in sorted(prints, key=lambda each: each.read_on):
        lots = found.setdefault(each.ink, [])
        if each.ink_lot and each.ink_lot not in lots:
            lots.append(each.ink_lot)
    return {ink: set(lots[1:]) for ink, lots in found.items()}
