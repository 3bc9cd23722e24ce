"""A recipe: inks of the stock mixed for one color, in dry volume and in grams of a bucket."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from inksim.common import FloatArray, InputError
from inksim.stock.ink import Ink, mix_inks

LEAST_BUCKET_G, MOST_BUCKET_G = 1.0, 250_000.0


@dataclass(frozen=True, kw_only=True, eq=False)
class RecipePart:
    """One ink of a recipe.

    share: of the dry volume, 0..1. grams: wet, to weigh in, as the scale shows them. exact_g: the
    same before they are rounded.
    """

    ink: Ink
    share: float
    grams: float
    exact_g: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Recipe:
    """Inks mixed for a color.

    parts: the most of it first. ink: their mixture by the exact shares; the stock ink itself where
    there is one part. step_g: of the scale.
    """

    parts: tuple[RecipePart, ...]
    ink: Ink
    step_g: float

    @cached_property
    def weighed(self) -> Ink:
        """The mixture as it is weighed in."""
        wet = np.array([part.grams / part.ink.density_g_cm3 for part in self.parts])
        return _mixed([part.ink for part in self.parts], wet)

    @property
    def grams(self) -> float:
        """Grams of wet ink in the bucket, as weighed."""
        return float(sum(part.grams for part in self.parts))

    @property
    def shares(self) -> dict[str, float]:
        """Dry volume share by the ink's name."""
        return {part.ink.name: part.share for part in self.parts}

    @property
    def cost_per_kg(self) -> float | None:
        """Cost per kilogram of wet ink; None where a part has no price."""
        return self.ink.price_per_kg

    def scaled(self, grams: float) -> dict[str, float]:
        """Grams of each ink for another amount of the mixture, not rounded."""
        total = sum(part.exact_g for part in self.parts)
        return {part.ink.name: part.exact_g * grams / total for part in self.parts}

    @property
    def words(self) -> str:
        """'52.0 g Lantern Orange, 448.0 g Rainwater Clear Base'."""
        return ", ".join(f"{grams_words(p.grams, self.step_g)} {p.ink.name}" for p in self.parts)


def grams_words(grams: float, step_g: float) -> str:
    """'52.0 g', with as many decimals as the scale's step has."""
    decimals = next((n for n in range(4) if abs(round(step_g, n) - step_g) < 1e-9), 4)
    return f"{grams:.{decimals}f} g"


def recipe_of(inks: Sequence[Ink], wet: FloatArray, *, grams: float, step_g: float) -> Recipe:
    """Make a recipe of wet volume shares (n,), each above 0.

    Parameters
    ----------
    grams : wet ink in the bucket. step_g: that the scale shows.

    Raises
    ------
    InputError : an amount that is no bucket, or every part below half a step of the scale.
    """
    check_grams(grams)
    order = np.argsort(-wet, kind="stable")
    inks, wet = [inks[at] for at in order], wet[order] / wet.sum()
    density = np.array([ink.density_g_cm3 for ink in inks])
    dry = wet * [ink.solids_by_volume for ink in inks]
    exact = grams * wet * density / (wet @ density)
    rounded = np.round(exact / step_g) * step_g
    if not rounded.any():
        raise InputError(
            f"{grams:g} g of a mix of {len(inks)} inks is less than the scale's step of "
            f"{step_g:g} g; mix more."
        )
    return Recipe(
        parts=tuple(
            RecipePart(ink=ink, share=float(share), grams=float(shown), exact_g=float(true))
            for ink, share, shown, true in zip(inks, dry / dry.sum(), rounded, exact, strict=True)
        ),
        ink=_mixed(inks, wet),
        step_g=step_g,
    )


def stored_recipe(mix: Ink, inks: Mapping[str, Ink], *, step_g: float) -> Recipe | None:
    """The recipe that a stored mix was weighed by; None of no mix, or where a part is gone.

    inks: of the shop, by name. step_g: of its scale.
    """
    by_name = {name.lower(): ink for name, ink in inks.items()}
    parts = {name.strip().lower(): grams for name, grams in (mix.parts or {}).items()}
    if not parts or not parts.keys() <= by_name.keys():
        return None
    own = [(by_name[name], grams) for name, grams in parts.items()]
    dry = [grams / ink.density_g_cm3 * ink.solids_by_volume for ink, grams in own]
    return Recipe(
        parts=tuple(
            RecipePart(ink=ink, share=each / sum(dry), grams=grams, exact_g=grams)
            for (ink, grams), each in zip(own, dry, strict=True)
        ),
        ink=mix,
        step_g=step_g,
    )


def check_grams(grams: float) -> None:
    """Refuse what is no amount of ink."""
    if not LEAST_BUCKET_G <= grams <= MOST_BUCKET_G:
        raise InputError(
            f"{grams:g} g is no amount to mix; give {LEAST_BUCKET_G:g} to {MOST_BUCKET_G:g} g of "
            "wet ink."
        )


def _mixed(inks: Sequence[Ink], wet: FloatArray) -> Ink:
    own = [(ink, float(share)) for ink, share in zip(inks, wet, strict=True) if share > 0]
    if len(own) == 1:
        return own[0][0]
    return mix_inks(own, name=" + ".join(ink.name for ink, _ in own))
