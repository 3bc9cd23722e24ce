"""Palette report as files: a CSV table, and a picture of true swatches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from inksim.artwork import SURROUND
from inksim.colour import Viewing, hex_code, readable_on, xyz
from inksim.common import BOLD, PROGRAM, REGULAR, Uint8Array, csv_text, spelled
from inksim.decision import MEANS_ONLY_MIXED, Answer, Gamut, mixture_sign, serves
from inksim.printing import file_words, honest_words
from inksim.reports.pdf import INK, SOFT
from inksim.stock import least_sure

if TYPE_CHECKING:
    from PIL import ImageDraw, ImageFont

SIGN_PX = 24
COLUMNS = (
    "color", "color_hex", "garment", "verdict", "chance", "median_de00", "low", "high",
    "nominal_de00", "route", "ink", "build", "data", "print_hex", "in_srgb", "L", "a", "b", "light",
)  # fmt: skip

SHADES = {"lands": (INK, "#f4f4f4"), "should land": ("#5a5a5a", "#f4f4f4"),
          "cannot promise": ("#e0e0e0", INK)}  # fmt: skip
"""Ground and letters of each word of a verdict: the darker, the surer."""
HATCHED = ("#e0e0e0", "#cdcdcd")
"""Ground and lines of the sign of what only a mixture reaches."""


def matrix_csv(columns: Sequence[Sequence[Answer]], *, viewing: Viewing) -> str:
    """One line for each color on each garment; Lab is the predicted print's under the viewing."""
    rows = []
    for column in columns:
        for cell in column:
            lab, said = [f"{value:.2f}" for value in cell.lab], cell.verdict
            rows.append(
                [
                    cell.target.name,
                    cell.target.hex_d50,
                    cell.garment.name,
                    said.word,
                    f"{said.chance:.3f}",
                    f"{said.median_de00:.2f}",
                    f"{said.low:.2f}",
                    f"{said.high:.2f}",
                    f"{cell.delta_e_2000:.2f}",
                    cell.route,
                    cell.ink.name if cell.ink else "",
                    cell.words,
                    cell.data,
                    cell.hex,
                    "yes" if cell.in_srgb_gamut else "no",
                    *lab,
                    str(viewing),
                ]
            )
    return csv_text(COLUMNS, rows)


def matrix_words(
    columns: Sequence[Sequence[Answer]],
    *,
    title: str,
    tolerance: float,
    viewing: Viewing,
    calibrated: bool,
) -> tuple[str, str]:
    """Footnote of the picture and what its file says of itself, by the least sure of its cells."""
    data = least_sure(*(cell.data for column in columns for cell in column))
    honest = honest_words(data, calibrated=calibrated)
    return (
        f"ΔE00 within {tolerance:g}, {viewing}. {honest} The first print decides. {PROGRAM}.",
        file_words(title, data=data, calibrated=calibrated),
    )


def matrix_picture(
    columns: Sequence[Sequence[Answer]],
    *,
    title: str,
    note: str,
    viewing: Viewing,
    gamuts: Mapping[str, Gamut] | None = None,
) -> Uint8Array:
    """Colors down, garments across, each print on its cloth with its mark: uint8 (h, w, 3).

    gamuts: by garment, to sign what only a mixture reaches.
    """
    from PIL import Image, ImageDraw, ImageFont

    signs = [[mixture_sign(cell, gamuts or {}) for cell in column] for column in columns]
    signed = any(sign for column in signs for sign in column)
    high, left, top, pad = 96 + (SIGN_PX if signed else 0), 250, 150, 40
    if signed:
        note = f"{MEANS_ONLY_MIXED} {note}"
    regular, bold, large = (
        ImageFont.truetype(REGULAR, 16), ImageFont.truetype(BOLD, 16), ImageFont.truetype(BOLD, 30)
    )  # fmt: skip
    said = [[_cell_words(cell) for cell in column] for column in columns]
    longest = max(regular.getlength(words) for column in said for words in column)
    wide = max(270, round(longest) + 46)
    title = spelled(title)
    width = max(left + wide * len(columns), round(large.getlength(title)) + pad) + pad
    foot = _wrapped(note, regular, width - 2 * pad)
    foot_at = top + high * len(columns[0]) + 30
    page = Image.new("RGB", (width, foot_at + 22 * (foot.count("\n") + 1) + 38), SURROUND)
    draw = ImageDraw.Draw(page)
    draw.text((pad, 32), title, font=large, fill=INK)
    for at, column in enumerate(columns):
        x = left + at * wide
        head = _wrapped(f"{column[0].garment.name}\n{serves(column).words}", bold, wide - 7)
        draw.multiline_text((x, top - 8), head, font=bold, fill=INK, spacing=4, anchor="ld")
        cloth, _ = hex_code(xyz(column[0].garment.reflectance, viewing), viewing)
        for row, cell in enumerate(column):
            y = top + row * high
            draw.rectangle((x, y, x + wide - 7, y + high - 7), fill=cloth)
            sign, low = signs[at][row], y + high
            if sign:
                low -= SIGN_PX
                box = (x + 12, low - 9, x + wide - 20, low + SIGN_PX - 11)
                _hatch(draw, box)
                draw.text((x + 18, low - 8), spelled(sign), font=regular, fill=INK)
            draw.rectangle((x + 12, y + 10, x + wide - 20, low - 40), fill=cell.hex)
            bare = (cloth, readable_on(cloth))
            ground, letters = bare if cell.build.bare else SHADES[cell.verdict.word]
            draw.rectangle((x + 12, low - 38, x + wide - 20, low - 11), fill=ground)
            draw.text((x + 18, low - 35), said[at][row], font=regular, fill=letters)
    for row, cell in enumerate(columns[0]):
        y = top + row * high
        draw.rectangle((pad, y + 10, pad + 50, y + high - 40), fill=cell.target.hex_d50)
        name = _wrapped(cell.target.name, bold, left - pad - 76)
        draw.multiline_text((pad + 62, y + 14), name, font=bold, fill=INK, spacing=4)
    draw.multiline_text((pad, foot_at), foot, font=regular, fill=SOFT, spacing=4)
    return np.array(page)


def _hatch(draw: ImageDraw.ImageDraw, box: tuple[int, int, int, int]) -> None:
    """A patch with slanted lines on it."""
    left, top, right, low = box
    ground, lines = HATCHED
    draw.rectangle(box, fill=ground)
    for at in range(left, right, 9):
        across = min(low - top, right - at)
        draw.line([(at, low), (at + across, low - across)], fill=lines, width=2)


def _cell_words(cell: Answer) -> str:
    """'✕ cannot promise, over white, 3.6'."""
    return f"{cell.mark}, {cell.verdict.median_de00:.1f}"


def _wrapped(text: str, font: ImageFont.FreeTypeFont, width: float) -> str:
    """Text with line breaks, so that no line is wider than so many pixels but a single word."""
    lines: list[str] = []
    for line in spelled(text).split("\n"):
        lines.append("")
        for word in line.split():
            longer = f"{lines[-1]} {word}".strip()
            if lines[-1] and font.getlength(longer) > width:
                lines.append(word)
            else:
                lines[-1] = longer
    return "\n".join(lines)
