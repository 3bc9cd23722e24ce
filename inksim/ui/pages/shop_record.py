"""What the shop's proofs said against what its prints were: the record, as `inksim record`."""

from __future__ import annotations

import streamlit as st

from inksim.ledger import outcomes_csv, record_of_shop
from inksim.preview import png_bytes
from inksim.reports import (
    CHANCE_HEAD,
    INVENTED_RECORD,
    chance_rows,
    distance_tables,
    draw_record,
    record_headline,
)
from inksim.shop import Shop
from inksim.ui.download import offer
from inksim.ui.style import note, picture, points, table


def record_tab(shop: Shop) -> None:
    """The record in words, its plot and its tables, and all of it to take away."""
    record = record_of_shop(shop)
    if record.invented:
        note(INVENTED_RECORD)
    points([record_headline(record), *record.said])
    points(f"Scored nothing: {words}" for words in record.unmatched)
    if not record.prints:
        return
    about = INVENTED_RECORD if record.invented else f"Record of {record.name} by inksim."
    plot = png_bytes(draw_record(record), about=about)
    picture(plot, alt="Chances stated against what landed; ΔE00 over what was promised, by month")
    table(CHANCE_HEAD, chance_rows(record), label="Chances stated and what landed")
    note("The colors of one proof are off together: these ranges are the least they can be.")
    for head, rows in distance_tables(record):
        table(head, rows, label=f"ΔE00 promised and found: {head[0].lower()}")
    with st.container(horizontal=True):
        offer(
            "The record (CSV)",
            outcomes_csv(record.listed, invented=record.invented).encode(),
            file="record.csv",
        )
        offer("The plot (PNG)", plot, file="record.png")
