"""Proofs for the client to sign, of flat and of tonal artwork: PDF and picture."""

from __future__ import annotations

from dataclasses import dataclass

from inksim.colour import Viewing, rgb8_from_hex
from inksim.common import ROUTE_WORDS, Uint8Array, counted, landing_words
from inksim.picture import SheetPanel, Swatch, compose_sheet
from inksim.preview import (
    ArtworkResult,
    ColourAnswer,
    RouteAnswer,
    TonalResult,
    area_colours,
    artwork_on,
    print_on,
    tonal_verdict,
)
from inksim.printing import Layer, Route, honest_words
from inksim.reports.cautions import CAUTIONS
from inksim.reports.proof_parts import BaseProof, ColorRow, ProofColors, day_words, proof_sheet
from inksim.stock import Garment, least_sure, target_from_hex

CLEAR, WIDE = 4.0, 8.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Proof(BaseProof):
    """A proof of flat artwork; `route` is the one proposed."""

    answer: ArtworkResult
    route: Route

    @property
    def chosen(self) -> RouteAnswer:
        """The proposed route."""
        return self.answer.by(self.route)

    @property
    def garment(self) -> Garment:
        """What it is printed on."""
        return self.answer.garment

    @property
    def honest(self) -> str:
        """Provenance of the data, and what it is good for."""
        data = least_sure(
            self.answer.garment.data, *(c.prediction.data for c in self.chosen.colours)
        )
        return honest_words(data, calibrated=self.shop.press.calibrated)


def proof_headline(answer: ArtworkResult, route: Route) -> str:
    """The verdict in the client's words."""
    garment, chosen = answer.garment.name, answer.by(route)
    if not chosen.colours:
        return f"Nothing is printed on {garment}."
    if not chosen.all_land:
        return f"On {garment}, {ROUTE_WORDS[route]}: not every color lands."
    if route == "straight":
        return f"This design prints straight on {garment}. No base is needed."
    base = "discharge" if route == "discharge-base" else "white"
    needs = "needs" if answer.best.route == route else "lands over"
    return f"On {garment}, this design {needs} a {base} base."


MOST_TOLD = 6  # colors told one by one in a sentence


def detail(answer: ArtworkResult, route: Route) -> str:
    """Colors that land, how each differs from the artwork, and the interval."""
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
    """A color difference in everyday words [assumption]."""
    return "a different color" if de > WIDE else "clearly off" if de > CLEAR else "slightly off"


def _all_of(count: int) -> str:
    return "the one color comes" if count == 1 else f"all {count} colors come"


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + f" and {names[-1]}"


def layer_words(layer: Layer, *, last: bool) -> str:
    """'Chalk White Base: 110 threads/in (43/cm), 1 pass, flash'."""
    flash = "" if last else ", flash" if layer.flash else ", wet on wet"
    return f"{layer.ink.name}: {layer.screen.words}, {counted(layer.passes, 'pass')}{flash}"


def build_lines(chosen: RouteAnswer) -> list[str]:
    """Screens in print order: the base once, then every color."""
    if not chosen.colours:
        return []
    base = chosen.colours[0].prediction.build.base
    lines = [layer_words(base, last=False)] if base is not None else []
    return lines + [layer_words(c.prediction.build.colour, last=True) for c in chosen.colours]


def proof_pdf(proof: Proof) -> bytes:
    """The proof sheet as PDF/A-2B."""
    chosen = proof.chosen
    return proof_sheet(
        proof,
        way=ROUTE_WORDS[proof.route],
        said=(proof_headline(proof.answer, proof.route), detail(proof.answer, proof.route)),
        printed=print_on(proof.ready.large, chosen.look),
        colors=ProofColors(
            heading="Color by color",
            key="Left: asked for, and predicted. Right: what 9 prints in 10 may look like, nearest "
            "to furthest.",
            rows=[_color_row(each, proof.viewing) for each in chosen.colours],
        ),
        screens=build_lines(chosen),
        sure=[proof.honest],
    )


def _color_row(color: ColourAnswer, viewing: Viewing) -> ColorRow:
    prediction, interval = color.prediction, color.prediction.interval
    asked, _ = target_from_hex(color.asked).hex(viewing)
    sure = ""
    if interval is not None and interval.within is not None:
        sure = (
            f"; 9 in 10 within ΔE00 {interval.ends_words(prediction.delta_e_2000)}, "
            f"{interval.within:.0%} land"
        )
    gamut = "" if prediction.in_srgb_gamut else "; more vivid than a screen shows"
    return ColorRow(
        asked=asked,
        printed=prediction.hex,
        band=() if interval is None else interval.hexes,
        headline=f"{prediction.build.colour.ink.name}: {color.mark}",
        words=f"{color.words}{sure}{gamut}",
    )


def proof_picture(proof: Proof, *, width_px: int = 2000) -> Uint8Array:
    """The proof as one picture uint8 (h, w, 3): artwork, proposed print, every color."""
    swatches = tuple(
        Swatch(
            print=_rgb(c.prediction.hex),
            asked=_rgb(target_from_hex(c.asked).hex(proof.viewing)[0]),
            text=f"{c.prediction.build.colour.ink.name}: "
            f"{landing_words(c.lands, c.prediction.delta_e_2000)}, {c.words}",
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
        f"{day_words(proof.made)}, valid until {day_words(proof.valid_until)}.",
        footnote=f"{detail(proof.answer, proof.route)} {proof.honest} Compared under "
        f"{proof.viewing}. {CAUTIONS[-1]} Patches: left asked for, right predicted.",
        width_px=width_px,
        columns=2,
    )


def _rgb(code: str) -> tuple[int, int, int]:
    red, green, blue = rgb8_from_hex(code).tolist()
    return red, green, blue


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalProof(BaseProof):
    """A proof of a tonal artwork, of the way that is proposed."""

    shown: TonalResult

    @property
    def garment(self) -> Garment:
        """What it is printed on."""
        return self.shown.garment


def tonal_proof_pdf(proof: TonalProof) -> bytes:
    """The proof sheet as PDF/A-2B."""
    shown, best = proof.shown, proof.shown.best
    reach, calibrated = best.reach, proof.shop.press.calibrated
    areas = area_colours(proof.ready, shown, best, proof.viewing)
    return proof_sheet(
        proof,
        way=ROUTE_WORDS[best.route],
        said=tonal_verdict(shown, calibrated=calibrated),
        printed=best.picture,
        colors=ProofColors(
            heading="Typical colors of the picture",
            key="Left: the mean of the areas nearest to a color in the artwork. Right: the mean of "
            "the same areas in the print.",
            rows=[
                ColorRow(
                    asked=area.asked,
                    printed=area.printed,
                    words=f"{area.share:.0%} of the print, ΔE00 {area.delta_e_2000:.1f} on the "
                    "screen",
                )
                for area in areas
            ],
        ),
        screens=[*best.screens, *reach.warnings],
        sure=[
            f"Of the picture, {1 - reach.out_of_reach:.0%} can come within ΔE00 "
            f"{reach.tolerance:g}; the mean is {reach.mean:.1f}, and 95 % lies within "
            f"{reach.p95:.1f}. These say how near the predicted print comes to the artwork, not "
            "how near the real print comes to the predicted one.",
            honest_words(reach.data, calibrated=calibrated),
        ],
        halftones=True,
    )
