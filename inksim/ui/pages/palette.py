"""Palette page: every color on every chosen garment, as true swatches."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date

import streamlit as st

from inksim.colour import Viewing
from inksim.common import Markup, slug
from inksim.decision import MEANS_ONLY_MIXED, SHAPES, Answer, Gamut, difference_words
from inksim.mixing import Instead
from inksim.preview import png_bytes
from inksim.printing import honest_words
from inksim.reports import (
    BY_ITSELF,
    PaletteSheet,
    best_first,
    matrix_csv,
    matrix_picture,
    matrix_words,
    palette_headline,
    palette_pdf,
)
from inksim.shop import Shop
from inksim.ui import cached_results, job_bar, job_fields, old_answers, pickers
from inksim.ui.download import offer
from inksim.ui.download_look import offer_look
from inksim.ui.page_frame import with_shop
from inksim.ui.pages.palette_choice import has_to_be_read, palette_of
from inksim.ui.parts.gamut import gamut
from inksim.ui.parts.mix_it import mix_it
from inksim.ui.parts.palette_map import choose_cell
from inksim.ui.parts.palette_recipes import looked_for
from inksim.ui.style import mark, note, plain, print_on_cloth, show, verdict

START = ("Flour White", "Mist Gray", "Slate Gray", "Coal Black", "Estuary Navy")


@with_shop
def page(shop: Shop) -> None:
    """Draw the page that checks a palette."""
    job, row, _ = job_bar.top(shop, "Check a palette")
    artwork, swatches, work, said, options, below = (st.container() for _ in range(6))
    said, below = old_answers.cleared(said, below, known=not has_to_be_read(job))
    with row:
        name, targets = palette_of(shop, job, work=work)
    if job is not None and job.entry.artwork is not None and name == job.title:
        with artwork:
            job_fields.background_offer(job)
    if not targets:
        st.info(
            "This shop has no palette and no targets yet: paste colors under 'Palette', or add "
            "them with 'inksim add target'."
        )
        return
    with options.container(horizontal=True, vertical_alignment="bottom", gap="medium"):
        viewing = pickers.light(shop)
        tolerance = pickers.tolerance(shop)
    with swatches:
        chosen = pickers.garments(shop, default=START, viewing=viewing)
    if not chosen:
        st.info("Choose at least one garment.")
        return
    known = cached_results.palette_already(
        shop, targets, garments=chosen, tolerance=tolerance, viewing=viewing
    ) and all(cached_results.gamut_already(shop, garment=each, viewing=viewing) for each in chosen)
    said, below = old_answers.cleared(said, below, known=known)
    with work:
        found = cached_results.palette_on(
            shop, targets, garments=chosen, tolerance=tolerance, viewing=viewing
        )
        gamuts = {
            each: cached_results.garment_gamut(shop, garment=each, viewing=viewing)
            for each in chosen
        }
    columns = best_first(found)
    with said.container():
        verdict(
            palette_headline(columns, tolerance=tolerance),
            f"Garments are sorted by how many colors land or should land, then by those without a "
            f"base. {BY_ITSELF} Compared under {viewing}.",
        )
    with below.container():
        shown, looked_at = st.columns([9, 5], gap="medium")
    with shown:
        show(Markup(" ".join(mark(word, shape=shape) for word, shape in SHAPES.items())))
        note(f"By shape, word and shade; then the ΔE00 to expect. Choose one. {MEANS_ONLY_MIXED}")
        cell = choose_cell(columns, shop=shop, viewing=viewing, gamuts=gamuts)
        files, recipes = st.container(), st.container()
        with recipes:
            mixed = looked_for(columns, shop=shop, viewing=viewing)
        with files:
            _take_away(
                columns, shop, name, mixed, gamuts=gamuts, tolerance=tolerance, viewing=viewing
            )
    with looked_at:
        _details(cell, shop=shop, viewing=viewing)
        st.header(plain(f"{cell.target.name} in all that prints on {cell.garment.name}"))
        gamut(gamuts[cell.garment.name], cell, viewing=viewing)
        column = next(each for each in columns if each[0].garment is cell.garment)
        offer_look(shop, column, viewing=viewing)


def _details(cell: Answer, *, shop: Shop, viewing: Viewing) -> None:
    """Details of the chosen cell: the build to print, or the nearest print."""
    st.header(plain(f"{cell.target.name} on {cell.garment.name}"))
    asked, _ = cell.target.hex(viewing)
    word = "cloth" if cell.build.bare else "print" if cell.nominal else "nearest print"
    cloth = pickers.cloth_hex(shop, cell.garment.name, viewing)
    said = None if cell.build.bare else cell.verdict
    show(print_on_cloth(cell.hex, cell.interval, asked=asked, cloth=cloth, word=word, said=said))
    differs = difference_words(cell.target.lab(viewing), cell.lab)
    if cell.build.bare:
        st.markdown(plain(f"Left bare: the cloth is the color. Against the target: {differs}."))
    else:
        st.markdown(plain(f"{cell.words}. Against the target: {differs}."))
    note(f"Nominally ΔE00 {cell.delta_e_2000:.1f}.")
    note(honest_words(cell.data, calibrated=shop.press.calibrated))
    pickers.light_note(viewing)
    instead = cached_results.instead(shop, cell, viewing=viewing)
    if instead is not None:
        st.header("Mix it")
        mix_it(instead, shop=shop, viewing=viewing, narrow=True)
    if not cell.in_srgb_gamut:
        note("More vivid than a screen can show.")


def _take_away(
    columns: Sequence[Sequence[Answer]],
    shop: Shop,
    name: str,
    mixed: Callable[[], Sequence[Instead]] | None,
    *,
    gamuts: Mapping[str, Gamut],
    tolerance: float,
    viewing: Viewing,
) -> None:
    """Downloads: the sheet as PDF, CSV and PNG; mixed: the recipes, where they are looked for."""

    def sheet() -> bytes:
        return palette_pdf(
            PaletteSheet(
                columns=columns,
                palette=name,
                shop=shop.name,
                tolerance=tolerance,
                viewing=viewing,
                calibrated=shop.press.calibrated,
                made=date.today(),
                mixed=mixed() if mixed else None,
                currency=shop.costs.currency,
                gamuts=gamuts,
            )
        )

    title = f"Palette on the stock of {shop.name}"
    words, about = matrix_words(
        columns,
        title=title,
        tolerance=tolerance,
        viewing=viewing,
        calibrated=shop.press.calibrated,
    )
    with st.container(horizontal=True):
        offer("Palette sheet (PDF)", sheet, file=f"palette-{slug(name)}.pdf", first=True)
        offer("Table (CSV)", lambda: matrix_csv(columns, viewing=viewing), file="palette.csv")
        offer(
            "Picture (PNG)",
            lambda: png_bytes(
                matrix_picture(columns, title=title, note=words, viewing=viewing, gamuts=gamuts),
                about=about,
            ),
            file="palette.png",
        )
