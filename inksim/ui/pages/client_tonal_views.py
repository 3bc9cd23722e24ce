"""Looks at a tonal picture as printed: beside its artwork, on the shirt, close up, its reach."""

from __future__ import annotations

from inksim.colour import Viewing
from inksim.common import ROUTE_TITLES, ROUTE_WORDS
from inksim.job import JobArtworkEntry
from inksim.preview import (
    PreparedArtwork,
    TonalResult,
    png_bytes,
)
from inksim.printing import Route
from inksim.shop import Shop
from inksim.ui import cached_results
from inksim.ui.cached_results import TonalPngs
from inksim.ui.parts import route_views
from inksim.ui.style import note

VIEWS = ("Side by side", "Wipe", "On the shirt", "Close up", "Out of reach")


def tonal_view(
    looked_at: str,
    art: PreparedArtwork,
    found: TonalResult,
    pngs: TonalPngs,
    *,
    shop: Shop,
    viewing: Viewing,
    lies: JobArtworkEntry,
) -> None:
    """Show it as looked at: one of `VIEWS`. lies: on the shirt."""
    drawn = {each.route: each for each in found.routes}
    best, maps = found.best.route, looked_at == VIEWS[4]
    told = {each.route: each.reach.in_short for each in found.routes}

    def words(what: Route | None) -> str:
        where = ": hatched where it is out of reach" if maps and what else ""
        return f"{_words(art, found, what)}{where}"

    if looked_at == VIEWS[1]:
        route_views.wiped(
            list(drawn),
            best,
            lambda what: [pngs.artwork if route is None else pngs.prints[route] for route in what],
            told=told,
        )
    elif looked_at == VIEWS[2]:
        look = cached_results.bare_cloth(shop, found.garment, viewing)
        route_views.shirt_view(
            art,
            list(drawn),
            best,
            lambda route: (drawn[route].picture, look),
            garment=found.garment.name,
            lies=lies,
            told=told,
        )
    elif looked_at == VIEWS[3]:
        _close_up(art, found)
    else:
        route_views.side_by_side(
            pngs.artwork,
            pngs.maps if maps else pngs.prints,
            words=words,
            told=told,
            why_not=found.why_not,
        )
        if maps:
            note("Hatched: there no dots of these inks come within the tolerance of the artwork.")


def tonal_begun(art: PreparedArtwork, found: TonalResult, pngs: TonalPngs) -> None:
    """The best route's print beside the artwork, while the others are worked out."""
    route_views.side_by_side(
        pngs.artwork,
        pngs.prints,
        words=lambda what: _words(art, found, what),
        told={each.route: each.reach.in_short for each in found.routes},
        why_not=found.why_not,
        begun=True,
    )


def _words(art: PreparedArtwork, found: TonalResult, what: Route | None) -> str:
    way = "as drawn" if what is None else ROUTE_WORDS[what]
    return f"{art.name} on {found.garment.name}, {way}"


def _close_up(art: PreparedArtwork, found: TonalResult) -> None:
    """A window of each route as it was drawn, one pixel of the drawing to one of the screen."""
    route_views.windows(
        {ROUTE_TITLES[each.route]: png_bytes(each.close) for each in found.routes},
        words=lambda title: f"{art.name} on {found.garment.name}, {title.lower()}, a window of it",
        told={ROUTE_TITLES[each.route]: each.reach.in_short for each in found.routes},
    )
    pixels = found.routes[0].close.shape[1]
    note(
        f"Drawn at {found.drawn_dpi:.0f} pixels to the inch: each window is "
        f"{route_views.size_words(pixels, found.drawn_dpi, digits=1)} of the shirt. Tones are "
        "shown as the even mean of their dots; on the shirt the dots of "
        f"{found.best.reach.lines_per_inch:g} lines/inch can be seen from near."
    )
