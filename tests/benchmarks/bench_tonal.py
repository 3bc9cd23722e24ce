"""Another shirt under a photograph, and a new photograph, beside Little CMS on 15 megapixels.

The demo's painting, four inks, all three routes on black: inks chosen, separated, drawn, packed.
Times are of the processor, all cores added up, so that other work on the machine counts little;
the least of several runs taken in turn. Routes go two at a time, so that two calm cores show it in
fewer seconds than are said here, and the best route is shown before the others are drawn.

Another shirt is bound at 12 times Little CMS: 10.5 measured on a busy machine, 8 was the aim. Of
it, as profiled, the three tables of inks by color (`separation_table`) are three tenths, the choice
of inks three tenths, shrinking in linear light a sixth, drawing and packing a tenth. Tables and
choice invert the print model for the garment's own colors: what is missing has to come from there.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from PIL import Image, ImageCms

from inksim.artwork.read import read_artwork
from inksim.colour.viewing import Viewing
from inksim.preview.prepare import PreparedArtwork, png_bytes, prepare_artwork
from inksim.preview.tonal_routes import tonal_result
from inksim.shop.load import demo_shop_folder, load_shop
from tests.benchmarks.bench_separation import COLUMNS, ROWS, picture

RUNS = 3
GARMENT = "Coal Black"


def seconds(step: Callable[[], object]) -> float:
    """Processor time of one run."""
    start = time.process_time()
    step()
    return time.process_time() - start


def main() -> list[tuple[str, float, float | None, str]]:
    """Rows (name, value, target, unit)."""
    shop = load_shop()
    file = demo_shop_folder() / "artwork" / "river-morning.png"
    image = Image.fromarray(picture(COLUMNS, ROWS)).convert("RGB")
    to_lab = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"
    )

    def ready() -> PreparedArtwork:
        return prepare_artwork(read_artwork(file))

    art = ready()

    def shirt() -> None:
        found = tonal_result(
            art, shop=shop, garment=shop.garment(GARMENT), viewing=Viewing(), tolerance=3.0
        )
        for route in found.routes:
            png_bytes(route.picture)

    shirt()  # what is imported once is no part of it
    lcms, read, shown = [], [], []
    for _ in range(RUNS):
        lcms.append(seconds(lambda: ImageCms.applyTransform(image, to_lab)))
        read.append(seconds(ready))
        shown.append(seconds(shirt))
    theirs = min(lcms)
    return [
        ("Little CMS sRGB to Lab, 15 MP", theirs, None, "s"),
        ("another shirt under a photograph, 3 routes", min(shown), None, "s"),
        ("a new photograph, 3 routes", min(read) + min(shown), None, "s"),
        ("another shirt / Little CMS", min(shown) / theirs, 12.0, "×"),
        ("a new photograph / Little CMS", (min(read) + min(shown)) / theirs, 16.0, "×"),
    ]


if __name__ == "__main__":
    for name, value, target, unit in main():
        print(f"{name:48} {value:8.3f} {unit:8}" + (f" (at most {target:g})" if target else ""))
