"""`inksim preview`, file to pictures, beside Pillow's decode, Little CMS and encode of the file.

Flat art of 15 megapixels on a black shirt: the decided print and each route at full size. Pillow
decodes the same file, takes it from its profile to sRGB and encodes it, once for each print. What
the encoder costs more because a print has the texture of cloth, and flat art has none, is told
apart: it is the prints encoded alone less the artwork encoded alone. Peaks are of what numpy
allocates above the decoded input. Times are of the processor, all cores added up, so that other
work on the machine does not count.
"""

from __future__ import annotations

import io
import tempfile
import time
import tracemalloc
from pathlib import Path

import numpy as np
from PIL import Image, ImageCms

from inksim.artwork.png import unfiltered_png
from inksim.preview.preview_files import write_previews
from inksim.shop.load import load_shop
from tests.benchmarks.bench_artwork import COLUMNS, ROWS, drawing
from tests.benchmarks.bench_separation import picture

RUNS = 3


def managed(file: Path, out: Path) -> None:
    """Decode, color-manage and encode one picture."""
    srgb = ImageCms.createProfile("sRGB")
    with Image.open(file) as image:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
        to_srgb = ImageCms.buildTransform(profile, srgb, "RGBA", "RGBA")
        converted = ImageCms.applyTransform(image, to_srgb)
    assert converted is not None
    converted.convert("RGB").save(out, compress_level=1)


def encode_seconds(files: list[Path]) -> float:
    """Time to encode pictures again as prints are, decoding left out."""
    images = [np.asarray(Image.open(file).convert("RGB")) for file in files]
    start = time.process_time()
    for image in images:
        unfiltered_png(image, compress_level=1)
    return time.process_time() - start


def main() -> list[tuple[str, float, float | None, str]]:
    """Rows (name, value, target, unit)."""
    shop = load_shop()
    garment = shop.garment("Coal Black")
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        art = home / "discs.png"
        profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        drawing().save(art, compress_level=1, dpi=(300, 300), icc_profile=profile)

        def preview() -> list[Path]:
            made = write_previews(art, shop=shop, garment=garment, out=home / "out")
            return [route.path for route in made.routes]

        ours, theirs = [], []
        for _ in range(RUNS):
            start = time.process_time()
            prints = preview()
            ours.append(time.process_time() - start)
            start = time.process_time()
            for at in range(len(prints)):
                managed(art, home / f"managed-{at}.png")
            theirs.append(time.process_time() - start)
        texture = encode_seconds(prints) - encode_seconds([home / "managed-0.png"] * len(prints))
        tracemalloc.start()
        preview()
        flat_peak = tracemalloc.get_traced_memory()[1] / (ROWS * COLUMNS)
        tracemalloc.stop()
        painting = home / "painting.png"
        Image.fromarray(picture(COLUMNS, ROWS)).save(
            painting, compress_level=1, dpi=(300, 300), icc_profile=profile
        )
        tonal, beside = [], []
        for _ in range(RUNS):
            start = time.process_time()
            write_previews(painting, shop=shop, garment=garment, out=home / "out")
            tonal.append(time.process_time() - start)
            start = time.process_time()
            for at in range(3):
                managed(painting, home / f"managed-{at}.png")
            beside.append(time.process_time() - start)
    return [
        ("preview of flat art, file to pictures", min(ours), None, "s"),
        ("decode, color-manage and encode as often", min(theirs), None, "s"),
        ("preview / Pillow", min(ours) / min(theirs), 2.0, "ratio"),
        ("of it the cloth's texture in the encoder", texture / min(ours), None, "share"),
        ("peak of the flat preview, input included", flat_peak, 16.0, "B/pixel"),
        ("preview of tonal art, file to pictures", min(tonal), None, "s"),
        ("preview of tonal art / Pillow", min(tonal) / min(beside), 3.0, "ratio"),
    ]


if __name__ == "__main__":
    for name, value, target, unit in main():
        print(f"{name:48} {value:8.3f} {unit:8}" + (f" (at most {target:g})" if target else ""))
