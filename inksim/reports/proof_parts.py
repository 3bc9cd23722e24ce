"""Layout of a proof sheet: head, two pictures, colors, build, uncertainty, signatures."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from inksim.colour import Viewing, hex_code, xyz
from inksim.common import MM_PER_INCH, Uint8Array, sentence
from inksim.decision import Answer
from inksim.ledger import Issued
from inksim.preview import PreparedArtwork, artwork_on
from inksim.reports.cautions import CANNOT_SHOW, cautions_for
from inksim.reports.pdf import SOFT, Sheet
from inksim.shop import Shop
from inksim.stock import Garment

VALID_DAYS = 30
"""A garment lot and an ink lot last about that long on the shelf [assumption]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class BaseProof:
    """Fields of every proof. made: its date. issued: its number and seal; None for a draft."""

    ready: PreparedArtwork
    shop: Shop
    viewing: Viewing
    made: date
    client: str = ""
    issued: Issued | None = None

    @property
    def answers(self) -> Sequence[Answer]:
        """What it promises of each color; nothing of tonal artwork, whose areas it only shows."""
        return ()

    @property
    def reference(self) -> str:
        """'Proof no. 12, seal 3f09a2c4d1e8, job harvest-tour', or why it has no number."""
        return sentence(self.issued.words).removesuffix(".") if self.issued else ""

    @property
    @abstractmethod
    def garment(self) -> Garment:
        """What it is printed on."""

    @property
    def title(self) -> str:
        """'harvest-regatta.png on Coal Black'."""
        return f"{self.ready.name} on {self.garment.name}"

    @property
    def valid_until(self) -> date:
        """Last day on which it holds."""
        return self.made + timedelta(days=VALID_DAYS)


@dataclass(frozen=True, kw_only=True)
class ColorRow:
    """One color: hex codes of its swatches, and the text beside them.

    band: swatches of the 90 % interval, nearest to furthest.
    """

    asked: str
    printed: str
    words: str
    headline: str = ""
    band: Sequence[str] = ()


@dataclass(frozen=True, kw_only=True)
class ProofColors:
    """The colors of a proof. key: how to read their swatches."""

    heading: str
    key: str
    rows: Sequence[ColorRow]


def day_words(day: date) -> str:
    """'March 4, 2026'."""
    return f"{day:%B} {day.day}, {day.year}"


def proof_sheet(
    proof: BaseProof,
    *,
    way: str,
    said: tuple[str, str],
    printed: Uint8Array,
    colors: ProofColors,
    screens: Sequence[str],
    sure: Sequence[str],
    halftones: bool = False,
) -> bytes:
    """A proof as PDF/A-2B: the answer, the pictures, its colors, how it is printed, lines to sign.

    way: what lies under the colors. said: the answer and what there is to say with it. printed: the
    picture of the print. screens: in print order. sure: how sure it is.
    """
    made = datetime.combine(proof.made, time(12), tzinfo=UTC)
    sheet = Sheet(title=f"Proof: {proof.title}", made=made)
    _draw_head(sheet, proof, way=f"halftones {way}" if halftones else way)
    sheet.panel(*said)
    drawn = artwork_on(proof.ready.large, proof.garment, proof.viewing)
    pictures = [(drawn, "The artwork as drawn"), (printed, f"The print, {way}")]
    _draw_pictures(sheet, proof, pictures)
    _draw_colors(sheet, colors)
    _draw_how(sheet, proof.garment, screens=screens, sure=sure, viewing=proof.viewing)
    _draw_sign(sheet)
    sheet.foot(proof.reference)
    return sheet.bytes()


def _draw_head(sheet: Sheet, proof: BaseProof, *, way: str) -> None:
    """Title, size and way; at the right whose it is and how long it holds."""
    art = proof.ready
    right = [
        proof.shop.name,
        f"Made {day_words(proof.made)}",
        f"Valid until {day_words(proof.valid_until)}",
    ]
    if proof.client:
        right.append(f"For {proof.client}")
    with sheet.beside(right):
        sheet.text("Proof of a print", size=9, color=SOFT)
        sheet.text(proof.title, size=17, bold=True, width=sheet.width - 52)
        sheet.text(
            f"{art.width_mm / MM_PER_INCH:.1f} × {art.height_mm / MM_PER_INCH:.1f} in "
            f"({art.width_mm:.0f} × {art.height_mm:.0f} mm), {way}",
            size=9.5,
            color=SOFT,
            width=sheet.width - 52,
        )


def _draw_pictures(
    sheet: Sheet, proof: BaseProof, pictures: Sequence[tuple[Uint8Array, str]]
) -> None:
    """Two pictures side by side, each with its caption."""
    gap = 6.0
    most = min((sheet.width - gap) / 2, 105.0 * proof.ready.width_mm / proof.ready.height_mm)
    sheet.space(4)
    top = sheet.y
    for at, (picture, caption) in enumerate(pictures):
        x = sheet.left + at * (sheet.width + gap) / 2
        high = sheet.picture(picture, x=x, y=top, width=most, alt=f"{caption}: {proof.title}")
        sheet.y = top + high + 1.5
        sheet.text(caption, size=9, bold=True, x=x, width=(sheet.width - gap) / 2)
    sheet.space(1)


def _draw_colors(sheet: Sheet, colors: ProofColors) -> None:
    """Every color: asked for, predicted, and how far it may stray."""
    sheet.heading(colors.heading)
    sheet.text(colors.key, size=8, color=SOFT)
    sheet.space(2)
    for row in colors.rows:
        high, wide = (11.0, 19.0) if row.headline else (9.0, 24.0)
        # A row that breaks within its words would leave a page nearly empty.
        across = sheet.width - 2 * wide - 5 - (2.1 * wide + 5 if row.band else 0)
        sheet.need(max(high, 6.0 + sheet.height_of(row.words, size=9, width=across)) + 2)
        top, x = sheet.y, sheet.left
        for code, words in ((row.asked, "asked"), (row.printed, "print")):
            sheet.patch(code, x=x, y=top, width=wide, height=high, words=words)
            x += wide
        x += 5
        for code in row.band:
            sheet.patch(code, x=x, y=top, width=0.7 * wide, height=high)
            x += 0.7 * wide
        x += 5 if row.band else 0
        width = sheet.left + sheet.width - x
        if row.headline:
            sheet.y = top + 0.5
            sheet.text(row.headline, bold=True, x=x, width=width)
            sheet.text(row.words, size=8, color=SOFT, x=x, width=width)
        else:
            sheet.y = top + 2
            sheet.text(row.words, size=9, x=x, width=width)
        sheet.y = max(sheet.y, top + high) + 2


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
    sheet.points(cautions_for([garment]))


def _draw_sign(sheet: Sheet) -> None:
    """Agreement boxes and signature lines."""
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
