"""Tonal artwork at full size: time in multiples of one Little CMS transform, peaks of memory.

The picture is the demo's tonal painting at 15 megapixels, its transparent edges included; Little
CMS takes the same pixels from sRGB to Lab on one core. All steps are taken in turn and the best of
several counts. Peaks are of what numpy allocates above the input, result included.
"""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable

import numpy as np
from PIL import Image, ImageCms

from inksim.picture.cloth_tile import knit_tile
from inksim.picture.tonal import TonalLook, render_tonal, tonal_look
from inksim.separation.halftone_print import tonal_set
from inksim.separation.tonal_separation import SeparationTable, separate_picture, separation_table
from inksim.shop.load import demo_shop_folder, load_shop

COLUMNS, ROWS = 3600, 4200
INKS = ("Barley Yellow", "Foxglove Pink", "Cornflower Blue", "Hearth Black")


def picture(columns: int, rows: int) -> np.ndarray:
    """The demo's painting (rows, columns, 4) at another size."""
    with Image.open(demo_shop_folder() / "artwork" / "river-morning.png") as image:
        return np.array(image.convert("RGBA").resize((columns, rows), Image.Resampling.BICUBIC))


def table() -> SeparationTable:
    """Four inks over a white base on black."""
    shop = load_shop()
    inks = [shop.ink(name) for name in INKS]
    tonal = tonal_set(shop, garment=shop.garment("Coal Black"), inks=inks, route="white-base")
    return separation_table(tonal)


def look(made: SeparationTable) -> TonalLook:
    """The table of printed colors."""
    return tonal_look(
        made.model,
        made.viewing,
        axes=made.axes,
        coverage=made.coverage,
        cloth=made.cloth,
    )


def best(runs: int, *steps: Callable[[], object]) -> list[float]:
    """Least time of each step in seconds, the steps taken in turn."""
    times = [[0.0] * runs for _ in steps]
    for run in range(runs):
        for number, step in enumerate(steps):
            start = time.perf_counter()
            step()
            times[number][run] = time.perf_counter() - start
    return [min(each) for each in times]


def processor_seconds(step: Callable[[], object], *, runs: int) -> float:
    """Least processor time of a step: it works on one thread, and other work does not count."""
    times = []
    for _ in range(runs):
        start = time.process_time()
        step()
        times.append(time.process_time() - start)
    return min(times)


def peak_of(step: Callable[[], object]) -> float:
    """Most bytes a step holds at once, result included."""
    tracemalloc.start()
    try:
        step()
        return float(tracemalloc.get_traced_memory()[1])
    finally:
        tracemalloc.stop()


def main() -> list[tuple[str, float, float | None, str]]:
    """Rows (name, value, target, unit)."""
    rgba, tile = picture(COLUMNS, ROWS), knit_tile(px_per_mm=300 / 25.4)
    made = table()
    drawn = look(made)
    image = Image.fromarray(rgba).convert("RGB")
    to_lab = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"
    )
    inverted = processor_seconds(table, runs=4)
    looked = processor_seconds(lambda: look(made), runs=4)
    converted, separated, rendered = best(
        5,
        lambda: ImageCms.applyTransform(image, to_lab),
        lambda: separate_picture(rgba, made),
        lambda: render_tonal(rgba, drawn, tile),
    )
    pixels = COLUMNS * ROWS
    both = peak_of(lambda: (separate_picture(rgba, made), render_tonal(rgba, drawn, tile)))
    # Ten times fewer and ten times more pixels: the time of one pixel stays.
    small = picture(COLUMNS // 3, ROWS // 3)
    (little,) = best(5, lambda: (separate_picture(small, made), render_tonal(small, drawn, tile)))
    large = picture(9000, 11111)
    (much,) = best(2, lambda: (separate_picture(large, made), render_tonal(large, drawn, tile)))
    per_small, per_large = little / (small.size // 4), much / (large.size // 4)
    return [
        ("table of 4 inks and a base, one core", inverted, 2.0, "s"),
        ("table of their printed colors", looked, None, "s"),
        ("Little CMS sRGB to Lab, 15 MP", converted, None, "s"),
        ("separating / Little CMS", separated / converted, 4.0, "ratio"),
        ("rendering / Little CMS", rendered / converted, 2.0, "ratio"),
        ("peak above the input, separating and rendering", both / pixels, 24.0, "B/pixel"),
        ("time of a pixel at 100 MP / at 1.7 MP", per_large / per_small, 1.3, "ratio"),
    ]


if __name__ == "__main__":
    for name, value, target, unit in main():
        print(f"{name:48} {value:8.3f} {unit:8}" + (f" (at most {target:g})" if target else ""))
