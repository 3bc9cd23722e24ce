"""Routes ranked from nothing but hex values

Each ink of the demo shop, bases too, is replaced by what an owner without an instrument knows of
it: the hex of a film over white, and a word for how that film covers black. The target is the ink's
own look over a white card. On each garment the best route is looked for twice: from K and S and
from the hex. It is the one with the best chance, where chances within 5 points count as equal; of
equal ones it is the one whose likely color is nearest. Those from a hex are often equal, for they
promise little by any route; so what comes of the best chance alone is said beside it. The two agree
if the route found from the hex has, by K and S, a chance within 5 points of the best.

K and S of the demo are invented, so that its chances are low and a route is hard to miss; so they
are also taken as if measured, which is asked of nobody, and what the route from the hex gives away
in ΔE00 is said.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import lab, xyz
from inksim.decision.build_evaluation import against, evaluate
from inksim.decision.candidate_builds import build_space
from inksim.optics.kubelka_munk import external_from_internal, film_over, internal_from_external
from inksim.printing.build import ROUTES
from inksim.shop.ink_schema import InkEntry
from inksim.shop.load import ink_of, load_shop
from inksim.shop.shop import Shop
from inksim.stock.ink import Ink
from tests.accuracy import Detail, Row, row
from tests.accuracy._shops import D50, LOOK_CARD, LOOK_UM, hex_of
from tests.press_worlds import study_shop

ORDER, SLOW = 63, True
TOLERANCE, POINTS = 3.0, 0.05
COVERS_BLACK, COVERS_HALF = 0.80, 0.30
"""Contrast ratios from which an owner says so."""
SOURCE = "the same routes from K and S"


def film(ink: Ink, card: float, um: float | None = None) -> np.ndarray:
    """Reading (31,) of a film of an ink over a gray card."""
    um = um or LOOK_UM.get(ink.kind, LOOK_UM["color"])
    under = internal_from_external(card)
    return np.asarray(
        external_from_internal(film_over(ink.K, ink.S, thickness_um=um, backing=under))
    )


def opacity(ink: Ink) -> str:
    """The word for how the film of its look covers."""
    dark, light = (xyz(film(ink, card), D50)[1] for card in (0.01, 0.80))
    ratio = dark / light
    return "black" if ratio > COVERS_BLACK else "half" if ratio > COVERS_HALF else "clear"


def by_hex(ink: Ink, *, word: bool = True) -> Ink:
    """The ink as its hex over white, and a word, make it."""
    said = {"name": ink.name, "kind": ink.kind, "hex": hex_of(film(ink, LOOK_CARD)),
            "solids_by_volume": ink.solids_by_volume}  # fmt: skip
    made = ink_of(InkEntry.model_validate(said | ({"covers": opacity(ink)} if word else {})))
    return replace(ink, K=made.K, S=made.S, error=made.error, data=made.data, directness=0.0)


@dataclass(frozen=True, kw_only=True)
class Ways:
    """By color, garment and route (c, g, 3): chance and ΔE00 of the best build, −1 and NaN if none;

    Lab (c, g, 3, 3) of that build.
    """

    chance: np.ndarray
    away: np.ndarray
    lab: np.ndarray


def ways(shop: Shop, targets: dict[str, np.ndarray]) -> Ways:
    """The best build of each route, by its chance, for each color on each garment."""
    shape = (len(targets), len(shop.garments), len(ROUTES))
    chance, away, found = np.full(shape, -1.0), np.full(shape, np.nan), np.full((*shape, 3), np.nan)
    for c, (name, target) in enumerate(targets.items()):
        for g, garment in enumerate(shop.garments.values()):
            space = build_space(shop, garments=[garment], inks=[shop.inks[name]])
            done = evaluate(space, press=shop.press, viewing=D50)
            landing = against(done, standard=target, tolerance=TOLERANCE)
            for r in range(len(ROUTES)):
                here = np.flatnonzero(space.route == r)
                if not here.size:
                    continue
                order = np.lexsort((-landing.distance[here], landing.chance[here]))
                best = here[order[-1]]
                chance[c, g, r] = landing.chance[best]
                away[c, g, r] = landing.distance[best]
                found[c, g, r] = done.lab[best]
    return Ways(chance=chance, away=away, lab=found)


@cache
def all_ways() -> tuple[Ways, Ways, Ways]:
    """By K and S as they are, by K and S as if measured, and by hex and word."""
    shop = load_shop()
    colours = [ink for ink in shop.inks.values() if ink.kind == "color"]
    targets = {ink.name: lab(film(ink, LOOK_CARD), D50) for ink in colours}
    known = replace(shop, inks={name: by_hex(ink) for name, ink in shop.inks.items()})
    return ways(shop, targets), ways(study_shop(), targets), ways(known, targets)


def found_route(known: Ways, *, points: float = POINTS) -> np.ndarray:
    """Index (c, g, 1) of the route with the best chance, the nearest of those within points."""
    equal = known.chance >= known.chance.max(axis=-1, keepdims=True) - points
    return np.argmin(np.where(equal, known.away, np.inf), axis=-1)[..., None]


def short_of_best(true: Ways, known: Ways, *, points: float = POINTS) -> np.ndarray:
    """By how much chance, by K and S, the route found from the hex misses the best (c, g)."""
    chance = np.take_along_axis(true.chance, found_route(known, points=points), axis=-1)[..., 0]
    return np.asarray(true.chance.max(axis=-1) - chance)


def given_away(true: Ways, known: Ways) -> np.ndarray:
    """ΔE00 (c, g) from the target, by K and S, of that route beyond the nearest's."""
    away = np.take_along_axis(true.away, found_route(known), axis=-1)[..., 0]
    return np.asarray(away - np.nanmin(true.away, axis=-1))


