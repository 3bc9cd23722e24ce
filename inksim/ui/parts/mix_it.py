"""Mix it: the recipes for a color that no stock ink lands, as swatches, grams and a card."""

from __future__ import annotations

from datetime import date

import streamlit as st

from inksim.colour import Viewing
from inksim.common import slug
from inksim.mixing import FoundRecipe, Instead
from inksim.reports import RecipeCard, card_pdf
from inksim.shop import Shop
from inksim.stock import grams_words
from inksim.ui import pickers
from inksim.ui.download import offer
from inksim.ui.style import note, pads, plain, print_on_cloth, show, table


def mix_it(found: Instead, *, shop: Shop, viewing: Viewing, narrow: bool = False) -> None:
    """The recipe worth mixing, with its grams and its card; the others in a table.

    narrow: it stands in a column of the page.
    """
    best = found.best
    if best is None:
        also = "" if found.reached else " It is out of reach of this stock, mixed too."
        note(
            f"No mix is worth it. The best one: {found.found[0].verdict.short}; as decided: "
            f"{found.answer.verdict.short}.{also}"
        )
        return
    answer = best.answer
    asked, _ = answer.target.hex(viewing)
    cloth = pickers.cloth_hex(shop, answer.garment.name, viewing)
    mixed = print_on_cloth(
        answer.hex, answer.interval, asked=asked, cloth=cloth, word="mixed", said=best.verdict
    )
    step = best.recipe.step_g
    rows = [[part.ink.name, grams_words(part.grams, step)] for part in best.parts]
    total = f"In {grams_words(best.recipe.grams, step)} of the mix"
    swatches, weighed = (st.container(), st.container()) if narrow else st.columns(2)
    with swatches:
        show(mixed)
        st.markdown(plain(f"Mixed: {answer.words}, nominally ΔE00 {best.delta_e_2000:.1f}."))
    with weighed:
        table(("Weigh in", total), rows, label=f"Recipe of {answer.target.name}")
        if best.cost_per_kg is not None:
            note(f"The mix costs {best.cost_words} {shop.costs.currency} a kg.")
    card = RecipeCard(
        found=best, shop=shop, viewing=viewing, tolerance=answer.interval.tolerance,
        made=date.today(),
    )  # fmt: skip
    name = f"recipe-{slug(answer.target.name)}-{slug(answer.garment.name)}.pdf"
    offer("Recipe card (PDF)", lambda: card_pdf(card), file=name)
    others = [each for each in found.found if each is not best]
    if others:
        with st.expander(plain(f"Other recipes for {answer.target.name}")):
            _others(others, asked=asked, shop=shop)


def _others(recipes: list[FoundRecipe], *, asked: str, shop: Shop) -> None:
    table(
        ("Asked, print", "Recipe", "Verdict", f"{shop.costs.currency}/kg", "Build"),
        [
            [
                pads([(asked, ""), (one.answer.hex, "")],
                     label=f"asked {asked}, print {one.answer.hex}"),
                one.recipe.words,
                one.verdict.short,
                one.cost_words,
                one.answer.words,
            ]
            for one in recipes
        ],
        label="Other recipes",
    )  # fmt: skip
