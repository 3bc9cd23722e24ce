"""Show a client: the artwork as it is decided to print on a chosen garment."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.colour import Viewing
from inksim.common import MM_PER_INCH, ROUTE_WORDS, counted
from inksim.job import Job, JobAnswer, told
from inksim.preview import ArtworkResult, png_bytes
from inksim.reports import Proof, headline, in_a_sentence, proof_picture
from inksim.shop import Shop
from inksim.ui import cached_results, job_bar, job_fields, old_answers, pickers
from inksim.ui.current_job import LISTED, CurrentJob
from inksim.ui.download import offer
from inksim.ui.first_screen import colour_chips
from inksim.ui.page_frame import with_shop
from inksim.ui.pages import client_tonal, client_views
from inksim.ui.pages.client_numbers import numbers
from inksim.ui.parts.route_views import choose_view
from inksim.ui.proofs import issued_here, proof_fields, proof_name, proofs_of, sheet
from inksim.ui.style import note, verdict


@with_shop
def page(shop: Shop) -> None:
    """Draw the page that shows a client the print."""
    job, _, bar = job_bar.top(shop, "Show a client")
    if job is None:
        return
    on, viewing = job.on, pickers.light_before(shop)
    garment = pickers.garment(
        shop,
        viewing=viewing,
        only=job.entry.garments if job.kept else (),
        more=lambda chosen: job_fields.also_fields(on(chosen)),
    )
    job = on(garment)
    work, said, below = st.container(), st.container(key="said"), st.container()
    known = old_answers.known(job, garment=garment, viewing=viewing)
    said, below = old_answers.cleared(said, below, known=known)
    if job.entry.artwork is None:
        with work:
            answer = cached_results.decided(shop, job.drawn().job, viewing=viewing)
        with below.container():
            _listed(job, bar, answer, garment=garment)
        return
    with work:
        tonal = job.art.placed.flats.tonal
        say = partial(client_tonal.say, below=below) if tonal else _say
        show = say(job, bar, said, garment=garment, viewing=viewing)
    with below.container():
        show()
        with st.expander("Size and place"):
            job_fields.place_fields(job)
        _about(job)


def _say(
    job: CurrentJob, bar: DeltaGenerator, said: DeltaGenerator, *, garment: str, viewing: Viewing
) -> Callable[[], None]:
    """Flat artwork: say what is decided; gives what shows the rest."""
    art, shop = job.art.ready, job.shop
    if job_fields.prints_nothing(job):
        with said.container():
            verdict(f"Nothing is printed on {garment}.", "Every color is left bare by hand.")
        return lambda: job_fields.choose_inks(job, [None] * len(art.flats.colours))
    drawn = job_fields.drawn_or_mended(job, said)
    if drawn is None:
        return lambda: None
    whole = drawn.job
    found = cached_results.printed(shop, whole, art=art, garment=garment, viewing=viewing)
    job_bar.show(bar, job, found.answer.garments, garment=garment, viewing=viewing)
    with said.container():
        verdict(in_a_sentence(found.decided.found), pickers.seen_under(shop, viewing))
    return lambda: _flat(job, whole, found, viewing=viewing)


def _flat(job: CurrentJob, whole: Job, found: ArtworkResult, *, viewing: Viewing) -> None:
    """Color by color; then what one route alone would be."""
    art, shop = job.art.ready, job.shop
    decided, way = found.decided.found, found.decided.way
    looked_at = pickers.view_before(client_views.VIEWS, key="view")
    client_views.view(looked_at, art, found, shop=shop, viewing=viewing, lies=job.on_artwork)
    plans = [plan for plan in found.plans if plan is not None]
    if way is not None:
        colour_chips(plans, viewing)
        for line in told(decided, way):
            note(line)
    job_bar.said_of_artwork(job)
    if way is not None and way.printed:
        _take_away(job, found, viewing=viewing)
    _options(job.shop, client_views.VIEWS, key="view")
    if len(found.answer.garments) > 1:
        client_views.on_each(art, job, whole, found.answer.garments, viewing=viewing)
    if way is not None:
        with st.expander("Numbers: what to expect of each color, and how sure"):
            note(" ".join([*job_bar.assumption(job), headline(decided)]))
            numbers(plans, viewing, data=way.data, calibrated=shop.press.calibrated)
    job_fields.choose_apart(job, [flat.hex for flat in art.flats.colours], found.plans)
    if way is not None:
        client_views.compared(art, found, shop=shop, viewing=viewing)
        client_views.too_fine(art, found, viewing=viewing)
    job_fields.choose_inks(job, found.plans)


def _listed(job: CurrentJob, bar: DeltaGenerator, answer: JobAnswer, *, garment: str) -> None:
    """A list of colors: what is decided, color by color; there is no picture of it."""
    viewing = answer.viewing
    found = next(each for each in answer.garments if each.garment.name == garment)
    job_bar.show(bar, job, answer.garments, garment=garment, viewing=viewing)
    verdict(in_a_sentence(found), pickers.seen_under(job.shop, viewing))
    if found.best is not None:
        colour_chips(found.best.plans, viewing)
        for line in told(found, found.best):
            note(line)
        with st.expander("Numbers: what to expect of each color, and how sure"):
            note(headline(found))
            numbers(
                found.best.plans, viewing,
                data=found.best.data, calibrated=job.shop.press.calibrated,
            )  # fmt: skip
    note(
        f"{job.title} {LISTED}, so there is no picture and no proof. 'Decide about the base' has "
        "its ways, costs and ticket."
    )
    pickers.light(job.shop)


def _options(shop: Shop, views: Sequence[str], *, key: str) -> None:
    """How to look at it, and in which light: read before, asked under the picture."""
    with st.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        choose_view(views, key=key)
        pickers.light(shop)


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


def _about(job: CurrentJob) -> None:
    """Size and what reading the file has to say."""
    art, placed = job.art.ready, job.art.placed
    kind = "tonal" if art.flats.tonal else counted(len(art.flats.colours), "flat color")
    shared = (
        "it opens this job where it is kept"
        if job.kept
        else "it opens this artwork for as long as this server runs and holds it; a kept job lasts"
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
