"""Palette on the stock as PDF/A-2B: what the page says, to take to the press or to the client."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING

from inksim.colour import Viewing, hex_code, readable_on, xyz
from inksim.decision import (
    MEANS_ONLY_MIXED,
    SHAPES,
    Answer,
    Gamut,
    mixture_sign,
    serves,
)
from inksim.printing import honest_words
from inksim.reports.palette_files import HATCHED, SHADES
from inksim.reports.palette_report import BY_ITSELF, CellsByGarment, palette_headline
from inksim.reports.pdf import RULE, SOFT, Sheet
from inksim.reports.recipes_report import instead_words
from inksim.stock import least_sure

if TYPE_CHECKING:
    from inksim.mixing import Instead

ACROSS = 5  # garments side by side, at most
NAME_MM, ROW_MM, HEAD_MM, SAID_MM, SIGN_MM = 34.0, 21.5, 16.0, 8.4, 4.2
HOW_TO_READ = (
    " · ".join(f"{shape} {word}" for word, shape in SHAPES.items())
    + ": shape, word and shade; then the ΔE00 to expect. Each print lies on its cloth."
)


@dataclass(frozen=True, kw_only=True)
class PaletteSheet:
    """What the sheet is of.

    columns: answers by garment, the best first. mixed: of `palette_instead`; None where no recipe
    was looked for. palette, shop: what they are called. gamuts: by garment, to say which colors
    only a mixture reaches.
    """

    columns: CellsByGarment
    palette: str
    shop: str
    tolerance: float
    viewing: Viewing
    calibrated: bool
    made: date
    mixed: Sequence[Instead] | None = None
    currency: str = ""
    gamuts: Mapping[str, Gamut] = field(default_factory=dict)

    @property
    def title(self) -> str:
        """'Palette logo.jpg on the stock of Millrace Print Room'; 'The shop's palette …'."""
        own = self.palette.endswith("'s")
        called = f"{self.palette} palette" if own else f"palette {self.palette}"
        return f"{called[:1].upper()}{called[1:]} on the stock of {self.shop}"

    @property
    def honest(self) -> str:
        """How sure its least sure cell is."""
        data = least_sure(*(cell.data for column in self.columns for cell in column))
        return honest_words(data, calibrated=self.calibrated)


