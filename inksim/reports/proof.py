"""Proofs for the client to sign, of flat and of tonal artwork: PDF and picture."""

from __future__ import annotations

from dataclasses import dataclass

from inksim.colour import Viewing, rgb8_from_hex
from inksim.common import ROUTE_WORDS, Uint8Array, sentence
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
from inksim.printing import Route, honest_words
from inksim.reports.cautions import CAUTIONS
from inksim.reports.press_words import layer_words
from inksim.reports.proof_parts import BaseProof, ColorRow, ProofColors, day_words, proof_sheet
from inksim.stock import Garment, least_sure, target_from_hex


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
    """The verdict on the whole design, in the client's words."""
    garment, chosen = answer.garment.name, answer.by(route)
    if chosen.verdict is None:
        return f"Nothing is printed on {garment}."
    count = len(chosen.colours)
    all_of = "the color comes" if count == 1 else f"all {count} colors come"
    return (
        f"{garment}, {ROUTE_WORDS[route]}: {chosen.verdict.word} — "
        f"{chosen.verdict.percent} chance that {all_of} within ΔE00 {answer.tolerance:g}."
    )


MOST_TOLD = 6  # colors told one by one in a sentence


def detail(answer: ArtworkResult, route: Route) -> str:
    """What to expect of each color, the weakest first, and what would help."""
    chosen = answer.by(route)
    if chosen.way is None:
        return "Every color of the artwork is left bare."
    colors = sorted(chosen.colours, key=lambda c: c.verdict.chance)
    said = [f"{_ink(c)} {c.words}, {c.verdict.short}" for c in colors[:MOST_TOLD]]
    more = f", and {len(colors) - MOST_TOLD} surer ones" if len(colors) > MOST_TOLD else ""
    words = f"To expect: {'; '.join(said)}{more}."
    helps = chosen.way.verdict_with_help.would_help
    return f"{words} {helps}." if helps else words


def _ink(color: ColourAnswer) -> str:
    return color.prediction.build.colour.ink.name


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
    gamut = "; more vivid than a screen shows" if not prediction.in_srgb_gamut else ""
    return ColorRow(
        asked=asked,
        printed=prediction.hex,
        band=() if interval is None else interval.hexes,
        headline=f"{_ink(color)}: {color.verdict.mark}",
        words=f"{color.words}; expect about {color.verdict.expected}, {color.verdict.percent} "
        f"chance; {prediction.data} data{gamut}",
    )


def proof_picture(proof: Proof, *, width_px: int = 2000) -> Uint8Array:
    """The proof as one picture uint8 (h, w, 3): artwork, proposed print, every color."""
    swatches = tuple(
        Swatch(
            print=_rgb(c.prediction.hex),
            asked=_rgb(target_from_hex(c.asked).hex(proof.viewing)[0]),
            text=f"{_ink(c)}: {c.verdict.short}, {c.words}",
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
            verdict=sentence(chosen.said()).removesuffix("."),
            met=chosen.verdict is not None and chosen.verdict.promised,
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
