"""Recipes for a color on a garment: the print model inverted, then held against the decision."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from inksim.colour import Viewing, delta_e_2000, hex_code, lab as lab_of, metamerism_index, xyz
from inksim.common import FloatArray, InputError
from inksim.decision import (
    ROUTE_ROOM_DE00,
    Answer,
    BuildSpace,
    Evaluated,
    against,
    aimed_at,
    barrier,
    choose_build,
    evaluate,
    work_of,
    worth_weighing,
)
from inksim.mixing.aim import aim_at
from inksim.mixing.candidates import inks_to_mix, open_builds, sets_of, stock_arrays
from inksim.mixing.films import printed_films
from inksim.mixing.found import FoundRecipe, FoundRecipes, differing, ranked
from inksim.mixing.inversion import Sets, StockArrays, looks
from inksim.mixing.notes import notes_of
from inksim.mixing.search import Question, search, wobble
from inksim.mixing.standing_in import READING_SD, differing_shares, share_errors, swapped
from inksim.printing import (
    ROUTES,
    USUAL_LIGHTS,
    Build,
    Route,
    build_words,
    check_route,
    interval_of,
    swatch,
    wet_deposit_um,
)
from inksim.shop import Shop
from inksim.stock import Garment, Ink, Recipe, Target, check_grams, recipe_of

RECIPES = 6
"""How many are told: a handful."""
MOST_INKS = 6
"""In a mix, of a shop that does not keep the rule on them."""
MOST_HELD = 0.9
"""Share of a small bucket that the least parts of a mix may take up together."""
WEIGHED, WEIGHED_BY_ROUTE = 48, 8
"""Mixtures whose chance is worked out, and of each route at least."""


class NotPrintable(InputError):
    """No mix can be printed on the garment by the routes that were asked for."""


def find_recipes(
    shop: Shop,
    *,
    target: Target,
    garment: Garment,
    routes: Sequence[Route] = ROUTES,
    like: Build | None = None,
    inks: Sequence[Ink] | None = None,
    most_inks: int | None = None,
    grams: float = 500.0,
    viewing: Viewing = Viewing(),
    tolerance: float = 3.0,
    most: int = RECIPES,
) -> FoundRecipes:
    """Find the recipes of stock inks whose print on a garment comes closest to a color.

    The print model itself is inverted, over every route, mesh and number of passes that the rules
    of the trade allow: see `search`.

    Parameters
    ----------
    shop : whose inks, screens, press and rules are used.
    target : the color to reach; one with a spectrum is matched as a spectrum.
    garment : to print on.
    routes : to print by; all of them if not given.
    like : a build whose screens, passes and base are kept, for another ink on top.
    inks : to mix; the shop's colors, whites and clear bases if not given.
    most_inks : in a mix; the shop's rule if not given.
    grams : wet ink in the bucket, 1 to 250 000.
    viewing : the light and the observer that differences hold for.
    tolerance : largest acceptable ΔE00, above 0.
    most : how many recipes to give, at least 1.

    Returns
    -------
    The best first, by the chance of landing; chances within 5 points count as equal, and then cost
    per kg, number of inks and metamerism decide.

    Raises
    ------
    InputError : no such route; no ink to mix, or none that can be printed on the garment; an amount
        too small to weigh the parts; a tolerance, or a number of inks or recipes, out of range.
    """
    _check(routes, tolerance=tolerance, most=most)
    check_grams(grams)
    stock = inks_to_mix(shop) if inks is None else tuple(inks)
    question = _question(
        shop, target=aimed_at(shop, target), garment=garment, routes=routes, like=like, stock=stock,
        most_inks=allowed_inks(shop, most_inks), grams=grams, viewing=viewing, tolerance=tolerance,
    )  # fmt: skip
    mixed = search(question)
    step = shop.rules.scale_step_g
    kept, recipes, evaluated = _weighed(
        question, mixed, stock=stock, shop=shop, viewing=viewing, grams=grams, step_g=step
    )
    found = _found(
        question, kept, recipes, evaluated, stock=stock, shop=shop, target=aimed_at(shop, target)
    )
    order = ranked(found, tolerance=tolerance, room=ROUTE_ROOM_DE00 / 2)
    nearest = min(found, key=lambda each: each.delta_e_2000)
    told = tuple(differing(order, most=most))
    notes = notes_of(
        shop, recipes=told, nearest=nearest, stock=stock, tolerance=tolerance, viewing=viewing
    )
    return FoundRecipes(recipes=told, nearest=nearest, notes=notes)


def _check(routes: Sequence[Route], *, tolerance: float, most: int) -> None:
    for route in routes:
        check_route(route)
    if not 0 < tolerance < np.inf:
        raise InputError(f"tolerance is {tolerance:g}; give a ΔE00 above 0, such as 3.")
    if most < 1:
        raise InputError(f"{most} recipes are asked for; ask for 1 or more.")


def allowed_inks(shop: Shop, asked: int | None) -> int:
    """The number of inks asked for, within the shop's rule."""
    most = shop.rules.most_inks_in_mix
    if "few inks in a mix" in shop.rules.not_kept:
        most = MOST_INKS
    if asked is not None and not 1 <= asked <= most:
        raise InputError(
            f"{asked} inks in a mix are asked for; this shop's rules allow 1 to {most} "
            "(most_inks_in_mix of rules.toml)."
        )
    return asked or most


