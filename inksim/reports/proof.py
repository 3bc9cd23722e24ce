"""The proof sheet: what a client signs. Pictures, colors with their band, the build, what it can't.

One picture of the artwork as drawn and one of the predicted print, every color asked for beside the
one predicted and how far it may stray, how it will be printed, under which light it was compared,
what no sheet can show, cautions, and lines to sign.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inksim.colour import Viewing, rgb8_from_hex
from inksim.common import ROUTE_WORDS, Uint8Array
from inksim.picture import SheetPanel, Swatch, compose_sheet
from inksim.preview import (
    AreaColour,
    ArtworkResult,
    ColourAnswer,
    PreparedArtwork,
    RouteAnswer,
    TonalResult,
    area_colours,
    artwork_on,
    print_on,
    tonal_verdict,
)
from inksim.printing import Layer, Route, honest_words
from inksim.reports.cautions import CAUTIONS
from inksim.reports.pdf import SOFT, Sheet
from inksim.reports.proof_parts import Front, color_heading, day_words, proof_sheet
from inksim.shop import Shop
from inksim.stock import least_sure, target_from_hex

CLEAR, WIDE = 4.0, 8.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Proof:
    """Everything a proof sheet says; `route` is the one proposed, `made` the day it was made."""

    ready: PreparedArtwork
    answer: ArtworkResult
    route: Route
    shop: Shop
    viewing: Viewing
    made: date
    client: str = ""

    @property
    def chosen(self) -> RouteAnswer:
        """The proposed route."""
        return self.answer.by(self.route)

    @property
    def title(self) -> str:
        """'harvest-regatta.png on Coal Black'."""
        return f"{self.ready.name} on {self.answer.garment.name}"

    @property
    def front(self) -> Front:
        """What its head says."""
        return Front(
            title=self.title,
            width_mm=self.ready.width_mm,
            height_mm=self.ready.height_mm,
            way=ROUTE_WORDS[self.route],
            shop=self.shop.name,
            made=self.made,
            client=self.client,
        )

    @property
    def honest(self) -> str:
        """Whose data these are, and what that is good for."""
        data = least_sure(
            self.answer.garment.data, *(c.prediction.data for c in self.chosen.colours)
        )
        return honest_words(data, calibrated=self.shop.press.calibrated)


def proof_headline(answer: ArtworkResult, route: Route) -> str:
    """The answer in a client's words."""
    garment, chosen = answer.garment.name, answer.by(route)
    if not chosen.colours:
        return f"Nothing is printed on {garment}."
    if not chosen.all_land:
        return f"On {garment}, {ROUTE_WORDS[route]}: not every color comes home."
    if route == "straight":
        return f"This design prints straight on {garment}. No base is needed."
    base = "discharge" if route == "discharge-base" else "white"
    needs = "needs" if answer.best.route == route else "lands over"
    return f"On {garment}, this design {needs} a {base} base."


MOST_TOLD = 6  # colors told one by one in a sentence


def detail(answer: ArtworkResult, route: Route) -> str:
    """How many colors land, how each differs from the artwork, and how sure that is."""
    chosen = answer.by(route)
    count = len(chosen.colours)
    if not count:
        return "Every color of the artwork is left bare."
    near = f"close enough to the artwork (within ΔE00 {answer.tolerance:g})"
    if chosen.all_land:
        said = f"Predicted: {_all_of(count)} {near}."
    else:
        off = [c.prediction.build.colour.ink.name for c in chosen.colours if not c.lands]
        said = f"Predicted: {chosen.landed} of {count} colors come {near}; not {_listed(off)}."
    if count <= MOST_TOLD:
        each = [f"{c.prediction.build.colour.ink.name} {c.words}" for c in chosen.colours]
        said += f" {', '.join(each)}."
    intervals = [c.prediction.interval for c in chosen.colours]
    widest = max((i.de_high for i in intervals if i is not None and i.de_high), default=0.0)
    if widest > answer.tolerance:
        said += (
            f" On this shop's data a color may still come out "
            f"{_off_words(widest)} (up to ΔE00 {widest:.0f}): "
            f"{'print a strike-off first' if widest > WIDE else 'check the first print'}."
        )
    return said


def _off_words(de: float) -> str:
    """How far off a color is, as most people would say it [assumption]."""
    return "a different color" if de > WIDE else "clearly off" if de > CLEAR else "slightly off"


def _all_of(count: int) -> str:
    return "the one color comes" if count == 1 else f"all {count} colors come"


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + f" and {names[-1]}"


def layer_words(layer: Layer, *, last: bool) -> str:
    """'Chalk White Base: 110 threads/in (43/cm), 1 pass, flash'."""
    screen = layer.screen
    passes = f"{layer.passes} pass{'es' if layer.passes > 1 else ''}"
    flash = "" if last else ", flash" if layer.flash else ", wet on wet"
    return (
        f"{layer.ink.name}: {screen.threads_per_inch:.0f} threads/in "
        f"({screen.threads_per_cm:.0f}/cm), {passes}{flash}"
    )


def build_lines(chosen: RouteAnswer) -> list[str]:
    """Screens in print order: the base once, then every color."""
    if not chosen.colours:
        return []
    base = chosen.colours[0].prediction.build.base
    lines = [layer_words(base, last=False)] if base is not None else []
    return lines + [layer_words(c.prediction.build.colour, last=True) for c in chosen.colours]


