"""Use a leftover: the recipes that take up most of a stored mix and still print the color."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import Viewing, delta_e_2000, lab as lab_of
from inksim.common import FloatArray, InputError
from inksim.decision import aimed_at
from inksim.mixing.bucket import Bucket
from inksim.mixing.bucket_model import BucketModel
from inksim.mixing.correction import least
from inksim.mixing.find import allowed_inks, find_recipes
from inksim.mixing.found import FoundRecipe, FoundRecipes, differing
from inksim.printing import ROUTES, Build, Route, swatch
from inksim.shop import Shop
from inksim.stock import Garment, Ink, Recipe, Target, recipe_of

NEAR_SHARE = 0.5
"""Of the tolerance that the print of a leftover's mix may take up nominally [assumption]."""
FARTHER_DE00 = 0.5
"""Or, where no mix is as near, how much farther than the nearest it may be [assumption]."""
HALVINGS = 7


@dataclass(frozen=True, kw_only=True, eq=False)
class _Way:
    """A build, and inks that go with the leftover: its weight share, theirs (n,) of the rest."""

    build: Build
    others: tuple[Ink, ...]
    share: float
    rest: FloatArray


def use_leftover(
    shop: Shop,
    leftover: Ink,
    *,
    target: Target,
    garment: Garment,
    routes: Sequence[Route] = ROUTES,
    most_inks: int | None = None,
    grams: float = 500.0,
    viewing: Viewing = Viewing(),
    tolerance: float = 3.0,
) -> FoundRecipes:
    """Find recipes that use a stored mix up as far as the color allows; that which uses most first.

    Each recipe of `find_recipes` is mixed anew with as much of the leftover as keeps its print
    nominally within half the tolerance, or within `FARTHER_DE00` of the nearest. Parameters and
    errors are as there.

    Raises
    ------
    InputError : an ink that is no stored mix, or nothing left of it; no recipe that it may be in.
    """
    if leftover.parts is None:
        raise InputError(
            f"'{leftover.name}' is no stored mix; 'inksim mix … --store NAME' keeps one."
        )
    left = sum(leftover.parts.values()) if leftover.left_g is None else leftover.left_g
    if left < max(shop.rules.least_part_g, shop.rules.scale_step_g):
        raise InputError(f"nothing that can be weighed is left of '{leftover.name}', {left:g} g.")
    found = find_recipes(
        shop, target=target, garment=garment, routes=routes, most_inks=most_inks, grams=grams,
        viewing=viewing, tolerance=tolerance,
    )  # fmt: skip
    goal = aimed_at(shop, target).lab(viewing)
    limit = max(NEAR_SHARE * tolerance, found.nearest.delta_e_2000 + FARTHER_DE00)
    most = min(1.0, left / grams)
    room = allowed_inks(shop, most_inks) - 1
    made = []
    for one in found:
        way = _most_of(
            one, leftover, shop, goal=goal, limit=limit, most=most, room=room, viewing=viewing
        )
        if way is None or way.share * grams < shop.rules.least_part_g:
            continue
        done = _as_found(
            way, leftover, shop, target=target, garment=garment, grams=grams, viewing=viewing,
            tolerance=tolerance,
        )  # fmt: skip
        made += [] if done is None else [(way.share, done)]
    if not made:
        raise InputError(
            f"no mix of {grams:g} g with the {left:g} g left of '{leftover.name}' prints this "
            f"color on '{garment.name}' within ΔE00 {limit:.1f}; mix less, or keep it for another "
            "color."
        )
    made.sort(key=lambda each: (-each[0], each[1].delta_e_2000))
    used = made[0][0] * grams
    return FoundRecipes(
        recipes=tuple(differing([each for _, each in made], most=len(made))),
        nearest=min((each for _, each in made), key=lambda each: each.delta_e_2000),
        notes=(
            f"Recipe 1 uses {used:.0f} g of the {left:g} g left of '{leftover.name}'; note what is "
            "left then with 'inksim mix --store NAME --left GRAMS'.",
        ),
    )


