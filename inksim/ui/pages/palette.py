"""Palette page: every color on every chosen garment, as true swatches."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import streamlit as st

from inksim.colour import Viewing
from inksim.common import InksimError
from inksim.decision import SHAPES, Answer, answers_on, difference_words
from inksim.preview import png_bytes
from inksim.printing import honest_words
from inksim.readings import format_names, palette_from_file, parse_palette, reading_suffixes
from inksim.reports import (
    BY_ITSELF,
    best_first,
    matrix_csv,
    matrix_picture,
    matrix_words,
    palette_headline,
)
from inksim.shop import Shop
from inksim.stock import Target
from inksim.ui import cache, cached_results, job_bar, pickers
from inksim.ui.current_job import CurrentJob
from inksim.ui.download import offer
from inksim.ui.download_look import offer_look
from inksim.ui.page_frame import with_shop
from inksim.ui.parts.gamut import gamut
from inksim.ui.parts.mix_it import mix_it
from inksim.ui.parts.palette_map import choose_cell
from inksim.ui.style import note, plain, print_on_cloth, show, verdict, verdict_mark

START = ("Flour White", "Mist Gray", "Slate Gray", "Coal Black", "Estuary Navy")
PASTED, FILED = "palette-text", "palette-file"
KEPT = "own palette"
EXAMPLE = "Regatta Orange, #e8622c\nOven Red: 46, 58, 39\n#0f5c63"


@with_shop
def page(shop: Shop) -> None:
    """The page."""
    job, row, _ = job_bar.top(shop, "Check a palette")
    with row:
        targets = _palette(shop, job)
    if not targets:
        st.info(
            "This shop has no palette and no targets yet: paste colors under 'Palette', or add "
            "them with 'inksim add target'."
        )
        return
    swatches, said, options = (st.container() for _ in range(3))
    with options.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        viewing = pickers.light(shop)
        tolerance = pickers.tolerance(shop)
    with swatches:
        chosen = pickers.garments(shop, default=START, viewing=viewing)
    if not chosen:
        st.info("Choose at least one garment.")
        return
    reaches = [cached_results.garment_reach(shop, garment=name, viewing=viewing) for name in chosen]
    columns = best_first([answers_on(found, targets, tolerance=tolerance) for found in reaches])
    with said:
        verdict(
            palette_headline(columns, tolerance=tolerance),
            f"Garments are sorted by how many colors land or should land, then by those without a "
            f"base. {BY_ITSELF} Compared under {viewing}.",
        )
    shown, looked_at = st.columns([9, 5], gap="medium")
    with shown:
        legend = " · ".join(f"{shape} {word}" for word, shape in SHAPES.items())
        note(f"{legend}, and the ΔE00 to expect. Choose one.")
        cell = choose_cell(columns, shop=shop, viewing=viewing)
        _take_away(columns, shop=shop, tolerance=tolerance, viewing=viewing)
    with looked_at:
        _details(cell, shop=shop, viewing=viewing)
        st.header(plain(f"All colors of {cell.garment.name}"))
        found = cached_results.garment_gamut(shop, garment=cell.garment.name, viewing=viewing)
        column = next(each for each in columns if each[0].garment is cell.garment)
        gamut(found, column, viewing=viewing)
        offer_look(shop, column, viewing=viewing)


def _palette(shop: Shop, job: CurrentJob | None) -> list[Target]:
    """The shop's palette, or the one pasted, uploaded or taken from the job in this session."""
    own: tuple[str, list[Target]] | None = st.session_state.get(KEPT)
    name, targets = own or ("the shop's", list((shop.palette or shop.targets).values()))
    with st.popover(plain(f"Palette: {name}, {len(targets)} colors")):
        st.text_area(
            "Paste colors, one a line: a name of the shop, or a name and #rrggbb or L, a, b (D50)",
            placeholder=EXAMPLE,
            key=PASTED,
        )
        st.button("Use the pasted colors", on_click=_take_pasted)
        st.file_uploader(
            f"Or a file: CSV of names and colors, or instrument readings ({format_names()})",
            type=reading_suffixes(),
            key=FILED,
            on_change=_take_file,
        )
        if job is not None:
            st.button(
                plain(f"Use the colors of {job.title}"),
                on_click=lambda: _keep(job.title, job.targets),
            )
        if own is not None:
            st.button(
                "Back to the shop's palette", on_click=st.session_state.pop, args=(KEPT, None)
            )
    if fault := st.session_state.pop("palette-fault", None):
        st.error(plain(fault))
    return targets


def _take_pasted() -> None:
    text = str(st.session_state[PASTED])
    _keep("pasted", lambda: parse_palette(text, look_up=cache.open_shop().target))


def _take_file() -> None:
    file = st.session_state[FILED]
    if file is not None:
        data, look_up = file.getvalue(), cache.open_shop().target
        _keep(file.name, lambda: palette_from_file(data, name=file.name, look_up=look_up))


def _keep(name: str, read: Callable[[], list[Target]]) -> None:
    """Keep a palette for this session; its faults are shown where it was asked for."""
    try:
        st.session_state[KEPT] = (name, read())
    except InksimError as error:
        st.session_state["palette-fault"] = str(error)


def _details(cell: Answer, *, shop: Shop, viewing: Viewing) -> None:
    """Details of the chosen cell: the build to print, or the nearest print."""
    st.header(plain(f"{cell.target.name} on {cell.garment.name}"))
    asked, _ = cell.target.hex(viewing)
    word = "cloth" if cell.build.bare else "print" if cell.nominal else "nearest print"
    cloth = pickers.cloth_hex(shop, cell.garment.name, viewing)
    show(print_on_cloth(cell.hex, cell.interval, asked=asked, cloth=cloth, word=word))
    differs = difference_words(cell.target.lab(viewing), cell.lab)
    if cell.build.bare:
        st.markdown(plain(f"Left bare: the cloth is the color. Against the target: {differs}."))
    else:
        show(verdict_mark(cell.verdict))
        st.markdown(plain(f"{cell.words}. Against the target: {differs}."))
    note(f"Nominally ΔE00 {cell.delta_e_2000:.1f}.")
    note(honest_words(cell.data, calibrated=shop.press.calibrated))
    pickers.light_note(viewing)
    instead = cached_results.instead(shop, cell, viewing=viewing)
    if instead is not None:
        st.header("Mix it")
        mix_it(instead, shop=shop, viewing=viewing)
    if not cell.in_srgb_gamut:
        note("More vivid than a screen can show.")


def _take_away(
    columns: Sequence[Sequence[Answer]], *, shop: Shop, tolerance: float, viewing: Viewing
) -> None:
    """Downloads: CSV and PNG."""
    title = f"Palette on the stock of {shop.name}"
    words, about = matrix_words(
        columns,
        title=title,
        tolerance=tolerance,
        viewing=viewing,
        calibrated=shop.press.calibrated,
    )
    with st.container(horizontal=True):
        offer("Table (CSV)", lambda: matrix_csv(columns, viewing=viewing), file="palette.csv")
        offer(
            "Picture (PNG)",
            lambda: png_bytes(
                matrix_picture(columns, title=title, note=words, viewing=viewing), about=about
            ),
            file="palette.png",
        )
