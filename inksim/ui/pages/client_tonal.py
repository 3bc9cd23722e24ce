"""Show a client a tonal picture: halftones of the shop's inks, each route and what it reaches."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import streamlit as st

from inksim.artwork import read_artwork
from inksim.colour import Viewing
from inksim.common import slug
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
    proof_pdf,
    ticket_pdf,
    ticket_text,
)
from inksim.separation import MOST_INKS, PlateRun
from inksim.shop import Shop
from inksim.ui import cached_results
from inksim.ui.cache import Upload
from inksim.ui.cached_results import TonalPngs
from inksim.ui.download import offer
from inksim.ui.pages.client_tonal_views import tonal_view
from inksim.ui.proofs import issued_here
from inksim.ui.style import note


def tonal(
    art: PreparedArtwork,
    upload: Upload,
    *,
    shop: Shop,
    garment: str,
    viewing: Viewing,
    looked_at: str,
) -> tuple[str, str]:
    """Show it; returns the headline and what there is to say with it."""
    names = [ink.name for ink in shop.colour_inks]
    by_hand = _inks_by_hand(art)
    found, pngs = cached_results.tonal(
        art, shop=shop, garment=garment, viewing=viewing, inks=tuple(by_hand)
    )
    tonal_view(looked_at, art, found, pngs, shop=shop, viewing=viewing)
    best = found.best
    run = cached_results.run_of_tonal(art, found, shop=shop, viewing=viewing, quantity=_quantity())
    if not run.barrier:
        _take_away(art, upload, found, pngs, run=run, shop=shop, viewing=viewing)
    st.multiselect(
        "Inks, in print order (empty: chosen for this picture)",
        names,
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
    art: PreparedArtwork,
    upload: Upload,
    found: TonalResult,
    pngs: TonalPngs,
    *,
    run: PlateRun,
    shop: Shop,
    viewing: Viewing,
) -> None:
    """What it takes and costs; proof, ticket and plates, made when they are asked for."""
    proof = TonalProof(ready=art, shown=found, shop=shop, viewing=viewing, made=date.today())
    name = f"{slug(Path(art.name).stem)}-{slug(found.garment.name)}"
    if run.bill.items:
        note(f"It takes {run.stations} of {run.press.stations} stations. {bill_words(run.bill)}")

    def ticket() -> BaseTicket:
        return make_picture_ticket(
            run, name=Path(art.name).stem, ready=art, shown=found, shop=shop, viewing=viewing,
            made=date.today(),
        )  # fmt: skip

    with st.container(horizontal=True):
        offer(
            "Proof sheet to sign (PDF)",
            lambda: proof_pdf(issued_here(proof)),
            file=f"proof-{name}.pdf",
            first=True,
        )
        offer("Press ticket (PDF)", lambda: ticket_pdf(ticket()), file=f"ticket-{name}.pdf")
        offer("Press ticket (text)", lambda: ticket_text(ticket()), file=f"ticket-{name}.txt")
        offer(
            "Plates (ZIP of PNG)",
            lambda: tonal_plates_zip(
                read_artwork(upload.data, name=upload.name),
                found,
                shop=shop,
                viewing=viewing,
                choke_mm=run.plates.choke_mm,
            ),
            file=f"plates-{name}.zip",
        )
        offer("The print as a picture (PNG)", pngs.prints[found.best.route], file=f"{name}.png")


def _quantity() -> int:
    """How many shirts, as on the page 'Decide about the base'."""
    return int(
        st.number_input(
            "Shirts", 1, 100_000, 72, key="job-quantity", width=120, bind="query-params",
            persist_state="session",
        )
    )  # fmt: skip


def _inks_by_hand(art: PreparedArtwork) -> list[str]:
    chosen: Sequence[str] = st.session_state.get(f"tonal chosen {art.sha256}", ())
    return list(chosen)


def _remember(sha256: str) -> None:
    st.session_state[f"tonal chosen {sha256}"] = list(st.session_state[f"tonal inks {sha256}"])
