"""A contact sheet: the routes of a print beside the artwork, with captions.

Pictures stand on a neutral gray, lightness L* 70, as ISO 3664 asks of a surround; nothing on the
sheet but pictures and swatches has a color. Marks are told apart by shape and words, not by hue.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from inksim.artwork import SURROUND, shrink_to
from inksim.common import BOLD, REGULAR, InputError, Uint8Array, spelled

if TYPE_CHECKING:
    from PIL import ImageDraw, ImageFont

PanelColour = tuple[int, int, int]

INK: PanelColour = (20, 20, 20)
SOFT: PanelColour = (56, 56, 56)  # 4.9:1 on the surround, above WCAG's 4.5:1 for text
RULE: PanelColour = (128, 128, 128)
PAPER: PanelColour = (244, 244, 244)


@dataclass(frozen=True, kw_only=True)
class Swatch:
    """Two touching patches, the color asked for and the one predicted, and a few words.

    Without *asked* only the predicted patch is drawn. Colors are 8-bit sRGB.
    """

    print: PanelColour
    text: str
    asked: PanelColour | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class SheetPanel:
    """One picture of the sheet with its caption: heading, verdict, lines, swatches, in order.

    picture: uint8 (h, w, 3) or (h, w, 4). met: True fills the verdict's box, False outlines it,
    None writes it without a box.
    """

    picture: Uint8Array
    heading: str
    lines: tuple[str, ...] = ()
    verdict: str = ""
    met: bool | None = None
    swatches: tuple[Swatch, ...] = ()


@dataclass(frozen=True, kw_only=True)
class _Type:
    """Sizes in px at 1600 px width; everything scales with the width."""

    unit: float

    def px(self, size: float) -> int:
        return max(1, round(size * self.unit))

    def font(self, size: float, *, bold: bool = False) -> ImageFont.FreeTypeFont:
        return _font(self.px(0.92 * size), bold=bold)


def compose_sheet(
    panels: Sequence[SheetPanel],
    *,
    title: str = "",
    subtitle: str = "",
    footnote: str = "",
    width_px: int = 1600,
    columns: int | None = None,
) -> Uint8Array:
    """Lay the panels out in rows on neutral gray: uint8 (h, width_px, 3).

    Pictures are reduced in linear light to the width of a column, never enlarged; long lines wrap.
    columns is chosen for the number of panels when not given. A character the font lacks
    is spelled in ones it has.

    Raises
    ------
    InputError : no panel, or columns too narrow to read (200 px).
    """
    from PIL import Image, ImageDraw

    if not panels:
        raise InputError("the sheet has no picture; give at least one panel.")
    count = columns if columns is not None else _columns(len(panels))
    kit = _Type(unit=width_px / 1600)
    margin, gutter = kit.px(56), kit.px(36)
    column = (width_px - 2 * margin - (count - 1) * gutter) // max(count, 1)
    if count < 1 or column < 200:
        raise InputError(
            f"a sheet {width_px} px wide in {count} columns leaves {max(column, 0)} px for a "
            "picture; give at least 200 px: fewer columns or a wider sheet."
        )
    pictures = [shrink_to(p.picture, width=column, height=round(1.5 * column)) for p in panels]
    rows = [range(n, min(n + count, len(panels))) for n in range(0, len(panels), count)]
    # The same code measures and draws: first on nothing, to learn the heights.
    blank = ImageDraw.Draw(Image.new("RGB", (1, 1)))
    head = _head(blank, kit, title, subtitle, at=(margin, margin), width=width_px - 2 * margin)
    tallest = [max(pictures[n].shape[0] for n in row) for row in rows]
    captions = [
        max(_caption(blank, kit, panels[n], at=(0, 0), width=column) for n in row) for row in rows
    ]
    gap = kit.px(44)
    foot_top = head + sum(tallest) + sum(captions) + gap * len(rows)
    foot = _lines(
        blank, kit, footnote, size=17, at=(margin, foot_top), width=width_px - 2 * margin, fill=SOFT
    )
    height = foot + margin - (0 if footnote else gap)

    page = Image.new("RGB", (width_px, height), SURROUND)
    draw = ImageDraw.Draw(page)
    _head(draw, kit, title, subtitle, at=(margin, margin), width=width_px - 2 * margin)
    top = head
    for row, tall, caption in zip(rows, tallest, captions, strict=True):
        for place, n in enumerate(row):
            left = margin + place * (column + gutter)
            low = top + tall - pictures[n].shape[0]  # pictures stand on their captions
            page.paste(Image.fromarray(pictures[n]), (left, low))
            _caption(draw, kit, panels[n], at=(left, top + tall), width=column)
        top += tall + caption + gap
    _lines(
        draw, kit, footnote, size=17, at=(margin, foot_top), width=width_px - 2 * margin, fill=SOFT
    )
    return np.array(page)


def _columns(panels: int) -> int:
    """Few enough for pictures to be judged: four panels are two rows of two."""
    return {1: 1, 2: 2, 3: 3, 4: 2, 5: 3, 6: 3}.get(panels, 4)


def _head(
    draw: ImageDraw.ImageDraw,
    kit: _Type,
    title: str,
    subtitle: str,
    *,
    at: tuple[int, int],
    width: int,
) -> int:
    """Draw title and subtitle; returns the top of what follows."""
    left, top = at
    if not title and not subtitle:
        return top
    y = _lines(draw, kit, title, size=34, at=at, width=width, bold=True) if title else top
    y = _lines(draw, kit, subtitle, size=20, at=(left, y), width=width, fill=SOFT)
    y += kit.px(14)
    draw.line([(left, y), (left + width, y)], fill=RULE, width=kit.px(1.5))
    return y + kit.px(30)


def _caption(
    draw: ImageDraw.ImageDraw, kit: _Type, panel: SheetPanel, *, at: tuple[int, int], width: int
) -> int:
    """Draw a caption below a picture; returns its height."""
    left, top = at
    y = _lines(
        draw, kit, panel.heading, size=24, at=(left, top + kit.px(16)), width=width, bold=True
    )
    if panel.verdict:
        y = _verdict(draw, kit, panel, at=(left, y + kit.px(6)), width=width) + kit.px(10)
    for line in panel.lines:
        y = _lines(draw, kit, line, size=19, at=(left, y), width=width, fill=SOFT)
    if panel.swatches:
        y += kit.px(10)
    for swatch in panel.swatches:
        y = _swatch(draw, kit, swatch, at=(left, y), width=width) + kit.px(8)
    return y - top


def _verdict(
    draw: ImageDraw.ImageDraw, kit: _Type, panel: SheetPanel, *, at: tuple[int, int], width: int
) -> int:
    font, pad = kit.font(19), kit.px(10)
    inner = width - 2 * pad
    text = "\n".join(_wrap(panel.verdict, font=font, width=inner))
    if panel.met is None:
        return _lines(draw, kit, panel.verdict, size=19, at=at, width=width)
    left, top = at
    step = kit.px(19 * 1.38)
    rows = text.count("\n") + 1
    wide = max(font.getlength(row) for row in text.split("\n"))
    box = (left, top, left + round(wide) + 2 * pad, top + rows * step + pad)
    draw.rounded_rectangle(
        box,
        radius=kit.px(5),
        fill=INK if panel.met else None,
        outline=INK,
        width=kit.px(1.6),
    )
    _lines(
        draw,
        kit,
        panel.verdict,
        size=19,
        at=(left + pad, top + pad // 2),
        width=inner,
        fill=PAPER if panel.met else INK,
    )
    return box[3]


def _swatch(
    draw: ImageDraw.ImageDraw, kit: _Type, swatch: Swatch, *, at: tuple[int, int], width: int
) -> int:
    left, top = at
    high, half = kit.px(46), kit.px(58)
    shown = [swatch.print] if swatch.asked is None else [swatch.asked, swatch.print]
    for place, colour in enumerate(shown):
        x = left + place * half
        draw.rectangle((x, top, x + half - 1, top + high - 1), fill=colour)
    words = left + 2 * half + kit.px(14)
    text_height = _text_height(kit, swatch.text, size=17, width=width - (words - left))
    y = top + max(0, (high - text_height) // 2)
    _lines(draw, kit, swatch.text, size=17, at=(words, y), width=width - (words - left), fill=SOFT)
    return top + max(high, text_height)


def _lines(
    draw: ImageDraw.ImageDraw,
    kit: _Type,
    text: str,
    *,
    size: float,
    at: tuple[int, int],
    width: int,
    fill: PanelColour = INK,
    bold: bool = False,
) -> int:
    """Draw wrapped text; returns the y below it."""
    left, y = at
    font = kit.font(size, bold=bold)
    for row in _wrap(text, font=font, width=width):
        draw.text((left, y), row, font=font, fill=fill)
        y += kit.px(size * 1.38)
    return y


def _text_height(kit: _Type, text: str, *, size: float, width: int) -> int:
    return len(_wrap(text, font=kit.font(size), width=width)) * kit.px(size * 1.38)


def _wrap(text: str, *, font: ImageFont.FreeTypeFont, width: int) -> list[str]:
    """Lines no wider than width px; a word longer than a line is broken."""
    rows: list[str] = []
    for paragraph in spelled(text).split("\n") if text else []:
        row = ""
        for word in paragraph.split(" "):
            trial = f"{row} {word}" if row else word
            if font.getlength(trial) <= width:
                row = trial
                continue
            if row:
                rows.append(row)
            row = word
            while len(row) > 1 and font.getlength(row) > width:
                fits = max(1, sum(font.getlength(row[: n + 1]) <= width for n in range(len(row))))
                rows.append(row[:fits])
                row = row[fits:]
        rows.append(row)
    return rows


@lru_cache(maxsize=32)
def _font(size: int, *, bold: bool) -> ImageFont.FreeTypeFont:
    from PIL import ImageFont

    return ImageFont.truetype(BOLD if bold else REGULAR, size)