def palette_pdf(of: PaletteSheet) -> bytes:
    """The palette as PDF/A-2B: the answer, every color on every garment, the recipes."""
    sheet = Sheet(title=of.title, made=datetime.combine(of.made, time(12), tzinfo=UTC))
    sheet.text(of.title, size=17, bold=True)
    sheet.space(2)
    said = palette_headline(of.columns, tolerance=of.tolerance, mixed=of.mixed)
    sheet.panel((said, f"{BY_ITSELF} Compared under {of.viewing}. {of.honest}"), size=11)
    sheet.space(2)
    for words in (HOW_TO_READ, *([MEANS_ONLY_MIXED] if of.gamuts else [])):
        sheet.text(words, size=8.5, colour=SOFT)
    blocks = -(-len(of.columns) // ACROSS)
    across = -(-len(of.columns) // blocks)
    for first in range(0, len(of.columns), across):
        _garments(sheet, of.columns[first : first + across], of)
    _recipes(sheet, of)
    sheet.foot("the first print decides", about=of.title)
    return sheet.bytes()


def _garments(sheet: Sheet, columns: CellsByGarment, of: PaletteSheet) -> None:
    """Some garments side by side; their head again on each page."""
    viewing = of.viewing
    sheet.space(3)
    head = True
    for row in zip(*columns, strict=True):
        needed = ROW_MM + (HEAD_MM if head else 0)
        if head or sheet.left_on_page < needed:
            sheet.need(ROW_MM + HEAD_MM)
            _head(sheet, columns, viewing)
            head = False
        top, target = sheet.y, row[0].target
        code, _ = target.hex(viewing)
        sheet.patch(code, x=sheet.left, y=top + 1, width=9, height=ROW_MM - 4)
        sheet.y = top + 1
        sheet.text(target.name, size=8.5, bold=True, x=sheet.left + 10.5, width=NAME_MM - 12)
        for at, cell in enumerate(row):
            sign = mixture_sign(cell, of.gamuts)
            _cell(sheet, cell, viewing, x=_x(sheet, at), y=top, sign=sign)
        sheet.y = top + ROW_MM
    sheet.rule(colour=RULE)


def _x(sheet: Sheet, at: int) -> float:
    return sheet.left + NAME_MM + at * _wide(sheet)


def _wide(sheet: Sheet) -> float:
    return (sheet.width - NAME_MM) / ACROSS


def _head(sheet: Sheet, columns: CellsByGarment, viewing: Viewing) -> None:
    top = sheet.y
    for at, column in enumerate(columns):
        garment, x = column[0].garment, _x(sheet, at)
        code, _ = hex_code(xyz(garment.reflectance, viewing), viewing)
        sheet.patch(code, x=x, y=top, width=_wide(sheet) - 2, height=3)
        sheet.y = top + 3.6
        sheet.text(garment.name, size=8.5, bold=True, x=x, width=_wide(sheet) - 2)
        sheet.text(serves(column).words, size=7, colour=SOFT, x=x, width=_wide(sheet) - 2)
    sheet.y = top + HEAD_MM


def _cell(sheet: Sheet, cell: Answer, viewing: Viewing, *, x: float, y: float, sign: str) -> None:
    """A print on its cloth; under it the verdict, its shade as its word; sign: of a mixture."""
    taken = SIGN_MM if sign else 0.0
    wide = _wide(sheet) - 2
    cloth, _ = hex_code(xyz(cell.garment.reflectance, viewing), viewing)
    sheet.patch(cloth, x=x, y=y, width=wide, height=ROW_MM - 1)
    sheet.patch(
        cell.hex, x=x + 1.2, y=y + 1.2, width=wide - 2.4, height=ROW_MM - SAID_MM - 3.6 - taken
    )
    ground, letters = (cloth, readable_on(cloth))
    if not cell.build.bare:
        ground, letters = SHADES[cell.verdict.word]
    low = y + ROW_MM - SAID_MM - 2.2 - taken
    sheet.patch(ground, x=x + 1.2, y=low, width=wide - 2.4, height=SAID_MM)
    words = f"{cell.mark}, {cell.median_de00:.1f}"
    at = sheet.y
    sheet.y = low + 0.8
    sheet.text(words, size=6.8, colour=letters, x=x + 1.8, width=wide - 3.2)
    if sign:
        low += SAID_MM + 0.4
        sheet.hatched(*HATCHED, x=x + 1.2, y=low, width=wide - 2.4, height=SIGN_MM - 0.4)
        sheet.y = low + 0.4
        sheet.text(sign, size=6.8, x=x + 1.8, width=wide - 3.2)
    sheet.y = at


def _recipes(sheet: Sheet, of: PaletteSheet) -> None:
    """A recipe for each color that is promised on no garment, where one does better."""
    from inksim.mixing import out_of_reach

    if of.mixed is None:
        return
    worth = [each for each in of.mixed if each.best is not None]
    sheet.heading("Mixed, where no ink can promise")
    for each in worth:
        assert each.best is not None
        _recipe(sheet, each.best.answer, instead_words(each.best, currency=of.currency), of.viewing)
    if not worth:
        sheet.text("No mix is worth it for the colors that no ink can promise.", size=9)
    if nowhere := out_of_reach(of.columns, of.mixed):
        sheet.text(f"Out of reach, mixed too: {', '.join(nowhere)}.", size=9)


def _recipe(sheet: Sheet, answer: Answer, words: str, viewing: Viewing) -> None:
    name = f"{answer.target.name} on {answer.garment.name}"
    sheet.need(ROW_MM)
    top = sheet.y
    asked, _ = answer.target.hex(viewing)
    cloth, _ = hex_code(xyz(answer.garment.reflectance, viewing), viewing)
    sheet.patch(cloth, x=sheet.left, y=top, width=NAME_MM - 3, height=ROW_MM - 5)
    half = (NAME_MM - 6) / 2
    for at, (code, word) in enumerate(((asked, "target"), (answer.hex, "mixed"))):
        x = sheet.left + 1.5 + at * half
        sheet.patch(code, x=x, y=top + 1.5, width=half, height=ROW_MM - 8, words=word)
    sheet.y = top
    x = sheet.left + NAME_MM
    sheet.text(name, size=9, bold=True, x=x, width=sheet.width - NAME_MM)
    sheet.text(f"{words}.", size=8.5, x=x, width=sheet.width - NAME_MM)
    sheet.y = max(sheet.y + 1.5, top + ROW_MM - 3)
