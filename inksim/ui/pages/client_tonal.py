"""Show a client a tonal picture: halftones of the shop's inks, each route and what it reaches."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import streamlit as st

from inksim.colour import Viewing
from inksim.common import MM_PER_INCH, ROUTE_TITLES, ROUTE_WORDS, slug
from inksim.preview import PreparedArtwork, TonalShown, png_bytes, said_of
from inksim.printing import ROUTES, Route
from inksim.reports import TonalProof, tonal_proof_pdf
from inksim.shop import Shop
from inksim.ui import cached_results
from inksim.ui.cached_results import TonalPngs
from inksim.ui.download import offer
from inksim.ui.pages.client_views import ARTWORK, shirt_view
from inksim.ui.parts.wipe import wipe
from inksim.ui.style import mark, note, picture

VIEWS = ("Side by side", "Wipe", "On the shirt", "Close up", "Out of reach")


def choose_view() -> str:
    """Choose how to look at a tonal print."""
    return str(
        st.segmented_control(
            "Look at it",
            VIEWS,
            default=VIEWS[0],
            required=True,
            key="view-tonal",
            bind="query-params",
            persist_state="session",
            wrap=True,
        )
    )


def tonal(
    art: PreparedArtwork, *, shop: Shop, garment: str, viewing: Viewing, looked_at: str
) -> tuple[str, str]:
    """Show it; returns the headline and what there is to say with it."""
    names = [ink.name for ink in shop.inks.values() if ink.kind == "colour"]
    by_hand = _inks_by_hand(art)
    found, pngs = cached_results.tonal(
        art, shop=shop, garment=garment, viewing=viewing, inks=tuple(by_hand)
    )
    if looked_at == VIEWS[1]:
        _wiped(found, pngs)
    elif looked_at == VIEWS[2]:
        _on_shirt(art, found, shop=shop, viewing=viewing)
    elif looked_at == VIEWS[3]:
        _close_up(art, found)
    else:
        _side_by_side(art, found, pngs, maps=looked_at == VIEWS[4])
    best = found.best
    _take_away(art, found, pngs, shop=shop, viewing=viewing)
    st.multiselect(
        "Inks, in print order (empty: chosen for this picture)",
        names,
        default=by_hand,
        max_selections=6,
        key=f"tonal inks {art.sha256}",
        on_change=_remember,
        args=(art.sha256,),
    )
    for line in best.screens:
        note(line)
    for line in best.reach.warnings:
        note(line)
    return said_of(found, calibrated=shop.press.calibrated)


def _take_away(
    art: PreparedArtwork, found: TonalShown, pngs: TonalPngs, *, shop: Shop, viewing: Viewing
) -> None:
    """The proof sheet, made when it is asked for, and the picture."""
    proof = TonalProof(ready=art, shown=found, shop=shop, viewing=viewing, made=date.today())
    name = f"{slug(Path(art.name).stem)}-{slug(found.garment.name)}"
    with st.container(horizontal=True):
        offer(
            "Proof sheet to sign (PDF)",
            lambda: tonal_proof_pdf(proof),
            file=f"proof-{name}.pdf",
            first=True,
        )
        offer("The print as a picture (PNG)", pngs.prints[found.best.route], file=f"{name}.png")


def _on_shirt(art: PreparedArtwork, found: TonalShown, *, shop: Shop, viewing: Viewing) -> None:
    look = cached_results.bare_cloth(shop, found.garment, viewing)
    ways = {ROUTE_TITLES[each.route]: (each.picture, look) for each in found.routes}
    shirt_view(art, ways, best=ROUTE_TITLES[found.best.route], garment=found.garment.name)


def _close_up(art: PreparedArtwork, found: TonalShown) -> None:
    """A window of each route as it was drawn, one pixel of the drawing to one of the screen."""
    with st.container(horizontal=True):
        for each in found.routes:
            title = ROUTE_TITLES[each.route]
            with st.container(width="content"):
                st.header(title)
                words = f"{art.name} on {found.garment.name}, {title.lower()}, a window of it"
                picture(png_bytes(each.close), alt=words, life_size=True)
    size_mm = found.routes[0].close.shape[1] / found.drawn_dpi * MM_PER_INCH
    note(
        f"Drawn at {found.drawn_dpi:.0f} pixels to the inch: each window is "
        f"{size_mm / MM_PER_INCH:.1f} in ({size_mm:.0f} mm) of the shirt. Tones are shown as the "
        "even mean of their dots; on the shirt the dots of "
        f"{found.best.reach.lines_per_inch:g} lines/inch can be seen from near."
    )


def _side_by_side(art: PreparedArtwork, found: TonalShown, pngs: TonalPngs, *, maps: bool) -> None:
    """The artwork and every route; with maps, where each is out of reach."""
    with st.container(key="panels"):
        columns = st.columns(len(ROUTES) + 1)
    on = f"{art.name} on {found.garment.name}"
    with columns[0]:
        st.header(ARTWORK)
        picture(pngs.artwork, alt=f"{on}, as drawn")
    drawn = {each.route: each for each in found.routes}
    for column, route in zip(columns[1:], ROUTES, strict=True):
        with column:
            st.header(ROUTE_TITLES[route])
            if route not in drawn:
                note(f"Not possible: {found.why_not[route]}.")
                continue
            way, reach = ROUTE_WORDS[route], drawn[route].reach
            if maps:
                picture(pngs.maps[route], alt=f"{on}, {way}: black where it is out of reach")
            else:
                picture(pngs.prints[route], alt=f"{on}, {way}")
            words = f"{1.0 - reach.out_of_reach:.0%} within ΔE00 {reach.tolerance:g}"
            st.html(mark(words, met=reach.comes_home))
    if maps:
        note("Black: no coverage of these inks comes within the tolerance of the artwork there.")


def _wiped(found: TonalShown, pngs: TonalPngs) -> None:
    choices: dict[str, Route | None] = {ARTWORK: None}
    choices |= {ROUTE_TITLES[route.route]: route.route for route in found.routes}
    names = list(choices)
    options, shown = st.columns([1, 3])
    with options:
        best = names.index(ROUTE_TITLES[found.best.route])
        one = str(st.selectbox("Left", names, index=0, key="tonal-left"))
        two = str(st.selectbox("Right", names, index=best, key="tonal-right"))

    def png(name: str) -> bytes:
        route = choices[name]
        return pngs.artwork if route is None else pngs.prints[route]

    with shown:
        wipe(png(one), png(two), left_words=one, right_words=two)


def _inks_by_hand(art: PreparedArtwork) -> list[str]:
    chosen: Sequence[str] = st.session_state.get(f"tonal chosen {art.sha256}", ())
    return list(chosen)


def _remember(sha256: str) -> None:
    st.session_state[f"tonal chosen {sha256}"] = list(st.session_state[f"tonal inks {sha256}"])
