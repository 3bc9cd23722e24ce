"""From an artwork file to lossless pictures of each route and a sheet that shows them together."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from inksim.artwork import assign_inks, find_flats, printed_at, read_artwork, read_mapping
from inksim.colour import Viewing
from inksim.preview.views import Views, check_views
from inksim.preview.write import PreviewRequest, PreviewResult
from inksim.preview.write_flat import write_flat
from inksim.preview.write_tonal import write_tonal
from inksim.shop import Shop
from inksim.stock import Garment


def write_previews(
    artwork_file: Path,
    *,
    shop: Shop,
    garment: Garment,
    out: Path,
    mapping: Path | None = None,
    viewing: Viewing | None = None,
    views: Views | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> PreviewResult:
    """Write a PNG of each route at the artwork's full size, what else is asked for, and a sheet.

    Every file appears whole or not at all. All input is read and checked before the first write.

    Raises
    ------
    InputError : an artwork that cannot be read, a mapping that does not fit it, an unknown ink.
    """
    names = read_mapping(mapping) if mapping else {}
    progress(f"reading {artwork_file.name}")
    artwork = read_artwork(artwork_file)
    dpi, notes = printed_at(artwork)
    order = PreviewRequest(
        artwork=artwork,
        stem=artwork_file.stem,
        shop=shop,
        garment=garment,
        out=out,
        dpi=dpi,
        viewing=viewing or Viewing(),
        views=views or Views(),
        progress=progress,
    )
    check_views(order.views, artwork=artwork, dpi=dpi)
    flats = find_flats(artwork)
    if flats.tonal and mapping is None:
        return write_tonal(order, notes=notes)
    assignments = assign_inks(flats, shop=shop, garment=garment, mapping=names)
    return write_flat(order, flats, assignments, notes=(*notes, *flats.notes))