def _question(
    shop: Shop,
    *,
    target: Target,
    garment: Garment,
    routes: Sequence[Route],
    like: Build | None,
    stock: tuple[Ink, ...],
    most_inks: int,
    grams: float,
    viewing: Viewing,
    tolerance: float,
) -> Question:
    for ink in stock:
        if ink.kind == "discharge-base":
            raise InputError(
                f"'{ink.name}' is a discharge base: a color is printed over it, not mixed into it, "
                "for no ink here is known to stand its activator in the bucket; leave it out."
            )
    if not any(ink.kind == "color" for ink in stock):
        raise InputError("there is no color ink to mix; add one to inks.toml.")
    builds = open_builds(shop, garment=garment, inks=stock, routes=routes, like=like)
    if not len(builds.space) and like is not None:
        raise InputError(
            f"'{build_words(like)}' is no build that this shop's rules allow a mix on "
            f"'{garment.name}'; leave it out, or ask by a route."
        )
    if not len(builds.space):
        ink = next(each for each in stock if each.kind == "color")
        why = barrier(shop, garment=garment, ink=ink, route=routes[0]) if routes else "no route"
        raise NotPrintable(f"no mix can be printed on '{garment.name}' so: {why}.")
    density = np.array([ink.density_g_cm3 for ink in stock])
    # the lightest ink of a mix weighs the least for its volume
    smallest = max(shop.rules.least_part_g, shop.rules.scale_step_g)
    least = smallest / grams * float(density.max() / density.min())
    if "a part can be weighed" in shop.rules.not_kept:
        least = 0.0
    weighable = int(MOST_HELD / max(least, 1e-9))
    if weighable < min(most_inks, 2):
        raise InputError(
            f"{grams:g} g are too few to weigh parts of at least {smallest:g} g (least_part_g and "
            "scale_step_g of rules.toml); mix more."
        )
    films = printed_films(builds.space, press=shop.press.values)
    wet = wet_deposit_um(films.table, shop.press.values)
    return Question(
        builds=builds,
        films=films,
        stock=_arrays(shop, stock),
        aim=aim_at(target, viewing),
        sets=sets_of(stock, most=min(most_inks, weighable)),
        work=work_of(builds.space, wet_um=wet),
        amount=wet.sum(axis=1),
        price=density * [ink.price_per_kg or 0.0 for ink in stock],
        least=least,
        tolerance=tolerance,
    )


def _arrays(shop: Shop, stock: tuple[Ink, ...]) -> StockArrays:
    """The stock as arrays; without its limits where the shop does not keep the rule."""
    arrays = stock_arrays(stock)
    kept = "pigment keeps its binder" not in shop.rules.not_kept
    return arrays if kept else replace(arrays, load=None)


def _weighed(
    question: Question,
    mixed: Sets,
    *,
    stock: tuple[Ink, ...],
    shop: Shop,
    viewing: Viewing,
    grams: float,
    step_g: float,
) -> tuple[Sets, list[Recipe], Evaluated]:
    """The nearest mixtures, their recipes, and what the decision knows of their prints."""
    space = question.builds.space
    distance = delta_e_2000(
        question.aim.standards[0], lab_of(looks(mixed, question.stock, question.films), viewing)
    )
    able = worth_weighing(
        space.take(mixed.film),
        garment=space.garments[0],
        standard=question.aim.standards[0],
        distance=distance,
        tolerance=question.tolerance,
        viewing=viewing,
        limits=shop.rules,
    )
    near = np.maximum(np.sqrt(mixed.square), question.reached)
    order = np.lexsort((wobble(question, mixed), near))
    order = order[able[order]]
    route = space.route[mixed.film[order]]
    first = [order[route == r][:WEIGHED_BY_ROUTE] for r in range(len(ROUTES))]
    kept = mixed.take(np.unique(np.concatenate([order[:WEIGHED], *first])))
    recipes = [
        recipe_of([stock[at] for at in ink[ink >= 0]], wet[ink >= 0], grams=grams, step_g=step_g)
        for ink, wet in zip(kept.ink, kept.wet, strict=True)
    ]
    rows = space.take(kept.film)
    own = replace(rows, inks=tuple(r.ink for r in recipes), ink=np.arange(len(recipes)))
    return kept, recipes, evaluate(own, press=shop.press, viewing=viewing)


