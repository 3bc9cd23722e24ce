"""Recipes found for a color: what each prints, what may be promised of it, what it costs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, overload

from inksim.common import FloatArray
from inksim.decision import Answer, Verdict, whole_percent
from inksim.printing import Build, Route
from inksim.stock import Recipe, RecipePart

EQUAL_CHANCE = 0.05
"""Chances this close count as equal; cost decides."""
ALIKE_SHARE = 0.20
"""Two recipes by one route are alike where this share of the dry ink, or less, is another."""


@dataclass(frozen=True, kw_only=True, eq=False)
class FoundRecipe:
    """One recipe on the build that it is best printed by.

    answer: what comes out and what may be promised of it; its build has the mixture on top, and its
    `recipe` the parts. metamerism: the largest CIE 15 index of a change from the viewing to another
    of the shop's lights; None of a target without a spectrum. rounding_de00: between the print of
    what the scale shows and that of the exact shares. swaps: pairs of an ink of the recipe and one
    of the stock that can stand for it, the shares found anew. share_sd: standard error of each dry
    share at the noise of a reading, by the ink's name, or half of how far it differs in another mix
    on the same build that is within that noise; None of a target without a spectrum.
    """

    answer: Answer
    recipe: Recipe
    metamerism: float | None
    rounding_de00: float
    swaps: tuple[tuple[str, str], ...]
    share_sd: Mapping[str, float] | None

    @property
    def parts(self) -> tuple[RecipePart, ...]:
        """Inks with their shares and grams, the most first."""
        return self.recipe.parts

    @property
    def build(self) -> Build:
        """The build to print, the mixture on top."""
        return self.answer.build

    @property
    def route(self) -> Route | Literal["bare"]:
        """Its route."""
        return self.answer.route

    @property
    def lab(self) -> FloatArray:
        """Lab (3,) of the most likely print."""
        return self.answer.lab

    @property
    def delta_e_2000(self) -> float:
        """ΔE00 of that from the target."""
        return self.answer.delta_e_2000

    @property
    def median_de00(self) -> float:
        """The ΔE00 in the middle of what is expected."""
        return self.answer.median_de00

    @property
    def chance(self) -> float:
        """Chance of landing."""
        return self.answer.chance

    @property
    def verdict(self) -> Verdict:
        """What may be promised of it."""
        return self.answer.verdict

    @property
    def cost_per_kg(self) -> float | None:
        """Cost per kilogram of the mixture; None where a part has no price."""
        return self.recipe.cost_per_kg

    @property
    def cost_words(self) -> str:
        """Format the cost per kilogram: '17.40'; '–' where a part has no price."""
        return "–" if self.cost_per_kg is None else f"{self.cost_per_kg:.2f}"


@dataclass(frozen=True, kw_only=True, eq=False)
class FoundRecipes(Sequence[FoundRecipe]):
    """The recipes of a color, the best first; a sequence of them.

    recipes: a handful that differ. nearest: the one whose most likely color is nearest, which may
    be none of them. notes: sentences on what was assumed, left out or out of reach.
    """

    recipes: tuple[FoundRecipe, ...]
    nearest: FoundRecipe
    notes: tuple[str, ...]

    @overload
    def __getitem__(self, at: int) -> FoundRecipe: ...

    @overload
    def __getitem__(self, at: slice) -> tuple[FoundRecipe, ...]: ...

    def __getitem__(self, at: int | slice) -> FoundRecipe | tuple[FoundRecipe, ...]:
        """A recipe by its rank, from 0."""
        return self.recipes[at]

    def __len__(self) -> int:
        """Number of recipes."""
        return len(self.recipes)

    def __iter__(self) -> Iterator[FoundRecipe]:
        """The recipes in order."""
        return iter(self.recipes)


def ranked(found: Sequence[FoundRecipe], *, tolerance: float, room: float) -> list[FoundRecipe]:
    """Sort by the chance of landing; of equal chances by cost, number of inks, metamerism.

    Equal are chances within `EQUAL_CHANCE` of the best that is left, of prints that are inside the
    tolerance or about as near as the nearest of them: where nothing lands, the cheapest is no
    answer.

    Parameters
    ----------
    room : ΔE00 by which a print may be farther than the nearest and still count as near.
    """
    left = sorted(found, key=lambda each: (-each.chance, each.delta_e_2000))
    order: list[FoundRecipe] = []
    while left:
        best = left[0].chance - EQUAL_CHANCE
        sure = [each for each in left if each.chance >= best]
        near = max(tolerance, min(each.delta_e_2000 for each in sure) + room)
        group = [each for each in sure if each.delta_e_2000 <= near]
        order += sorted(group, key=_cheapest)
        left = [each for each in left if each not in group]
    return order


def _cheapest(one: FoundRecipe) -> tuple[float, ...]:
    cost = float("inf") if one.cost_per_kg is None else round(one.cost_per_kg, 2)
    return cost, len(one.parts), one.metamerism or 0.0, -float(whole_percent(one.chance))


def differing(order: Sequence[FoundRecipe], *, most: int) -> list[FoundRecipe]:
    """The first few that differ: by route, or in more than `ALIKE_SHARE` of the dry ink."""
    kept: list[FoundRecipe] = []
    for each in order:
        if len(kept) == most:
            break
        if all(each.route != other.route or _apart(each, other) > ALIKE_SHARE for other in kept):
            kept.append(each)
    return kept


def _apart(one: FoundRecipe, other: FoundRecipe) -> float:
    """Share of the dry ink that is another."""
    a, b = one.recipe.shares, other.recipe.shares
    return 0.5 * sum(abs(a.get(name, 0.0) - b.get(name, 0.0)) for name in {*a, *b})
