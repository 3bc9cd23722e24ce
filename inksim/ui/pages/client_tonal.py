"""Show a client a tonal picture: halftones of the shop's inks, each route and what it reaches."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import streamlit as st

from inksim.artwork import read_artwork
from inksim.colour import Viewing
from inksim.common import ROUTE_TITLES, ROUTE_WORDS, slug
from inksim.preview import (
    PreparedArtwork,
    TonalResult,
    png_bytes,
    tonal_plates_zip,
    tonal_verdict,
)
from inksim.printing import Route
from inksim.reports import (
    BaseTicket,
    TonalProof,
    bill_words,
    make_picture_ticket,
    ticket_pdf,
    ticket_text,
    tonal_proof_pdf,
)
from inksim.separation import MOST_INKS, PlateRun
from inksim.shop import Shop
from inksim.ui import cached_results
from inksim.ui.cache import Upload
from inksim.ui.cached_results import TonalPngs
from inksim.ui.download import offer
from inksim.ui.parts import route_views
from inksim.ui.proofs import issued_here
from inksim.ui.style import note

VIEWS = ("Side by side", "Wipe", "On the shirt", "Close up", "Out of reach")


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
    _view(looked_at, art, found, pngs, shop=shop, viewing=viewing)
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
            lambda: tonal_proof_pdf(issued_here(proof)),
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


def _view(
    looked_at: str,
    art: PreparedArtwork,
    found: TonalResult,
    pngs: TonalPngs,
    *,
    shop: Shop,
    viewing: Viewing,
) -> None:
    drawn = {each.route: each for each in found.routes}
    best, maps = found.best.route, looked_at == VIEWS[4]

    def words(what: Route | None) -> str:
        way = "as drawn" if what is None else ROUTE_WORDS[what]
        where = ": black where it is out of reach" if maps and what else ""
        return f"{art.name} on {found.garment.name}, {way}{where}"

    if looked_at == VIEWS[1]:
        route_views.wiped(
            list(drawn),
            best,
            lambda what: [pngs.artwork if route is None else pngs.prints[route] for route in what],
        )
    elif looked_at == VIEWS[2]:
        look = cached_results.bare_cloth(shop, found.garment, viewing)
        route_views.shirt_view(
            art,
            list(drawn),
            best,
            lambda route: (drawn[route].picture, look),
            garment=found.garment.name,
        )
    elif looked_at == VIEWS[3]:
        _close_up(art, found)
    else:
        reaches = {route: each.reach for route, each in drawn.items()}
        route_views.side_by_side(
            pngs.artwork,
            pngs.maps if maps else pngs.prints,
            words=words,
            verdicts={
                route: (
                    f"{1.0 - reach.out_of_reach:.0%} nominally within ΔE00 {reach.tolerance:g}",
                    "●" if reach.nominal else "✕",
                )
                for route, reach in reaches.items()
            },
            why_not=found.why_not,
        )
        if maps:
            note(
                "Black: no coverage of these inks comes within the tolerance of the artwork there."
            )


def _close_up(art: PreparedArtwork, found: TonalResult) -> None:
    """A window of each route as it was drawn, one pixel of the drawing to one of the screen."""
    route_views.windows(
        {ROUTE_TITLES[each.route]: png_bytes(each.close) for each in found.routes},
        words=lambda title: f"{art.name} on {found.garment.name}, {title.lower()}, a window of it",
    )
    pixels = found.routes[0].close.shape[1]
    note(
        f"Drawn at {found.drawn_dpi:.0f} pixels to the inch: each window is "
        f"{route_views.size_words(pixels, found.drawn_dpi, digits=1)} of the shirt. Tones are "
        "shown as the even mean of their dots; on the shirt the dots of "
        f"{found.best.reach.lines_per_inch:g} lines/inch can be seen from near."
    )


def _inks_by_hand(art: PreparedArtwork) -> list[str]:
    chosen: Sequence[str] = st.session_state.get(f"tonal chosen {art.sha256}", ())
    return list(chosen)


def _remember(sha256: str) -> None:
    st.session_state[f"tonal chosen {sha256}"] = list(st.session_state[f"tonal inks {sha256}"])
