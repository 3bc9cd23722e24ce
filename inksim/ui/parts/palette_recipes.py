"""Recipes for the colors of a palette that no stock ink can promise on any of the garments."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import streamlit as st

from inksim.colour import Viewing
from inksim.common import counted
from inksim.decision import Answer
from inksim.mixing import Instead, not_promised, out_of_reach, palette_instead
from inksim.shop import Shop
from inksim.ui import cached_results
from inksim.ui.style import note, pads, table, verdict_mark


def looked_for(
    columns: Sequence[Sequence[Answer]], *, shop: Shop, viewing: Viewing
) -> Callable[[], Sequence[Instead]] | None:
    """Ask whether recipes are looked for, and show them; what finds them, or None if they are not.

    Each takes about two seconds, so that it is asked for; what was found is kept.
    """
    count = len(not_promised(columns))
    if not count:
        return None
    wanted = st.toggle(
        f"Recipes for the {counted(count, 'color')} that no ink can promise",
        key="palette-mixed",
        bind="query-params",
        persist_state="session",
        help=f"What only a mixture reaches; it takes about {2 * count} s the first time.",
    )
    if not wanted:
        return None

    def find() -> Sequence[Instead]:
        return palette_instead(
            shop,
            columns,
            viewing=viewing,
            look=lambda cell: cached_results.instead(shop, cell, viewing=viewing),
        )

    _show(find(), columns, shop=shop, viewing=viewing)
    return find


def _show(
    mixed: Sequence[Instead],
    columns: Sequence[Sequence[Answer]],
    *,
    shop: Shop,
    viewing: Viewing,
) -> None:
    worth = [each.best for each in mixed if each.best is not None]
    rows = []
    for best in worth:
        answer = best.answer
        asked, _ = answer.target.hex(viewing)
        swatches = pads(
            [(asked, "target"), (answer.hex, "mixed")], label=f"target {asked}, mixed {answer.hex}"
        )
        said = f"{answer.target.name} on {answer.garment.name}"
        words = f"{best.recipe.words}; {answer.words}"
        rows.append([swatches, said, verdict_mark(best.verdict), words])
    if rows:
        table(
            ("Target, mixed", "Color", "Verdict", "What"),
            rows,
            label="Recipes where no ink can promise",
        )
    else:
        note("No mix is worth it for the colors that no ink can promise.")
    if nowhere := out_of_reach(columns, mixed):
        note(f"Out of reach, mixed too: {', '.join(nowhere)}.")
