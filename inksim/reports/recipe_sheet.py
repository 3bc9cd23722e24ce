"""Recipe card as PDF/A-2B: one page to hang by the scale."""

from __future__ import annotations

from datetime import UTC, datetime, time

from inksim.reports.pdf import RULE, SOFT, Sheet
from inksim.reports.recipe_card import PARTS_HEAD, TARE, TOO_MUCH, RecipeCard
from inksim.reports.recipe_chart import share_chart

COLUMNS_MM = (12.0, 62.0, 29.0, 30.0, 22.0, 30.9)
ROW_MM = 7.5
PATCH_MM = 17.0


def card_pdf(card: RecipeCard) -> bytes:
    """The card as PDF/A-2B."""
    made = datetime.combine(card.made, time(12), tzinfo=UTC)
    sheet = Sheet(title=f"Recipe: {card.title}", made=made)
    sheet.text(f"Recipe: {card.title}", size=17, bold=True)
    sheet.space(2)
    sheet.panel((card.outcome, f"{card.differs} {card.data_words}"), size=11)
    sheet.space(3)
    _swatches(sheet, card)
    sheet.heading("Weigh in")
    sheet.text(f"□ {TARE}", size=10)
    sheet.space(1.5)
    _parts(sheet, card)
    sheet.text(f"Together {card.costs}.", size=10, bold=True)
    sheet.text(TOO_MUCH, size=8.5, colour=SOFT)
    sheet.heading("Print and safety")
    sheet.points([f"{card.printed}.", *card.cautions])
    if card.curves:
        sheet.heading("What a gram does")
        drawn = share_chart(card.curves, tolerance=card.tolerance)
        sheet.need(sheet.width * drawn.shape[0] / drawn.shape[1] + 4)
        names = " and ".join(curve.ink.name for curve in card.curves[:2])
        alt = f"ΔE00 from the target against the share of {names}"
        top = sheet.y
        sheet.y = top + sheet.picture(drawn, x=sheet.left, y=top, width=sheet.width, alt=alt)
    sheet.foot(card.foot, about=card.title)
    return sheet.bytes()


def _swatches(sheet: Sheet, card: RecipeCard) -> None:
    """Target and print touching, under each light."""
    top, half = sheet.y, sheet.width / 2
    for at, (asked, seen) in enumerate(card.seen):
        x, full = sheet.left + at * half, half - 3 * (1 - at)
        wide = full / 2 if asked else full
        if asked:
            sheet.patch(asked, x=x, y=top, width=wide, height=PATCH_MM, words="target")
        left = x + full - wide
        sheet.patch(seen.hex, x=left, y=top, width=wide, height=PATCH_MM, words="print")
        sheet.y = top + PATCH_MM + 1
        sheet.text(f"under {seen.viewing}", size=8, x=x, width=half)
    sheet.text(card.light_words, size=8, colour=SOFT)


def _parts(sheet: Sheet, card: RecipeCard) -> None:
    """The parts in order of weighing, a box to tick before each."""
    _row(sheet, PARTS_HEAD, size=8.0, bold=True)
    for row in card.rows:
        _row(sheet, [f"□ {row[0]}", *row[1:]], size=10.5, bold=False)
    sheet.space(1)


def _row(sheet: Sheet, cells: tuple[str, ...] | list[str], *, size: float, bold: bool) -> None:
    sheet.need(ROW_MM)
    top, x, low = sheet.y, sheet.left, sheet.y
    for at, (cell, wide) in enumerate(zip(cells, COLUMNS_MM, strict=True)):
        sheet.y = top + 1
        align = "L" if at < 2 else "R"
        sheet.text(cell, size=size, bold=bold or at == 2, x=x, width=wide - 2, align=align)
        x, low = x + wide, max(low, sheet.y)
    sheet.y = low + 1
    sheet.rule(colour=RULE)
