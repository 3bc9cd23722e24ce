"""The small picture of a press ticket: the print as it sits on the shirt."""

from __future__ import annotations

from dataclasses import replace

from inksim.common import MM_PER_INCH, InputError, Uint8Array
from inksim.picture import Look, on_shirt
from inksim.preview import PreparedArtwork, build_look, fine_art, print_on
from inksim.reports.press_words import lies_words
from inksim.reports.ticket import Placed, Ticket
from inksim.shop import Shop
from inksim.stock import Place, check_fit

SHIRT_PX = 640


def with_artwork(
    ticket: Ticket,
    ready: PreparedArtwork,
    *,
    shop: Shop,
    place: Place = "front",
    top_mm: float | None = None,
) -> Ticket:
    """A ticket with its print drawn in place, and what of the artwork is too fine for it.

    ready: the artwork of the job, whose colors are named by their codes, as wide as it is printed.
    place, top_mm: see `JobArtworkEntry`.
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
        placed=placed_on(ready, print_on(ready.small, look), look, place=place, top_mm=top_mm),
        checks=(*(f"Drawn wider, or agreed with the client: {said}" for said in fine.words),
                *ticket.checks),
    )  # fmt: skip


def placed_on(
    ready: PreparedArtwork,
    picture: Uint8Array,
    look: Look,
    *,
    place: Place = "front",
    top_mm: float | None = None,
) -> Placed:
    """Lay a drawn print (h, w, 3) on its place of a shirt of the look's bare cloth.

    One that does not fit there stays as it is, and says so.
    """
    width, height, unfit = ready.width_mm, ready.height_mm, ""
    try:
        check_fit(place, width_mm=width, height_mm=height, top_mm=top_mm)
    except InputError as error:
        unfit = str(error)
    else:
        picture = on_shirt(
            picture,
            look=look,
            tile=ready.tile,
            tile_px_per_mm=ready.dpi / MM_PER_INCH,
            print_width_mm=width,
            print_top_mm=top_mm,
            height_px=SHIRT_PX,
            place=place,
        )
    return Placed(
        picture=picture,
        width_mm=width,
        height_mm=height,
        lies=lies_words(place, top_mm=top_mm),
        unfit=unfit,
    )
