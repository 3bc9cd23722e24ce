"""Press ticket as PDF/A-2B: at most two pages for a usual job, with room to write."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, time

from inksim.common import counted
from inksim.reports.cautions import CAUTIONS
from inksim.reports.pdf import RULE, SOFT, Sheet
from inksim.reports.ticket import (
    READING_WORDS,
    Ticket,
    dryer_words,
    screen_rows,
    stations_words,
    target_words,
)

ROW_MM, READING_MM = 5.4, 9.5
Widths = Sequence[tuple[str, float]]
"""Heads of columns and how wide they are, mm."""
SCREENS: Widths = (
    ("", 6), ("Ink", 44), ("Mesh", 30), ("Passes", 15), ("Then", 19), ("Print, ready", 29),
    ("Choke", 15), ("For", 27.9),
)  # fmt: skip
READINGS: Widths = (
    ("First print", 38), ("Target Lab", 31), ("Predicted", 31), ("Expect ΔE00", 32), ("L*", 18),
    ("a*", 18), ("b*", 18),
)  # fmt: skip


def ticket_pdf(ticket: Ticket) -> bytes:
    """The ticket as PDF/A-2B."""
    made = datetime.combine(ticket.made, time(12), tzinfo=UTC)
    sheet = Sheet(title=f"Press ticket: {ticket.title}", made=made)
    _head(sheet, ticket)
    sheet.panel(ticket.outcome, ticket.data_words)
    sheet.heading("Screens, in print order")
    _table(sheet, SCREENS, screen_rows(ticket))
    sheet.text(stations_words(ticket) + ".", size=9, color=SOFT)
    sheet.heading("Dryer")
    sheet.text(dryer_words(ticket), size=9)
    sheet.heading("Before the run")
    for check in ticket.checks:
        _tick(sheet, check)
    _readings(sheet, ticket)
    sheet.heading("Cautions")
    sheet.points(CAUTIONS)
    return sheet.bytes()


def _head(sheet: Sheet, ticket: Ticket) -> None:
    invented = ", invented data" if ticket.invented else ""
    right = (ticket.shop, ticket.made.isoformat(), counted(ticket.job.quantity, "print"))
    with sheet.beside(right):
        sheet.text(f"Press ticket{invented}", size=9, color=SOFT)
        sheet.text(ticket.title, size=16, bold=True, width=sheet.width - 52)


def _table(sheet: Sheet, columns: Widths, rows: Sequence[Sequence[str]]) -> None:
    """Rows under a head; a cell that is too long wraps and its row grows."""
    _row(sheet, columns, [name for name, _ in columns], bold=True)
    for row in rows:
        sheet.need(2 * ROW_MM)
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
    sheet.rule(color=RULE)
    sheet.space(0.6)


def _tick(sheet: Sheet, words: str) -> None:
    """Check box with its text."""
    sheet.need(ROW_MM)
    top = sheet.y
    sheet.pdf.set_draw_color(*(0x1A,) * 3)
    sheet.pdf.rect(sheet.left, top + 0.7, 3, 3)
    sheet.text(words, size=9, x=sheet.left + 6, width=sheet.width - 6)
    sheet.space(0.7)


def _readings(sheet: Sheet, ticket: Ticket) -> None:
    """Room for the first print's reading beside what was asked and predicted."""
    sheet.need(46 + READING_MM * len(ticket.chosen.plans))
    sheet.heading("First print, to be read before the run goes on")
    _row(sheet, READINGS, [name for name, _ in READINGS], bold=True)
    for plan in ticket.chosen.plans:
        top = sheet.y
        for at, color in enumerate((plan.colour.target.hex_d50, plan.prediction.hex)):
            sheet.patch(color, x=sheet.left + 5 * at, y=top + 1, width=5, height=READING_MM - 3)
        x = sheet.left + 12
        cells = (plan.colour.name, *target_words(ticket, plan))
        for cell, (_, width) in zip(cells, (("", 26.0), *READINGS[1:4]), strict=True):
            sheet.y = top + 2
            sheet.text(cell, size=8.5, x=x, width=width - 1.5)
            x += width
        for _, width in READINGS[4:]:
            sheet.pdf.set_draw_color(*(0x1A,) * 3)
            sheet.pdf.rect(x, top + 0.8, width - 2, READING_MM - 2)
            x += width
        sheet.y = top + READING_MM
    sheet.space(1)
    sheet.text(
        f"Patches: asked for, predicted. Lab under {ticket.answer.viewing}. ΔE00: the middle "
        f"of what to expect, and nine prints in ten. {READING_WORDS}",
        size=8.5,
        color=SOFT,
    )
    for at, label in enumerate(("Date", "Read by", "Garment lot")):
        sheet.sign_line(label, x=sheet.left + at * 62, width=56)
    sheet.space(16)
