"""Download a print's look as a .cube table or an ICC profile, for a picture editor."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import streamlit as st

from inksim.colour import Viewing
from inksim.common import ROUTE_TITLES, slug, temporary_folder
from inksim.decision import Answer
from inksim.preview import look_table
from inksim.printing import Route
from inksim.separation import MOST_INKS, write_look
from inksim.shop import Shop, usable_routes
from inksim.ui.download import offer
from inksim.ui.style import note, plain


def offer_look(shop: Shop, column: Sequence[Answer], *, viewing: Viewing) -> None:
    """Choose inks and base, and take the look away; it is worked out when it is asked for."""
    garment = column[0].garment
    with st.expander(plain(f"The look of {garment.name} for your own editor")):
        note(
            "What any color of a picture becomes as halftones of these inks on this garment: as a "
            "33-step table (.cube), or as a profile to soft-proof with (.icc): absolute "
            "colorimetric, or 'simulate paper'. Working it out takes some seconds."
        )
        names = [ink.name for ink in shop.colour_inks]
        usual = [
            name for name in dict.fromkeys(c.ink.name for c in column if c.ink) if name in names
        ]
        usual = usual[:MOST_INKS]
        inks = st.multiselect(
            "Inks, in print order", names, default=usual, max_selections=MOST_INKS,
            key=f"look-inks {garment.name}",
        )  # fmt: skip
        routes = {ROUTE_TITLES[route]: route for route in usable_routes(garment, shop=shop)}
        last = len(routes) - 1
        title = st.radio("Printed", list(routes), index=last, key=f"look-route {garment.name}")
        if not inks:
            note("Choose at least one ink.")
            return
        route = routes[str(title)]
        name = f"{slug(garment.name)}-{route}"
        with st.container(horizontal=True):
            for ending, words in ((".cube", "Look table (.cube)"), (".icc", "Profile (.icc)")):
                offer(
                    words,
                    partial(
                        look_bytes,
                        shop,
                        ending,
                        garment=garment.name,
                        inks=inks,
                        route=route,
                        viewing=viewing,
                    ),
                    file=f"{name}{ending}",
                )


def look_bytes(
    shop: Shop, ending: str, *, garment: str, inks: Sequence[str], route: Route, viewing: Viewing
) -> bytes:
    """Bytes of the look's file."""
    table = look_table(
        shop=shop,
        garment=shop.garment(garment),
        inks=[shop.ink(name) for name in inks],
        route=route,
        viewing=viewing,
    )
    with temporary_folder() as folder:
        return write_look(table, folder / f"look{ending}").read_bytes()
