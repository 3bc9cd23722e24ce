"""Time and memory of flat separation, beside Little CMS on the same 3600 × 4200 picture.

Run as ``python -m tests.benchmarks.bench_artwork``. The art is flat with antialiased edges on
transparent cloth. From decoded pixels, find_flats is to take at most 3 times what Pillow's ImageCms
takes for sRGB to Lab, on one core, and at most 12 bytes a pixel beyond its input; the same of the
art through JPEG. Times are the best of several, both sides in turn. Tonal art only informs.
"""

from __future__ import annotations

import io
import time
import tracemalloc
from collections.abc import Callable

import numpy as np
from PIL import Image, ImageCms, ImageDraw

from inksim.artwork.artwork import Artwork
from inksim.artwork.flats import find_flats
from inksim.artwork.read import read_artwork

ROWS, COLUMNS = 4200, 3600
INKS = [(200, 30, 40), (20, 60, 160), (250, 220, 40), (255, 255, 255), (20, 20, 20)]
RUNS = 5


def drawing() -> Image.Image:
    """Sixty discs in five colors, drawn twice as large and reduced."""
    image = Image.new("RGBA", (2 * COLUMNS, 2 * ROWS))
    draw = ImageDraw.Draw(image)
    rng = np.random.default_rng(1)
    for number in range(60):
        x, y, r = rng.uniform(0, 2 * COLUMNS), rng.uniform(0, 2 * ROWS), rng.uniform(100, 1000)
        draw.ellipse((x - r, y - r, x + r, y + r), fill=(*INKS[number % 5], 255))
    return image.resize((COLUMNS, ROWS), Image.Resampling.BOX)


def encoded(image: Image.Image, kind: str, **options: int) -> bytes:
    """The file's bytes."""
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def compressed(image: Image.Image) -> Artwork:
    """The same on white, through JPEG."""
    ground = Image.new("RGBA", image.size, "white")
    ground.alpha_composite(image)
    return read_artwork(encoded(ground.convert("RGB"), "JPEG", quality=80))


def tonal() -> Artwork:
    """A smooth picture of many shades."""
    small = np.random.default_rng(3).integers(0, 256, (ROWS // 100, COLUMNS // 100, 3))
    image = Image.fromarray(small.astype(np.uint8)).resize(
        (COLUMNS, ROWS), Image.Resampling.BICUBIC
    )
    return read_artwork(encoded(image, "PNG", compress_level=1))


def best(*steps: Callable[[], object]) -> list[float]:
    """Least time of each step in seconds, the steps taken in turn."""
    times = [[0.0] * RUNS for _ in steps]
    for run in range(RUNS):
        for number, step in enumerate(steps):
            start = time.perf_counter()
            step()
            times[number][run] = time.perf_counter() - start
    return [min(each) for each in times]


def bytes_a_pixel(art: Artwork) -> float:
    """Most that find_flats holds at once, its result included, beyond its input."""
    tracemalloc.start()
    try:
        find_flats(art)
        return tracemalloc.get_traced_memory()[1] / (ROWS * COLUMNS)
    finally:
        tracemalloc.stop()


def to_lab(image: Image.Image) -> Callable[[], object]:
    """One Little CMS conversion of a picture to Lab, to be timed."""
    rgb = image.convert("RGB")
    transform = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"
    )
    return lambda: ImageCms.applyTransform(rgb, transform)


def flats_beside_little_cms() -> float:
    """The one ratio that has a target, without the rest of the rows."""
    image = drawing()
    flat = read_artwork(encoded(image, "PNG", compress_level=1))
    converted, found = best(to_lab(image), lambda: find_flats(flat))
    return found / converted


def main() -> list[tuple[str, float, float | None, str]]:
    """Rows (name, value, target, unit)."""
    image = drawing()
    data = encoded(image, "PNG", compress_level=1)
    flat, lossy, shades = read_artwork(data), compressed(image), tonal()
    converted, on_flat, on_lossy, on_shades, reading = best(
        to_lab(image),
        lambda: find_flats(flat),
        lambda: find_flats(lossy),
        lambda: find_flats(shades),
        lambda: read_artwork(data),
    )
    return [
        ("Little CMS sRGB to Lab, 15 MP", converted, None, "s"),
        ("find_flats, flat art", on_flat, None, "s"),
        ("find_flats / Little CMS", on_flat / converted, 3.0, "ratio"),
        ("find_flats / Little CMS, JPEG", on_lossy / converted, 3.0, "ratio"),
        ("find_flats / Little CMS, tonal", on_shades / converted, None, "ratio"),
        ("read_artwork, PNG / Little CMS", reading / converted, None, "ratio"),
        ("peak memory, flat art", bytes_a_pixel(flat), 12.0, "bytes/px"),
        ("peak memory, tonal", bytes_a_pixel(shades), 12.0, "bytes/px"),
    ]


if __name__ == "__main__":
    for name, value, target, unit in main():
        print(f"{name:34} {value:8.3f} {unit:9}" + (f" (at most {target:g})" if target else ""))
