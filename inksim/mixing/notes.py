"""Sentences that go with recipes: what was assumed, what is out of reach, what would help."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inksim.colour import Viewing, chroma, hue
from inksim.common import FloatArray, lab_words
from inksim.decision import WHITE_NOTE, difference_words, stays_bare
from inksim.mixing.found import FoundRecipe
from inksim.shop import Shop
from inksim.stock import Ink

HUES = ("red", "orange", "yellow", "yellow-green", "green", "blue-green", "blue", "violet",
        "purple", "pink")  # fmt: skip
HUE_ENDS = (35.0, 65.0, 105.0, 130.0, 175.0, 225.0, 285.0, 310.0, 335.0, 360.0)
"""Names of hues by the end of their range of hab, degrees; red begins at 0 [assumption]."""
GREY_CHROMA = 6.0
"""Below this C* a color is called gray [assumption]."""
MOVES = 1.5
"""Least difference in L* or C* that a word is made of."""


def notes_of(
    shop: Shop,
    *,
    recipes: Sequence[FoundRecipe],
    nearest: FoundRecipe,
    stock: tuple[Ink, ...],
    tolerance: float,
    viewing: Viewing,
) -> tuple[str, ...]:
    """Notes on a search, each a sentence."""
    target, garment = nearest.answer.target, nearest.answer.garment
    notes = [f"{target.note[0].upper()}{target.note[1:]}."] if WHITE_NOTE in target.note else []
    if stays_bare(garment, target, tolerance=tolerance, viewing=viewing, limits=shop.rules):
        notes.append(
            f"'{garment.name}' is that color already: nothing needs to be printed, nor mixed."
        )
    if not any(ink.kind == "clear-base" for ink in stock):
        notes.append(
            "There is no clear base to mix with: a color is thinned with white alone, which covers "
            "more and is paler; an ink of kind 'clear-base' in inks.toml would open the rest."
        )
    usual = [ink.name for ink in stock if any("density" in words for words in ink.usual)]
    if usual:
        which = ", ".join(f"'{name}'" for name in usual[:3]) + (" and others" * (len(usual) > 3))
        notes.append(
            f"The density of {which} is not stated: grams are worked out with the usual one of "
            "its kind; state density_g_cm3 in inks.toml."
        )
    lost = {part.ink.name: one for one in recipes for part in one.parts if not part.grams}
    for name, one in lost.items():
        notes.append(
            f"'{name}' is less than half a step of the scale ({one.recipe.step_g:g} g) in a "
            f"recipe: without it the print moves by ΔE00 {one.rounding_de00:.1f}; mix more at once."
        )
    notes += _too_little_left(recipes)
    asked = target.lab(viewing)
    if nearest.delta_e_2000 > tolerance:
        notes.append(
            f"No print of this stock reaches the color: the nearest is Lab "
            f"{lab_words(nearest.lab)}, nominally ΔE00 {nearest.delta_e_2000:.1f} off, "
            f"{difference_words(asked, nearest.lab)}. {would_help(asked, nearest.lab)}"
        )
    return tuple(notes)


def _too_little_left(recipes: Sequence[FoundRecipe]) -> list[str]:
    """Of each stored mix of which a recipe asks for more than is left, a sentence."""
    asks: dict[str, str] = {}
    for number, one in enumerate(recipes, start=1):
        for part in one.parts:
            left = part.ink.left_g
            if left is not None and part.grams > left + one.recipe.step_g:
                asks.setdefault(
                    part.ink.name,
                    f"Of the stored mix '{part.ink.name}' {left:g} g are left, and recipe {number} "
                    f"asks for {part.grams:.0f} g: mix more of it, or use it up as far as it goes "
                    "with 'inksim mix … --leftover'.",
                )
    return list(asks.values())


def would_help(asked: FloatArray, nearest: FloatArray) -> str:
    """The ink that would bring prints nearer, in a sentence: what the nearest lacks most."""
    name = hue_name(asked)
    light = float(asked[0] - nearest[0])
    colourful = float(chroma(asked) - chroma(nearest))
    turned = float(np.linalg.norm(asked[1:] - nearest[1:])) - abs(colourful)
    if colourful >= max(abs(light), turned, MOVES):
        return f"A cleaner {name} ink would help, of C* {float(chroma(asked)):.0f} or more."
    if light >= max(turned, MOVES):
        return (
            f"A {name} ink that is lighter would help, or a ground that is: a whiter base, or one "
            "laid down thicker."
        )
    if -light >= max(turned, MOVES):
        return f"A stronger, deeper {name} ink would help."
    return f"A {name} ink of just this hue would help."


def hue_name(lab: FloatArray) -> str:
    """Name of a color's hue (3,): 'blue-green'; 'gray' of one with hardly any."""
    if float(chroma(lab)) < GREY_CHROMA:
        return "gray"
    return HUES[int(np.searchsorted(HUE_ENDS, float(hue(lab)), side="right"))]
