"""Decide about a whole design: which colors get a base, at what cost, with what chance."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Literal, TypedDict

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.common import counted, sentence, slug
from inksim.job import (
    BASE_CHOKE_MM,
    GarmentAnswer,
    JobAnswer,
    Preference,
    job_of_artwork,
    reasons_for,
    told,
)
from inksim.preview import PreparedArtwork, result_of_garment
from inksim.printing import honest_words
from inksim.reports import (
    Proof,
    Ticket,
    bill_words,
    make_ticket,
    outcome,
    proof_pdf,
    readings_table,
    screen_lines,
    takes_lines,
    ticket_pdf,
    ticket_text,
    with_artwork,
)
from inksim.shop import Shop
from inksim.ui import artwork_choice, cache, cached_results, pickers
from inksim.ui.download import offer
from inksim.ui.pages.base_ways import show_ways
from inksim.ui.pages.client_plates import show_plates
from inksim.ui.proofs import issued_here
from inksim.ui.style import note, pads, plain, points, table, verdict


class WidgetBinding(TypedDict):
    """How a choice is kept: in the address, and from page to page."""

    bind: Literal["query-params"]
    persist_state: Literal["session"]


KEPT = WidgetBinding(bind="query-params", persist_state="session")
PREFERENCES: dict[str, Preference] = {
    "Least work": "work",
    "Least cost": "cost",
    "Softest hand": "softness",
    "Best chance": "chance",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Shown:
    """What the page shows, all of it of one way: of the whole answer, on one garment.

    found: with the way shown as the chosen one. number: of it, from 1. decided: its own way.
    """

    shop: Shop
    art: PreparedArtwork
    answer: JobAnswer
    decided: GarmentAnswer
    number: int

    @property
    def found(self) -> GarmentAnswer:
        """The garment's answer, the way shown as the chosen one."""
        return replace(self.decided, chosen=self.number - 1)


def whole_design(shop: Shop, *, said: DeltaGenerator) -> None:
    """Ask about the run, and answer for all colors together; said: where the verdict stands."""
    swatches = st.container()
    with st.container(horizontal=True, vertical_alignment="bottom"):
        upload = artwork_choice.choose_artwork()
        tolerance = pickers.tolerance(shop, width=220)
        quantity = int(
            st.number_input("Shirts", 1, 100_000, 72, key="job-quantity", width=120, **KEPT)
        )
        own = shop.stations
        stations = int(
            st.number_input("Stations", 1, 24, own.stations, key="job-stations", width=120, **KEPT)
        )
        flashes = int(
            st.number_input("Flash units", 0, 8, own.flashes, key="job-flashes", width=120, **KEPT)
        )
        choke_mm = float(
            st.number_input(
                "Choke of the base, mm",
                0.0,
                2.0,
                BASE_CHOKE_MM,
                0.05,
                key="job-choke",
                width=150,
                **KEPT,
            )
        )
        wish = st.segmented_control(
            "Of ways that land as surely",
            list(PREFERENCES),
            default="Least work",
            required=True,
            key="job-prefer",
            **KEPT,
            wrap=True,
        )
        viewing = pickers.light()
        ways = st.container()
    with swatches:
        garment = pickers.garment(shop, viewing=viewing)
        more = _other_garments(shop, garment, quantity=quantity)
    art = cache.ready(upload)
    if art.flats.tonal:
        with said:
            st.info(
                plain(
                    f"{art.name} is tonal: its inks overlap in halftones and share one base, so it "
                    "is decided as a picture, on the page 'Show a client'."
                )
            )
        return
    if artwork_choice.prints_nothing(art):
        with said:
            verdict(f"Nothing is printed on {garment}.", "Every color is left bare by hand.")
        artwork_choice.choose_inks(art, [None] * len(art.flats.colours), shop=shop)
        return
    job = job_of_artwork(
        art.name,
        art.flats,
        width_px=art.width_px,
        shop=shop,
        garments=[shop.garment(name) for name in (garment, *more)],
        tolerance=tolerance,
        width_mm=art.width_mm,
        inks=artwork_choice.inks_by_hand(art),
        choke_mm=choke_mm,
        press=shop.stations.model_copy(update={"stations": stations, "flashes": flashes}),
        prefer=PREFERENCES[str(wish)],
        keep_apart=artwork_choice.kept_apart(art),
    )
    job = replace(job, quantities=(quantity, *more.values()))
    answer = cached_results.decided(shop, job, art=art, viewing=viewing)
    with ways:
        decided = _garment_shown(answer)
        key = cached_results.job_key(shop, job, sha256=art.sha256, viewing=viewing)
        number = _way_shown(decided, repr(key))
    shown = Shown(shop=shop, art=art, answer=answer, decided=decided, number=number)
    with said:
        _say(shown)
    plans = {plan.colour.name: plan for plan in decided.best.plans} if decided.best else {}
    flats = [plans.get(flat.hex) for flat in art.flats.colours]
    artwork_choice.choose_apart(art, flats)
    if decided.best is None:
        artwork_choice.choose_inks(art, flats, shop=shop)
        return
    _colors(shown)
    show_ways(answer, decided)
    _takes(shown)
    _papers(shown)
    with st.expander("Plates, pixel for pixel"):
        show_plates(art, shown.found, shop=shop, choke_mm=choke_mm)
    artwork_choice.choose_inks(art, flats, shop=shop)


