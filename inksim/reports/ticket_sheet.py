"""Press ticket as PDF/A-2B: at most two pages for a usual job, with room to write."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, time

from inksim.common import counted
from inksim.reports.pdf import RULE, SOFT, Sheet
from inksim.reports.ticket import BaseTicket, Placed
from inksim.reports.ticket_words import (
    dryer_words,
    flood_words,
    ink_rows,
    press_words,
    reading_of,
    screen_rows,
    size_words,
    stored_words,
)

ROW_MM, READING_MM = 5.4, 9.5
PLACED_MM, NAME_MM = 52.0, 24.0
Widths = Sequence[tuple[str, float]]
"""Heads of columns and how wide they are, mm."""
SCREENS: Widths = (
    ("", 6), ("Ink", 42), ("Mesh", 30), ("Strokes", 22), ("Then", 19), ("A print", 15),
    ("Choke", 14), ("For", 37.9),
)  # fmt: skip
INKS: Widths = (
    ("Ink", 46), ("A print", 22), ("Used up", 30), ("To have ready", 30),
    ("Mixed in", 42), ("Keeps", 15.9),
)  # fmt: skip
READINGS: Widths = (
    ("First print", 36), ("Target Lab", 30), ("Predicted", 30), ("Expect ΔE00", 29), ("L*", 11),
    ("a*", 11), ("b*", 11), ("ΔE00", 12.4), ("Pass Fail", 15.5),
)  # fmt: skip


def ticket_pdf(ticket: BaseTicket) -> bytes:
    """The ticket as PDF/A-2B."""
    made = datetime.combine(ticket.made, time(12), tzinfo=UTC)
    sheet = Sheet(title=f"Press ticket: {ticket.title}", made=made)
    _head(sheet, ticket)
    sheet.panel((ticket.outcome, " ".join([*ticket.told, ticket.data_words])))
    sheet.space(3)
    _place_and_cautions(sheet, ticket)
    for title, rows in screen_rows(ticket):
        sheet.heading(title)
        _table(sheet, SCREENS, rows)
    sheet.text(press_words(ticket), size=9, colour=SOFT)
    sheet.heading("Ink")
    _table(sheet, INKS, ink_rows(ticket))
    sheet.text(flood_words(ticket), size=8.5, colour=SOFT)
    for words in stored_words(ticket):
        sheet.text(words, size=9)
    sheet.heading("Dryer")
    sheet.text(dryer_words(ticket), size=9)
    sheet.heading("Before the run")
    for check in ticket.checks:
        _tick(sheet, check)
    _readings(sheet, ticket)
    sheet.foot(f"{ticket.shop}, {ticket.made.isoformat()}", about=ticket.title)
    return sheet.bytes()


def _head(sheet: Sheet, ticket: BaseTicket) -> None:
    invented = ", invented data" if ticket.invented else ""
    right = (ticket.shop, ticket.made.isoformat(), counted(ticket.quantity, "print"))
    with sheet.beside(right):
        sheet.text(f"Press ticket{invented}", size=9, colour=SOFT)
        sheet.text(ticket.title, size=16, bold=True, width=sheet.width - 52)
        sheet.text(size_words(ticket), size=9.5, colour=SOFT, width=sheet.width - 52)


def _place_and_cautions(sheet: Sheet, ticket: BaseTicket) -> None:
    """The print in place, and the cautions beside it."""
    top, x, low = sheet.y, sheet.left, sheet.y
    placed: Placed | None = ticket.placed
    if placed is not None:
        shown = "The print, without a shirt" if placed.unfit else f"The print {placed.lies}"
        alt = f"{shown}: {ticket.title}"
        low += sheet.picture(placed.picture, x=x, y=top, width=PLACED_MM, alt=alt)
        x += PLACED_MM + 6
    width = sheet.left + sheet.width - x
    sheet.y = top
    sheet.text("Cautions", size=10.5, bold=True, x=x, width=width)
    for caution in ticket.cautions:
        sheet.space(0.8)
        sheet.text(f"– {caution}", size=8.5, x=x, width=width)
    sheet.y = max(sheet.y, low) + 1


def _table(sheet: Sheet, columns: Widths, rows: Sequence[Sequence[str]]) -> None:
    """Rows under a head; a cell that is too long wraps and its row grows."""
    _row(sheet, columns, [name for name, _ in columns], bold=True)
    for row in rows:
        high = max(
            sheet.height_of(cell, size=8.5, width=width - 1.5)
            for cell, (_, width) in zip(row, columns, strict=True)
        )
        sheet.need(high + ROW_MM)
        _row(sheet, columns, row)
    sheet.space(1.5)


def _row(sheet: Sheet, columns: Widths, cells: Sequence[str], *, bold: bool = False) -> None:
    top, x, low = sheet.y, sheet.left, sheet.y
    for (_, width), cell in zip(columns, cells, strict=True):
        sheet.y = top
        if cell:
            sheet.text(cell, size=8.5, bold=bold, x=x, width=width - 1.5)
        low = max(low, sheet.y)
        x += width
    sheet.y = max(low, top + ROW_MM - 1.2) + 0.6
    sheet.rule(colour=RULE)
    sheet.space(0.6)


def _box(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
    """An empty box to write in."""
    sheet.pdf.set_draw_color(*(0x1A,) * 3)
    sheet.pdf.rect(x, y, width, height)


def _tick(sheet: Sheet, words: str) -> None:
    """Check box with its text."""
    sheet.need(ROW_MM)
    top = sheet.y
    _box(sheet, sheet.left, top + 0.7, 3, 3)
    sheet.text(words, size=9, x=sheet.left + 6, width=sheet.width - 6)
    sheet.space(0.7)


def _readings(sheet: Sheet, ticket: BaseTicket) -> None:
    """Room for the first print's reading beside what was asked and predicted."""
    sheet.need(46 + READING_MM * min(len(ticket.to_read), 8))
    sheet.heading("First print, to be read before the run goes on")
    _row(sheet, READINGS, [name for name, _ in READINGS], bold=True)
    for each in ticket.to_read:
        high = max(READING_MM, 3 + sheet.height_of(each.name, size=8.5, width=NAME_MM - 1.5))
        sheet.need(high + 2)
        top, words = sheet.y, reading_of(each)
        for at, colour in enumerate((each.hex_asked, each.hex_printed)):
            sheet.patch(colour, x=sheet.left + 5 * at, y=top + 1, width=5, height=READING_MM - 3)
        x = sheet.left + 12
        for cell, (_, width) in zip(
            (each.name, *words[:3]), (("", NAME_MM), *READINGS[1:4]), strict=True
        ):
            sheet.y = top + 2
            sheet.text(cell, size=8.5, x=x, width=width - 1.5)
            x += width
        for at, (_, width) in enumerate(READINGS[4:8]):
            _box(sheet, x, top + 0.8, width - 1.5, READING_MM - 2)
            if at == 3:
                sheet.y = top + 5
                sheet.text(words.passes, size=6.5, colour=SOFT, x=x + 0.8, width=width - 2)
            x += width
        for at in range(2):
            _box(sheet, x + 1.5 + 7 * at, top + 2.4, 3.6, 3.6)
        sheet.y = top + high
    sheet.space(1)
    sheet.text(
        f"Patches: asked for, predicted. Lab under {ticket.viewing}. Expected: the middle "
        "of what to expect, and nine prints in ten. A print passes whose ΔE00 is not above the "
        f"number in the box, its color's tolerance. {ticket.reading_words}",
        size=8.5,
        colour=SOFT,
    )
    for at, label in enumerate(("Date", "Read by", "Garment lot")):
        sheet.sign_line(label, x=sheet.left + at * 62, width=56)
    sheet.space(16)
