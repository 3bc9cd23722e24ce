"""Decide about a whole design: which colors get a base, at what cost, with what chance."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import Literal, TypedDict

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.job import (
    BASE_CHOKE_MM,
    GarmentAnswer,
    JobAnswer,
    Preference,
    job_of_artwork,
)
from inksim.shop import Shop
from inksim.ui import artwork_choice, cache, cached_results, pickers
from inksim.ui.pages.base_way_shown import (
    Shown,
    offer_papers,
    show_colors,
    show_outcome,
    show_takes,
)
from inksim.ui.pages.base_ways import show_ways
from inksim.ui.pages.client_plates import show_plates
from inksim.ui.style import plain, verdict


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
        show_outcome(shown)
    plans = {plan.colour.name: plan for plan in decided.best.plans} if decided.best else {}
    flats = [plans.get(flat.hex) for flat in art.flats.colours]
    artwork_choice.choose_apart(art, flats)
    if decided.best is None:
        artwork_choice.choose_inks(art, flats, shop=shop)
        return
    show_colors(shown)
    show_ways(answer, decided)
    show_takes(shown)
    offer_papers(shown)
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
