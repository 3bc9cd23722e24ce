"""Top of a page that works on a job: its name, a menu to open, keep and copy jobs, and its bar."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from pathlib import Path

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.artwork import shrink_to
from inksim.colour import Viewing
from inksim.common import InksimError, Markup, counted, escape
from inksim.decision import SHAPES
from inksim.job import GarmentAnswer
from inksim.preview import artwork_on, png_bytes
from inksim.reports import in_a_word
from inksim.shop import Shop
from inksim.ui import cache, changes, current_job, job_fields
from inksim.ui.cache import Upload
from inksim.ui.current_job import CurrentJob
from inksim.ui.kept_list import kept_list
from inksim.ui.style import note, plain, show as show_html

UPLOADER = "artwork-file"
KINDS = [
    "png", "tif", "tiff", "webp", "jpg", "jpeg", "gif", "bmp", "svg", "svgz", "pdf", "psd", "psb",
]  # fmt: skip
"""The last ones need packages of their own: without them the file is refused with what to do."""
THUMB_PX = 128


def top(shop: Shop, title: str) -> tuple[CurrentJob | None, DeltaGenerator]:
    """The page's title, the menu of jobs, and the job that is open; None where it is not here.

    Also the row of the title, for what else belongs in it.
    """
    fault, job = "", None
    try:
        job = current_job.opened(shop)
    except InksimError as error:
        fault = str(error)
    row = st.container(horizontal=True, vertical_alignment="bottom", gap="medium")
    with row:
        st.title(title, width="content")
        name = f"{'Job' if job.kept else 'Artwork'}: {job.title}" if job else "Jobs"
        with st.popover(plain(name)):
            _menu(shop, job)
        if job and (change := job.last_change):
            st.button(
                plain(f"Undo: {change.what}"), key="job-undo", on_click=job.undo, help=change.at
            )
    changes.say_what_was_done()
    if fault:
        key = current_job.key_of_session()
        st.error(plain(f"The job '{key}' that this address names is not shown: {fault}"))
    return job, row


def _menu(shop: Shop, job: CurrentJob | None) -> None:
    """Open a job, use another artwork, keep what is in memory, copy or change what is kept."""
    _open(shop, job)
    st.file_uploader(
        "Use another artwork: PNG with transparency at print size, JPEG, SVG, PDF, PSD",
        type=KINDS,
        key=UPLOADER,
        on_change=_take,
    )
    for name in cache.demo_artworks():
        if job is None or job.kept or job.title != name:
            st.button(
                plain(f"Use the demo's {name}"),
                on_click=lambda name=name: current_job.use(cache.demo_artwork(name)),
            )
    if job is None:
        return
    if why := changes.locked_reason(shop):
        note(f"Jobs are not kept here. {why}")
    elif job.kept:
        _change(job)
        _copy(job)
    elif job.demo:
        note("This is the demo's artwork: use one of your own to keep a job of it.")
    else:
        _keep(job)


def _open(shop: Shop, job: CurrentJob | None) -> None:
    """A list of the kept jobs, filtered by what is typed into it."""
    jobs = kept_list(current_job.own_folder(shop))
    if not jobs:
        return
    key = "job-open"
    st.session_state[key] = job.key if job and job.key in jobs else None
    st.selectbox(
        f"Open one of {counted(len(jobs), 'kept job')}: type a part of its name, client or order",
        list(jobs),
        format_func=lambda one: jobs[one],
        index=None,
        key=key,
        placeholder="Open a job",
        on_change=lambda: current_job.go_to(str(st.session_state[key] or "")),
    )


def _take() -> None:
    """Work on what the uploader holds now; nothing means the demo's artwork."""
    file = st.session_state.get(UPLOADER)
    if file is None:
        st.session_state.pop(current_job.UPLOADED, None)
        return
    data = file.getvalue()
    current_job.use(Upload(file.name, data, hashlib.sha256(data).hexdigest()))


def _keep(job: CurrentJob) -> None:
    with st.expander("Keep as a job…"):
        name = st.text_input("Name", Path(job.title).stem, key="keep-name", max_chars=80)
        client = st.text_input("Client", key="keep-client", max_chars=200)
        reference = st.text_input("Reference, such as an order number", key="keep-reference",
                                  max_chars=200)  # fmt: skip
        garments = job_fields.garment_counts(job.shop, _now(job), key="keep on")
        st.button(
            "Keep this job",
            type="primary",
            on_click=lambda: job.keep(
                name=name, garments=garments, more={"client": client, "reference": reference}
            ),
        )


