"""The small picture of a press ticket: the print as it sits on the shirt."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

from inksim.common import MM_PER_INCH, InputError, Uint8Array
from inksim.picture import Look, on_shirt
from inksim.preview import PreparedArtwork, build_look, fine_art, print_on
from inksim.reports.ticket import Placed, Ticket
from inksim.shop import Shop

SHIRT_PX = 640


def with_artwork(ticket: Ticket, ready: PreparedArtwork, *, shop: Shop) -> Ticket:
    """A ticket with its print drawn in place, and what of the artwork is too fine for it.

    ready: the artwork of the job, whose colors are named by their codes, as wide as it is printed.
    """
    builds = {plan.colour.name: plan.build for plan in ticket.chosen.printed}
    look = build_look(
        [builds.get(flat.hex) for flat in ready.flats.colours],
        garment=ticket.found.garment,
        press=shop.press.values,
        viewing=ticket.viewing,
    )
    found = replace(ticket.found, chosen=ticket.way - 1)
    fine = fine_art(found, ready.flats, dpi=ready.dpi, shop=shop)
    return replace(
        ticket,
        placed=on_front(ready, print_on(ready.small, look), look),
        checks=(*(f"Drawn wider, or agreed with the client: {said}" for said in fine.words),
                *ticket.checks),
    )  # fmt: skip


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
