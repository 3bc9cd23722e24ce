"""Show a client: the artwork as it is decided to print on a chosen garment."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.colour import Viewing
from inksim.common import MM_PER_INCH, ROUTE_SHORT, ROUTE_WORDS, counted
from inksim.job import GarmentAnswer, Plan, told
from inksim.preview import ArtworkResult, against_drawn, png_bytes
from inksim.printing import honest_words
from inksim.reports import Proof, headline, proof_picture
from inksim.shop import Shop
from inksim.ui import cached_results, job_bar, job_fields, pickers
from inksim.ui.current_job import CurrentJob
from inksim.ui.download import offer
from inksim.ui.page_frame import with_shop
from inksim.ui.pages import client_tonal, client_tonal_views, client_views
from inksim.ui.parts.route_views import choose_view
from inksim.ui.proofs import issued_here, proof_fields, proof_name, proofs_of, sheet
from inksim.ui.style import band, note, pads, table, verdict


@with_shop
def page(shop: Shop) -> None:
    """The page."""
    job, _ = job_bar.top(shop, "Show a client")
    if job is None:
        return
    bar = st.container()
    job_bar.said_of_artwork(job)
    tonal = job.art.placed.flats.tonal
    # Places in the order of reading; the light is asked first, and stands under the answer.
    swatches, said, options = (st.container() for _ in range(3))
    with options.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        views, key = (
            (client_tonal_views.VIEWS, "view-tonal") if tonal else (client_views.VIEWS, "view")
        )
        looked_at = choose_view(views, key=key)
        viewing = pickers.light(shop)
    with swatches:
        garment = pickers.garment(
            shop, viewing=viewing, only=job.entry.garments if job.kept else ()
        )
    job = job.on(garment)
    found: Sequence[GarmentAnswer] = ()
    if tonal:
        words = client_tonal.tonal(job, garment=garment, viewing=viewing, looked_at=looked_at)
        with said:
            verdict(*words)
    else:
        found = _flat(job, garment=garment, viewing=viewing, looked_at=looked_at, said=said)
    with st.expander("Size and place"):
        job_fields.place_fields(job)
    with bar:
        job_bar.show(job, found, garment=garment, viewing=viewing)
    _about(job)


def _flat(
    job: CurrentJob, *, garment: str, viewing: Viewing, looked_at: str, said: DeltaGenerator
) -> Sequence[GarmentAnswer]:
    """Flat artwork: what is decided, color by color; then what one route alone would be."""
    art, shop = job.art.ready, job.shop
    if job_fields.prints_nothing(job):
        with said:
            verdict(f"Nothing is printed on {garment}.", "Every color is left bare by hand.")
        job_fields.choose_inks(job, [None] * len(art.flats.colours))
        return ()
    whole = job.drawn().job
    found = cached_results.printed(shop, whole, art=art, garment=garment, viewing=viewing)
    way = found.decided.way
    with said:
        more = told(found.decided.found, way) if way else ()
        verdict(headline(found.decided.found), " ".join([*job_bar.assumption(job), *more]))
    client_views.view(looked_at, art, found, shop=shop, viewing=viewing, lies=job.on_artwork)
    if way is not None:
        if way.printed:
            _take_away(job, found, viewing=viewing)
        _colors(found, viewing, calibrated=shop.press.calibrated)
    job_fields.choose_apart(job, found.plans)
    if way is not None:
        client_views.compared(art, found, shop=shop, viewing=viewing)
        client_views.too_fine(art, found, viewing=viewing)
    job_fields.choose_inks(job, found.plans)
    return found.answer.garments


def _take_away(job: CurrentJob, found: ArtworkResult, *, viewing: Viewing) -> None:
    """The proof, made when it is asked for: on this garment, and of a kept job on all of them."""
    proof = Proof(answer=found, **proof_fields(job, viewing=viewing))
    name = proof_name(job, [proof])
    whole, left_out = proofs_of(job, found.answer, viewing=viewing) if job.kept else ([], [])
    with st.container(horizontal=True):
        if len(whole) > 1:
            offer(
                "Proof of all garments to sign (PDF)",
                lambda: sheet(job, whole, decided=found.answer, left_out=left_out),
                file=proof_name(job, whole),
                first=True,
            )
        offer(
            "Proof sheet to sign (PDF)",
            lambda: sheet(job, [proof], decided=found.answer),
            file=name,
            first=len(whole) <= 1,
        )
        offer(
            "Proof as a picture (PNG)",
            lambda: png_bytes(proof_picture(issued_here([proof], job=job.key)[0])),
            file=f"{name.removesuffix('.pdf')}.png",
        )
    if proof.not_spelled:
        note(proof.not_spelled)


def _colors(found: ArtworkResult, viewing: Viewing, *, calibrated: bool) -> None:
    """Each color as decided: asked for, predicted, and how far it may stray."""
    st.header("Color by color")
    table(
        ("Artwork, print", "May come out as", "Ink", "Printed", "Verdict", "Expect",
         "Chance to land", "Against the artwork", "Data"),
        [_color_row(plan, viewing) for plan in found.plans if plan is not None],
        label="Color by color",
    )  # fmt: skip
    note(
        f"Compared under {viewing}, ΔE00. The band shows 9 prints in 10: nearest, middle and "
        "furthest from the artwork. "
        f"{honest_words(found.decided.data, calibrated=calibrated)}"
    )
    pickers.light_note(viewing)


def _color_row(plan: Plan, viewing: Viewing) -> list[str]:
    prediction, ink = plan.prediction, plan.build.ink
    asked, _ = plan.colour.target.hex(viewing)
    where = ROUTE_SHORT[plan.build.route]
    printed = f"{where}, as {plan.merged}" if plan.merged else where
    return [
        pads(
            [(asked, ""), (prediction.hex, "")],
            label=f"asked for {asked}, predicted {prediction.hex}",
        ),
        band(plan.interval.hexes),
        ink.name if ink else "none",
        printed,
        plan.verdict.mark if ink else "the cloth itself",
        plan.verdict.expected,
        plan.verdict.percent if ink else "–",
        against_drawn(plan),
        prediction.data,
    ]


def _about(job: CurrentJob) -> None:
    """Size and what reading the file has to say."""
    art, placed = job.art.ready, job.art.placed
    kind = "tonal" if art.flats.tonal else counted(len(art.flats.colours), "flat color")
    shared = (
        "it opens this job where it is kept"
        if job.kept
        else "it holds garment, light and view, and no artwork"
    )
    note(
        f"{art.name}: {art.width_mm / MM_PER_INCH:.1f} × {art.height_mm / MM_PER_INCH:.1f} in "
        f"({art.width_mm:.0f} × {art.height_mm:.0f} mm), {kind}. To share what you see, copy this "
        f"page's address: {shared}."
    )
    for said in (*placed.told, *(() if art.flats.tonal else art.flats.notes)):
        note(said)
    for code, route in job.on_artwork.routes.items():
        note(f"{code} goes {ROUTE_WORDS[route]}, by hand.")
