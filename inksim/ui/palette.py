"""Check a palette: every color on every chosen garment, as true swatches on the cloth."""

from __future__ import annotations

from html import escape

import streamlit as st

from inksim.appearance import Viewing
from inksim.matrix import MARKS, Cell, cells, serves
from inksim.shop import Shop
from inksim.ui import kept, pickers
from inksim.ui.frame import with_shop
from inksim.ui.look import MARK_SHAPES, note, verdict

START = ("Flour White", "Mist Gray", "Slate Gray", "Coal Black", "Estuary Navy")


@with_shop
def page(shop: Shop) -> None:
    """The page."""
    with st.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        st.title("Check a palette", width="content")
        viewing = pickers.light()
        tolerance = pickers.tolerance(shop)
    chosen = pickers.garments(shop, default=START, viewing=viewing)
    if not chosen:
        st.info("Choose at least one garment.")
        return
    targets = list((shop.palette or shop.targets).values())
    columns = [
        cells(
            kept.garment_reach(shop, garment=name, viewing=viewing),
            targets,
            tolerance=tolerance,
            viewing=viewing,
        )
        for name in chosen
    ]
    columns.sort(key=lambda column: tuple(-n for n in reversed(serves(column))))
    straight, any_way = serves(columns[0])
    verdict(
        f"{columns[0][0].garment.name} serves the palette best: {any_way} of {len(targets)} "
        "colors land.",
        f"{straight} of them without a base.",
    )
    note(" · ".join(f"{MARK_SHAPES[mark]} {mark}" for mark in MARKS))
    st.html(_map(columns, shop=shop, viewing=viewing))


def _map(columns: list[list[Cell]], *, shop: Shop, viewing: Viewing) -> str:
    """Palette down, garments across; each cell is the print on its cloth, with its mark."""
    head = "".join(f'<th scope="col">{escape(column[0].garment.name)}</th>' for column in columns)
    rows = []
    for at, first in enumerate(columns[0]):
        code, _ = first.target.hex()
        name = f'<i style="background:{code}"></i>{escape(first.target.name)}'
        body = "".join(_cell(column[at], shop=shop, viewing=viewing) for column in columns)
        rows.append(f'<tr><th scope="row">{name}</th>{body}</tr>')
    return (
        '<div class="ink-scroll" tabindex="0" role="region" aria-label="Palette by garment">'
        f'<table class="ink-map"><thead><tr><th scope="col">Color</th>{head}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def _cell(cell: Cell, *, shop: Shop, viewing: Viewing) -> str:
    cloth = pickers.cloth_hex(shop, cell.garment.name, viewing)
    return (
        f'<td style="background:{cloth}" title="{escape(cell.build.colour.ink.name)}">'
        f'<i style="background:{cell.hex}"></i>'
        f"<span>{MARK_SHAPES[cell.mark]} {cell.mark}, {cell.delta_e_2000:.1f}</span></td>"
    )
