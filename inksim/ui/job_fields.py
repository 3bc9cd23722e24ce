"""Fields of the current job that pages ask for; each writes it: see `CurrentJob.put`."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.artwork import KEEP, NOT_PRINTED
from inksim.common import MM_PER_INCH, ROUTE_WORDS, InksimError, counted
from inksim.job import DrawnJob, Plan, press_of
from inksim.printing import ROUTES
from inksim.separation import MOST_INKS
from inksim.shop import Shop
from inksim.stock import USUAL_TOP_MM
from inksim.ui.current_job import QUANTITY, CurrentJob, wishes
from inksim.ui.job_address import NUMBERS, PREFER, PREFERENCES, Number
from inksim.ui.style import note, plain

BARE, DECIDE = "leave bare", "as decided"
PLACES = ("front", "back", "sleeve")
MM, INCH = "mm", "in"
WIDTH = Number("artwork.width_mm", 1, 5000)
TOP = Number("artwork.top_mm", 0, 1000)


def _put(job: CurrentJob, field: str, key: str, made: Callable[[Any], Any]) -> None:
    job.put({field: made(st.session_state[key])})


def _number(
    job: CurrentJob,
    label: str,
    value: float,
    *,
    key: str,
    number: Number | None = None,
    step: float = 1.0,
    width: int = 120,
    times: float = 1.0,
) -> None:
    """A number of the job; times: how many of the field's unit make one of the unit asked in."""
    of = number or NUMBERS[key]
    kind: type[int] | type[float] = int if of.whole else float
    least, most = kind(of.least / times), kind(of.most / times)
    st.session_state[key] = min(max(kind(round(value / times, 2)), least), most)
    st.number_input(
        label,
        least,
        most,
        step=kind(step),
        key=key,
        width=width,
        disabled=bool(job.locked),
        on_change=_put,
        args=(job, of.field, key, lambda typed: kind(round(typed * times, 2))),
    )


def run_fields(job: CurrentJob) -> None:
    """Press, wishes and, in memory, the number of shirts: what the decision of a run rests on."""
    entry, shop = job.entry, job.shop
    press = press_of(entry, shop=shop)
    habit = entry.tolerance_de00 or shop.habits.tolerance_de00
    _number(job, "Tolerance, ΔE00", habit, key="job-tolerance", step=0.25, width=140)
    if job.kept is None:
        quantity_field(job)
    words = {preference: words for words, preference in PREFERENCES.items()}
    st.session_state[PREFER] = words[entry.prefer]
    said = f"{counted(press.stations, 'station')}, {counted(press.flashes, 'flash unit')}"
    with st.popover(f"{said}, {words[entry.prefer].lower()}"):
        _number(job, "Stations", press.stations, key="job-stations")
        _number(job, "Flash units", press.flashes, key="job-flashes")
        _number(
            job, "Choke of the base, mm", entry.base_choke_mm, key="job-choke", step=0.05, width=170
        )
        st.segmented_control(
            "When the chance is the same, choose",
            list(PREFERENCES),
            required=True,
            key=PREFER,
            wrap=True,
            disabled=bool(job.locked),
            on_change=_put,
            args=(job, "prefer", PREFER, lambda chosen: PREFERENCES[str(chosen)]),
        )


def quantity_field(job: CurrentJob) -> None:
    """How many shirts of a job in memory; a kept one has them by garment."""
    assert job.upload is not None
    own = wishes(job.upload).get("quantity", QUANTITY)
    _number(job, "Shirts", own, key="job-quantity")


def width_field(job: CurrentJob) -> None:
    """Width of the print, in mm or inches."""
    unit = st.segmented_control(
        "In", (MM, INCH), default=MM, required=True, key="width-unit", persist_state="session"
    )
    inches = unit == INCH
    _number(
        job,
        f"Width of the print, {unit}",
        job.art.placed.width_mm,
        key=f"job-width-{unit}",
        number=WIDTH,
        step=0.25 if inches else 5.0,
        width=180,
        times=MM_PER_INCH if inches else 1.0,
    )


