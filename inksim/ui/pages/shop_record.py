"""What the shop's proofs said against what its prints were: the record, as `inksim record`."""

from __future__ import annotations

import streamlit as st

from inksim.common import ROUTE_TITLES
from inksim.ledger import TrackRecord, outcomes_csv, record_of_shop
from inksim.preview import png_bytes
from inksim.printing import ROUTES
from inksim.reports import (
    CHANCE_HEAD,
    INVENTED_RECORD,
    chance_rows,
    distance_tables,
    draw_record,
    inside_words,
    later_lots,
    record_headline,
)
from inksim.shop import Shop
from inksim.ui.charts import frame
from inksim.ui.download import offer
from inksim.ui.record_charts import KEPT, LOTS, chances_chart, months_chart, record_chart
from inksim.ui.style import note, points, table

MOST = 100  # prints drawn in one picture, the latest


def record_tab(shop: Shop) -> None:
    """The record in words, its pictures and its tables, and all of it to take away."""
    record = record_of_shop(shop)
    if record.invented:
        note(INVENTED_RECORD)
    points([record_headline(record), *record.said])
    points(f"Scored nothing: {words}" for words in record.unmatched)
    if not record.prints:
        return
    _intervals(record)
    st.header("Chances stated, and what landed")
    about = INVENTED_RECORD if record.invented else f"Record of {record.name} by inksim."
    plot = png_bytes(draw_record(record), about=about)
    left, right = st.columns(2)
    with left:
        _chances(record)
    with right:
        _months(record)
    note("The colors of one proof are off together: these ranges are the least they can be.")
    with st.expander("Chances stated and what landed, in numbers"):
        table(CHANCE_HEAD, chance_rows(record), label="Chances stated and what landed")
    with st.expander("ΔE00 promised and found: by ink, lot and month"):
        for head, rows in distance_tables(record):
            table(head, rows, label=f"ΔE00 promised and found: {head[0].lower()}")
    with st.container(horizontal=True):
        offer(
            "The record (CSV)",
            outcomes_csv(record.listed, invented=record.invented).encode(),
            file="record.csv",
        )
        offer("The plot (PNG)", plot, file="record.png")


def _chances(record: TrackRecord) -> None:
    """The share that landed over the chance that was stated."""
    note("On the line, as many landed as was said; a bar is the share's 95 % range.")
    rows = frame(
        {
            "Stated": 100 * each.stated,
            "Landed": 100 * each.share,
            "Low": 100 * each.low,
            "High": 100 * each.high,
            "Words": f"{each.landed} of {each.prints}",
        }
        for each in record.bins
        if each.prints
    )
    st.altair_chart(
        chances_chart(rows), width="stretch", theme=None,
        alt=f"Share that landed over the chance stated. {' '.join(record.said)}",
    )  # fmt: skip


def _months(record: TrackRecord) -> None:
    """How much farther off than promised the prints were, and each month's median."""
    note("Each print, and the median of its month with its middle half; at 0, as promised.")
    first, later = LOTS
    newer = later_lots(record.prints)
    prints = frame(
        {
            "Day": each.read_on,
            "Farther": each.farther,
            "Color": f"{each.ink} on {each.garment}",
            "Lot": later if each.ink_lot in newer.get(each.ink, ()) else first,
        }
        for each in record.prints
    )
    months = frame(
        {
            "Day": f"{each.name}-15",
            "Month": each.name,
            "Prints": each.prints,
            "Farther": each.farther,
            "Low": each.low,
            "High": each.high,
        }
        for each in record.by("month")
    )
    st.altair_chart(
        months_chart(prints, months), width="stretch", theme=None,
        alt=f"ΔE00 beyond what was promised, by month. {record_headline(record)}",
    )  # fmt: skip


def _intervals(record: TrackRecord) -> None:
    """Each print on the interval stated for it, route by route, and the share inside."""
    st.header("Stated intervals, and what came out")
    points(inside_words(each) for each in record.inside if each.by != "route")
    note("A bar is what 9 in 10 prints were said to be, a mark what one was: ● inside, ✚ outside.")
    inside, outside = KEPT
    shares = {each.name: each for each in record.inside if each.by == "route"}
    for route in (route for route in ROUTES if route in shares):
        prints = sorted((p for p in record.prints if p.route == route), key=lambda p: p.read_on)
        words = inside_words(shares[route])
        rows = frame(
            {
                "Order": at,
                "Day": each.read_on,
                "Color": f"{each.ink} on {each.garment}",
                "Print": inside if each.inside else outside,
                "Found": each.found,
                "Low": each.low,
                "High": each.high,
            }
            for at, each in enumerate(prints[-MOST:], start=1)
        )
        points([words])
        st.altair_chart(
            record_chart(rows), width="stretch", theme=None,
            alt=f"{ROUTE_TITLES[route]}: {words}",
        )  # fmt: skip
        if len(prints) > MOST:
            note(f"The latest {MOST} are drawn; the CSV has all.")
