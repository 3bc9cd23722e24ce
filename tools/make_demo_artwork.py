"""Draw the demo shop's artwork, invented by this project, into shared/artwork/.

    python tools/make_demo_artwork.py            # both pictures at full size, about half a minute
    python tools/make_demo_artwork.py --scale 0.1 --into /tmp

- harvest-regatta.png: four flat colors on transparent ground, 12 x 14 in at 300 dpi.
- river-morning.png: a tonal painting that fades to transparent, 12 x 14 in at 200 dpi.

Every random draw is seeded: the same library versions give the same files.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from demo_artwork import regatta, river
from PIL import Image, PngImagePlugin

from inksim.common import Uint8Array

TARGET = Path(__file__).resolve().parent.parent / "shared" / "artwork"
PICTURES = {"harvest-regatta.png": regatta, "river-morning.png": river}
PERCEPTUAL = b"\x00"


def save(rgba: Uint8Array, path: Path, *, dpi: float) -> None:
    """Write a PNG that says its resolution and that its values are sRGB (PNG's sRGB chunk)."""
    info = PngImagePlugin.PngInfo()
    info.add(b"sRGB", PERCEPTUAL)
    Image.fromarray(rgba).save(path, dpi=(dpi, dpi), pnginfo=info, optimize=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scale", type=float, default=1.0, help="1 is full size")
    parser.add_argument("--into", type=Path, default=TARGET, help="folder for the pictures")
    options = parser.parse_args()
    options.into.mkdir(parents=True, exist_ok=True)
    for name, module in PICTURES.items():
        rgba = module.picture(scale=options.scale)
        save(rgba, options.into / name, dpi=module.DPI * options.scale)


if __name__ == "__main__":
    main()
