"""Show a client a tonal picture: halftones of the shop's inks, each route and what it reaches."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import streamlit as st

from inksim.colour import Viewing
from inksim.common import InputError, counted, slug
from inksim.preview import (
    PreparedArtwork,
    TonalResult,
    tonal_plates_zip,
    tonal_verdict,
)
from inksim.reports import (
    BaseTicket,
    TonalProof,
    bill_words,
    make_picture_ticket,
    not_spelled,
    ticket_pdf,
    ticket_text,
)
from inksim.separation import MOST_INKS, PlateRun
from inksim.ui import cached_results, job_fields
from inksim.ui.cached_results import TonalPngs
from inksim.ui.current_job import CurrentJob
from inksim.ui.download import offer
from inksim.ui.pages.client_tonal_views import tonal_view
from inksim.ui.proofs import proof_fields, proof_name, sheet
from inksim.ui.style import note


def tonal(job: CurrentJob, *, garment: str, viewing: Viewing, looked_at: str) -> tuple[str, str]:
    """Show it; returns the headline and what there is to say with it."""
    shop, art = job.shop, job.art.ready
    if job.on_artwork.inks:
        raise InputError(f"'{art.name}' is tonal: inks by hand are those of flat colors.")
    cloth = shop.garment(garment)
    own = job.drawn().job.on(cloth)
    by_hand = [] if job.kept else _inks_by_hand(art)
    found, pngs = cached_results.tonal(
        art, own, shop=shop, garment=cloth, viewing=viewing, inks=tuple(by_hand)
    )
    tonal_view(looked_at, art, found, pngs, shop=shop, viewing=viewing, lies=job.on_artwork)
    best = found.best
    if job.kept is None:
        job_fields.quantity_field(job)
    run = cached_results.run_of_tonal(art, found, own, shop=shop, viewing=viewing)
    if not run.barrier:
        _take_away(job, found, pngs, run=run, viewing=viewing)
    if job.kept is None:
        st.multiselect(
            "Inks, in print order (empty: chosen for this picture)",
            [ink.name for ink in shop.colour_inks],
            default=by_hand,
            max_selections=MOST_INKS,
            key=f"tonal inks {art.sha256}",
            on_change=_remember,
            args=(art.sha256,),
        )
    for line in best.screens:
        note(line)
    for line in best.reach.warnings:
        note(line)
    if run.barrier:
        return (
            f"The press cannot print this picture on {garment}: {run.barrier}.",
            "There is no proof to sign and no ticket of it.",
        )
    return tonal_verdict(found, calibrated=shop.press.calibrated)


def _take_away(
    job: CurrentJob, found: TonalResult, pngs: TonalPngs, *, run: PlateRun, viewing: Viewing
) -> None:
    """What it takes and costs; proof, ticket and plates, made when they are asked for."""
    art, shop, lies = job.art.ready, job.shop, job.on_artwork
    proof = TonalProof(shown=found, **proof_fields(job, viewing=viewing))
    name = f"{slug(job.entry.name)}-{slug(found.garment.name)}"
    if run.bill.items:
        own = counted(run.press.stations, "station")
        note(f"It takes {run.stations} of {own}. {bill_words(run.bill)}")

    def ticket() -> BaseTicket:
        return make_picture_ticket(
            run, name=job.entry.name, ready=art, shown=found, shop=shop, viewing=viewing,
            made=date.today(), place=lies.place, top_mm=lies.top_mm,
        )  # fmt: skip

    with st.container(horizontal=True):
        offer(
            "Proof sheet to sign (PDF)",
            lambda: sheet(job, [proof]),
            file=proof_name(job, [proof]),
            first=True,
        )
        offer("Press ticket (PDF)", lambda: ticket_pdf(ticket()), file=f"ticket-{name}.pdf")
        offer("Press ticket (text)", lambda: ticket_text(ticket()), file=f"ticket-{name}.txt")
        offer(
            "Plates (ZIP of PNG)",
            lambda: tonal_plates_zip(
                job.pixels(),
                found,
                shop=shop,
                viewing=viewing,
                choke_mm=run.plates.choke_mm,
            ),
            file=f"plates-{name}.zip",
        )
        offer("The print as a picture (PNG)", pngs.prints[found.best.route], file=f"{name}.png")
    inks = not_spelled(use.name for use in run.inks)
    for lost in dict.fromkeys(filter(None, (proof.not_spelled, inks))):
        note(lost)
    if job.kept and len(job.entry.garments) > 1:
        note(
            "This proof is of this garment alone; one of all the job's garments is written by "
            f"'inksim proof {job.key}'."
        )


def _inks_by_hand(art: PreparedArtwork) -> list[str]:
    chosen: Sequence[str] = st.session_state.get(f"tonal chosen {art.sha256}", ())
    return list(chosen)


def _remember(sha256: str) -> None:
    st.session_state[f"tonal chosen {sha256}"] = list(st.session_state[f"tonal inks {sha256}"])
