"""Recipes: 15 inks, four at a time, by every route, on a black and on a white shirt.

Times are CPU seconds of this process, the least of several: another process then counts little.
"""

from __future__ import annotations

import time

import inksim
from inksim.colour import lab
from inksim.stock import target_from_lab, target_from_reflectance
from tests.accuracy.recipes import D50, shop_of_15
from tests.accuracy.recovery import samples

RUNS = 3


def seconds(target: inksim.Target, garment: str) -> float:
    """Least seconds of a search."""
    shop, least = shop_of_15(), float("inf")
    for _ in range(RUNS):
        start = time.process_time()
        inksim.find_recipes(shop, target=target, garment=shop.garment(garment))
        least = min(least, time.process_time() - start)
    return least


def main() -> list[tuple[str, float, float | str | None, str]]:
    """Rows (name, value, target, unit)."""
    spectra = samples()["textiles"][::11]
    colours = [target_from_lab(lab(each, D50), name="color") for each in spectra]
    read = [target_from_reflectance(each, name="reading") for each in spectra]
    return [
        (f"recipe of 15 inks, all routes, a {kind} on {garment}",
         max(seconds(each, garment) for each in aims), 1.0, "s")
        for kind, aims in (("color", colours), ("spectrum", read))
        for garment in ("Coal Black", "Flour White")
    ]  # fmt: skip
