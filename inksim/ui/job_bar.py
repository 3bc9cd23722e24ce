"""Top of a page that works on a job: its name, a menu to open, keep and copy jobs, and its bar."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.artwork import shrink_to
from inksim.colour import Viewing
from inksim.common import InksimError, Markup, counted, escape
from inksim.job import GarmentAnswer, misfit_note, press_of
from inksim.preview import TonalResult, artwork_on, png_bytes, tonal_in_a_word
from inksim.reports import in_a_word
from inksim.shop import Shop
from inksim.ui import cache, cached_results, changes, current_job, job_fields, pickers
from inksim.ui.cache import Drawn, Upload
from inksim.ui.current_job import CurrentJob
from inksim.ui.kept_list import kept_list
from inksim.ui.style import note, plain, show as show_html

UPLOADER = "artwork-file"
KINDS = [
    "png", "tif", "tiff", "webp", "jpg", "jpeg", "gif", "bmp", "svg", "svgz", "pdf", "psd", "psb",
]  # fmt: skip
"""The last ones need packages of their own: without them the file is refused with what to do."""
THUMB_PX = 128
NOT_YET = "not worked out here yet"


class Top(NamedTuple):
    """Top of a page: the job, None where it is not here; the row of the title; the bar's place."""

    job: CurrentJob | None
    row: DeltaGenerator
    bar: DeltaGenerator


def top(shop: Shop, title: str, *, undo: bool = True) -> Top:
    """The page's title, the menu of jobs, and the bar of the job that is open.

    The bar says at once what is known; where the page works it out, it is drawn again by `show`.
    undo: of the job's last change; not where the page has one of its own.
    """
    fault, job = "", None
    try:
        job = current_job.opened(shop) if shop.garments else None
    except InksimError as error:
        fault = str(error)
    row = st.container(horizontal=True, vertical_alignment="bottom", gap="medium", key="top")
    with row:
        st.title(title, width="content")
        name = f"{'Job' if job.kept else 'Artwork'}: {job.title}" if job else "Jobs"
        with st.popover(plain(name)):
            _menu(shop, job)
        back, at = job.comes_back if job and undo else ("", "")
        if job and back:
            st.button(f"Undo: {plain(back)}", key="job-undo", on_click=job.undo, help=at)
    with st.container():  # one place: what is said must not move what follows
        changes.say_what_was_done("")
        if fault:
            key = current_job.key_of_session()
            which = f"The job '{key}'" if key else "What"
            st.error(plain(f"{which} that this address names is not shown: {fault}"))
    with st.container(key="job-bar"):
        bar = st.empty()
    if job:
        _glance(job, bar)
    return Top(job, row, bar)


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
        current_job.use_none()
        return
    data = file.getvalue()
    current_job.use(Upload(file.name, data, hashlib.sha256(data).hexdigest()))


def _keep(job: CurrentJob) -> None:
    with st.expander("Keep as a job…"):
        assert job.upload is not None
        mark = job.upload.sha256[:8]  # another artwork's form begins anew
        name = st.text_input("Name", Path(job.title).stem, key=f"keep-name {mark}", max_chars=80)
        client = st.text_input("Client", key=f"keep-client {mark}", max_chars=200)
        reference = st.text_input("Reference, such as an order number",
                                  key=f"keep-reference {mark}", max_chars=200)  # fmt: skip
        now = _now(job)
        on = f"keep on {mark} {', '.join(f'{count} {each}' for each, count in now.items())}"
        garments = job_fields.garment_counts(job.shop, now, key=on)
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
        name = st.text_input(
            "Name of the copy", f"{job.entry.name}, again", key=f"copy-name {job.key}"
        )
        garments = job_fields.garment_counts(job.shop, _now(job), key=f"copy on {job.key}")
        st.button("Make the copy", on_click=lambda: job.copy(name=name, garments=garments))


