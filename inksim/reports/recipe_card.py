"""Recipe card for the ink room: what is weighed, what it prints, what a gram does; as text."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

from inksim.colour import Viewing
from inksim.common import PROGRAM, STRIKE_OFF, patch
from inksim.decision import difference_words
from inksim.printing import honest_words, predict_nominal, under_lights
from inksim.reports.cautions import CAUTIONS, DISCHARGE
from inksim.reports.text import table
from inksim.shop import Shop
from inksim.stock import grams_words

if TYPE_CHECKING:
    from inksim.mixing import FoundRecipe, ShareCurve
    from inksim.printing import SeenInLight

OTHER_LIGHT = "A"
"""The light that a card shows besides the one asked for: a lamp at home (CIE illuminant A)."""
NOTHING_DE00 = 0.5
"""A difference that nobody names in words [assumption]."""
TARE = "Put the empty bucket on the scale and set it to zero. Empty it weighs ________ g."
TOO_MUCH = (
    "Most first. Did too much of an ink go in? Divide its grams by the recipe's, and multiply "
    "the grams of all others by that."
)
PARTS_HEAD = ("", "ink", "weigh in", "scale shows", "by weight", "1 g more moves")


@dataclass(frozen=True, kw_only=True, eq=False)
class RecipeCard:
    """A recipe for one color, as it hangs by the scale.

    found: of a search in this shop. tolerance: ΔE00 that its chance holds for. made: the day.
    """

    found: FoundRecipe
    shop: Shop
    viewing: Viewing
    tolerance: float
    made: date

    @property
    def title(self) -> str:
        """'#8a3f5a on Coal Black'."""
        answer = self.found.answer
        return f"{answer.target.name} on {answer.garment.name}"

    @property
    def outcome(self) -> str:
        """What may be promised of it."""
        return self.found.verdict.said(self.tolerance)

    @property
    def differs(self) -> str:
        """The most likely print against the target, in words."""
        one, answer = self.found, self.found.answer
        words = ""
        if one.delta_e_2000 >= NOTHING_DE00:
            words = f", {difference_words(answer.target.lab(self.viewing), one.lab)}"
        return (
            f"The most likely print is nominally ΔE00 {one.delta_e_2000:.1f} from the target"
            f"{words}. Weighed to {one.recipe.step_g:g} g it moves by ΔE00 {one.rounding_de00:.2f}."
        )

    @property
    def printed(self) -> str:
        """How it is printed."""
        return f"{self.found.answer.words}, on {self.found.answer.garment.name}"

    @property
    def costs(self) -> str:
        """'500.0 g, 17.40 USD/kg'."""
        recipe = self.found.recipe
        price = (
            "price not known"
            if recipe.cost_per_kg is None
            else f"{recipe.cost_per_kg:.2f} {self.shop.costs.currency}/kg"
        )
        return f"{grams_words(recipe.grams, recipe.step_g)}, {price}"

    @cached_property
    def curves(self) -> tuple[ShareCurve, ...]:
        """What a gram does, of each ink."""
        from inksim.mixing import share_curves

        return share_curves(
            self.found.recipe, self.found.build, target=self.found.answer.target,
            press=self.shop.press.values, viewing=self.viewing,
        )  # fmt: skip

    @cached_property
    def seen(self) -> tuple[tuple[str, SeenInLight], ...]:
        """The target's hex and the print, under the light asked for and another.

        '' under the other light where the target is a color without a spectrum.
        """
        target = self.found.answer.target
        (printed,) = predict_nominal(
            [self.found.build], press=self.shop.press.values, viewing=self.viewing
        )
        second = OTHER_LIGHT if self.viewing.light != OTHER_LIGHT else "D65"
        found = under_lights(
            printed.reflectance, target=target, reference_light=self.viewing.light,
            lights=(self.viewing.light, second), observers=(self.viewing.observer,),
        )  # fmt: skip
        return tuple(
            (
                target.hex(each.viewing)[0]
                if each.viewing == self.viewing or target.reflectance is not None
                else "",
                each,
            )
            for each in found
        )

    @property
    def light_words(self) -> str:
        """Sentence on what the second light can tell."""
        (_, first), (_, second) = self.seen
        if self.found.answer.target.reflectance is None:
            return (
                "The target is a color without a spectrum: how it looks under another light is not "
                "known."
            )
        return (
            f"ΔE00 {first.delta_e_2000:.1f} under {first.viewing}, {second.delta_e_2000:.1f} under "
            f"{second.viewing}."
        )

    @property
    def rows(self) -> list[list[str]]:
        """The parts in order of weighing, the running total with each; see `PARTS_HEAD`."""
        recipe, sum_g, rows = self.found.recipe, 0.0, []
        moves = {curve.ink.name: curve.per_gram for curve in self.curves}
        for at, part in enumerate(recipe.parts, start=1):
            sum_g += part.grams
            moved = moves.get(part.ink.name)
            rows.append(
                [
                    f"{at}",
                    part.ink.name,
                    grams_words(part.grams, recipe.step_g),
                    grams_words(sum_g, recipe.step_g),
                    f"{part.grams / recipe.grams:.1%}",
                    "–" if moved is None else f"ΔE00 {moved:.2f}",
                ]
            )
        return rows

    @property
    def cautions(self) -> tuple[str, ...]:
        """Safety, and what the first print is for."""
        discharge = [DISCHARGE] * (self.found.route == "discharge-base")
        return (
            f"Gloves and eye protection; stir without splashing. {CAUTIONS[0]}", *discharge,
            STRIKE_OFF,
        )  # fmt: skip

    @property
    def data_words(self) -> str:
        """Where its certainty comes from."""
        return honest_words(self.found.answer.data, calibrated=self.shop.press.calibrated)

    @property
    def foot(self) -> str:
        """The shop and the day."""
        return f"{self.shop.name}, {self.made.isoformat()}, compared under {self.viewing}"


def card_text(card: RecipeCard) -> str:
    """The card as plain text."""
    parts = table(PARTS_HEAD, card.rows, left=2)
    lights = [
        f"{seen.viewing}: {f'target {patch(asked)}{asked}, ' if asked else ''}"
        f"print {patch(seen.hex)}{seen.hex}"
        for asked, seen in card.seen
    ]
    return "\n".join(
        [
            f"Recipe: {card.title}", card.outcome, card.differs, "",
            *lights, card.light_words, "",
            TARE, parts, f"Together {card.costs}.", TOO_MUCH, "",
            f"Printed: {card.printed}.", "",
            *(f"- {each}" for each in card.cautions),
            card.data_words, f"{card.foot}, {PROGRAM}", "",
        ]
    )  # fmt: skip