def _most_of(
    one: FoundRecipe,
    leftover: Ink,
    shop: Shop,
    *,
    goal: FloatArray,
    limit: float,
    most: float,
    room: int,
    viewing: Viewing,
) -> _Way | None:
    """The largest share of the leftover, on the build of a recipe and with its inks."""
    others = tuple(p.ink for p in one.parts if p.ink.name != leftover.name)[:room]
    if not others:
        away = one.delta_e_2000
        fits = most >= 1.0 and away <= limit
        return _Way(build=one.build, others=(), share=1.0, rest=np.zeros(0)) if fits else None
    inks = (leftover, *others)
    bucket = Bucket(
        inks=inks, batches=np.full((1, len(inks)), 100.0), build=one.build,
        target=one.answer.target,
    )  # fmt: skip
    model = BucketModel(bucket=bucket, press=shop.press, viewing=viewing, step_g=0.1)

    def nearest(share: float, start: FloatArray) -> tuple[FloatArray, float]:
        def away(rest: FloatArray) -> FloatArray:
            shares = np.concatenate([np.full((len(rest), 1), share), (1.0 - share) * rest], axis=1)
            lab = model.lab(np.zeros((len(rest), model.size)), np.maximum(shares, 1e-9))
            return np.asarray(delta_e_2000(goal, lab))

        even = np.full(start.size, 1.0 / start.size)
        best = least(away, [start, even], most=1.0, exactly=True)
        return best, float(away(best[None])[0])

    grams = {part.ink.name: part.exact_g for part in one.parts}
    start = np.array([grams[ink.name] for ink in others])
    low, high, rest = 0.0, most, start / start.sum()
    tried, away = nearest(most, rest)
    if away <= limit:
        return _Way(build=one.build, others=others, share=most, rest=tried)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        tried, away = nearest(middle, rest)
        if away <= limit:
            low, rest = middle, tried
        else:
            high = middle
    return _Way(build=one.build, others=others, share=low, rest=rest) if low > 0 else None


def _as_found(
    way: _Way,
    leftover: Ink,
    shop: Shop,
    *,
    target: Target,
    garment: Garment,
    grams: float,
    viewing: Viewing,
    tolerance: float,
) -> FoundRecipe | None:
    """What is known of its print, by the one search; None where the rules refuse the build."""
    recipe = _recipe(way, leftover, shop, grams=grams)
    try:
        (found,) = find_recipes(
            shop, target=target, garment=garment, like=way.build, inks=[recipe.ink], most_inks=1,
            grams=grams, viewing=viewing, tolerance=tolerance, most=1,
        )  # fmt: skip
    except InputError:
        return None
    top = found.build.colour
    weighed = replace(
        found.build,
        layers=(*found.build.layers[:-1], replace(top, ink=recipe.weighed)),
    )
    both = lab_of(swatch([found.build, weighed], press=shop.press), viewing)
    return replace(
        found,
        answer=replace(found.answer, recipe=recipe),
        recipe=recipe,
        rounding_de00=float(delta_e_2000(both[0], both[1])),
        share_sd=None,
    )


def _recipe(way: _Way, leftover: Ink, shop: Shop, *, grams: float) -> Recipe:
    """Parts too small to weigh go to the other inks: of the leftover there is no more."""
    open_share = 1.0 - way.share
    weighs = open_share * way.rest * grams >= max(shop.rules.least_part_g, 1e-9)
    rest = np.where(weighs, way.rest, 0.0)
    shares = np.array([way.share, *(open_share * rest / (rest.sum() or 1.0))])
    inks = [leftover, *way.others]
    kept = np.flatnonzero(shares > 0)
    wet = shares[kept] / [inks[i].density_g_cm3 for i in kept]
    step = shop.rules.scale_step_g
    made_g = grams * float(shares.sum())
    return recipe_of([inks[i] for i in kept], wet, grams=made_g, step_g=step)