def _other_garments(shop: Shop, garment: str, *, quantity: int) -> dict[str, int]:
    """Further garments of the job, each with its number of shirts."""
    names = [name for name in shop.garments if name != garment]
    with st.container(horizontal=True, vertical_alignment="bottom"):
        chosen = st.multiselect("Also print on", names, key="job-also", width=420)
        return {
            name: int(
                st.number_input(
                    plain(f"Shirts, {name}"), 1, 100_000, quantity, key=f"job-quantity-{name}",
                    width=180,
                )
            )
            for name in chosen
        }  # fmt: skip


def _garment_shown(answer: JobAnswer) -> GarmentAnswer:
    """The answer of one garment of the job."""
    if len(answer.garments) == 1:
        return answer.garments[0]
    names = [found.garment.name for found in answer.garments]
    name = st.selectbox("Show", names, key=f"shown {names}", width=220)
    return answer.garments[names.index(str(name))]


def _way_shown(found: GarmentAnswer, key: str) -> int:
    """Number of the way that the page and the ticket show: the decided one until one is chosen.

    A choice holds for this very decision: another job, garment or press begins with its own. key:
    what the decision is known by.
    """
    if found.best is None:
        return 0
    stamp = hashlib.sha256(f"{found.garment.name} {key}".encode()).hexdigest()[:16]
    ways = list(range(1, len(found.alternatives) + 1))
    return int(
        st.selectbox(
            "Way shown, and on ticket and proof",
            ways,
            index=found.chosen,
            format_func=lambda n: f"{n}, proposed" if n == found.chosen + 1 else str(n),
            key=f"way {stamp}",
            width=220,
        )
    )


def _say(shown: Shown) -> None:
    """The outcome on each garment, of the one shown with its cost."""
    best, job = shown.found.best, shown.found.job
    for other in shown.answer.garments:
        if other is not shown.decided:
            note(outcome(other, other.chosen + 1))
    headline = outcome(shown.decided, shown.number)
    if best is None:
        verdict(headline, "There is no proof and no ticket of it.")
        return
    cost = f"{best.bill.per_print:.2f} {best.bill.currency} a print, " if best.bill.items else ""
    words = (
        f"{cost}{counted(best.way.screens, 'screen')}, {best.stations} of "
        f"{job.press.stations} stations, dry film {best.film_g_m2:.0f} g/m². "
        f"{honest_words(best.data, calibrated=shown.shop.press.calibrated)}"
    )
    verdict(headline, " ".join([*told(shown.decided, best), words]))


def _colors(shown: Shown) -> None:
    """Each color of the way shown, with its reasons."""
    st.header("Color by color")
    found, viewing = shown.found, shown.answer.viewing
    assert found.best is not None
    rows = []
    for plan, reasons in zip(
        found.best.plans, reasons_for(shown.shop, shown.answer, found), strict=True
    ):
        asked, printed = plan.colour.target.hex(viewing)[0], plan.prediction.hex
        why = [sentence(each) for each in (reasons.outcome, *reasons.reasons)]
        rows.append(
            [
                pads([(asked, ""), (printed, "")], label=f"asked {asked}, print {printed}"),
                plan.colour.name,
                plan.answer.words,
                " ".join([*why, reasons.help]).strip(),
            ]
        )
    table(("Artwork, print", "Color", "Build", "Why"), rows, label="Color by color")


def _takes(shown: Shown) -> None:
    """What the way shown takes, and its screens."""
    st.header("What it takes")
    best = shown.found.best
    assert best is not None
    points(takes_lines(shown.found, best, shop=shown.shop))
    if best.bill.missing:
        note(f"Costs leave out: {', '.join(best.bill.missing)}.")
    if len(shown.answer.garments) > 1 and (whole := shown.answer.bill):
        note(f"The whole job, screens shared by garments counted once: {bill_words(whole)}")
    st.markdown(plain("Screens in print order, garment side first:"))
    points(screen_lines(shown.found, best))


def _papers(shown: Shown) -> None:
    """The press ticket and the proof of the way shown, made when they are asked for."""
    answer, garment = shown.answer, shown.found.garment
    best = shown.found.best
    if best is None or not best.screens:
        return
    name = f"ticket-{slug(answer.job.name)}-{slug(garment.name)}"

    def made() -> Ticket:
        ticket = make_ticket(
            answer, shop=shown.shop, garment=garment, made=date.today(), way=shown.number
        )
        return with_artwork(ticket, shown.art, shop=shown.shop)

    result = result_of_garment(answer, shown.found, shown.art.flats, shop=shown.shop)
    proof = Proof(
        ready=shown.art, answer=result, shop=shown.shop, viewing=answer.viewing, made=date.today()
    )
    with st.container(horizontal=True, vertical_alignment="bottom"):
        offer(
            "Press ticket (PDF)",
            lambda: ticket_pdf(made()),
            file=f"{name}.pdf",
            first=True,
        )
        offer("Press ticket (text)", lambda: ticket_text(made()), file=f"{name}.txt")
        offer(
            "Table for its readings (CSV)",
            lambda: readings_table(made()),
            file=f"{name}-readings.csv",
        )
        offer(
            "Proof sheet to sign (PDF)",
            lambda: proof_pdf(issued_here(proof)),
            file=f"proof-{slug(Path(answer.job.name).stem)}-{slug(garment.name)}.pdf",
        )
