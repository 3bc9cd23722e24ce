"""Decide about a whole design: which colors get a base, at what cost, with what chance."""

from __future__ import annotations

from typing import Any

import streamlit as st

from inksim.appearance import Viewing
from inksim.artwork_job import job_of_artwork
from inksim.job_chart import cost_axis
from inksim.job_decide import Alternative, GarmentAnswer, JobAnswer
from inksim.job_reasons import reasons_for
from inksim.job_schema import JobPressEntry, Preference
from inksim.job_text import headline, takes_lines
from inksim.predict import honest_words
from inksim.preview_files import ROUTE_TITLES
from inksim.proof import layer_words
from inksim.shop import Shop
from inksim.ui import artwork, kept, pickers
from inksim.ui.charts import cost_chart
from inksim.ui.look import note, pads, plain, points, table, verdict

MM_PER_INCH = 25.4
PREFERENCES: dict[str, Preference] = {
    "Least cost": "cost",
    "Softest hand": "softness",
    "Best chance": "chance",
}


def whole_design(shop: Shop, *, viewing: Viewing) -> None:
    """Ask about the run, and answer for all colors together."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        upload = artwork.choose()
        tolerance = pickers.tolerance(shop, width=220)
        quantity = int(st.number_input("Shirts", 1, 100_000, 72, key="job-quantity", width=120))
        stations = int(st.number_input("Stations", 1, 24, 8, key="job-stations", width=120))
        flashes = int(st.number_input("Flash units", 0, 8, 1, key="job-flashes", width=120))
        wish = st.segmented_control(
            "Of ways that land as surely",
            list(PREFERENCES),
            default="Least cost",
            required=True,
            key="job-prefer",
            wrap=True,
        )
    swatches, said = st.container(), st.container()
    with swatches:
        garment = pickers.garment(shop, viewing=viewing)
    art = kept.ready(upload)
    shown = kept.answered(
        art, shop=shop, garment=garment, viewing=viewing, tolerance=tolerance,
        inks=artwork.inks_by_hand(art),
    )  # fmt: skip
    job = job_of_artwork(
        art,
        shown.assignments,
        shop=shop,
        garment=shop.garment(garment),
        quantity=quantity,
        tolerance=tolerance,
        width_mm=art.width_mm,
        press=JobPressEntry(stations=stations, flashes=flashes),
        prefer=PREFERENCES[str(wish)],
    )
    answer = kept.decided(shop, job, art=art, viewing=viewing)
    found = answer.garments[0]
    with said:
        _say(shop, answer, found)
    if found.best is None:
        return
    _colors(shop, answer, found)
    _ways(answer, found)
    _takes(answer, found.best)
    artwork.choose_inks(art, shown, shop=shop)


def _say(shop: Shop, answer: JobAnswer, found: GarmentAnswer) -> None:
    best = found.best
    if best is None:
        verdict(headline(found))
        return
    cost = f"{best.bill.per_print:.2f} {best.bill.currency} a print, " if best.bill.items else ""
    verdict(
        headline(found),
        f"{cost}{best.way.screens} screens, {best.stations} of {answer.job.press.stations} "
        f"stations, dry film {best.film_g_m2:.0f} g/m². "
        f"{honest_words(best.plans[0].prediction.data)}",
    )


def _colors(shop: Shop, answer: JobAnswer, found: GarmentAnswer) -> None:
    """Each color of the chosen way, with its two strongest reasons."""
    st.header("Color by color")
    assert found.best is not None
    rows = []
    for plan, reasons in zip(found.best.plans, reasons_for(shop, answer, found), strict=True):
        asked, printed = plan.colour.target.hex()[0], plan.prediction.hex
        why = [_sentence(each) for each in (reasons.outcome, *reasons.reasons)]
        rows.append(
            [
                pads([(asked, ""), (printed, "")], label=f"asked {asked}, print {printed}"),
                plan.colour.name,
                plan.prediction.words,
                " ".join([*why, reasons.help]).strip(),
            ]
        )
    table(("Artwork, print", "Color", "Build", "Why"), rows, label="Color by color")


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def _ways(answer: JobAnswer, found: GarmentAnswer) -> None:
    """All ways that are not beaten: a chart of cost against chance, and a table to sort."""
    st.header("Other ways")
    rows = _rows(answer, found)
    priced = bool(found.alternatives[0].bill.items)
    unit = f"{found.alternatives[0].bill.currency} a print" if priced else "work of a print"
    st.altair_chart(
        cost_chart(rows, unit=unit), width="stretch", theme=None,
        alt="Cost of a print against the chance that all colors land, one point for each way",
    )  # fmt: skip
    st.dataframe(
        rows.style.format({"Cost": "{:.2f}", "Dry film": "{:.1f}"}),
        hide_index=True,
        column_config={
            "Chance": st.column_config.ProgressColumn(
                "Chance all land, %", format="%.0f", min_value=0, max_value=100, color="#3d3d3d"
            ),
            "Cost": st.column_config.NumberColumn(unit),
            "Dry film": st.column_config.NumberColumn("Dry film, g/m²"),
        },
        alt="Ways to print the design; click a head to sort",
    )


def _rows(answer: JobAnswer, found: GarmentAnswer) -> Any:
    import pandas as pd

    return pd.DataFrame(
        [
            {
                "Way": f"{at + 1}{' ◀ proposed' if at == found.chosen else ''}",
                "Colors land": f"{way.landed} of {len(way.plans)}",
                "Chance": 100.0 * way.chance,
                "Cost": cost_axis(answer, way),
                "Dry film": way.film_g_m2,
                "Screens": way.way.screens,
                "Stations": way.stations,
                "Bases": _bases(way),
                "Best at": ", ".join(way.marks),
            }
            for at, way in enumerate(found.alternatives)
        ]
    )


def _bases(way: Alternative) -> str:
    routes = [plan.build.route for plan in way.plans]
    return ", ".join(
        f"{routes.count(route)} {ROUTE_TITLES[route].lower()}"
        for route in dict.fromkeys(sorted(routes))
    )


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
