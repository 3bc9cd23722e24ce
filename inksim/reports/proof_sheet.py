"""A proof as PDF/A-2B: the first page with what is signed, then what does not fit there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, time
from functools import partial

from inksim.colour import hex_code, xyz
from inksim.common import MM_PER_INCH, Uint8Array, counted
from inksim.preview import artwork_on
from inksim.reports.cautions import CANNOT_SHOW, cautions_for
from inksim.reports.pdf import SOFT, Sheet
from inksim.reports.proof_parts import BaseProof, ProofColours, ProofPart, day_words, title_of

GAP_MM = 4.0
LEAST_MM, MOST_MM = 26.0, 105.0
"""Height of a picture: where a page is full, and where it has room."""
MOST_LINES = 4
"""Colors, and screens, that stand with room around them; more are set closer."""
Block = Callable[[Sheet], None]


def proof_pdf(*proofs: BaseProof, left_out: Sequence[str] = ()) -> bytes:
    """One proof document of a design on all its garments.

    The first page has a picture of each and the lines to sign, and as much of the colors and the
    recipes as fits, those of up to eight colors on one garment; the rest follows.

    Parameters
    ----------
    proofs : one for each garment, alike in all but that; at least one.
    left_out : why other garments of the job are not among them, in sentences.

    Raises
    ------
    InputError : a garment on which there is nothing to sign.
    """
    first, parts = proofs[0], [proof.part for proof in proofs]
    made = datetime.combine(first.made, time(12), tzinfo=UTC)
    title = title_of(proofs)
    sheet = Sheet(title=f"Proof: {title}", made=made)
    _draw_head(sheet, first, title=title, parts=parts)
    _draw_answers(sheet, parts, left_out=left_out)
    artwork = artwork_on(first.ready.large, first.garment, first.viewing)
    drawn = "The artwork as drawn"
    if len(parts) == 1:
        pictures = [(artwork, drawn), (parts[0].printed, f"The print, {parts[0].way}")]
    else:
        pictures = [(artwork, f"{drawn}, on {first.garment.name}")]
        pictures += [(part.printed, part.caption) for part in parts]
    sections: list[Block] = [
        partial(_draw_part, proof=proof, part=part, named=len(parts) > 1)
        for proof, part in zip(proofs, parts, strict=True)
    ]
    columns = _columns(len(pictures))
    rows = -(-len(pictures) // columns)
    caption = max(
        sheet.height_of(words, size=7.5, bold=True, width=_wide(sheet, columns))
        for _, words in pictures
    )
    # What the first page holds: the lines to sign, then as many whole sections as there is room.
    free = sheet.left_on_page - rows * (LEAST_MM + caption + 2) - GAP_MM - 1
    heights, names = [sheet.height(each) for each in sections], [p.garment.name for p in parts]
    for held in range(len(sections), -1, -1):
        sign = partial(_draw_sign, following=_following(names[held:], of=len(parts)))
        room = free - sheet.height(sign) - sum(heights[:held])
        if room >= 0:
            break
    most = min(MOST_MM, LEAST_MM + max(room, 0.0) / rows)
    _draw_pictures(sheet, pictures, title=title, columns=columns, most_mm=most, caption_mm=caption)
    for section in sections[:held]:
        section(sheet)
    sheet.need(sheet.height(sign))
    sign(sheet)
    for section, high in zip(sections[held:], heights[held:], strict=True):
        sheet.need(min(high, sheet.height_of_page))
        section(sheet)
    _draw_limits(sheet, proofs, parts)
    about = ", ".join(each for each in (first.name, first.order) if each)
    sheet.foot(first.reference, about=about)
    return sheet.bytes()


def _following(late: Sequence[str], *, of: int) -> str:
    """What is signed with this page; '' where all of it stands there."""
    if not late:
        return ""
    whose = "" if of == 1 else f" of {', '.join(late)}"
    return f"Colors and recipe{whose} stand on the next pages, which are part of what is signed."


def _columns(pictures: int) -> int:
    """Pictures beside one another."""
    return pictures if pictures <= 4 else 3 if pictures in (5, 6) else 4


def _wide(sheet: Sheet, columns: int) -> float:
    """Width of a column, mm."""
    return (sheet.width - GAP_MM * (columns - 1)) / columns


def _draw_head(sheet: Sheet, proof: BaseProof, *, title: str, parts: Sequence[ProofPart]) -> None:
    """Title, size, place, way and light; at the right whose it is and how long it holds."""
    art = proof.ready
    right = [
        proof.shop.name,
        f"Made {day_words(proof.made)}",
        f"Valid until {day_words(proof.valid_until)}",
        *([f"For {proof.client}"] if proof.client else []),
        *([f"Your reference: {proof.order}"] if proof.order else []),
    ]
    wide, high = art.width_mm, art.height_mm
    where = f", {proof.place}" if proof.place else ""
    way = parts[0].way if len(parts) == 1 else counted(len(parts), "garment")
    with sheet.beside(right):
        across = sheet.width - 52
        sheet.text("Proof of a print", size=9, colour=SOFT)
        long = sheet.height_of(title, width=across, size=17, bold=True) > 2 * 8.5
        sheet.text(title, size=12 if long else 17, bold=True, width=across)
        sheet.text(
            f"{wide / MM_PER_INCH:.1f} × {high / MM_PER_INCH:.1f} in ({wide:.0f} × {high:.0f} mm)"
            f"{where}, {way}. Colors under {proof.viewing}.",
            size=9.5,
            colour=SOFT,
            width=across,
        )


def _draw_answers(sheet: Sheet, parts: Sequence[ProofPart], *, left_out: Sequence[str]) -> None:
    """The answer on every garment, and which garments have none."""
    long = sum(len(headline) for headline, _ in (part.said for part in parts)) > 160
    sheet.panel(*(part.said for part in parts), *((each, "") for each in left_out),
                size=10 if long else 13)  # fmt: skip


def _draw_pictures(
    sheet: Sheet,
    pictures: Sequence[tuple[Uint8Array, str]],
    *,
    title: str,
    columns: int,
    most_mm: float,
    caption_mm: float,
) -> None:
    """Pictures beside one another, each with its caption."""
    wide = _wide(sheet, columns)
    sheet.space(GAP_MM)
    for first in range(0, len(pictures), columns):
        row = pictures[first : first + columns]
        highest = max(picture.shape[0] / picture.shape[1] for picture, _ in row)
        sheet.need(min(most_mm, wide * highest) + caption_mm + 2)
        top, low = sheet.y, sheet.y
        for at, (picture, caption) in enumerate(row):
            x = sheet.left + at * (wide + GAP_MM)
            width = min(wide, most_mm * picture.shape[1] / picture.shape[0])
            high = sheet.picture(picture, x=x, y=top, width=width, alt=f"{caption}: {title}")
            sheet.y = top + high + 1
            sheet.text(caption, size=7.5, bold=True, x=x, width=wide)
            low = max(low, sheet.y)
        sheet.y = low + 1


def _draw_part(sheet: Sheet, *, proof: BaseProof, part: ProofPart, named: bool) -> None:
    """One garment's colors and the recipe of its print."""
    heading = part.colours.heading
    _draw_colours(
        sheet, part.colours, f"{part.garment.name}: {heading.lower()}" if named else heading
    )
    sheet.space(1)
    cloth = part.garment
    fibres = ", ".join(f"{share:.0%} {name}" for name, share in cloth.fibers.items() if share)
    code, _ = hex_code(xyz(cloth.reflectance, proof.viewing), proof.viewing)
    sheet.need(12)
    top = sheet.y
    sheet.patch(code, x=sheet.left, y=top, width=10, height=4.5)
    sheet.y = top + 0.2
    sheet.text(f"How it is printed on {cloth.name}, {fibres}", size=9, bold=True,
               x=sheet.left + 12, width=sheet.width - 12)  # fmt: skip
    sheet.y = max(sheet.y, top + 4.5) + 0.8
    _draw_screens(sheet, part.screens)


