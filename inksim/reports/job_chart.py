"""Chart of the ways to print a job: cost across, film weight up, each way numbered."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from inksim.artwork import SURROUND
from inksim.common import (
    BOLD,
    REGULAR,
    ROUTE_SHORT,
    FloatArray,
    Uint8Array,
    counted,
    counted_routes,
    spelled,
)
from inksim.job import Alternative, GarmentAnswer, JobAnswer
from inksim.reports.pdf import INK, RULE, SOFT

if TYPE_CHECKING:
    from numpy.typing import ArrayLike
    from PIL import ImageDraw, ImageFont

WIDE, HIGH = 1260, 560
LEFT, TOP, RIGHT, BOTTOM = 90, 96, 580, 80
MARK = 13


def ticks(low: float, high: float, *, most: int = 6) -> list[float]:
    """Axis ticks, two or more, that span low to high, in steps of 1, 2 or 5 times a power of ten.

    Values that are as good as one get an axis wide enough for ticks that read differently.
    """
    span = max(high - low, 0.05 * max(abs(low), abs(high))) or 1.0
    rough = span / max(most - 1, 1)
    power = 10.0 ** np.floor(np.log10(rough))
    step = float(next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough - 1e-12))
    first = np.floor(low / step)
    count = max(1, int(np.ceil(high / step - first)))
    return [float((first + n) * step) for n in range(count + 1)]


def spread(places: ArrayLike) -> FloatArray:
    """Places (n, 2) of round marks of diameter 1, moved as little as leaves none on another."""
    free: list[FloatArray] = []
    turns = np.pi / 2 + np.arange(0, 2 * np.pi, np.pi / 4)  # first up
    around = np.stack([np.cos(turns), np.sin(turns)], axis=1)
    rings = [np.zeros((1, 2)), *(0.55 * n * around for n in range(1, 40))]
    for place in np.asarray(places, dtype=np.float64).reshape(-1, 2):
        tried = place + np.concatenate(rings)
        taken = np.asarray(free).reshape(-1, 2)
        far = np.linalg.norm(tried[:, None] - taken, axis=-1).min(axis=1, initial=np.inf) >= 1.0
        free.append(tried[int(np.argmax(far))])
    return np.asarray(free).reshape(-1, 2)


def cost_axis(answer: JobAnswer, alternative: Alternative) -> float:
    """Cost of a print, or work units where no price is known."""
    if answer.rates.known or alternative.bill.total > 0:
        return alternative.bill.per_print
    return alternative.way.work


def chart(answer: JobAnswer, found: GarmentAnswer, *, note: str) -> Uint8Array:
    """Draw the ways of one garment, uint8 (h, w, 3): the one to take filled, the others rings.

    note: where its numbers come from, at the foot.
    """
    from PIL import Image, ImageDraw, ImageFont

    page = Image.new("RGB", (WIDE, HIGH), SURROUND)
    draw = ImageDraw.Draw(page)
    regular, bold = (ImageFont.truetype(f, 15) for f in (REGULAR, BOLD))
    title = ImageFont.truetype(BOLD, 22)
    draw.text((24, 22), spelled(f"{answer.job.name} on {found.garment.name}"), font=title, fill=INK)
    draw.text((24, HIGH - 26), spelled(note), font=regular, fill=SOFT)
    ways = found.alternatives
    if not ways:
        draw.text((24, 70), spelled(found.barrier), font=regular, fill=INK)
        return np.array(page)
    x, y = [cost_axis(answer, a) for a in ways], [a.film_g_m2 for a in ways]
    across, up = ticks(min(x), max(x)), ticks(min(0.0, *y), max(y))
    _axes(draw, regular, across, up, label=_cost_label(answer, ways[0]))
    places = np.stack(
        [
            LEFT + (WIDE - LEFT - RIGHT) * (np.array(x) - across[0]) / (across[-1] - across[0]),
            HIGH - BOTTOM - (HIGH - TOP - BOTTOM) * (np.array(y) - up[0]) / (up[-1] - up[0]),
        ],
        axis=1,
    )
    marks = spread(places / (2 * MARK + 2)) * (2 * MARK + 2)
    for place, moved in zip(places.tolist(), marks.tolist(), strict=True):
        draw.line([tuple(place), tuple(moved)], fill=INK)  # from where it is to its number
    for at, (right, low) in enumerate(marks.tolist()):
        _mark(draw, bold, (right, low), str(at + 1), filled=at == found.chosen)
    for at, way in enumerate(ways):
        line = TOP - 8 + 22 * 2 * at * min(1.0, 10 / max(len(ways), 1)) * 0.95
        filled = at == found.chosen
        _mark(draw, bold, (WIDE - RIGHT + 52, line + 10), str(at + 1), filled=filled)
        draw.text((WIDE - RIGHT + 74, line - 8), spelled(_first(way)), font=bold, fill=INK)
        draw.text((WIDE - RIGHT + 74, line + 11), spelled(_second(way)), font=regular, fill=INK)
    return np.array(page)


def _cost_label(answer: JobAnswer, way: Alternative) -> str:
    if answer.rates.known or way.bill.total > 0:
        return f"cost of a print, {answer.rates.currency}"
    return "work of the run: screens, strokes, flashes (no costs given)"


def _first(way: Alternative) -> str:
    marks = f", {', '.join(way.marks)}" if way.marks else ""
    return f"{way.verdict.mark}, {way.verdict.percent} all together{marks}"


def _second(way: Alternative) -> str:
    bases = counted_routes([plan.build.lies for plan in way.plans], ROUTE_SHORT)
    return f"{bases}; {way.film_g_m2:.0f} g/m²; {counted(way.stations, 'station')}"


def _axes(
    draw: ImageDraw.ImageDraw,
    font: ImageFont.FreeTypeFont,
    across: Sequence[float],
    up: Sequence[float],
    *,
    label: str,
) -> None:
    right, low = WIDE - RIGHT, HIGH - BOTTOM
    for value in across:
        x = LEFT + (right - LEFT) * (value - across[0]) / (across[-1] - across[0])
        draw.line([(x, TOP), (x, low)], fill=RULE)
        draw.text((x, low + 8), f"{value:g}", font=font, fill=INK, anchor="ma")
    for value in up:
        y = low - (low - TOP) * (value - up[0]) / (up[-1] - up[0])
        draw.line([(LEFT, y), (right, y)], fill=RULE)
        draw.text((LEFT - 10, y), f"{value:g}", font=font, fill=INK, anchor="rm")
    draw.text(((LEFT + right) / 2, low + 34), spelled(label), font=font, fill=INK, anchor="ma")
    draw.text((24, TOP - 30), spelled("dry film, g/m² (less is softer)"), font=font, fill=INK)


def _mark(
    draw: ImageDraw.ImageDraw,
    font: ImageFont.FreeTypeFont,
    at: tuple[float, float],
    text: str,
    *,
    filled: bool,
) -> None:
    x, y = at
    box = (x - MARK, y - MARK, x + MARK, y + MARK)
    draw.ellipse(box, fill=INK if filled else "#ffffff", outline=INK, width=2)
    draw.text((x, y), text, font=font, fill="#ffffff" if filled else INK, anchor="mm")
