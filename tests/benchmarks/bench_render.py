"""Time and memory of drawing a 3600 x 4200 print, beside Little CMS on the same picture.

Run as ``python -m tests.benchmarks.bench_render``. The full-size picture is to take at most 0.6
of the time Pillow's ImageCms takes for sRGB to Lab on the same picture, on one core. A garment
change of a 1200 px preview is to take at most 0.15 s where that takes 0.45 s, a third of it, so
that a busy machine does not decide. Times are the best of several, all steps in turn.
"""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable

import numpy as np
from PIL import Image, ImageCms

from inksim.colour.viewing import Viewing
from inksim.optics.unevenness import level_quantiles, thickness_factor
from inksim.picture.cloth_tile import knit_tile
from inksim.picture.reduce import reduce_labels, reduce_tile, reduction_factor
from inksim.picture.render import Look, colour_table, recolour, render_flat

ROWS, COLUMNS, LABELS = 4200, 3600, 12


def artwork() -> np.ndarray:
    """Flat art of 12 labels with curved edges."""
    y, x = np.mgrid[0:ROWS, 0:COLUMNS].astype(np.float32)
    wave = np.sin(x / 170 + 3 * np.sin(y / 410)) + np.cos(y / 230 + 2 * np.sin(x / 530))
    return ((wave + 2) / 4.001 * LABELS).astype(np.uint8)


def look(seed: int) -> Look:
    """A look of invented exponential films."""
    rng = np.random.default_rng(seed)
    share = 1 - np.exp(-1.5 * thickness_factor(level_quantiles(), cv=0.4))[:, None]
    films = [0.7 * rng.random(31) * share + 0.04 * (1 - share) for _ in range(LABELS)]
    return colour_table(np.stack(films), Viewing())


def best(runs: int, *steps: Callable[[], object]) -> list[float]:
    """Least time of each step in seconds, the steps taken in turn."""
    times = [[0.0] * runs for _ in steps]
    for run in range(runs):
        for number, step in enumerate(steps):
            start = time.perf_counter()
            step()
            times[number][run] = time.perf_counter() - start
    return [min(each) for each in times]


def peak_of(step: Callable[[], object]) -> float:
    """Most memory a step holds at once, result included, in MB of 2^20 bytes."""
    tracemalloc.start()
    try:
        step()
        return tracemalloc.get_traced_memory()[1] / 2**20
    finally:
        tracemalloc.stop()


def main() -> list[tuple[str, float, float | None, str]]:
    """Rows (name, value, target, unit)."""
    labels, tile, first, second = artwork(), knit_tile(px_per_mm=300 / 25.4), look(1), look(2)
    picture = render_flat(labels, first, tile)
    image = Image.frombytes("RGB", (COLUMNS, ROWS), picture.data, "raw", "RGBX")
    to_lab = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"
    )
    factor = reduction_factor(labels.shape, max_px=1200)
    coverage = reduce_labels(labels, factor)
    weave = reduce_tile(tile, factor, coverage.shape)
    drawn, converted, once_labels, once_tile, again = best(
        7,
        lambda: render_flat(labels, first, tile),
        lambda: ImageCms.applyTransform(image, to_lab),
        lambda: reduce_labels(labels, factor),
        lambda: reduce_tile(tile, factor, coverage.shape),
        lambda: recolour(coverage, weave, second),
    )
    peak = peak_of(lambda: render_flat(labels, first, tile))
    return [
        ("full-size picture, 15 MP", drawn, None, "s"),
        ("Little CMS sRGB to Lab, same picture", converted, None, "s"),
        ("full-size picture / Little CMS", drawn / converted, 0.6, "ratio"),
        ("peak memory / the picture itself", peak / (picture.nbytes / 2**20), 1.2, "ratio"),
        ("preview 1200 px, artwork, once", once_labels, None, "s"),
        ("preview 1200 px, cloth, once", once_tile, None, "s"),
        ("preview 1200 px, another garment", again, None, "s"),
        ("another garment / Little CMS at full size", again / converted, 0.33, "ratio"),
    ]


if __name__ == "__main__":
    for name, value, target, unit in main():
        print(f"{name:42} {value:8.3f} {unit:6}" + (f" (at most {target:g})" if target else ""))
