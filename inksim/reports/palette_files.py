"""Palette report as files: a CSV table, and a picture of true swatches."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

import numpy as np

from inksim.artwork import SURROUND
from inksim.colour import Viewing, hex_code, readable_on, xyz
from inksim.common import BOLD, REGULAR, Uint8Array, spelled
from inksim.decision import Answer, serves
from inksim.reports.pdf import INK, SOFT

COLUMNS = (
    "color", "color_hex", "garment", "verdict", "chance", "median_de00", "low", "high",
    "nominal_de00", "route", "ink", "build", "data", "print_hex", "in_srgb", "L", "a", "b", "light",
)  # fmt: skip


def matrix_csv(columns: Sequence[Sequence[Answer]], *, viewing: Viewing) -> str:
    """One line for each color on each garment; Lab is the predicted print's under the viewing."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for column in columns:
        for cell in column:
            lab, said = [f"{value:.2f}" for value in cell.lab], cell.verdict
            writer.writerow(
                [
                    _plain(cell.target.name),
                    cell.target.hex_d50,
                    _plain(cell.garment.name),
                    said.word,
                    f"{said.chance:.3f}",
                    f"{said.median_de00:.2f}",
                    f"{said.low:.2f}",
                    f"{said.high:.2f}",
                    f"{cell.delta_e_2000:.2f}",
                    cell.route,
                    _plain(cell.ink.name if cell.ink else ""),
                    _plain(cell.words),
                    cell.data,
                    cell.hex,
                    "yes" if cell.in_srgb_gamut else "no",
                    *lab,
                    str(viewing),
                ]
            )
    return text.getvalue()


def _plain(text: str) -> str:
    """Escape text that a spreadsheet would read as a formula."""
    return f"'{text}" if text[:1] in "=+-@\t\r" else text


def matrix_picture(
    columns: Sequence[Sequence[Answer]], *, title: str, note: str, viewing: Viewing
) -> Uint8Array:
    """Colors down, garments across, each print on its cloth with its mark: uint8 (h, w, 3)."""
    from PIL import Image, ImageDraw, ImageFont

    wide, high, left, top, pad = 190, 96, 250, 150, 40
    width = left + wide * len(columns) + pad
    height = top + high * len(columns[0]) + 90
    page = Image.new("RGB", (width, height), SURROUND)
    draw = ImageDraw.Draw(page)
    regular, bold, large = (
        ImageFont.truetype(REGULAR, 16), ImageFont.truetype(BOLD, 16), ImageFont.truetype(BOLD, 30)
    )  # fmt: skip
    draw.text((pad, 32), spelled(title), font=large, fill=INK)
    for at, column in enumerate(columns):
        x = left + at * wide
        head = f"{column[0].garment.name}\n{serves(column).words}"
        draw.multiline_text((x, top - 50), spelled(head), font=bold, fill=INK, spacing=4)
        cloth, _ = hex_code(xyz(column[0].garment.reflectance, viewing), viewing)
        for row, cell in enumerate(column):
            y = top + row * high
            draw.rectangle((x, y, x + wide - 7, y + high - 7), fill=cloth)
            draw.rectangle((x + 12, y + 10, x + wide - 20, y + high - 40), fill=cell.hex)
            words = f"{cell.mark}, {cell.verdict.median_de00:.1f}"
            draw.text((x + 12, y + high - 34), words, font=regular, fill=readable_on(cloth))
    for row, cell in enumerate(columns[0]):
        y = top + row * high
        draw.rectangle((pad, y + 10, pad + 50, y + high - 40), fill=cell.target.hex_d50)
        draw.text((pad + 62, y + 22), spelled(cell.target.name)[:18], font=bold, fill=INK)
    draw.text((pad, height - 60), spelled(note), font=regular, fill=SOFT)
    return np.array(page)
