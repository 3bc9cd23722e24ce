"""Write inksim/data/cloth_300dpi.npy: the cloth's tile at 300 dpi, which artworks mostly have.

Run ``python tools/make_cloth_tile.py`` after a change of `cloth_tile`. Drawing it takes most of a
second, reading it a millisecond. tests/optics/test_unevenness.py draws it again and compares.
"""

from __future__ import annotations

import numpy as np

from inksim.picture.cloth_tile import KEPT_TILE, draw_tile


def main() -> None:
    """Draw and write it."""
    np.save(KEPT_TILE, draw_tile())
    print(f"{KEPT_TILE}: {KEPT_TILE.stat().st_size} bytes")


if __name__ == "__main__":
    main()