def _found(
    question: Question,
    kept: Sets,
    recipes: Sequence[Recipe],
    evaluated: Evaluated,
    *,
    stock: tuple[Ink, ...],
    shop: Shop,
    target: Target,
) -> list[FoundRecipe]:
    """Each set of inks by each route, on the build that the decision chooses; and the nearest."""
    landing = against(evaluated, standard=question.aim.standards[0], tolerance=question.tolerance)
    space, viewing = evaluated.space, evaluated.viewing
    groups: dict[tuple[frozenset[int], int], list[int]] = {}
    for at in range(len(kept)):
        inks = frozenset(int(i) for i in kept.ink[at] if i >= 0)
        groups.setdefault((inks, int(space.route[at])), []).append(at)
    picks = []
    for own in groups.values():
        among = np.zeros(len(space), dtype=np.bool_)
        among[own] = True
        picks.append(
            choose_build(
                landing, route=space.route, work=evaluated.work, among=among,
                gain=shop.rules.least_chance_gain,
            )
        )  # fmt: skip
    picks = sorted({*picks, int(np.argmin(landing.distance))})  # the nearest, whatever its work
    chosen = kept.take(np.array(picks, dtype=np.intp))
    builds = space.builds(picks)
    R = looks(chosen, question.stock, question.films)
    off = _rounding(space, picks, recipes, R, shop=shop, viewing=viewing)
    sds = _share_sds(question, kept, chosen, target)
    swaps = swapped(
        kept, chosen, route=question.route[kept.film], chosen_route=question.route[chosen.film],
        names=[ink.name for ink in stock],
    )  # fmt: skip
    index = _metamerism(target, R, viewing)
    nominal = bool(landing.nominal.any())
    found = []
    for n, (at, build) in enumerate(zip(picks, builds, strict=True)):
        code, inside = hex_code(xyz(R[n], viewing), viewing)
        answer = Answer(
            target=target,
            garment=build.garment,
            build=build,
            lab=evaluated.lab[at],
            hex=code,
            in_srgb_gamut=inside,
            delta_e_2000=float(landing.distance[at]),
            interval=interval_of(
                landing.spread, at, viewing=viewing, aimed=True, tolerance=question.tolerance
            ),
            nominal=nominal,
            recipe=recipes[at],
        )
        names = [stock[i].name for i in chosen.ink[n] if i >= 0]
        found.append(
            FoundRecipe(
                answer=answer,
                recipe=recipes[at],
                metamerism=None if index is None else float(index[n]),
                rounding_de00=float(off[n]),
                swaps=swaps[n],
                share_sd=None
                if target.reflectance is None
                else dict(zip(names, sds[n].tolist(), strict=False)),
            )
        )
    return found


def _share_sds(question: Question, kept: Sets, chosen: Sets, target: Target) -> FloatArray:
    """Standard errors (P, m) of the dry shares; see `FoundRecipe`."""
    sds = share_errors(chosen, question.stock, question.films)
    if target.reflectance is None:
        return sds
    off = looks(kept, question.stock, question.films) - target.reflectance
    alike = kept.take(np.sqrt(np.mean(off**2, axis=1)) <= READING_SD)
    return np.maximum(sds, 0.5 * differing_shares(alike, chosen, question.stock))


def _rounding(
    space: BuildSpace,
    picks: Sequence[int],
    recipes: Sequence[Recipe],
    exact: FloatArray,
    *,
    shop: Shop,
    viewing: Viewing,
) -> FloatArray:
    """ΔE00 (n,) between the prints of what is weighed in and of the exact shares."""
    own = replace(
        space.take(np.array(picks, dtype=np.intp)),
        inks=tuple(recipes[at].weighed for at in picks),
        ink=np.arange(len(picks)),
    )
    weighed = swatch(own.builds(), press=shop.press)
    return delta_e_2000(lab_of(exact, viewing), lab_of(weighed, viewing))


def _metamerism(target: Target, R: FloatArray, viewing: Viewing) -> FloatArray | None:
    """Largest special index (n,) over the shop's lights; None without a spectrum."""
    if target.reflectance is None:
        return None
    tests = [Viewing(light, viewing.observer) for light in USUAL_LIGHTS if light != viewing.light]
    standard = np.broadcast_to(target.reflectance, R.shape)
    each = [metamerism_index(standard, R, reference=viewing, test=test) for test in tests]
    return np.asarray(np.max(each, axis=0))
