"""Four ways to look at a flat print: side by side, wiped over, on the shirt, at life size."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import streamlit as st

from inksim.colour import Viewing
from inksim.common import ROUTE_TITLES, ROUTE_WORDS
from inksim.job import GarmentAnswer, Job, JobArtworkEntry
from inksim.preview import (
    CLOSE_PX,
    DECIDED,
    ArtworkResult,
    Key,
    PreparedArtwork,
    RouteAnswer,
    at_life_size,
    busiest_place,
    png_bytes,
    print_on,
)
from inksim.printing import ROUTES
from inksim.reports import in_a_sentence
from inksim.shop import Shop
from inksim.ui import cache, cached_results
from inksim.ui.current_job import CurrentJob
from inksim.ui.first_screen import room_key
from inksim.ui.parts import route_views
from inksim.ui.style import note, picture, points

VIEWS = ("Side by side", "Wipe", "On the shirt", "Cloth, pixel for pixel")
CROP_PX = (CLOSE_PX, CLOSE_PX)


def view(
    chosen: str,
    art: PreparedArtwork,
    found: ArtworkResult,
    *,
    shop: Shop,
    viewing: Viewing,
    lies: JobArtworkEntry,
) -> None:
    """The chosen view, the decided print first; the others cost nothing. lies: on the shirt."""
    if chosen == VIEWS[1]:
        route_views.wiped(
            [DECIDED, *(each.key for each in others(found))],
            DECIDED,
            lambda what: cache.pictures(
                art, found, what=what, shop=shop, viewing=viewing, large=True
            ),
            told=_told([found.decided, *others(found)]),
        )
    elif chosen == VIEWS[2]:
        drawn = {each.key: each.look for each in (found.decided, *others(found))}
        route_views.shirt_view(
            art,
            list(drawn),
            DECIDED,
            lambda key: (print_on(art.small, drawn[key]), drawn[key]),
            garment=found.garment.name,
            lies=lies,
            told=_told([found.decided, *others(found)]),
        )
    elif chosen == VIEWS[3]:
        _life_size(art, found)
    else:
        artwork, printed = _both(art, found, shop=shop, viewing=viewing)
        with st.container(key=room_key(art.width_px, art.height_px), horizontal=True):
            with st.container(key="first-print"):
                picture(printed, alt=_said(art, found))
                note(found.decided.title)
            with st.container(key="first-art"):
                picture(artwork, alt=_words(art, found, None))
                note(route_views.ARTWORK)


def on_each(
    art: PreparedArtwork,
    job: CurrentJob,
    whole: Job,
    answers: Sequence[GarmentAnswer],
    *,
    viewing: Viewing,
) -> None:
    """The decided print on every garment of the job, side by side, each with its verdict."""
    st.header("On each garment")
    with st.container(key="panels-each"):
        columns = st.columns(len(answers))
    for column, answer in zip(columns, answers, strict=True):
        name = answer.garment.name
        found = cached_results.printed(job.shop, whole, art=art, garment=name, viewing=viewing)
        with column:
            if answer.best is not None:
                (png,) = cache.pictures(
                    art, found, what=[DECIDED], shop=job.shop, viewing=viewing, large=False
                )
                picture(png, alt=f"{_said(art, found)}, small")
            note(in_a_sentence(answer))


def compared(art: PreparedArtwork, found: ArtworkResult, *, shop: Shop, viewing: Viewing) -> None:
    """What the print would be by one route alone, small, below what is decided."""
    st.header("By one route alone, to compare")
    panels = _by_route(art, found, shop=shop, viewing=viewing)
    same = {each.key for each in found.routes} - set(panels)
    with st.container(key="panels"):
        columns = st.columns(len(ROUTES))
    for column, route in zip(columns, ROUTES, strict=True):
        with column:
            st.subheader(ROUTE_TITLES[route])
            if route in same:
                note("As decided.")
            elif route not in panels:
                note(f"Not possible: {found.why_not[route]}.")
            else:
                told = found.by(route).in_short
                picture(panels[route], alt=_words(art, found, route), told=told)


def too_fine(art: PreparedArtwork, found: ArtworkResult, *, viewing: Viewing) -> None:
    """Lines and gaps that mesh and cloth do not hold, in words and marked; nothing if all holds."""
    said, png = cached_results.too_fine(art, found, viewing=viewing)
    if png is None:
        return
    st.header("Too fine to print")
    shown, words = st.columns([1, 2])
    with shown:
        picture(png, alt=f"{art.name}, pale gray, in black what is too fine for mesh and cloth")
    with words:
        points(said)
        note("In the picture black, and wider than drawn, to be seen.")


def work_out(art: PreparedArtwork, found: ArtworkResult, *, shop: Shop, viewing: Viewing) -> None:
    """Work out what is shown first, so that a page finds it."""
    _both(art, found, shop=shop, viewing=viewing)
    _by_route(art, found, shop=shop, viewing=viewing)
    cached_results.too_fine(art, found, viewing=viewing)


def _both(
    art: PreparedArtwork, found: ArtworkResult, *, shop: Shop, viewing: Viewing
) -> list[bytes]:
    """The artwork as drawn, and the decided print."""
    what = [None, DECIDED]
    return cache.pictures(art, found, what=what, shop=shop, viewing=viewing, large=True)


def _by_route(
    art: PreparedArtwork, found: ArtworkResult, *, shop: Shop, viewing: Viewing
) -> dict[Key, bytes]:
    """The prints by one route, small."""
    keys = [each.key for each in others(found)]
    pngs = cache.pictures(art, found, what=keys, shop=shop, viewing=viewing, large=False)
    return dict(zip(keys, pngs, strict=True))


def _said(art: PreparedArtwork, found: ArtworkResult) -> str:
    """What the decided print shows, and its verdict."""
    told = found.decided.in_short
    return f"{_words(art, found, DECIDED)}; {told[0]}" if told else _words(art, found, DECIDED)


def _told(answers: Iterable[RouteAnswer]) -> dict[Key, tuple[str, str]]:
    """The marks of prints, words and shape."""
    return {each.key: told for each in answers if (told := each.in_short)}


def others(found: ArtworkResult) -> list[RouteAnswer]:
    """The prints by one route that are not the decided one."""
    return [each for each in found.routes if each.found is not found.decided.found]


def _words(art: PreparedArtwork, found: ArtworkResult, what: Key | None) -> str:
    way = "as drawn" if what is None else ROUTE_WORDS[what]
    return f"{art.name} on {found.garment.name}, {way}"


def _life_size(art: PreparedArtwork, found: ArtworkResult) -> None:
    with st.container(horizontal=True):
        centre = route_views.choose_place(busiest_place(art), key="crop", width=320)
    shown = [found.decided, *others(found)]
    crops = {
        ROUTE_TITLES[each.key]: at_life_size(art, each.look, centre=centre, size_px=CROP_PX)
        for each in shown
    }
    route_views.windows(
        {title: png_bytes(crop) for title, crop in crops.items()},
        words=lambda title: (
            f"{art.name} on {found.garment.name}, {title.lower()}, a window of it pixel for pixel"
        ),
        told={ROUTE_TITLES[key]: told for key, told in _told(shown).items()},
    )
    note(
        "One pixel of the artwork is one pixel here: each window is "
        f"{route_views.size_words(CROP_PX[0], art.dpi)} of the shirt. Fibers that stand proud "
        "take little ink."
    )
