"""A flat artwork on a garment: the print that is decided, and what each route would be instead."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from inksim.artwork import Flats
from inksim.colour import Viewing
from inksim.common import ROUTE_TITLES, Uint8Array, counted_routes
from inksim.decision import SHAPES, Verdict, barrier, difference_words
from inksim.job import (
    Alternative,
    GarmentAnswer,
    Job,
    JobAnswer,
    Plan,
    decide_job,
    way_words,
)
from inksim.optics import LEVELS, level_quantiles
from inksim.picture import Look, colour_table, render_crop
from inksim.preview.prepare import PreparedArtwork, window_at
from inksim.printing import ROUTES, Build, Route, lower, point_reflectance, tabulate
from inksim.shop import Shop
from inksim.stock import Garment, PressValues, Provenance

DECIDED: Literal["decided"] = "decided"
AS_DRAWN = "as drawn"
Key = Route | Literal["decided"]
"""Which print of an artwork: the decided one, or what it would be by one route."""


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteAnswer:
    """One print of a flat artwork.

    found: the decision, of a route with every printed color by it. plans: one per flat in order,
    None where it is left out by hand or nothing can be printed. look: the colors to draw, of label
    0 bare cloth, of label n the n-th flat.
    """

    key: Key
    found: GarmentAnswer
    plans: tuple[Plan | None, ...]
    look: Look

    @property
    def way(self) -> Alternative | None:
        """How it is printed; None where the press cannot print it, see `found.barrier`."""
        return self.found.best

    @property
    def verdict(self) -> Verdict | None:
        """Verdict on all printed colors together; None where nothing is printed."""
        return self.way.verdict if self.way and self.way.printed else None

    @property
    def in_short(self) -> tuple[str, str] | None:
        """('all together: cannot promise, 9%', '✕'): words and shape; None as for `verdict`."""
        said = self.verdict
        if said is None or self.way is None:
            return None
        all_of = "all together: " if len(self.way.printed) > 1 else ""
        return f"{all_of}{said.word}, {said.percent}", SHAPES[said.word]

    @property
    def title(self) -> str:
        """'Over a white base'; 'As decided: 1 straight on the cloth, 2 over a white base'."""
        title = ROUTE_TITLES[self.key]
        if self.way is None:
            return "Cannot be printed"
        if self.key != DECIDED:
            return title
        return f"{title}: {counted_routes([plan.build.lies for plan in self.way.plans])}"

    @property
    def data(self) -> Provenance:
        """Where the least sure of its numbers comes from."""
        return self.way.data if self.way else self.found.garment.data

    def said(self, *, help_too: bool = False) -> str:
        """The verdict in words, with what would help where it is asked for."""
        if self.way is None:
            return self.found.barrier
        if self.verdict is None:
            return "nothing is printed; the cloth itself is every color"
        verdict = self.verdict if help_too else replace(self.verdict, would_help="")
        return way_words(replace(self.way, verdict=verdict))


@dataclass(frozen=True, kw_only=True, eq=False)
class ArtworkResult:
    """What becomes of a flat artwork on a garment.

    answer: the decided job of it; decided: its print, the one to show, to sign and to press.
    """

    garment: Garment
    answer: JobAnswer
    decided: RouteAnswer
    tolerance: float
    flats: Flats
    shop: Shop

    @property
    def plans(self) -> tuple[Plan | None, ...]:
        """How each flat of the artwork is printed, None where it is left out by hand."""
        return self.decided.plans

    @property
    def routes(self) -> tuple[RouteAnswer, ...]:
        """What the print would be by one route alone, where that can be; worked out when asked."""
        return self._by_route[0]

    @property
    def why_not(self) -> Mapping[Route, str]:
        """The routes that cannot print it, and why."""
        return self._by_route[1]

    def by(self, key: Key) -> RouteAnswer:
        """The decided print, or a route's."""
        if key == DECIDED:
            return self.decided
        return next(each for each in self.routes if each.key == key)

    @cached_property
    def _by_route(self) -> tuple[tuple[RouteAnswer, ...], Mapping[Route, str]]:
        way = self.decided.way
        if way is not None and not way.printed:
            return (), dict.fromkeys(ROUTES, "nothing is printed")
        made, reasons = [], {}
        for route in ROUTES:
            if way is not None and all(goes_by(plan.build, route) for plan in way.printed):
                made.append(replace(self.decided, key=route))
                continue
            found = decide_job(
                self.decided.found.job, shop=self.shop, viewing=self.answer.viewing, only=route
            ).garments[0]
            if found.best is None:
                reasons[route] = self._barrier(route) or found.barrier
            else:
                made.append(
                    _route_answer(
                        route, found, self.flats, shop=self.shop, viewing=self.answer.viewing
                    )
                )
        return tuple(made), reasons

    def _barrier(self, route: Route) -> str:
        """What bars a route on this garment whatever the ink; '' if nothing does."""
        able = self.shop.colour_inks or self.shop.top_inks
        barred = [barrier(self.shop, garment=self.garment, ink=ink, route=route) for ink in able]
        return barred[0] if all(barred) else ""