def _now(job: CurrentJob) -> dict[str, int]:
    """Prints by garment, as the job has them."""
    if job.kept:
        names = {garment.casefold(): garment for garment in job.shop.garments}
        return {names.get(n.casefold(), n): count for n, count in job.kept.quantities.items()}
    chosen = str(st.session_state.get("garment") or job.entry.garments[0])
    own = job.on(chosen).entry.quantity
    return dict(own) if isinstance(own, dict) else {}


def _change(job: CurrentJob) -> None:
    """Client, reference and garments of a kept job."""
    with st.expander("Change it…"):
        mark = hashlib.sha256(job.kept.data if job.kept else b"").hexdigest()[:8]
        name = st.text_input("Name", job.entry.name, key=f"change-name {mark}")
        client = st.text_input("Client", job.entry.client, key=f"change-client {mark}")
        reference = st.text_input("Reference", job.entry.reference, key=f"change-reference {mark}")
        garments = job_fields.garment_counts(job.shop, _now(job), key=f"change on {mark}")
        values = {"name": name, "client": client or None, "reference": reference or None}
        st.button("Save these changes", on_click=lambda: job.put(values, garments=garments))


def _copy(job: CurrentJob) -> None:
    with st.expander("Same again on…"):
        name = st.text_input("Name of the copy", f"{job.entry.name}, again", key="copy-name")
        garments = job_fields.garment_counts(job.shop, _now(job), key=f"copy on {job.key}")
        st.button("Make the copy", on_click=lambda: job.copy(name=name, garments=garments))


def show(
    job: CurrentJob, found: Sequence[GarmentAnswer], *, garment: str, viewing: Viewing
) -> None:
    """The bar: thumbnail, whose, size and place, garments, and each verdict in a word.

    found: what is decided, of the garments that are to be told.
    """
    art, said, entry = job.art, job.on_artwork, job.entry
    tag = "demo" if job.demo else "kept" if job.kept else "not kept"
    size = f"{art.ready.width_mm:.0f} × {art.ready.height_mm:.0f} mm"
    if art.placed.assumed:
        size += ", a width that is assumed"
    counts = entry.quantity if isinstance(entry.quantity, dict) else {}
    prints = ", ".join(f"{name} × {count}" for name, count in counts.items())
    lines = [" · ".join(each for each in (entry.whose, f"{size}, {said.place}", prints) if each)]
    lines += [f"{one.garment.name}: {_marked(one)}" for one in found]
    thumb = _thumb(job, garment, viewing)
    told = "".join(f"<span>{escape(line)}</span>" for line in lines)
    show_html(
        Markup(
            f'<div class="jobbar"><img src="data:image/png;base64,{thumb}" '
            f'alt="{escape(job.title)} as drawn, small"><div><b>{escape(job.title)}</b> '
            f"<i>{tag}</i>{told}</div></div>"
        )
    )


def _marked(found: GarmentAnswer) -> str:
    shape = SHAPES[found.best.verdict.word] if found.best and found.best.printed else "✕"
    return f"{shape} {in_a_word(found)}"


def _thumb(job: CurrentJob, garment: str, viewing: Viewing) -> str:
    ready = job.art.ready

    def make() -> str:
        drawn = artwork_on(ready.small, job.shop.garment(garment), viewing)
        small = shrink_to(drawn, width=THUMB_PX, height=THUMB_PX)
        return base64.b64encode(png_bytes(small)).decode()

    (made,) = cache.thumbs().take([((ready.key, garment, viewing), make)])
    return made


def assumption(job: CurrentJob) -> list[str]:
    """What the verdict rests on that nobody said."""
    placed = job.art.placed
    return [f"At a width of {placed.width_mm:.0f} mm, which is assumed."] if placed.assumed else []


def said_of_artwork(job: CurrentJob) -> None:
    """What is to be known before the verdict: a width assumed, too few pixels, a background."""
    placed = job.art.placed
    if placed.assumed:
        with st.container(horizontal=True, vertical_alignment="bottom"):
            job_fields.width_field(job)
            note(
                f"{job.title} does not say how large it prints: {placed.width_mm:.0f} mm is "
                "assumed, at 300 pixels to the inch. Give the width; ink, cost and the finest line "
                "rest on it."
            )
    if placed.too_small:
        st.warning(plain(placed.too_small))
    job_fields.background_offer(job)
