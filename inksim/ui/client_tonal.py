"""Show a client a tonal picture: halftones of the shop's inks, each route and what it reaches."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from inksim.appearance import Viewing
from inksim.build import ROUTES, Route
from inksim.predict import honest_words
from inksim.preview_files import ROUTE_TITLES, slug
from inksim.shop import Shop
from inksim.showing import Ready
from inksim.showing_tonal import TonalShown
from inksim.ui import worked_out
from inksim.ui.client_views import ARTWORK
from inksim.ui.look import mark, note, picture
from inksim.ui.wipe import wipe
from inksim.ui.worked_out import TonalPngs

VIEWS = ("Side by side", "Wipe", "Out of reach")


def choose_view() -> str:
    """Choose how to look at a tonal print."""
    return str(
        st.segmented_control(
            "Look at it", VIEWS, default=VIEWS[0], required=True, key="view-tonal", wrap=True
        )
    )


def tonal(
    art: Ready, *, shop: Shop, garment: str, viewing: Viewing, looked_at: str
) -> tuple[str, str]:
    """Show it; returns the headline and what there is to say with it."""
    names = [ink.name for ink in shop.inks.values() if ink.kind == "colour"]
    by_hand = _inks_by_hand(art)
    found, pngs = worked_out.tonal(
        art, shop=shop, garment=garment, viewing=viewing, inks=tuple(by_hand)
    )
    if looked_at == VIEWS[1]:
        _wiped(found, pngs)
    else:
        _side_by_side(art, found, pngs, maps=looked_at == VIEWS[2])
    best = found.best
    st.download_button(
        "The print as a picture (PNG)",
        pngs.prints[best.route],
        file_name=f"{slug(art.name)}-{slug(garment)}.png",
        mime="image/png",
        on_click="ignore",
    )
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
    return _said(found, shop=shop)


def _said(found: TonalShown, *, shop: Shop) -> tuple[str, str]:
    best, garment = found.best, found.garment.name
    inside = 1.0 - best.reach.out_of_reach
    way = ROUTE_TITLES[best.route].lower()
    headline = (
        f"On {garment}, print this picture {way}."
        if best.comes_home
        else f"On {garment}, not all of this picture comes home; {way} comes nearest."
    )
    named = ", ".join(ink.name for ink in found.inks)
    honest = honest_words(best.reach.data, calibrated=shop.press.calibrated)
    return headline, (
        f"{inside:.0%} of it is within ΔE00 {best.reach.tolerance:g} of the artwork, "
        f"{best.reach.mean:.1f} on average. Tonal artwork, printed as halftones of {named} at "
        f"{best.reach.lines_per_inch:g} lines/inch. {honest}"
    )


def _side_by_side(art: Ready, found: TonalShown, pngs: TonalPngs, *, maps: bool) -> None:
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
            way, reach = ROUTE_TITLES[route].lower(), drawn[route].reach
            if maps:
                picture(pngs.maps[route], alt=f"{on}, {way}: black where it is out of reach")
            else:
                picture(pngs.prints[route], alt=f"{on}, {way}")
            words = f"{1.0 - reach.out_of_reach:.0%} within ΔE00 {reach.tolerance:g}"
            st.html(mark(words, met=drawn[route].comes_home))
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


def _inks_by_hand(art: Ready) -> list[str]:
    chosen: Sequence[str] = st.session_state.get(f"tonal chosen {art.sha256}", ())
    return list(chosen)


def _remember(sha256: str) -> None:
    st.session_state[f"tonal chosen {sha256}"] = list(st.session_state[f"tonal inks {sha256}"])
