"""Which palette the page checks: the artwork's, one pasted or uploaded, or the shop's."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.common import InksimError, counted
from inksim.readings import format_names, palette_from_file, parse_palette, reading_suffixes
from inksim.shop import Shop
from inksim.stock import Target
from inksim.ui import cache
from inksim.ui.current_job import CurrentJob
from inksim.ui.style import note, plain

PASTED, FILED = "palette-text", "palette-file"
CHOSEN, FAULT = "own palette", "palette-fault"
EXAMPLE = "Regatta Orange, #e8622c\nOven Red: 46, 58, 39\n#0f5c63"
SHOPS = "the shop's"
Named = tuple[str, list[Target]]


def palette_of(shop: Shop, job: CurrentJob | None, *, work: DeltaGenerator) -> Named:
    """Ask for the palette; what it is called, and its colors; work: where an artwork is read.

    The artwork's where one was brought, until another palette is chosen; else the shop's. A choice
    is of the artwork that was open: another artwork brings its own colors.
    """
    own = _chosen(job)
    if own and own[0] == SHOPS:  # as it is now
        own = SHOPS, list((shop.palette or shop.targets).values())
    with work:
        of_job = _of_job(job) if own is None and job and not job.demo else None
    name, targets = own or of_job or (SHOPS, list((shop.palette or shop.targets).values()))
    with st.popover(plain(f"Palette: {name}, {counted(len(targets), 'color')}")):
        _ask(shop, job, name)
    if fault := st.session_state.pop(FAULT, None):
        st.error(plain(fault))
    return name, targets


def has_to_be_read(job: CurrentJob | None) -> bool:
    """Whether the palette is that of an artwork that is not read yet."""
    if job is None or job.demo or job.entry.artwork is None or _chosen(job) is not None:
        return False
    return job.art_already is None


def _chosen(job: CurrentJob | None) -> Named | None:
    chosen: tuple[str, Named] | None = st.session_state.get(CHOSEN)
    return chosen[1] if chosen and chosen[0] == _mark(job) else None


def _mark(job: CurrentJob | None) -> str:
    """What a choice was made beside: the job that is open."""
    if job is None:
        return ""
    return job.key or (job.upload.sha256 if job.upload else "")


def _of_job(job: CurrentJob) -> Named | None:
    """The flat colors of a job's artwork; None of a photograph, which has none."""
    try:
        if job.entry.artwork is not None and job.art.placed.flats.tonal:
            note(
                f"{job.title} is tonal: its inks overlap in halftones, so it has no colors to "
                "check one by one. 'Show a client' says how near it comes on a garment."
            )
            return None
        return job.title, job.targets()
    except InksimError as error:
        note(f"The colors of {job.title} are not taken: {error}")
        return None


def _ask(shop: Shop, job: CurrentJob | None, name: str) -> None:
    """What else can be the palette."""
    mark = _mark(job)
    st.text_area(
        "Paste colors, one a line: a name of the shop, or a name and #rrggbb or L, a, b (D50)",
        placeholder=EXAMPLE,
        key=PASTED,
    )
    st.button("Use the pasted colors", on_click=_take_pasted, args=(mark,))
    st.file_uploader(
        f"Or a file: CSV of names and colors, or instrument readings ({format_names()})",
        type=reading_suffixes(),
        key=FILED,
        on_change=_take_file,
        args=(mark,),
    )
    art = job.art_already if job else None
    if job is not None and name != job.title and not (art and art.placed.flats.tonal):
        st.button(
            plain(f"Use the colors of {job.title}"),
            on_click=lambda: _take_job(mark, job),
        )
    if name != SHOPS:
        st.button(
            "Back to the shop's palette",
            on_click=lambda: _keep(mark, SHOPS, list),
        )


def _take_job(mark: str, job: CurrentJob) -> None:
    if job.demo:
        _keep(mark, job.title, job.targets)
    else:  # as it is from now on, with its background left out or not
        st.session_state.pop(CHOSEN, None)


def _take_pasted(mark: str) -> None:
    text = str(st.session_state[PASTED])
    _keep(mark, "pasted", lambda: parse_palette(text, look_up=cache.open_shop().target))


def _take_file(mark: str) -> None:
    file = st.session_state[FILED]
    if file is not None:
        data, look_up = file.getvalue(), cache.open_shop().target
        _keep(mark, file.name, lambda: palette_from_file(data, name=file.name, look_up=look_up))


def _keep(mark: str, name: str, read: Callable[[], list[Target]]) -> None:
    """Keep a palette for this session; its faults are shown where it was asked for."""
    try:
        st.session_state[CHOSEN] = (mark, (name, read()))
    except InksimError as error:
        st.session_state[FAULT] = str(error)