def against_drawn(plan: Plan) -> str:
    """'as drawn' where the eye hardly sees a difference to the artwork, else how it differs."""
    found = plan.prediction
    if found.delta_e_2000 is not None and found.delta_e_2000 < 1.0:
        return AS_DRAWN
    return difference_words(plan.colour.target.lab(found.viewing), found.lab)


def goes_by(build: Build, route: Route) -> bool:
    """Whether a build belongs to a route: a white left as it is does to that over a white base."""
    white = build.ink is not None and build.ink.kind == "white-base"
    return build.route == route or (route == "white-base" and white)


def result_of_job(
    job: Job, flats: Flats, *, garment: Garment, shop: Shop, viewing: Viewing
) -> ArtworkResult:
    """Decide a job that was made of the flats of an artwork, and take one of its garments.

    The whole job is decided, for a garment may take the screens of those before it.
    """
    answer = decide_job(job, shop=shop, viewing=viewing)
    found = next(each for each in answer.garments if each.garment.name == garment.name)
    return result_of_garment(answer, found, flats, shop=shop)


def result_of_garment(
    answer: JobAnswer, found: GarmentAnswer, flats: Flats, *, shop: Shop
) -> ArtworkResult:
    """The print of one garment of a job that was decided, by the way chosen in it."""
    return ArtworkResult(
        garment=found.garment,
        answer=answer,
        decided=_route_answer(DECIDED, found, flats, shop=shop, viewing=answer.viewing),
        tolerance=found.job.colours[0].tolerance,
        flats=flats,
        shop=shop,
    )


def _route_answer(
    key: Key, found: GarmentAnswer, flats: Flats, *, shop: Shop, viewing: Viewing
) -> RouteAnswer:
    plans = {plan.colour.name: plan for plan in found.best.plans} if found.best else {}
    mine = tuple(plans.get(flat.hex) for flat in flats.colours)
    return RouteAnswer(
        key=key,
        found=found,
        plans=mine,
        look=build_look(
            [None if plan is None or plan.build.bare else plan.build for plan in mine],
            garment=found.garment,
            press=shop.press.values,
            viewing=viewing,
        ),
    )


def job_colours(job: Job, flats: Flats) -> tuple[int | None, ...]:
    """Index of each flat among the colors of its job; None where it is left out by hand."""
    at = {colour.name: n for n, colour in enumerate(job.colours)}
    return tuple(at.get(flat.hex) for flat in flats.colours)


def build_look(
    builds: Sequence[Build | None], *, garment: Garment, press: PressValues, viewing: Viewing
) -> Look:
    """The colors to draw builds with: label 0 and None are bare cloth, label n the n-th build."""
    looks = np.empty((len(builds) + 1, LEVELS, garment.reflectance.size))
    looks[:] = garment.reflectance
    printed = {at: build for at, build in enumerate(builds, start=1) if build is not None}
    if printed:
        slabs = lower(tabulate(list(printed.values())), press)
        looks[list(printed)] = point_reflectance(slabs, level_quantiles())
    return colour_table(looks, viewing)


def at_life_size(
    ready: PreparedArtwork, look: Look, *, centre: tuple[float, float], size_px: tuple[int, int]
) -> Uint8Array:
    """A window (h, w, 3) uint8 of the full-size print, pixel for pixel: see `window_at`."""
    rows, columns = window_at(ready.flats.labels.shape, centre=centre, size_px=size_px)
    drawn = render_crop(
        ready.flats.labels,
        look,
        ready.tile,
        x=columns.start,
        y=rows.start,
        width=columns.stop - columns.start,
        height=rows.stop - rows.start,
    )
    return np.ascontiguousarray(drawn[..., :3])
