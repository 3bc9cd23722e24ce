"""Proofs for the client to sign, of flat and of tonal artwork: PDF and picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from inksim.colour import Viewing, rgb8_from_hex
from inksim.common import ROUTE_SHORT, ROUTE_WORDS, InputError, Uint8Array, counted_routes, sentence
from inksim.decision import Answer
from inksim.job import Alternative, GarmentAnswer, Plan, told
from inksim.picture import SheetPanel, Swatch, compose_sheet
from inksim.preview import (
    AS_DRAWN,
    ArtworkResult,
    RouteAnswer,
    TonalResult,
    against_drawn,
    area_colours,
    artwork_on,
    fine_art,
    print_on,
    tonal_verdict,
)
from inksim.printing import honest_words
from inksim.reports.cautions import CAUTIONS
from inksim.reports.job_report import headline
from inksim.reports.press_words import screen_lines
from inksim.reports.proof_parts import BaseProof, ColourRow, ProofColours, ProofPart, day_words
from inksim.stock import Garment


@dataclass(frozen=True, kw_only=True, eq=False)
class Proof(BaseProof):
    """A proof of flat artwork, of the print that is decided."""

    answer: ArtworkResult

    @property
    def chosen(self) -> RouteAnswer:
        """The decided print."""
        return self.answer.decided

    @property
    def garment(self) -> Garment:
        """What it is printed on."""
        return self.answer.garment

    @property
    def answers(self) -> Sequence[Answer]:
        """What it promises of each color."""
        return [plan.answer for plan in self.way.plans]

    @property
    def honest(self) -> str:
        """Provenance of the data, and what it is good for."""
        return honest_words(self.chosen.data, calibrated=self.shop.press.calibrated)

    @cached_property
    def fine(self) -> tuple[str, ...]:
        """What of the artwork is too fine for mesh and cloth."""
        found = self.chosen.found
        return fine_art(found, self.ready.flats, dpi=self.ready.dpi, shop=self.shop).words

    @property
    def way(self) -> Alternative:
        """How it is printed."""
        found = self.chosen.found
        if found.best is None or not found.best.printed:
            raise InputError(no_proof(found))
        return found.best

    @property
    def plans(self) -> list[Plan]:
        """The plans of its colors, but for those left out."""
        return [plan for plan in self.answer.plans if plan is not None]

    @property
    def part(self) -> ProofPart:
        """What a sheet shows of it."""
        found, way = self.chosen.found, self.way
        routes = counted_routes([plan.build.lies for plan in way.plans])
        data = {plan.prediction.data for plan in self.plans}
        alike = f" All from {next(iter(data))} data." if len(data) == 1 else ""
        return ProofPart(
            garment=self.garment,
            said=(headline(found), " ".join(told(found, way))),
            way=routes,
            caption=f"{self.garment.name}: {way.verdict.mark}, {routes}",
            printed=print_on(self.ready.large, self.chosen.look),
            colours=ProofColours(
                heading="Color by color",
                key="Left: asked for, and predicted. Middle: what 9 prints in 10 may look like, "
                f"nearest to furthest.{alike}",
                rows=[_colour_row(plan, self.viewing, say_data=not alike) for plan in self.plans],
            ),
            screens=screen_lines(found, way),
            sure=[*self.fine, self.honest],
        )


def no_proof(found: GarmentAnswer) -> str:
    """Why there is nothing to sign on a garment."""
    return f"there is no proof to sign. {headline(found)}"


def no_picture_proof(garment: str, barrier: str) -> str:
    """Why there is nothing to sign of a tonal picture, without a full stop at the end."""
    return f"there is no proof to sign: on {garment} {barrier}"


def _mark(plan: Plan) -> str:
    mark = plan.verdict.mark if plan.build.ink else ROUTE_SHORT["bare"]
    return f"{plan.called}: {mark}{f', as {plan.merged}' if plan.merged else ''}"


def _colour_row(plan: Plan, viewing: Viewing, *, say_data: bool) -> ColourRow:
    prediction, said = plan.prediction, plan.verdict
    data = f"; {prediction.data} data" if say_data else ""
    asked, _ = plan.colour.target.hex(viewing)
    gamut = "; more vivid than a screen shows" if not prediction.in_srgb_gamut else ""
    against = against_drawn(plan)
    comes = "Should" if against == AS_DRAWN else "May"
    return ColourRow(
        asked=asked,
        printed=prediction.hex,
        band=plan.interval.hexes,
        headline=_mark(plan),
        words=f"{comes} come out {against}; expect about {said.expected}, {said.percent} chance "
        f"within {plan.colour.tolerance:g}{data}{gamut}.",
    )


def proof_picture(proof: Proof, *, width_px: int = 2000) -> Uint8Array:
    """The proof as one picture uint8 (h, w, 3): artwork, decided print, every color."""
    found, way = proof.chosen.found, proof.way
    swatches = tuple(
        Swatch(
            print=_rgb(plan.prediction.hex),
            asked=_rgb(plan.colour.target.hex(proof.viewing)[0]),
            text=f"{_mark(plan)}, {plan.verdict.expected}, {against_drawn(plan)}",
        )
        for plan in proof.plans
    )
    panels = [
        SheetPanel(
            picture=artwork_on(proof.ready.large, proof.answer.garment, proof.viewing),
            heading="The artwork as drawn",
            lines=tuple(screen_lines(found, way)),
        ),
        SheetPanel(
            picture=print_on(proof.ready.large, proof.chosen.look),
            heading="The print",
            verdict=sentence(proof.chosen.said()).removesuffix("."),
            met=way.verdict.promised,
            swatches=swatches,
        ),
    ]
    return compose_sheet(
        panels,
        title=proof.title,
        subtitle=f"{headline(found)} {proof.shop.name}, made "
        f"{day_words(proof.made)}, valid until {day_words(proof.valid_until)}. "
        f"{proof.reference}".rstrip(),
        footnote=f"{' '.join([*told(found, way), *proof.fine])} {proof.honest} Compared under "
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

    @property
    def part(self) -> ProofPart:
        """What a sheet shows of it."""
        best = self.shown.best
        reach, calibrated = best.reach, self.shop.press.calibrated
        areas = area_colours(self.ready, self.shown, best, self.viewing)
        return ProofPart(
            garment=self.garment,
            said=tonal_verdict(self.shown, calibrated=calibrated),
            way=f"halftones {ROUTE_WORDS[best.route]}",
            caption=f"{self.garment.name}: {ROUTE_WORDS[best.route]}",
            printed=best.picture,
            colours=ProofColours(
                heading="Typical colors of the picture",
                key="Left: the mean of the areas nearest to a color in the artwork. Right: the "
                "mean of the same areas in the print.",
                rows=[
                    ColourRow(
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
                f"{reach.p95:.1f}. These say how near the predicted print comes to the artwork, "
                "not how near the real print comes to the predicted one.",
                honest_words(reach.data, calibrated=calibrated),
            ],
        )
