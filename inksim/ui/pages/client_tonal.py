"""A tonal picture, to a client and to the separator: halftones, each route, what it reaches."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.colour import Viewing
from inksim.common import InputError, counted, sentence, slug
from inksim.preview import TonalResult, tonal_plates_zip, tonal_verdict
from inksim.reports import (
    BaseTicket,
    TonalProof,
    bill_words,
    make_picture_ticket,
    no_picture_proof,
    not_spelled,
    ticket_pdf,
    ticket_text,
)
from inksim.separation import PlateRun
from inksim.ui import cached_results, job_bar, job_fields, pickers
from inksim.ui.cached_results import TonalPngs
from inksim.ui.current_job import CurrentJob
from inksim.ui.download import offer
from inksim.ui.pages.client_tonal_views import VIEWS, tonal_begun, tonal_view
from inksim.ui.parts.route_views import choose_view
from inksim.ui.proofs import proof_fields, proof_name, sheet
from inksim.ui.style import note, verdict


def say(
    job: CurrentJob,
    bar: DeltaGenerator,
    place: DeltaGenerator,
    *,
    below: DeltaGenerator,
    garment: str,
    viewing: Viewing,
    asked: bool = False,
) -> Callable[[], None]:
    """Say how near it comes in that place of the page; gives what shows the rest.

    below: where that will be; the best route's print is there while the others are worked out.
    asked: light and count are fields of the page elsewhere, the artwork is spoken of there.
    """
    shop, art = job.shop, job.art.ready
    if job.on_artwork.inks:
        raise InputError(f"'{art.name}' is tonal: inks by hand are those of flat colors.")
    cloth = shop.garment(garment)
    drawn = job_fields.drawn_or_mended(job, place)
    if drawn is None:
        return lambda: None
    own = drawn.job.on(cloth)

    def said(found: TonalResult) -> tuple[PlateRun, str]:
        """Say it; what it takes, and what there is to say with it."""
        run = cached_results.run_of_tonal(art, found, own, shop=shop, viewing=viewing)
        job_bar.show(bar, job, found, garment=garment, viewing=viewing)
        if run.barrier:
            words = (f"The press cannot print this picture on {garment}: {run.barrier}.",
                     "There is no proof to sign and no ticket of it.")  # fmt: skip
        else:
            words = tonal_verdict(found, calibrated=shop.press.calibrated)
        with place.container():
            verdict(words[0], pickers.seen_under(shop, viewing))
        return run, words[1]

    def first(found: TonalResult, pngs: TonalPngs) -> None:
        said(found)
        with below.container():
            tonal_begun(art, found, pngs)

    found, pngs = cached_results.tonal(
        art, own, shop=shop, garment=cloth, viewing=viewing, first=first
    )
    run, more = said(found)
    return lambda: _tonal(job, found, pngs, run=run, viewing=viewing, more=more, asked=asked)


def _tonal(
    job: CurrentJob,
    found: TonalResult,
    pngs: TonalPngs,
    *,
    run: PlateRun,
    viewing: Viewing,
    more: str,
    asked: bool,
) -> None:
    """The picture and what it takes; more: what there is to say with the verdict."""
    shop, art, best = job.shop, job.art.ready, found.best
    looked_at = pickers.view_before(VIEWS, key="view-tonal")
    tonal_view(looked_at, art, found, pngs, shop=shop, viewing=viewing, lies=job.on_artwork)
    note(more)
    if not asked:
        job_bar.said_of_artwork(job)
    with st.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        choose_view(VIEWS, key="view-tonal")
        if not asked:
            pickers.light(job.shop)
    if job.kept is None and not asked:
        job_fields.quantity_field(job)
    if not run.barrier:
        _take_away(job, found, pngs, run=run, viewing=viewing)
    job_fields.choose_halftone_inks(job)
    for line in best.screens:
        note(line)
    for line in best.reach.warnings:
        note(line)


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

    several = bool(job.kept) and len(job.entry.garments) > 1
    with st.container(horizontal=True):
        if several:
            offer(
                "Proof of all garments to sign (PDF)",
                lambda: _sheet_of_all(job, viewing=viewing),
                file=f"proof-{slug(job.entry.name)}.pdf",
                first=True,
            )
        offer(
            "Proof sheet to sign (PDF)",
            lambda: sheet(job, [proof]),
            file=proof_name(job, [proof]),
            first=not several,
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


def _sheet_of_all(job: CurrentJob, *, viewing: Viewing) -> bytes:
    """One document of all the job's garments, as the command writes it."""
    shop, art, whole = job.shop, job.art.ready, job.drawn().job
    made, left_out = [], []
    for cloth in whole.garments:
        own = whole.on(cloth)
        found, _ = cached_results.tonal(
            art, own, shop=shop, garment=cloth, viewing=viewing, watched=False
        )
        run = cached_results.run_of_tonal(art, found, own, shop=shop, viewing=viewing)
        if run.barrier:
            left_out.append(sentence(no_picture_proof(cloth.name, run.barrier)))
        else:
            made.append(TonalProof(shown=found, **proof_fields(job, viewing=viewing)))
    return sheet(job, made, left_out=left_out)