def _glance(job: CurrentJob, bar: DeltaGenerator) -> None:
    """The bar as far as it is known: nothing is worked out for it."""
    garment, viewing = pickers.garment_before(job.shop, job), pickers.light_before(job.shop)
    job = job.on(garment)
    art = job.art_already
    if job.entry.artwork is not None and art is None:
        _draw(job, bar, verdicts=[NOT_YET])
        return
    try:
        whole = job.drawn().job
    except InksimError:
        _draw(job, bar, art=art, garment=garment, viewing=viewing, verdicts=[])
        return
    if art is not None and art.placed.flats.tonal:
        cloth = job.shop.garment(garment)
        shown = cached_results.tonal_already(
            art.ready, whole.on(cloth), shop=job.shop, garment=cloth, viewing=viewing
        )
        said = f"{garment}: {tonal_in_a_word(shown, whole.press)}" if shown else NOT_YET
        _draw(job, bar, art=art, garment=garment, viewing=viewing, verdicts=[said])
        return
    answer = cached_results.decided_already(job.shop, whole, viewing=viewing)
    verdicts = _lines(answer.garments) if answer else [NOT_YET]
    _draw(job, bar, art=art, garment=garment, viewing=viewing, verdicts=verdicts)


def show(
    bar: DeltaGenerator,
    job: CurrentJob,
    found: Sequence[GarmentAnswer] | TonalResult,
    *,
    garment: str,
    viewing: Viewing,
) -> None:
    """Draw the bar again with what is decided; found: of the garments that are to be told."""
    art = job.art if job.entry.artwork else None
    if isinstance(found, TonalResult):
        press = press_of(job.entry, shop=job.shop)
        verdicts = [f"{garment}: {tonal_in_a_word(found, press)}"]
    else:
        verdicts = _lines(found)
    _draw(job, bar, art=art, garment=garment, viewing=viewing, verdicts=verdicts)


def _lines(found: Iterable[GarmentAnswer]) -> list[str]:
    return [f"{one.garment.name}: {in_a_word(one)}" for one in found]


def _draw(
    job: CurrentJob,
    bar: DeltaGenerator,
    *,
    verdicts: Sequence[str],
    art: Drawn | None = None,
    garment: str = "",
    viewing: Viewing | None = None,
) -> None:
    """Thumbnail, whose, size and place, garments, and each verdict in a word."""
    entry = job.entry
    tag = "demo" if job.demo else "kept" if job.kept else "not kept"
    counts = (
        entry.quantity
        if isinstance(entry.quantity, dict)
        else dict.fromkeys(entry.garments, entry.quantity)
    )
    prints = ", ".join(f"{name} × {count}" for name, count in counts.items())
    what = " · ".join(each for each in (entry.whose, _size(job, art), prints) if each)
    if art is not None and viewing is not None:
        small = Markup(
            f'<img src="data:image/png;base64,{thumb(job, art, garment, viewing)}" '
            f'alt="{escape(job.title)} as drawn, small">'
        )
    else:
        small = Markup("<b></b>")
    told = "".join(f"<span>{escape(line)}</span>" for line in (what, " · ".join(verdicts)) if line)
    with bar.container():
        show_html(
            Markup(
                f'<div class="jobbar">{small}<div><b>{escape(job.title)}</b> '
                f"<i>{tag}</i>{told}</div></div>"
            )
        )


def _size(job: CurrentJob, art: Drawn | None) -> str:
    if job.entry.artwork is None:
        return counted(len(job.entry.color), "color")
    place = job.on_artwork.place
    if art is None:
        return place
    size = f"{art.ready.width_mm:.0f} × {art.ready.height_mm:.0f} mm"
    return f"{size}{', a width that is assumed' if art.placed.assumed else ''}, {place}"


def thumb(job: CurrentJob, art: Drawn, garment: str, viewing: Viewing) -> str:
    """The artwork on a garment, small, as a PNG in base64."""
    cloth = job.shop.garment(garment)

    def make() -> str:
        drawn = artwork_on(art.ready.small, cloth, viewing)
        small = shrink_to(drawn, width=THUMB_PX, height=THUMB_PX)
        return base64.b64encode(png_bytes(small)).decode()

    (made,) = cache.thumbs().take([((art.ready.key, cloth.reflectance.tobytes(), viewing), make)])
    return made


def assumption(job: CurrentJob) -> list[str]:
    """What the verdict rests on that nobody said."""
    if job.entry.artwork is None:
        return []
    placed = job.art.placed
    return [f"At a width of {placed.width_mm:.0f} mm, which is assumed."] if placed.assumed else []


def said_of_artwork(job: CurrentJob) -> None:
    """What is to be known before the verdict: a width assumed, too few pixels, a background."""
    placed = job.art.placed
    job_fields.background_offer(job)
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
    said = job.on_artwork
    if misfit := misfit_note(placed, place=said.place, top_mm=said.top_mm):
        st.warning(plain(misfit))
