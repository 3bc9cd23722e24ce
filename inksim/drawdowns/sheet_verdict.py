"""What leaving out recipes said of a sheet of drawdowns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

LARGE_DELTA_E = 3.0
"""A left-out ΔE00 above which no sheet is good [assumption: what a job may be off, usually]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class RecipeCheck:
    """A recipe left out: its name, and the mean ΔE00 of what the others predict of it."""

    name: str
    delta_e: float


@dataclass(frozen=True, kw_only=True, eq=False)
class SheetCheck:
    """What leaving out one recipe at a time says of a sheet.

    recipes : those that could be left out. kept : the others, with the reason. delta_e : mean ΔE00
    over the first, None without any. again : films to read again, each with its reason. causes :
    likely causes of a large ΔE00, in shop words. times : by ink, how many times as far off the
    left-out recipes with it were as the fit's own errors let expect, at least 1.
    """

    recipes: tuple[RecipeCheck, ...]
    kept: Mapping[str, str]
    delta_e: float | None
    again: tuple[str, ...]
    causes: tuple[str, ...]
    times: Mapping[str, float]

    @property
    def is_good(self) -> bool:
        """Whether no film has to be read again."""
        return not self.again

    @property
    def verdict(self) -> str:
        """'good'; or what to read again and why; or how far off it is; or that nothing tells."""
        if self.again:
            return "; ".join(f"read this film again: {each}" for each in self.again)
        if self.delta_e is None:
            return "nothing speaks against it, but no film tests another"
        if self.delta_e > LARGE_DELTA_E:
            return (
                f"not good, though no one film stands out: recipes left out are {self.delta_e:.1f} "
                f"ΔE00 off, and those of a good sheet {LARGE_DELTA_E:g} at most"
            )
        return "good"

    @property
    def words(self) -> str:
        """The left-out ΔE00 in a sentence."""
        if self.delta_e is None:
            return "No recipe could be left out to test the fit: every film is needed."
        return (
            f"Recipes that were left out of the fit are predicted within {self.delta_e:.2f} ΔE00 "
            "on average."
        )
