"""Choose the artwork that all pages show, uploaded or the demo's, and its inks by hand."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

import streamlit as st

from inksim.artwork import NOT_PRINTED
from inksim.job import Plan
from inksim.preview import PreparedArtwork
from inksim.shop import Shop
from inksim.ui import cache
from inksim.ui.cache import Upload
from inksim.ui.style import plain

UPLOADED, UPLOADER = "uploaded artwork", "artwork-file"
KINDS = [
    "png", "tif", "tiff", "webp", "jpg", "jpeg", "gif", "bmp", "svg", "svgz", "pdf", "psd", "psb",
]  # fmt: skip
"""The last ones need packages of their own: without them the file is refused with what to do."""
BARE, DECIDE = "leave bare", "as decided"


def choose_artwork() -> Upload:
    """The artwork uploaded in this session, or the demo's."""
    uploaded: Upload | None = st.session_state.get(UPLOADED)
    shown = uploaded or cache.demo_artwork()
    with st.popover(plain(f"Artwork: {shown.name}")):
        st.file_uploader(
            "Use another: PNG with transparency at print size, or SVG, PDF, PSD",
            type=KINDS,
            key=UPLOADER,
            on_change=_take,
        )
        for name in cache.demo_artworks():
            if name != shown.name:
                st.button(plain(f"Use the demo's {name}"), on_click=_take_demo, args=(name,))
    return shown


def _take() -> None:
    """Keep what the uploader holds now; nothing means the demo's artwork."""
    file = st.session_state.get(UPLOADER)
    if file is None:
        st.session_state.pop(UPLOADED, None)
        return
    data = file.getvalue()
    st.session_state[UPLOADED] = Upload(file.name, data, hashlib.sha256(data).hexdigest())


def _take_demo(name: str) -> None:
    st.session_state[UPLOADED] = cache.demo_artwork(name)


def inks_by_hand(art: PreparedArtwork) -> dict[str, str]:
    """Inks chosen by hand for this artwork in this session, by hex code."""
    chosen: dict[str, str] = st.session_state.get(f"inks {art.sha256}", {})
    return chosen


def prints_nothing(art: PreparedArtwork) -> bool:
    """Whether every color is left bare by hand: then there is nothing to decide."""
    chosen = inks_by_hand(art)
    return all(chosen.get(flat.hex) == NOT_PRINTED for flat in art.flats.colours)


def choose_inks(art: PreparedArtwork, plans: Sequence[Plan | None], *, shop: Shop) -> None:
    """Let the inks be chosen by hand; what is not chosen is decided.

    plans: how each flat is printed now, None where it is not.
    """
    names = [ink.name for ink in shop.top_inks]
    chosen = dict(inks_by_hand(art))
    with st.expander("Choose the inks by hand"), st.container(horizontal=True):
        for flat, plan in zip(art.flats.colours, plans, strict=True):
            code = flat.hex
            ink = plan.build.ink if plan else None
            key = f"ink {art.sha256} {code}"
            st.session_state[key] = ink.name if ink else BARE  # another garment, another ink
            st.selectbox(
                f"{code}, {flat.area_share:.0%} of the print",
                [*names, BARE, *([DECIDE] if code in chosen else [])],
                key=key,
                on_change=_remember_ink,
                args=(art.sha256, code, chosen),
                width=240,
            )


def _remember_ink(sha256: str, code: str, chosen: dict[str, str]) -> None:
    ink = st.session_state[f"ink {sha256} {code}"]
    kept = {other: name for other, name in chosen.items() if other != code}
    if ink != DECIDE:
        kept[code] = NOT_PRINTED if ink == BARE else ink
    st.session_state[f"inks {sha256}"] = kept


def kept_apart(art: PreparedArtwork) -> tuple[str, ...]:
    """Codes of the colors that are not to be printed as others, by hand in this session."""
    kept: Sequence[str] = st.session_state.get(f"apart {art.sha256}", ())
    return tuple(kept)


def choose_apart(art: PreparedArtwork, plans: Sequence[Plan | None]) -> None:
    """Let merged colors be kept apart, and let that be undone."""
    kept = kept_apart(art)
    for flat, plan in zip(art.flats.colours, plans, strict=True):
        code, merged = flat.hex, plan.merged if plan else ""
        if not merged and code not in kept:
            continue
        st.checkbox(
            plain(f"Keep {code} apart{f' from {merged}, as which it is printed' * bool(merged)}"),
            value=code in kept,
            key=f"apart {art.sha256} {code}",
            on_change=_remember_apart,
            args=(art.sha256, code, kept),
        )


def _remember_apart(sha256: str, code: str, kept: tuple[str, ...]) -> None:
    others = tuple(each for each in kept if each != code)
    ticked = st.session_state[f"apart {sha256} {code}"]
    st.session_state[f"apart {sha256}"] = (*others, code) if ticked else others
