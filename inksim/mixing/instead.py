"""A recipe instead of a stock ink, where none of them lands: for a job, a palette, a page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from inksim.colour import Viewing
from inksim.decision import WORDS, Answer
from inksim.mixing.find import NotPrintable, find_recipes
from inksim.mixing.found import FoundRecipe, FoundRecipes
from inksim.printing import ROUTES, Route
from inksim.shop import Shop


@dataclass(frozen=True, kw_only=True, eq=False)
class Instead:
    """What mixing does for a color that no stock ink lands.

    answer: that stands for the stock inks. found: the recipes. best: the first of them that is
    worth mixing; None where none is.
    """

    answer: Answer
    found: FoundRecipes
    best: FoundRecipe | None

    @property
    def reached(self) -> bool:
        """Whether the most likely print of a stock ink or of a mix is inside the tolerance."""
        return self.answer.nominal or self.mix_reaches

    @property
    def mix_reaches(self) -> bool:
        """Whether the most likely print of a mix is inside the tolerance."""
        return self.found.nearest.delta_e_2000 <= self.answer.interval.tolerance


def recipes_instead(
    shop: Shop, answer: Answer, *, viewing: Viewing, routes: Sequence[Route] = ROUTES
) -> Instead | None:
    """Look for a recipe that does better than the stock ink of an answer.

    None where the ink lands, and where no mix can be printed on the garment by these routes.

    Better is one of two inks or more that adds to the chance what the shop asks of anything that
    costs more (`least_chance_gain`), or that is nominally inside the tolerance where no stock ink
    is.

    Parameters
    ----------
    routes : that the mix may be printed by.
    """
    if answer.build.bare or answer.verdict.word == WORDS[0] or not shop.colour_inks:
        return None
    try:
        found = find_recipes(
            shop, target=answer.target, garment=answer.garment, routes=routes, viewing=viewing,
            tolerance=answer.interval.tolerance,
        )  # fmt: skip
    except NotPrintable:
        return None
    best = next((each for each in found if _better(each, answer, shop=shop)), None)
    return Instead(answer=answer, found=found, best=best)


def _better(one: FoundRecipe, answer: Answer, *, shop: Shop) -> bool:
    if len(one.parts) < 2:
        return False
    inside = one.delta_e_2000 <= answer.interval.tolerance
    surer = one.chance >= answer.chance + shop.rules.least_chance_gain
    return surer or (inside and not answer.nominal and one.chance >= answer.chance)


def palette_instead(
    shop: Shop,
    columns: Sequence[Sequence[Answer]],
    *,
    viewing: Viewing,
    look: Callable[[Answer], Instead | None] | None = None,
) -> tuple[Instead, ...]:
    """A recipe for each color of a palette that may be promised on none of the garments.

    Looked for on the garment where a stock ink's chance is best; a color that no stock ink reaches
    on any garment is looked for on the others too, the nearest first, until a mix reaches it. So
    that none is in reach is said only where no mix is either.

    Parameters
    ----------
    columns : of answers by garment, as `palette_on_stock` gives them.
    look : `recipes_instead` of an answer, for whoever keeps what it finds.
    """
    look = look or (lambda cell: recipes_instead(shop, cell, viewing=viewing))
    made: list[Instead] = []
    for row in not_promised(columns):
        nowhere = not any(cell.nominal for cell in row)
        tried: list[Instead] = []
        for cell in sorted(row, key=lambda cell: (-cell.chance, cell.delta_e_2000)):
            found = look(cell)
            tried += [found] if found else []
            if not nowhere or (found and found.mix_reaches):
                break
        if tried:
            made.append(min(tried, key=lambda each: each.found.nearest.delta_e_2000))
    return tuple(made)


def not_promised(columns: Sequence[Sequence[Answer]]) -> list[tuple[Answer, ...]]:
    """The colors of a palette that may be promised on none of the garments, on each of them."""
    return [
        row
        for row in zip(*columns, strict=True)
        if not any(cell.verdict.promised or cell.build.bare for cell in row)
    ]


def out_of_reach(columns: Sequence[Sequence[Answer]], mixed: Sequence[Instead]) -> tuple[str, ...]:
    """Names of a palette's colors that neither ink nor mix brings inside the tolerance anywhere.

    columns, mixed: see `palette_instead`.
    """
    by_mix = {each.answer.target.name for each in mixed if each.mix_reaches}
    return tuple(
        row[0].target.name
        for row in zip(*columns, strict=True)
        if not any(cell.nominal for cell in row) and row[0].target.name not in by_mix
    )