def proof_pdf(proof: Proof) -> bytes:
    """The proof sheet as PDF/A-2B."""
    way = ROUTE_WORDS[proof.route]
    drawn = artwork_on(proof.ready.large, proof.answer.garment, proof.viewing)
    printed = print_on(proof.ready.large, proof.chosen.look)
    return proof_sheet(
        proof.front,
        said=(proof_headline(proof.answer, proof.route), detail(proof.answer, proof.route)),
        pictures=[(drawn, "The artwork as drawn"), (printed, f"The print, {way}")],
        colors=lambda sheet: _colors(sheet, proof),
        garment=proof.answer.garment,
        screens=build_lines(proof.chosen),
        sure=[proof.honest],
        viewing=proof.viewing,
    )


def _colors(sheet: Sheet, proof: Proof) -> None:
    color_heading(
        sheet,
        "Color by color",
        key="Left: asked for, and predicted. Right: what 9 prints in 10 may look like, nearest "
        "to furthest.",
    )
    for color in proof.chosen.colours:
        _color(sheet, color)


def _color(sheet: Sheet, color: ColourAnswer) -> None:
    high, wide = 11.0, 19.0
    sheet.need(high + 2)
    top, x = sheet.y, sheet.left
    prediction = color.prediction
    asked, _ = target_from_hex(color.asked).hex(prediction.viewing)
    sheet.patch(asked, x=x, y=top, width=wide, height=high, words="asked")
    sheet.patch(prediction.hex, x=x + wide, y=top, width=wide, height=high, words="print")
    interval = prediction.interval
    if interval is not None:
        for at, code in enumerate(interval.hexes):
            sheet.patch(
                code, x=x + 2 * wide + 5 + at * wide * 0.7, y=top, width=wide * 0.7, height=high
            )
    words = x + 2 * wide + 5 + 2.1 * wide + 5
    mark = "● lands" if color.lands else "✕ misses"
    sheet.y = top + 0.5
    width = sheet.width - (words - x)
    sheet.text(
        f"{prediction.build.colour.ink.name}: {mark}, ΔE00 {prediction.delta_e_2000:.1f}",
        bold=True,
        x=words,
        width=width,
    )
    sure = ""
    if interval is not None and interval.within is not None:
        sure = (
            f"; 9 in 10 within ΔE00 {interval.ends_words(prediction.delta_e_2000)}, "
            f"{interval.within:.0%} land"
        )
    gamut = "" if prediction.in_srgb_gamut else "; more vivid than a screen shows"
    sheet.text(f"{color.words}{sure}{gamut}", size=8, color=SOFT, x=words, width=width)
    sheet.y = max(sheet.y, top + high) + 2


def proof_picture(proof: Proof, *, width_px: int = 2000) -> Uint8Array:
    """The proof as one picture uint8 (h, w, 3): artwork, proposed print, every color."""
    swatches = tuple(
        Swatch(
            print=_rgb(c.prediction.hex),
            asked=_rgb(target_from_hex(c.asked).hex(proof.viewing)[0]),
            text=f"{c.prediction.build.colour.ink.name}: {'lands' if c.lands else 'misses'}, "
            f"ΔE00 {c.prediction.delta_e_2000:.1f}, {c.words}",
        )
        for c in proof.chosen.colours
    )
    chosen = proof.chosen
    panels = [
        SheetPanel(
            picture=artwork_on(proof.ready.large, proof.answer.garment, proof.viewing),
            heading="The artwork as drawn",
            lines=tuple(build_lines(chosen)),
        ),
        SheetPanel(
            picture=print_on(proof.ready.large, chosen.look),
            heading=f"The print, {ROUTE_WORDS[proof.route]}",
            verdict=f"{chosen.landed} of {len(chosen.colours)} colors land",
            met=chosen.all_land,
            swatches=swatches,
        ),
    ]
    return compose_sheet(
        panels,
        title=proof.title,
        subtitle=f"{proof_headline(proof.answer, proof.route)} {proof.shop.name}, made "
        f"{day_words(proof.made)}, valid until {day_words(proof.front.valid_until)}.",
        footnote=f"{detail(proof.answer, proof.route)} {proof.honest} Compared under "
        f"{proof.viewing}. {CAUTIONS[-1]} Patches: left asked for, right predicted.",
        width_px=width_px,
        columns=2,
    )


def _rgb(code: str) -> tuple[int, int, int]:
    red, green, blue = rgb8_from_hex(code).tolist()
    return red, green, blue


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalProof:
    """Everything the sheet says, of the way that is proposed; `made`: the day it was made."""

    ready: PreparedArtwork
    shown: TonalResult
    shop: Shop
    viewing: Viewing
    made: date
    client: str = ""


def tonal_proof_pdf(proof: TonalProof) -> bytes:
    """The proof sheet as PDF/A-2B."""
    ready, shown, best = proof.ready, proof.shown, proof.shown.best
    way = ROUTE_WORDS[best.route]
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
        said=tonal_verdict(shown, calibrated=calibrated),
        pictures=[(drawn, "The artwork as drawn"), (best.picture, f"The print, {way}")],
        colors=lambda sheet: _tonal_colors(sheet, proof),
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


def _tonal_colors(sheet: Sheet, proof: TonalProof) -> None:
    color_heading(
        sheet,
        "Typical colors of the picture",
        key="Left: the mean of the areas nearest to a color in the artwork. Right: the mean of the "
        "same areas in the print.",
    )
    for color in area_colours(proof.ready, proof.shown, proof.shown.best, proof.viewing):
        _tonal_color(sheet, color)


def _tonal_color(sheet: Sheet, color: AreaColour) -> None:
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
