"""The small picture of a press ticket: the print as it sits on the shirt."""

from __future__ import annotations

from contextlib import suppress

from inksim.colour import Viewing
from inksim.common import MM_PER_INCH, InputError, Uint8Array
from inksim.job import Alternative
from inksim.picture import Look, on_shirt
from inksim.preview import PreparedArtwork, build_look, print_on
from inksim.reports.ticket import Placed
from inksim.shop import Shop
from inksim.stock import Garment

SHIRT_PX = 640


def placed_print(
    ready: PreparedArtwork,
    way: Alternative,
    *,
    shop: Shop,
    garment: Garment,
    viewing: Viewing,
) -> Placed:
    """Draw the print of a way on the front of a shirt; by itself where the front is too small.

    ready: the artwork of the job, whose colors are named by their codes, as wide as it is printed.
    """
    builds = {plan.colour.name: plan.build for plan in way.printed}
    look = build_look(
        [builds.get(flat.hex) for flat in ready.flats.colours],
        garment=garment,
        press=shop.press.values,
        viewing=viewing,
    )
    return on_front(ready, print_on(ready.small, look), look)


def on_front(ready: PreparedArtwork, picture: Uint8Array, look: Look) -> Placed:
    """Lay a drawn print (h, w, 3) on the front of a shirt of the look's bare cloth."""
    with suppress(InputError):  # larger than the front of a shirt
        picture = on_shirt(
            picture,
            look=look,
            tile=ready.tile,
            tile_px_per_mm=ready.dpi / MM_PER_INCH,
            print_width_mm=ready.width_mm,
            height_px=SHIRT_PX,
        )
    return Placed(picture=picture, width_mm=ready.width_mm, height_mm=ready.height_mm)
