"""The prints of a shop that are worth reading, as a table to fill in (see `print_rows`)."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator

import numpy as np

from inksim.build import Build
from inksim.costs import counted
from inksim.errors import InputError
from inksim.predict import usable_routes, usual_build
from inksim.print_rows import row_of_build
from inksim.reading_choice import choose_prints
from inksim.shop import Shop
from inksim.trade_rules import discharge_facts

MOST_TO_CHOOSE_FROM = 400
"""Prints weighed against each other, spread over the stock: the work grows with their square, and
400 take some seconds."""
SIX = 6  # prints of a first calibration: see tests/accuracy/calibration_study.py
COLUMNS = (
    "name", "garment", "ink", "route", "screen", "passes", "base", "base_screen", "base_passes",
    "flash", "L", "a", "b", "date", "note",
)  # fmt: skip


def prints_to_read(shop: Shop, *, count: int = SIX) -> tuple[Build, ...]:
    """Return the usual prints whose readings would tell most of a shop's press, best first.

    Of every color on every garment by each route that the shop has; over a discharge base only
    where the dye discharges well. Fewer than count if there are no more.

    Raises
    ------
    InputError : no color of the shop prints on any of its garments.
    """
    builds = list(_usual_prints(shop))
    if not builds:
        colors = sum(ink.kind == "colour" for ink in shop.inks.values())
        raise InputError(
            f"no color of this shop prints on any of its garments ({counted(colors, 'color')}, "
            f"{counted(len(shop.garments), 'garment')}, {counted(len(shop.screens), 'screen')}); "
            "add what is missing, or a mesh that a color prints through."
        )
    some = [builds[at] for at in spread_out(len(builds), most=MOST_TO_CHOOSE_FROM)]
    chosen = choose_prints(some, press=shop.press, count=min(count, len(some)))
    return tuple(some[at] for at in chosen)


def spread_out(count: int, *, most: int) -> list[int]:
    """Places of at most so many of `count` things in a row, out of step with any order of theirs.

    Every second one could be of one route, for builds come route by route within an ink and a
    garment; multiples of the golden section are spread over the steps of every period [Weyl 1916].
    """
    turn = np.arange(count) * (0.5 * (math.sqrt(5.0) - 1.0)) % 1.0
    return sorted(np.argsort(turn, kind="stable")[:most].tolist())


def _usual_prints(shop: Shop) -> Iterator[Build]:
    filed = shop.before
    for garment in filed.garments.values():
        for ink in filed.inks.values():
            if ink.kind != "colour":
                continue
            for route in usable_routes(garment, shop=filed):
                least = shop.rules.least_discharge_grade
                if route == "discharge-base" and discharge_facts(garment).grade < least:
                    continue
                try:
                    yield usual_build(filed, garment=garment, ink=ink, route=route)
                except InputError:  # an ink without a screen that it prints through
                    continue


def table_to_fill_in(shop: Shop) -> str:
    """The prints worth reading as a CSV table whose L, a, b are to be filled in.

    Raises
    ------
    InputError : see `prints_to_read`.
    """
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for build in prints_to_read(shop):
        ink, garment = build.colour.ink.name, build.garment.name
        row = row_of_build(build, name=f"{ink} {build.route} {garment}")
        cells = {
            "name": row.name, "garment": garment, "ink": ink, "route": build.route,
            "screen": row.screen, "passes": row.passes,
        }  # fmt: skip
        if row.base:
            base, screen, strokes, flash = row.base
            cells |= {
                "base": base, "base_screen": screen, "base_passes": strokes,
                "flash": "yes" if flash else "no",
            }  # fmt: skip
        writer.writerow(cells)
    return text.getvalue()
