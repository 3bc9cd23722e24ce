"""Reasons for the decision on a job, color by color, and what limits the colors that miss.

For each color: its verdict, what the other routes would give, and for a color that is not nominal
whether ink, cloth or press is the limit and what would help.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from inksim.colour import Viewing, delta_e_2000, lab as lab_of
from inksim.common import ROUTE_WORDS, counted
from inksim.decision import (
    WHITE_NOTE,
    barrier,
    build_space,
    difference_words,
    most_likely_lab,
    nearer_share,
    whole_percent,
)
from inksim.job.coarser_mesh import coarser_words
from inksim.job.decide import GarmentAnswer, JobAnswer
from inksim.job.job import Job, JobColour
from inksim.job.plans import Plan
from inksim.job.search import Way
from inksim.job.what_to_tell import merged_words
from inksim.mixing import FoundRecipe, Instead
from inksim.printing import BARE, ROUTES, Route
from inksim.shop import Shop, StationsEntry
from inksim.stock import Garment, Ink

Limit = Literal["ink", "cloth", "ink and cloth", "press"]


@dataclass(frozen=True, kw_only=True)
class ColourReasons:
    """Outcome of one color, the reasons, and what would help where it is not nominal.

    recipe: that does better than the stock ink, where it does not land and recipes were asked for.
    """

    name: str
    outcome: str
    reasons: tuple[str, ...]
    help: str = ""
    recipe: FoundRecipe | None = None


def outcome_words(plan: Plan) -> str:
    """Route and verdict of one color, with the margin of its most likely color."""
    if plan.build.bare:
        off = plan.prediction.delta_e_2000 or 0.0
        return f"left bare: the cloth itself is ΔE00 {off:.1f} from it"
    size = abs(plan.margin)
    gap = f"{size:.1f}" if size >= 0.05 else f"{size:.2f}"
    room = f"{gap} {'inside' if plan.nominal else 'outside'}"
    return (
        f"{ROUTE_WORDS[plan.build.lies]}: {plan.verdict.said(plan.colour.tolerance)}; nominally "
        f"ΔE00 {plan.prediction.delta_e_2000 or 0.0:.1f}, {room}"
    )


def reasons_for(
    shop: Shop,
    answer: JobAnswer,
    found: GarmentAnswer,
    *,
    mixed: Sequence[Instead | None] = (),
) -> tuple[ColourReasons, ...]:
    """Explain the chosen way on one garment, color by color.

    mixed: of `mixed_instead`, for the recipes; without it none is told.
    """
    best = found.best
    if best is None:
        return ()
    said = []
    for at, plan in enumerate(best.plans):
        help_words, instead = "", mixed[at] if mixed else None
        if not plan.nominal and plan.build.ink is not None and plan.build.ink.kind == "color":
            help_words = what_helps(
                shop,
                colour=plan.colour,
                ink=plan.build.ink,
                garment=found.garment,
                job=found.job,
                viewing=answer.viewing,
            ).words
            help_words += _mix_words(instead)
            even = np.ceil(2 * plan.verdict.median_de00) / 2
            help_words += f" A tolerance of {even:g} would give it an even chance."
        said.append(
            ColourReasons(
                name=plan.colour.name,
                outcome=outcome_words(plan),
                reasons=_why(shop, answer, found, at),
                help=help_words,
                recipe=instead.best if instead else None,
            )
        )
    return tuple(said)


def _mix_words(instead: Instead | None) -> str:
    """Sentence on what a mix of stock inks does for a color that none of them reaches."""
    if instead is None:
        return " A mix of stock inks may: see 'Mix it'."
    off = instead.found.nearest.delta_e_2000
    if instead.mix_reaches:
        return f" A mix of stock inks would be inside (nominally ΔE00 {off:.1f})."
    return f" No mix of stock inks reaches it either: the nearest is ΔE00 {off:.1f} off."


def _why(shop: Shop, answer: JobAnswer, found: GarmentAnswer, at: int) -> tuple[str, ...]:
    """What each other route would give this color, least work first."""
    assert found.best is not None
    plan = found.best.plans[at]
    if plan.build.route == BARE:
        return ("nobody prints a shirt's own color on it",)
    said = [merged_words(plan.merged)] if plan.merged else []
    if WHITE_NOTE in plan.colour.target.note:
        said.append(plan.colour.target.note)
    chosen = ROUTES.index(plan.build.route)
    others = (*ROUTES[:chosen], *ROUTES[chosen + 1 :])
    coarser = coarser_words(shop, plan, job=found.job, viewing=answer.viewing)
    said += [coarser] if coarser else []
    return (
        *said,
        *(_of_route(r, shop=shop, answer=answer, found=found, at=at) for r in others),
    )


def _of_route(route: Route, *, shop: Shop, answer: JobAnswer, found: GarmentAnswer, at: int) -> str:
    """Sentence on one route: nearest color and chance, or why it has no build."""
    assert found.best is not None
    plan = found.best.plans[at]
    evaluated, landing = found.evaluated, found.landings[at]
    assert evaluated is not None
    assert landing is not None
    space, ink = evaluated.space, plan.build.colour.ink
    among = space.route == ROUTES.index(route)
    among &= space.ink == [each.name for each in space.inks].index(ink.name)
    where = ROUTE_WORDS[route]
    if not among.any():
        why = barrier(
            shop,
            garment=found.garment,
            ink=ink,
            route=route,
            lines_per_inch=found.job.lines_per_inch,
            stations=found.job.press,
        )
        return f"{where}: not possible, {why}" if why else f"{where}: it has nothing to cover"
    nearest = int(np.argmin(np.where(among, landing.distance, np.inf)))
    surest = int(np.argmax(np.where(among, landing.chance, -1.0)))
    standard = plan.colour.target.lab(answer.viewing)
    difference = difference_words(standard, evaluated.lab[nearest])
    most = f"{whole_percent(landing.chance[surest]):.0f}% chance at most"
    return (
        f"{where}: nominally ΔE00 {landing.distance[nearest]:.1f} at best, {difference}; "
        f"{most}{_ranked(found, at, surest, answer.viewing)}"
        f"{_no_room(found.job, found.best.way, route)}"
    )


def _ranked(found: GarmentAnswer, at: int, other: int, viewing: Viewing) -> str:
    """Clause on how often the chosen build of a color comes nearer than another, of data that rank.

    '' where everything is measured.
    """
    evaluated, best = found.evaluated, found.best
    assert evaluated is not None
    assert best is not None
    plan = best.plans[at]
    if plan.prediction.data == "measured":
        return ""
    pair = np.array([best.way.options[at].build, other])
    share = nearer_share(
        evaluated.response.take(pair),
        evaluated.space.builds(pair),
        standard=plan.colour.target.lab(viewing),
    )
    return f"; the chosen one comes nearer in {100 * share:.0f} of 100 cases"


def _no_room(job: Job, way: Way, route: Route) -> str:
    """Clause on a press that has no room for the base of a route beside the colors of a way."""
    flash = route == "white-base"
    if route == "straight" or any(g.flash == flash for g in way.grounds):
        return ""
    if flash and not job.press.flashes:
        return ", but the press has no flash unit"
    colours = way.screens - len(way.grounds)
    needed = job.press.taken(screens=colours + 1, flashes=int(flash))
    if needed > job.press.stations * way.runs:
        return f", but that takes {needed} of {counted(job.press.stations * way.runs, 'station')}"
    return ""


@dataclass(frozen=True, kw_only=True)
class Help:
    """What limits a color on a garment, and what would help."""

    limit: Limit
    words: str


def what_helps(
    shop: Shop,
    *,
    colour: JobColour,
    ink: Ink,
    garment: Garment,
    job: Job,
    viewing: Viewing,
) -> Help:
    """Try this ink by every route, then every color ink on this garment, then it on every garment.

    For other inks and garments only routes count that the press could print for one color alone.
    """
    standard = colour.target.lab(viewing)
    halftone = job.lines_per_inch
    space = build_space(shop, garments=[garment], inks=[ink], lines_per_inch=halftone)
    off = delta_e_2000(standard, most_likely_lab(space, press=shop.press, viewing=viewing))
    own = float(off.min(initial=np.inf))
    if own <= colour.tolerance:
        return _press_help(ROUTES[space.route[int(np.argmin(off))]], own, press=job.press)
    inks = [other for other in shop.colour_inks if other.name != ink.name]
    space = build_space(
        shop, garments=[garment], inks=inks, lines_per_inch=halftone, stations=job.press
    )
    off = delta_e_2000(standard, most_likely_lab(space, press=shop.press, viewing=viewing))
    other: tuple[float, str] | None = None
    if off.size and off.min() < own:
        best = int(np.argmin(off))
        other = (float(off[best]), inks[space.ink[best]].name)

    stock = [g for g in shop.garments.values() if g.name != garment.name]
    space = build_space(
        shop, garments=stock, inks=[ink], lines_per_inch=halftone, stations=job.press
    )
    off = delta_e_2000(standard, most_likely_lab(space, press=shop.press, viewing=viewing))
    nearest = {
        at: float(off[space.garment == at].min()) for at in np.unique(space.garment).tolist()
    }
    landing = [at for at, de in nearest.items() if de <= colour.tolerance]
    here = float(lab_of(garment.reflectance, viewing)[0])
    shirt: tuple[float, str] | None = None
    if landing:
        light = {at: abs(float(lab_of(stock[at].reflectance, viewing)[0]) - here) for at in landing}
        at = min(landing, key=lambda at: light[at])
        shirt = (nearest[at], stock[at].name)
    return _help(ink, garment, other=other, shirt=shirt, tolerance=colour.tolerance)


def _press_help(route: Route, distance: float, *, press: StationsEntry) -> Help:
    """Help for an ink that would land by a route that this press has no room for."""
    if route == "white-base" and not press.flashes:
        least = press.taken(screens=2, flashes=1)
        room = "" if press.stations >= least else f" and {counted(least, 'station')}"
        takes = f"a press with a flash unit{room} would help"
    else:
        takes = "a press with more stations, or fewer colors, would help"
    return Help(
        limit="press",
        words=f"The press is the limit: {ROUTE_WORDS[route]} it would land (ΔE00 "
        f"{distance:.1f}); {takes}.",
    )


def _help(
    ink: Ink,
    garment: Garment,
    *,
    other: tuple[float, str] | None,
    shirt: tuple[float, str] | None,
    tolerance: float,
) -> Help:
    if other is not None and other[0] <= tolerance:
        return Help(
            limit="ink",
            words=f"The ink is the limit: on '{garment.name}' this shop's '{other[1]}' would "
            f"land (ΔE00 {other[0]:.1f}).",
        )
    if shirt is not None:
        return Help(
            limit="cloth",
            words=f"The cloth is the limit: '{ink.name}' would land on '{shirt[1]}' "
            f"(ΔE00 {shirt[0]:.1f}).",
        )
    near = f"; nearest is '{other[1]}' at ΔE00 {other[0]:.1f}" if other is not None else ""
    return Help(
        limit="ink and cloth",
        words=f"Neither another ink of this shop on '{garment.name}'{near}, nor another garment "
        f"with '{ink.name}' would land.",
    )
