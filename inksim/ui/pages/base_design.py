"""Decide about a whole design: which colors get a base, at what cost, with what chance."""

from __future__ import annotations

import hashlib

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.job import GarmentAnswer, JobAnswer
from inksim.ui import cached_results, job_bar, job_fields, old_answers, pickers
from inksim.ui.current_job import CurrentJob
from inksim.ui.pages import client_tonal
from inksim.ui.pages.base_way_shown import (
    Shown,
    offer_papers,
    show_colours,
    show_mixes,
    show_outcome,
    show_takes,
)
from inksim.ui.pages.base_ways import show_ways
from inksim.ui.pages.client_plates import show_plates
from inksim.ui.style import note, verdict


def whole_design(job: CurrentJob, bar: DeltaGenerator) -> None:
    """Ask about the run, and answer for all colors together; the answer goes into the bar too."""
    shop, drawn, on = job.shop, job.entry.artwork is not None, job.on
    # the answer stands before what it rests on
    artwork, work, said, swatches = (st.container() for _ in range(4))
    with st.container(horizontal=True, vertical_alignment="bottom"):
        job_fields.run_fields(job)
        viewing = pickers.light(shop)
        ways = st.container()
    with swatches:
        garment = pickers.garment(
            shop,
            viewing=viewing,
            only=job.entry.garments if job.kept else (),
            more=lambda chosen: job_fields.also_fields(on(chosen)),
        )
        job = on(garment)
    below = st.container()
    known = old_answers.known(job, garment=garment, viewing=viewing)
    said, ways, below = old_answers.cleared(said, ways, below, known=known)
    with work:
        art = job.art.ready if drawn else None
    if drawn:
        with artwork:
            job_bar.said_of_artwork(job)
    if art and art.flats.tonal:
        with work:
            show = client_tonal.say(
                job, bar, said, below=below, garment=garment, viewing=viewing, asked=True
            )
        with below.container():
            show()
            with st.expander("Size and place"):
                job_fields.place_fields(job)
        return
    if art and job_fields.prints_nothing(job):
        with said.container():
            verdict(f"Nothing is printed on {garment}.", "Every color is left bare by hand.")
        with below.container():
            job_fields.choose_inks(job, [None] * len(art.flats.colours))
        return
    checked = job_fields.drawn_or_mended(job, said)
    if checked is None:
        return
    whole = checked.job
    with work:
        answer = cached_results.decided(shop, whole, viewing=viewing)
    job_bar.show(bar, job, answer.garments, garment=garment, viewing=viewing)
    with ways.container():
        decided = _garment_shown(job, answer, garment)
        key = cached_results.job_key(shop, whole, viewing=viewing)
        number = _way_shown(decided, repr((art.key if art else "", key)))
    shown = Shown(job=job, answer=answer, decided=decided, number=number)
    with said.container():
        show_outcome(shown)
    with below.container():
        _colour_by_colour(shown)


def _colour_by_colour(shown: Shown) -> None:
    """The colors of the way shown, what it takes, its papers, and what of it can be changed."""
    job, decided, art = shown.job, shown.decided, shown.art
    plans = {plan.colour.name: plan for plan in decided.best.plans} if decided.best else {}
    names = [flat.hex for flat in art.flats.colours] if art else list(plans)
    flats = [plans.get(name) for name in names]
    job_fields.choose_apart(job, names, flats)
    if decided.best is None:
        if art:
            job_fields.choose_inks(job, flats)
        return
    show_colours(shown)
    show_mixes(shown)
    show_ways(shown.answer, decided)
    show_takes(shown)
    offer_papers(shown)
    if art is None:
        note("A list of colors has no artwork: no plates, no picture, and no proof to sign.")
        return
    with st.expander("Plates, pixel for pixel"):
        show_plates(art, shown.found, shop=shown.shop, choke_mm=shown.answer.job.base_choke_mm)
    with st.expander("Size and place"):
        job_fields.place_fields(job)
    job_fields.choose_inks(job, flats)


def _garment_shown(job: CurrentJob, answer: JobAnswer, garment: str) -> GarmentAnswer:
    """The answer of one garment of the job: of a kept one, the garment that was chosen."""
    names = [found.garment.name for found in answer.garments]
    if job.kept or len(names) == 1:
        return answer.garments[names.index(garment)]
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
