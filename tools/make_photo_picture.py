"""Make docs/photo.png: a rendered picture of a chart and two shirts, with what is looked at.

Run from the repository: ``python -m tools.make_photo_picture``.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from PIL import Image

from inksim.photo import Region, chart_of, drawn, read_photo, read_picture
from tests.photo.rendered import taken

TOP = Path(__file__).parent.parent


def main() -> None:
    """Render, read, draw and save it."""
    shot = taken()
    with tempfile.TemporaryDirectory() as folder:
        picture = read_picture(shot.save(Path(folder) / "shirts.jpg"))
    read = read_photo(
        picture,
        chart_of("iso17321"),
        corners=shot.corners,
        regions=[Region(name=name, outline=tuple(at)) for name, at in shot.cloths.items()],
        surround=[
            Region(name=f"surround {at}", outline=tuple(each))
            for at, each in enumerate(shot.card, start=1)
        ],
    )
    Image.fromarray(drawn(read)).quantize(128).save(TOP / "docs" / "photo.png", optimize=True)


if __name__ == "__main__":
    main()