def _draw_screens(sheet: Sheet, screens: Sequence[str]) -> None:
    """The screens, a line each, read down the left column and then the right."""
    close = len(screens) > MOST_LINES
    size, half = (7.0, -(-len(screens) // 2)) if close else (8.0, len(screens))
    wide = (sheet.width - 4) / 2 if close else sheet.width
    for at in range(half):
        beside = screens[at::half]
        sheet.need(max(sheet.height_of(each, size=size, width=wide) for each in beside))
        top, low = sheet.y, sheet.y
        for column, line in enumerate(beside):
            sheet.y = top
            sheet.text(line, size=size, x=sheet.left + column * (wide + 4), width=wide)
            low = max(low, sheet.y)
        sheet.y = low + 0.3


def _draw_colours(sheet: Sheet, colours: ProofColours, heading: str) -> None:
    """Every color: asked for, predicted, and how far it may stray."""
    sheet.need(24)
    sheet.space(2)
    sheet.text(heading, size=11, bold=True)
    sheet.text(colours.key, size=7.5, colour=SOFT)
    sheet.space(0.8)
    for row in colours.rows:
        wide, thin = (15.0, 7.0) if len(colours.rows) <= MOST_LINES else (11.0, 4.5)
        x = sheet.left + 2 * wide + (len(row.band) * thin + 1.5 if row.band else 0) + 3
        width = sheet.left + sheet.width - x
        high = sheet.height_of(row.words, size=7.5, width=width)
        high += sheet.height_of(row.headline, size=8.5, bold=True, width=width)
        high = max(8.0, high)
        # A row that breaks within its words would leave a page nearly empty.
        sheet.need(high + 1)
        top, at = sheet.y, sheet.left
        for code, words in ((row.asked, "asked"), (row.printed, "print")):
            sheet.patch(code, x=at, y=top, width=wide, height=high, words=words)
            at += wide
        at += 1.5
        for code in row.band:
            sheet.patch(code, x=at, y=top, width=thin, height=high)
            at += thin
        sheet.y = top
        if row.headline:
            sheet.text(row.headline, size=8.5, bold=True, x=x, width=width)
        sheet.text(row.words, size=7.5, colour=SOFT, x=x, width=width)
        sheet.y = top + high + 1


def _draw_limits(sheet: Sheet, proofs: Sequence[BaseProof], parts: Sequence[ProofPart]) -> None:
    """How sure it is; what a sheet cannot show; cautions."""
    sheet.heading("How sure this is")
    by_words: dict[str, list[str]] = {}
    for part in parts:
        for words in part.sure:
            by_words.setdefault(words, []).append(part.garment.name)
    sheet.points(
        [
            *(
                words if len(names) == len(parts) else f"{', '.join(names)}: {words}"
                for words, names in by_words.items()
            ),
            f"Colors are compared under {proofs[0].viewing}, differences are ΔE00 (CIEDE2000). "
            "Judge this sheet in neutral daylight (D50) on a calibrated screen or a proofer; an "
            "office printer shows the design, not the color.",
        ]
    )
    sheet.heading("What this sheet cannot show")
    sheet.points(CANNOT_SHOW)
    sheet.heading("Cautions")
    sheet.points(cautions_for([part.garment for part in parts]))


def _draw_sign(sheet: Sheet, *, following: str) -> None:
    """Agreement boxes and lines to sign. following: what of it stands on other pages."""
    sheet.space(2)
    sheet.rule()
    sheet.space(1.5)
    if following:
        sheet.text(following, size=8.5, bold=True)
    sheet.text(
        "Agreed:   □ Print as predicted      □ Strike-off on the garment first      "
        "□ Change, and proof again"
    )
    top, x = sheet.y, sheet.left
    for who in ("For the client", "For the shop"):
        for label, width in ((f"{who}: name", 34.0), ("signature", 34.0), ("date", 17.0)):
            sheet.y = top
            sheet.sign_line(label, x=x, width=width)
            x += width + 2
        x = sheet.left + sheet.width / 2 + 2
    sheet.space(14)