def place_fields(job: CurrentJob) -> None:
    """Width, and where on the shirt."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        if not job.art.placed.assumed:  # else it is asked above
            width_field(job)
        said = job.on_artwork
        st.session_state["job-place"] = said.place
        st.selectbox(
            "Place",
            PLACES,
            key="job-place",
            width=120,
            disabled=bool(job.locked),
            on_change=_put,
            args=(job, "artwork.place", "job-place", str),
        )
        top = USUAL_TOP_MM[said.place] if said.top_mm is None else said.top_mm
        where = "Above the hem, mm" if said.place == "sleeve" else "Below the collar, mm"
        _number(job, where, top, key="job-top", number=TOP, step=5.0, width=180)


def garment_counts(
    shop: Shop, start: Mapping[str, int], *, key: str, label: str = "Garments"
) -> dict[str, int]:
    """Ask for garments, each with its number of shirts; what the shop has no more is left out."""
    names = list(shop.garments)
    had = [name for name in start if name in names]
    chosen = st.multiselect(label, names, default=had, key=key)
    made = {}
    with st.container(horizontal=True):
        for name in map(str, chosen):
            count = start.get(name, QUANTITY)
            made[name] = int(
                st.number_input(
                    plain(f"Shirts, {name}"), 1, 1_000_000, count, key=f"{key} {name}", width=180
                )
            )
    return made


def also_fields(job: CurrentJob) -> None:
    """Further garments of a job in memory, each with its number of shirts."""
    if job.kept or job.upload is None:
        return
    first, own = job.entry.garments[0], wishes(job.upload)
    also: dict[str, int] = {n: count for n, count in own.get("also", {}).items() if n != first}
    names = [name for name in job.shop.garments if name != first]
    st.session_state["job-also"] = list(also)

    def put() -> None:
        count: int = own.get("quantity", QUANTITY)
        job.put({}, garments={n: also.get(n, count) for n in st.session_state["job-also"]})

    with st.container(horizontal=True, vertical_alignment="bottom"):
        st.multiselect("Also print on", names, key="job-also", width=420, on_change=put)
        for name, count in also.items():
            key = f"job-quantity-{name}"
            st.session_state[key] = count
            st.number_input(
                plain(f"Shirts, {name}"),
                1,
                1_000_000,
                key=key,
                width=180,
                on_change=lambda name=name, key=key: job.put(
                    {}, garments={**also, name: int(st.session_state[key])}
                ),
            )


def drawn_or_mended(job: CurrentJob, place: DeltaGenerator) -> DrawnJob | None:
    """The job checked against its shop; None once its fault is said there, with what may mend it.

    An ink that was chosen by hand may have been renamed or removed since.
    """
    try:
        return job.drawn()
    except InksimError as error:
        if job.entry.artwork is None:
            raise
        with place.container():
            st.error(plain(str(error)))
            if job.art.placed.flats.tonal:
                choose_halftone_inks(job)
            else:
                choose_inks(job, [None] * len(job.art.placed.flats.colours))
        return None


def choose_inks(job: CurrentJob, plans: Sequence[Plan | None]) -> None:
    """Let inks and routes be chosen by hand; what is not chosen is decided.

    plans: how each flat is printed now, None where it is not.
    """
    with st.expander("Choose inks and routes by hand"):
        _choose_inks(job, plans)
        note("The route of each color; where it cannot be printed so, the answer says why.")
        _choose_routes(job)


def _choose_inks(job: CurrentJob, plans: Sequence[Plan | None]) -> None:
    names = [ink.name for ink in job.shop.top_inks]
    by_hand = job.on_artwork.inks
    with st.container(horizontal=True):
        for flat, plan in zip(job.art.placed.flats.colours, plans, strict=True):
            code = flat.hex
            ink = plan.build.ink if plan else None
            key = f"ink {code}"
            own = by_hand.get(code, NOT_PRINTED)
            gone = [] if own in (*names, NOT_PRINTED) else [own]
            st.session_state[key] = gone[0] if gone else ink.name if ink else BARE
            st.selectbox(
                f"{code}, {flat.area_share:.0%} of the print",
                [*names, *gone, BARE, *([DECIDE] if code in by_hand else [])],
                key=key,
                disabled=bool(job.locked),
                on_change=_put,
                args=(job, f"artwork.inks.{code}", key, _ink),
                width=240,
            )


def _ink(chosen: str) -> str | None:
    return {BARE: NOT_PRINTED, DECIDE: None}.get(chosen, chosen)


def _choose_routes(job: CurrentJob) -> None:
    by_hand = job.on_artwork.routes
    with st.container(horizontal=True):
        for flat in job.art.placed.flats.colours:
            key = f"route {flat.hex}"
            st.session_state[key] = by_hand.get(flat.hex, DECIDE)
            st.selectbox(
                f"Route of {flat.hex}",
                [DECIDE, *ROUTES],
                format_func=lambda route: ROUTE_WORDS.get(route, route),
                key=key,
                disabled=bool(job.locked),
                on_change=_put,
                args=(job, f"artwork.routes.{flat.hex}", key, _route),
                width=240,
            )


def _route(chosen: str) -> str | None:
    return None if chosen == DECIDE else chosen


def choose_halftone_inks(job: CurrentJob) -> None:
    """Let the inks of a tonal picture be chosen by hand; none: they are chosen for it."""
    chosen, names = list(job.on_artwork.halftone_inks), [ink.name for ink in job.shop.colour_inks]
    st.session_state["job-halftone-inks"] = chosen
    st.multiselect(
        "Inks, in print order (empty: chosen for this picture)",
        [*names, *(name for name in chosen if name not in names)],
        max_selections=MOST_INKS,
        key="job-halftone-inks",
        disabled=bool(job.locked),
        on_change=_put,
        args=(job, "artwork.halftone_inks", "job-halftone-inks", lambda names: names or None),
    )


def prints_nothing(job: CurrentJob) -> bool:
    """Whether every color is left bare by hand: then there is nothing to decide."""
    by_hand = job.on_artwork.inks
    return all(by_hand.get(flat.hex) == NOT_PRINTED for flat in job.art.placed.flats.colours)


def choose_apart(job: CurrentJob, names: Sequence[str], plans: Sequence[Plan | None]) -> None:
    """Let merged colors be kept apart, and let that be undone; names: of the colors."""
    kept = job.entry.keep_apart
    for code, plan in zip(names, plans, strict=True):
        merged = plan.merged if plan else ""
        if not merged and code not in kept:
            continue
        key = f"apart {code}"
        st.session_state[key] = code in kept
        others = [each for each in kept if each != code]

        def put(key: str = key, code: str = code, others: list[str] = others) -> None:
            apart = [*others, code] if st.session_state[key] else others
            job.put({"keep_apart": apart or None})

        st.checkbox(
            plain(f"Keep {code} apart{f' from {merged}, as which it is printed' * bool(merged)}"),
            key=key,
            disabled=bool(job.locked),
            on_change=put,
        )


def background_offer(job: CurrentJob) -> None:
    """One click to leave the background out where one is found, and one to take that back."""
    said, placed = job.on_artwork.background.strip(), job.art.placed
    ground = placed.flats.background
    if said == KEEP and (ground is None or not placed.offer):
        return
    with st.container(horizontal=True, vertical_alignment="center"):
        if said == KEEP and ground is not None:
            words, wish = f"Leave the background out ({ground.hex})", ground.hex
            st.caption(plain(placed.offer), width="content")
        else:
            words, wish = "Print the background after all", KEEP
        st.button(
            plain(words),
            key="job-background",
            disabled=bool(job.locked),
            on_click=job.leave_background,
            args=(wish,),
        )
