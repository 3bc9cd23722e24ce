"""Recipes as a shop writes them: 'Kiln Red', 'Kiln Red 10 % + Chalk White 90 %', '5 g + 45 g'."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from inksim.common import InputError

CARD_WORDS = ("", "-", "–", "none", "card", "bare card", "bare", "substrate")
_AMOUNT = r"(?P<amount>\d+(?:[.,]\d+)?)(?:\s*(?P<unit>%|g|grams?))?"
_NAME_FIRST = re.compile(rf"(?P<name>.*?\S)(?:\s*[:=])?\s+{_AMOUNT}", re.IGNORECASE)
_NAME_MARK = re.compile(rf"(?P<name>.*?\S)\s*[:=]\s*{_AMOUNT}", re.IGNORECASE)
_AMOUNT_FIRST = re.compile(rf"{_AMOUNT}\s+(?P<name>\S.*)", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class FilmRecipe:
    """Parts of each ink, summing to 1: of dry volume, or of the wet mass where ``by_mass``."""

    parts: Mapping[str, float]
    by_mass: bool = False

    @property
    def words(self) -> str:
        """'Kiln Red' or 'Kiln Red 10 % + Chalk White 90 %'."""
        if len(self.parts) == 1:
            return next(iter(self.parts))
        return " + ".join(f"{name} {100 * part:.3g} %" for name, part in self.parts.items())


def is_card(text: str) -> bool:
    """Whether the text means a bare card rather than an ink."""
    return text.strip().lower() in CARD_WORDS


def recipe_from(text: str, *, where: str) -> FilmRecipe:
    """Parse a recipe: inks joined by + or ;, each with its parts before or after the name.

    Parts are of dry volume; with g after the number they are grams of wet ink. They are divided by
    their sum, so percent, fractions and '1 + 9' are all the same.

    Raises
    ------
    InputError : an amount missing in a mixture, an ink twice, parts not above 0, grams mixed with
        parts.
    """
    pieces = [piece.strip() for piece in re.split(r"[+;]", text) if piece.strip()]
    amounts: dict[str, float] = {}
    units = set()
    for piece in pieces:
        found = _NAME_MARK.fullmatch(piece) or _AMOUNT_FIRST.fullmatch(piece)
        last = _NAME_FIRST.fullmatch(piece)
        if found is None and last is not None and (len(pieces) > 1 or last["unit"]):
            found = last  # alone, 'Ink 7' is a name
        if found is None and len(pieces) > 1:
            raise InputError(
                f"{where}: '{piece}' in the recipe has no amount; write it like "
                "'Kiln Red 10 % + Chalk White 90 %'."
            )
        name = " ".join((found["name"] if found else piece).split())
        if name in amounts:
            raise InputError(f"{where}: '{name}' stands twice in the recipe; add its parts up.")
        amounts[name] = float(found["amount"].replace(",", ".")) if found else 1.0
        units.add(bool(found and (found["unit"] or "").lower().startswith("g")))
    return recipe_of(amounts, by_mass=units == {True}, mixed=len(units) > 1, where=where)


def recipe_of(
    amounts: Mapping[str, float], *, where: str, by_mass: bool = False, mixed: bool = False
) -> FilmRecipe:
    """Make a recipe from amounts; zeros are left out.

    Raises
    ------
    InputError : none above 0, one below, or grams mixed with parts.
    """
    if mixed:
        raise InputError(f"{where}: the recipe mixes grams with parts of volume; use one of them.")
    wrong = [name for name, amount in amounts.items() if amount < 0]
    total = sum(amounts.values())
    if wrong or total <= 0:
        stated = ", ".join(f"{name} {amount:g}" for name, amount in amounts.items())
        raise InputError(f"{where}: the recipe's parts must be above 0; it has {stated}.")
    parts = {name: amount / total for name, amount in amounts.items() if amount > 0}
    return FilmRecipe(parts=parts, by_mass=by_mass)
