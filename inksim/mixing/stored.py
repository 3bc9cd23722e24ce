"""A mix stored as an ink of the shop: its K and S from its parts, and what is left of it."""

from __future__ import annotations

from typing import Any

from inksim.common import InputError
from inksim.mixing.bucket import Bucket, bucket_of
from inksim.mixing.found import FoundRecipe
from inksim.printing import Route
from inksim.shop import Draft, Shop, usual_build
from inksim.stock import Garment, Ink, Target

_AS_MIXED = (
    "solids_by_volume", "density_g_cm3", "finest_threads_per_inch", "coarsest_threads_per_inch",
    "max_passes", "directness", "price_per_kg", "cure_celsius", "cure_seconds", "additive_share",
    "additive_price_per_kg", "pot_life_hours", "stands_discharge", "data",
)  # fmt: skip


def stored_entry(
    found: FoundRecipe, *, name: str, left_g: float | None, date: str
) -> dict[str, Any]:
    """Fields of the ink's entry of a mix as it is weighed in.

    left_g : what is left of it; all of it if not given.

    Raises
    ------
    InputError : a recipe of one ink, which is no mix; more left than was mixed.
    """
    recipe, ink = found.recipe, found.recipe.weighed
    parts = {part.ink.name: part.grams for part in recipe.parts if part.grams > 0}
    if len(parts) < 2:
        raise InputError(
            f"this recipe is '{recipe.parts[0].ink.name}' alone, which the shop has; there is no "
            "mix to store."
        )
    left = recipe.grams if left_g is None else left_g
    check_left(left, parts=parts)
    answer = found.answer
    return {
        "name": name,
        "kind": "color",
        "parts": parts,
        "left_g": left,
        **{field: getattr(ink, field) for field in _AS_MIXED},
        "K": [float(v) for v in ink.K],
        "S": [float(v) for v in ink.S],
        "error": _error_fields(ink),
        "source": f"mixed for {answer.target.name} on {answer.garment.name}; {date}",
        "note": "; ".join(ink.assumed),
    }


def _error_fields(ink: Ink) -> dict[str, Any] | None:
    """Its own error, to three figures; None where it is as its provenance lets expect."""
    if ink.error is None:
        return None
    shapes = [[[float(f"{v:.3g}") for v in row] for row in pair] for pair in ink.error.shapes]
    return {"K": float(ink.error.K), "S": float(ink.error.S), "shapes": shapes}


def with_left(draft: Draft, ink: Ink, *, left_g: float) -> Draft:
    """A draft of inks.toml that notes what is left of a stored mix.

    Raises
    ------
    InputError : an ink that is no mix; more left than was mixed.
    """
    if ink.parts is None:
        raise InputError(
            f"'{ink.name}' is no stored mix, so that nothing is noted of it; store one with "
            "'inksim mix … --store NAME'."
        )
    check_left(left_g, parts=dict(ink.parts))
    return draft.replace("ink", ink.name, {**draft.entry("ink", ink.name), "left_g": left_g})


def stored_mix(shop: Shop, name: str) -> Ink | None:
    """The stored mix of a name, whatever its capitals; None where there is none."""
    named = (ink for ink in shop.inks.values() if ink.name.lower() == name.strip().lower())
    return next((ink for ink in named if ink.parts is not None), None)


def bucket_of_stored(
    mix: Ink, shop: Shop, *, target: Target, garment: Garment, route: Route
) -> Bucket:
    """What is left of a stored mix as a bucket, printed by the usual build of a route.

    Raises
    ------
    InputError : nothing left, or a part that is gone from the shop; see `usual_build`.
    """
    build = usual_build(shop, garment=garment, ink=mix, route=route)
    whole = bucket_of(dict(mix.parts or {}), inks=shop.inks, build=build, target=target)
    return whole if mix.left_g is None else whole.with_left(min(mix.left_g, whole.grams))


def check_left(left_g: float, *, parts: dict[str, float]) -> None:
    """Refuse more than was mixed."""
    mixed = sum(parts.values())
    if not 0 <= left_g <= mixed * 1.001:
        raise InputError(
            f"{left_g:g} g are said to be left of a mix of {mixed:g} g; give 0 to that."
        )