def rows() -> list[Row]:
    """Share of pairs whose route is another, and what a white base is off by."""
    true, sure, known = all_ways()
    white = ROUTES.index("white-base")
    has = np.isfinite(true.away[..., white])
    moved = (known.away - true.away)[..., white][has]
    apart = delta_e_2000(true.lab[..., white, :][has], known.lab[..., white, :][has])
    name = "Another route from hex than from K and S, share of ink × garment"
    return [
        row(name, SOURCE, short_of_best(true, known) > POINTS, unit="–", limits={"mean": 0.05}),
        row(f"{name}, best chance alone", SOURCE,
            short_of_best(true, known, points=0.0) > POINTS, unit="–"),
        row(f"{name}, K and S as if measured", SOURCE, short_of_best(sure, known) > POINTS,
            unit="–"),
        row("ΔE00 that the route from the hex gives away", SOURCE, given_away(sure, known)),
        row("ΔE00 from the target over a white base, moved by the hex", SOURCE, moved,
            limits={"mean": 4.0}),
        row("The color over a white base, by hex and by K and S", SOURCE, apart),
    ]  # fmt: skip


def details() -> list[Detail]:
    """Each color."""
    true, sure, known = all_ways()
    short, strict = short_of_best(true, known), short_of_best(sure, known)
    shop = load_shop()
    names = [ink.name for ink in shop.inks.values() if ink.kind == "color"]
    white = ROUTES.index("white-base")
    cells = [
        (
            name, opacity(shop.inks[name]), f"{np.mean(short[c] <= POINTS):.0%}",
            f"{np.mean(strict[c] <= POINTS):.0%}", f"{np.nanmean(true.away[c, :, white]):.1f}",
            f"{np.nanmean(known.away[c, :, white]):.1f}",
        )
        for c, name in enumerate(names)
    ]  # fmt: skip
    return [
        Detail(
            title="Routes found from hex, by color",
            text="Means over the garments; ΔE00 from the ink's own look over white card.",
            head=("color", "covers", "same route", "the same, as if measured",
                  "ΔE00 over a white base, K and S", "the same, hex"),
            cells=cells,
        )
    ]  # fmt: skip
