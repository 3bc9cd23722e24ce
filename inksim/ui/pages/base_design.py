"""Decide about a whole design: which colors get a base, at what cost, with what chance."""

from __future__ import annotations

from datetime import date
from typing import Literal, TypedDict

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.common import counted, sentence, slug
from inksim.job import (
    Alternative,
    GarmentAnswer,
    JobAnswer,
    Preference,
    job_of_artwork,
    reasons_for,
)
from inksim.printing import Route, honest_words
from inksim.reports import (
    Ticket,
    headline,
    layer_words,
    make_ticket,
    readings_table,
    takes_lines,
    ticket_pdf,
    ticket_text,
)
from inksim.shop import Shop
from inksim.ui import artwork_choice, cache, cached_results, pickers
from inksim.ui.download import offer
from inksim.ui.pages.base_ways import show_ways
from inksim.ui.pages.client_plates import show_plates
from inksim.ui.style import note, pads, plain, points, table, verdict


class WidgetBinding(TypedDict):
    """How a choice is kept: in the address, and from page to page."""

    bind: Literal["query-params"]
    persist_state: Literal["session"]


KEPT = WidgetBinding(bind="query-params", persist_state="session")
PREFERENCES: dict[str, Preference] = {
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
                "Choke of the base, mm", 0.0, 2.0, 0.4, 0.05, key="job-choke", width=150, **KEPT
            )
        )
        wish = st.segmented_control(
            "Of ways that land as surely",
            list(PREFERENCES),
            default="Least cost",
            required=True,
            key="job-prefer",
            **KEPT,
            wrap=True,
        )
        viewing = pickers.light()
    with swatches:
        garment = pickers.garment(shop, viewing=viewing)
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
    shown = cache.answered(
        art, shop=shop, garment=garment, viewing=viewing, tolerance=tolerance,
        inks=artwork_choice.inks_by_hand(art),
    )  # fmt: skip
    job = job_of_artwork(
        art.name,
        shown.assignments,
        width_px=art.width_px,
        shop=shop,
        garment=shop.garment(garment),
        quantity=quantity,
        tolerance=tolerance,
        width_mm=art.width_mm,
        choke_mm=choke_mm,
        press=shop.stations.model_copy(update={"stations": stations, "flashes": flashes}),
        prefer=PREFERENCES[str(wish)],
    )
    answer = cached_results.decided(shop, job, art=art, viewing=viewing)
    found = answer.garments[0]
    with said:
        _say(shop, answer, found)
    if found.best is None:
        return
    _colors(shop, answer, found)
    show_ways(answer, found)
    _takes(answer, found.best)
    _ticket(shop, answer, found)
    with st.expander("Plates, pixel for pixel"):
        show_plates(art, shown, shop=shop, route=_most_used_route(found.best), choke_mm=choke_mm)
    artwork_choice.choose_inks(art, shown, shop=shop)


def _say(shop: Shop, answer: JobAnswer, found: GarmentAnswer) -> None:
    best = found.best
    if best is None:
        verdict(headline(found))
        return
    cost = f"{best.bill.per_print:.2f} {best.bill.currency} a print, " if best.bill.items else ""
    verdict(
        headline(found),
        f"{cost}{counted(best.way.screens, 'screen')}, {best.stations} of "
        f"{answer.job.press.stations} stations, dry film {best.film_g_m2:.0f} g/m². "
        f"{honest_words(best.data, calibrated=shop.press.calibrated)}",
    )


def _colors(shop: Shop, answer: JobAnswer, found: GarmentAnswer) -> None:
    """Each color of the chosen way, with its two strongest reasons."""
    st.header("Color by color")
    assert found.best is not None
    rows = []
    for plan, reasons in zip(found.best.plans, reasons_for(shop, answer, found), strict=True):
        asked, printed = plan.colour.target.hex(answer.viewing)[0], plan.prediction.hex
        why = [sentence(each) for each in (reasons.outcome, *reasons.reasons)]
        rows.append(
            [
                pads([(asked, ""), (printed, "")], label=f"asked {asked}, print {printed}"),
                plan.colour.name,
                plan.prediction.words,
                " ".join([*why, reasons.help]).strip(),
            ]
        )
    table(("Artwork, print", "Color", "Build", "Why"), rows, label="Color by color")


def _takes(answer: JobAnswer, best: Alternative) -> None:
    st.header("What it takes")
    points(takes_lines(answer, best))
    if best.bill.missing:
        note(f"Costs leave out: {', '.join(best.bill.missing)}.")
    st.markdown(plain("Screens in print order, garment side first:"))
    bases = dict.fromkeys(
        layer_words(plan.build.base, last=False) for plan in best.plans if plan.build.base
    )
    points([*bases, *(layer_words(plan.build.colour, last=True) for plan in best.plans)])


def _most_used_route(best: Alternative) -> Route:
    """The route that most colors of a way take: the base whose plates are shown."""
    routes = [plan.build.route for plan in best.plans]
    return max(dict.fromkeys(routes), key=routes.count)


def _ticket(shop: Shop, answer: JobAnswer, found: GarmentAnswer) -> None:
    """The press ticket of a way, made when it is asked for."""
    ways = list(range(1, len(found.alternatives) + 1))
    name = f"ticket-{slug(answer.job.name)}"
    with st.container(horizontal=True, vertical_alignment="bottom"):
        way = int(st.selectbox("Ticket for way", ways, index=found.chosen, key="ticket", width=160))

        def made() -> Ticket:
            return make_ticket(answer, shop=shop, garment=found.garment, made=date.today(), way=way)

        offer("Press ticket (PDF)", lambda: ticket_pdf(made()), file=f"{name}.pdf", first=True)
        offer("Press ticket (text)", lambda: ticket_text(made()), file=f"{name}.txt")
        offer(
            "Table for its readings (CSV)",
            lambda: readings_table(made()),
            file=f"{name}-readings.csv",
        )
