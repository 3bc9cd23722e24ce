"""Make docs/predicted.png: the demo artwork on the demo shop's black shirt, by every route.

Run from the top of the project: ``python tools/make_readme_picture.py``.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

from inksim.artwork.picture import save_png, shrink_to
from inksim.preview.demo import ARTWORK
from inksim.preview.preview_files import write_previews
from inksim.shop.load import load_shop

TOP = Path(__file__).resolve().parent.parent
WIDTH_PX = 1280


def main() -> None:
    """Preview in a scratch folder, reduce the sheet in linear light, save it."""
    shop = load_shop()
    with tempfile.TemporaryDirectory() as scratch:
        result = write_previews(
            shop.folder / ARTWORK, shop=shop, garment=shop.garment("Coal Black"), out=Path(scratch)
        )
        with Image.open(result.sheet) as sheet:
            pixels, about = np.array(sheet.convert("RGB")), sheet.info["Description"]
    height = round(pixels.shape[0] * WIDTH_PX / pixels.shape[1])
    small = shrink_to(pixels, width=WIDTH_PX, height=height)
    save_png(TOP / "docs" / "predicted.png", small, dpi=96, about=about, compress_level=9)


if __name__ == "__main__":
    main()
