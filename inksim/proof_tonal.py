"""The proof sheet of a tonal artwork: its pictures, what its typical colors become, how sure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inksim.appearance import Viewing
from inksim.pdf_sheet import Sheet
from inksim.predict import honest_words
from inksim.proof_parts import Front, color_heading, proof_sheet
from inksim.shop import Shop
from inksim.showing import Ready, artwork_on
from inksim.showing_tonal import AreaColour, TonalShown, area_colours, said_of
from inksim.titles import ROUTE_TITLES


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalProof:
    """Everything the sheet says, of the way that is proposed; `made`: the day it was made."""

    ready: Ready
    shown: TonalShown
    shop: Shop
    viewing: Viewing
    made: date
    client: str = ""


def tonal_proof_pdf(proof: TonalProof) -> bytes:
    """The proof sheet as PDF/A-2B."""
    ready, shown, best = proof.ready, proof.shown, proof.shown.best
    way = ROUTE_TITLES[best.route].lower()
    front = Front(
        title=f"{ready.name} on {shown.garment.name}",
        width_mm=ready.width_mm,
        height_mm=ready.height_mm,
        way=f"halftones {way}",
        shop=proof.shop.name,
        made=proof.made,
        client=proof.client,
    )
    reach, calibrated = best.reach, proof.shop.press.calibrated
    drawn = artwork_on(ready.large, shown.garment, proof.viewing)
    return proof_sheet(
        front,
        said=said_of(shown, calibrated=calibrated),
        pictures=[(drawn, "The artwork as drawn"), (best.picture, f"The print, {way}")],
        colors=lambda sheet: _colors(sheet, proof),
        garment=shown.garment,
        screens=[*best.screens, *reach.warnings],
        sure=[
            f"Of the picture, {1 - reach.out_of_reach:.0%} can come within ΔE00 "
            f"{reach.tolerance:g}; the mean is {reach.mean:.1f}, and 95 % lies within "
            f"{reach.p95:.1f}. These say how near the predicted print comes to the artwork, not "
            "how near the real print comes to the predicted one.",
            honest_words(reach.data, calibrated=calibrated),
        ],
        viewing=proof.viewing,
    )


def _colors(sheet: Sheet, proof: TonalProof) -> None:
    color_heading(
        sheet,
        "Typical colors of the picture",
        key="Left: the mean of the areas nearest to a color in the artwork. Right: the mean of the "
        "same areas in the print.",
    )
    for color in area_colours(proof.ready, proof.shown, proof.shown.best, proof.viewing):
        _color(sheet, color)


def _color(sheet: Sheet, color: AreaColour) -> None:
    high, wide = 9.0, 24.0
    sheet.need(high + 2)
    top, x = sheet.y, sheet.left
    sheet.patch(color.asked, x=x, y=top, width=wide, height=high, words="asked")
    sheet.patch(color.printed, x=x + wide, y=top, width=wide, height=high, words="print")
    sheet.y = top + 2
    words = x + 2 * wide + 5
    sheet.text(
        f"{color.share:.0%} of the print, ΔE00 {color.delta_e_2000:.1f} on the screen",
        size=9,
        x=words,
        width=sheet.width - (words - x),
    )
    sheet.y = max(sheet.y, top + high) + 2
