"""Recipes as text and as JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from inksim.common import ROUTE_SHORT, lab_words, patch
from inksim.reports.cautions import DISCHARGE
from inksim.reports.json_documents import document
from inksim.reports.text import table
from inksim.stock import grams_words

if TYPE_CHECKING:
    from inksim.mixing import FoundRecipe, FoundRecipes

NONE_NOMINAL = "No recipe is nominally inside the tolerance."


def recipes_text(
    found: FoundRecipes,
    *,
    tolerance: float,
    currency: str,
    runs: Sequence[Mapping[str, float]] = (),
) -> str:
    """Table of the recipes, then each with its parts in grams and its build.

    runs: grams of each ink for a job's run, of each recipe; none without a job.
    """
    rows = [
        [
            f"{at}",
            one.verdict.word,
            f"{one.median_de00:.1f}",
            f"{one.verdict.low:.1f}–{one.verdict.high:.1f}",
            one.verdict.percent,
            f"{one.delta_e_2000:.1f}",
            one.cost_words,
            "–" if one.metamerism is None else f"{one.metamerism:.1f}",
            ROUTE_SHORT[one.route],
        ]
        for at, one in enumerate(found, start=1)
    ]
    head = ["", "verdict", "ΔE00", "9 in 10", "chance", "nominal", f"{currency}/kg", "metamerism",
            "route"]  # fmt: skip
    lines = [table(head, rows, left=2, left_last=True)]
    for at, one in enumerate(found, start=1):
        lines += ["", *_recipe_lines(at, one, runs[at - 1] if runs else {})]
    if found and not any(one.delta_e_2000 <= tolerance for one in found):
        lines += ["", NONE_NOMINAL]
    if any(one.route == "discharge-base" for one in found):
        lines += ["", DISCHARGE]
    return "\n".join([*lines, *(f"\n{note}" for note in found.notes)])


def _recipe_lines(at: int, one: FoundRecipe, run: Mapping[str, float]) -> list[str]:
    """A recipe: its print and build, its parts, what rounding costs, what can stand for what."""
    answer, step = one.answer, one.recipe.step_g
    shown = patch(answer.hex)
    lines = [f"{at}. {shown}{answer.hex}, Lab {lab_words(one.lab)}: {answer.words}"]
    head = ["ink", "dry", "bucket"] + (["this run"] if run else [])
    rows = [
        [
            part.ink.name,
            f"{100 * part.share:.1f}%" + _unsure(one, part.ink.name),
            grams_words(part.grams, step),
            *([grams_words(run[part.ink.name], step)] if run else []),
        ]
        for part in one.parts
    ]
    lines += [f"   {line}" for line in table(head, rows).splitlines()]
    lines.append(
        f"   Weighed to {step:g} g the print moves by ΔE00 {one.rounding_de00:.2f}."
        if one.rounding_de00 >= 0.005
        else f"   Weighed to {step:g} g the print does not move."
    )
    if one.swaps:
        pairs = "; ".join(f"{other} for {own}" for own, other in one.swaps[:3])
        lines.append(f"   Would do as well, the shares found anew: {pairs}.")
    return lines


def _unsure(one: FoundRecipe, name: str) -> str:
    """' ±1.2' points of a share that a reading tells; '' of a color without a spectrum."""
    if one.share_sd is None or name not in one.share_sd:
        return ""
    sd = 100 * one.share_sd[name]
    return " ±?" if sd > 50 else f" ±{sd:.1f}"


def instead_words(one: FoundRecipe, *, currency: str) -> str:
    """A recipe in a line: 'Mixed it lands, ΔE00 1.4 (…), 88%, 21.47 USD/kg: 420.4 g … through …'.

    Grams are those of the bucket that was looked for.
    """
    price = f", {one.cost_words} {currency}/kg" if one.cost_per_kg is not None else ""
    return f"Mixed: {one.verdict.short}{price}: {one.recipe.words}; {one.answer.words}"


def recipes_document(
    found: FoundRecipes, *, runs: Sequence[Mapping[str, float]] = ()
) -> dict[str, Any]:
    """The recipes as JSON-ready values."""
    recipes = [document(one) for one in found]
    for made, run in zip(recipes, runs, strict=False):
        made["run_grams"] = document(dict(run), "1")
    return {
        "recipes": recipes,
        "nearest": document(found.nearest),
        "notes": list(found.notes),
    }
