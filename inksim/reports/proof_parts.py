"""Parts that every proof sheet has: its head, two pictures, the cloth, how sure, lines to sign."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from inksim.colour import Viewing, hex_code, xyz
from inksim.common import MM_PER_INCH, Uint8Array
from inksim.reports.cautions import CANNOT_SHOW, CAUTIONS
from inksim.reports.pdf import SOFT, Sheet
from inksim.stock import Garment

VALID_DAYS = 30
"""A garment lot and an ink lot last about that long on the shelf [assumption]."""


@dataclass(frozen=True, kw_only=True)
class Front:
    """What the head of a proof says. way: how it is printed; made: the day it was made."""

    title: str
    width_mm: float
    height_mm: float
    way: str
    shop: str
    made: date
    client: str = ""

    @property
    def valid_until(self) -> date:
        """Last day on which it holds."""
        return self.made + timedelta(days=VALID_DAYS)

    def sheet(self) -> Sheet:
        """An empty sheet for it."""
        made = datetime.combine(self.made, time(12), tzinfo=UTC)
        return Sheet(title=f"Proof: {self.title}", made=made)


def day_words(day: date) -> str:
    """'March 4, 2026'."""
    return f"{day:%B} {day.day}, {day.year}"


def proof_sheet(
    front: Front,
    *,
    said: tuple[str, str],
    pictures: Sequence[tuple[Uint8Array, str]],
    colors: Callable[[Sheet], None],
    garment: Garment,
    screens: Sequence[str],
    sure: Sequence[str],
    viewing: Viewing,
) -> bytes:
    """A proof as PDF/A-2B: the answer, the pictures, its colors, how it is printed, lines to sign.

    said: the answer and what there is to say with it. pictures: two, with captions. colors: draws
    what becomes of them. screens: in print order. sure: how sure it is.
    """
    sheet = front.sheet()
    _draw_head(sheet, front)
    sheet.panel(*said)
    _draw_pictures(sheet, front, pictures)
    colors(sheet)
    _draw_how(sheet, garment, screens=screens, sure=sure, viewing=viewing)
    _draw_sign(sheet)
    return sheet.bytes()


def color_heading(sheet: Sheet, heading: str, *, key: str) -> None:
    """Head of the colors, and how to read their patches."""
    sheet.heading(heading)
    sheet.text(key, size=8, color=SOFT)
    sheet.space(2)


def _draw_head(sheet: Sheet, front: Front) -> None:
    """Title, size and way; at the right whose it is and how long it holds."""
    top = sheet.y
    sheet.text("Proof of a print", size=9, color=SOFT)
    sheet.text(front.title, size=17, bold=True, width=sheet.width - 52)
    sheet.text(
        f"{front.width_mm / MM_PER_INCH:.1f} × {front.height_mm / MM_PER_INCH:.1f} in "
        f"({front.width_mm:.0f} × {front.height_mm:.0f} mm), {front.way}",
        size=9.5,
        color=SOFT,
        width=sheet.width - 52,
    )
    bottom = sheet.y
    sheet.y = top
    lines = [
        front.shop,
        f"Made {day_words(front.made)}",
        f"Valid until {day_words(front.valid_until)}",
    ]
    if front.client:
        lines.append(f"For {front.client}")
    x = sheet.left + sheet.width - 50
    for line in lines:
        sheet.text(line, size=8.5, x=x, width=50, align="R")
    sheet.y = max(bottom, sheet.y) + 4


def _draw_pictures(sheet: Sheet, front: Front, pictures: Sequence[tuple[Uint8Array, str]]) -> None:
    """Two pictures side by side, each with its caption."""
    gap = 6.0
    most = min((sheet.width - gap) / 2, 105.0 * front.width_mm / front.height_mm)
    sheet.space(4)
    top = sheet.y
    for at, (picture, caption) in enumerate(pictures):
        x = sheet.left + at * (sheet.width + gap) / 2
        high = sheet.picture(picture, x=x, y=top, width=most, alt=f"{caption}: {front.title}")
        sheet.y = top + high + 1.5
        sheet.text(caption, size=9, bold=True, x=x, width=(sheet.width - gap) / 2)
    sheet.space(1)


def _draw_how(
    sheet: Sheet, garment: Garment, *, screens: Sequence[str], sure: Sequence[str], viewing: Viewing
) -> None:
    """The cloth and the screens; how sure it is; what a sheet cannot show; cautions."""
    sheet.heading("How it is printed")
    fibers = ", ".join(f"{share:.0%} {name}" for name, share in garment.fibres.items() if share)
    top = sheet.y
    cloth, _ = hex_code(xyz(garment.reflectance, viewing), viewing)
    sheet.patch(cloth, x=sheet.left, y=top, width=19, height=9)
    sheet.y = top + 1
    sheet.text(f"{garment.name}, {fibers}", bold=True, x=sheet.left + 23, width=sheet.width - 23)
    sheet.y = max(sheet.y, top + 9) + 2
    sheet.points(list(screens))
    sheet.heading("How sure this is")
    sheet.points(
        [
            *sure,
            f"Colors are compared under {viewing}, differences are ΔE00 (CIEDE2000). Judge "
            "this sheet in neutral daylight (D50) on a calibrated screen or a proofer; an office "
            "printer shows the design, not the color.",
        ]
    )
    sheet.heading("What this sheet cannot show")
    sheet.points(CANNOT_SHOW)
    sheet.heading("Cautions")
    sheet.points(CAUTIONS)


def _draw_sign(sheet: Sheet) -> None:
    """What was agreed, and lines to sign."""
    sheet.need(46)
    sheet.heading("Agreed")
    sheet.text(
        "□ Print as predicted      □ Strike-off on the garment first      □ Change, and proof again"
    )
    sheet.space(4)
    for who in ("For the client", "For the shop"):
        widths = (70.0, 70.0, 35.0)
        x = sheet.left
        for label, width in zip((f"{who}: name", "signature", "date"), widths, strict=True):
            sheet.sign_line(label, x=x, width=width)
            x += width + 5
        sheet.space(15)
