"""The plates of a picture in halftones, packed to be taken away."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

from inksim.artwork import Artwork, printed_at
from inksim.colour import Viewing
from inksim.common import on_garment, slug, temporary_folder
from inksim.preview.tonal_routes import TonalResult
from inksim.printing import file_words
from inksim.separation import (
    colours_seen,
    separate_picture,
    separation_table,
    tonal_plates,
    write_plates,
)
from inksim.shop import Shop


def tonal_plates_zip(
    artwork: Artwork,
    shown: TonalResult,
    *,
    shop: Shop,
    viewing: Viewing,
    choke_mm: float = 0.0,
) -> bytes:
    """A ZIP of the plates of the way proposed, gray PNG at the artwork's own size, in print order.

    artwork: the whole of what was shown, which was separated from a reduced picture. choke_mm: of a
    base under its colors, as its ticket says it.
    """
    best = shown.best
    seen = colours_seen(artwork.rgba, shown.garment, viewing)
    table = separation_table(shown.table.tonal, viewing=viewing, seen=seen)
    made = separate_picture(artwork.rgba, table, tolerance=best.reach.tolerance)
    plates = tonal_plates(made, dpi=printed_at(artwork)[0], choke_mm=choke_mm)
    title = Path(artwork.name).stem
    about = file_words(
        f"{on_garment(title, shown.garment.name)}, {viewing}: a plate, black where it prints",
        data=best.reach.data,
        calibrated=shop.press.calibrated,
    )
    packed = io.BytesIO()
    stem = f"{slug(title)}--{slug(shown.garment.name)}"
    with temporary_folder() as folder, zipfile.ZipFile(packed, "w") as out:
        for file in write_plates(plates, out=folder, stem=stem, about=about):
            out.write(file.path, file.path.name)  # PNG is packed already
    return packed.getvalue()
