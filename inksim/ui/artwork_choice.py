"""Choose the artwork that all pages show, uploaded or the demo's, and its inks by hand."""

from __future__ import annotations

import hashlib

import streamlit as st

from inksim.artwork import NOT_PRINTED
from inksim.preview import ArtworkResult, PreparedArtwork
from inksim.shop import Shop
from inksim.ui import cache
from inksim.ui.cache import Upload
from inksim.ui.style import plain

UPLOADED, UPLOADER = "uploaded artwork", "artwork-file"
KINDS = [
    "png", "tif", "tiff", "webp", "jpg", "jpeg", "gif", "bmp", "svg", "svgz", "pdf", "psd", "psb",
]  # fmt: skip
"""The last ones need packages of their own: without them the file is refused with what to do."""
BARE = "leave bare"


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


def choose_inks(art: PreparedArtwork, found: ArtworkResult, *, shop: Shop) -> None:
    """Let the inks be chosen by hand; what is not chosen follows the nearest print."""
    names = [ink.name for ink in shop.colour_inks]
    chosen = dict(inks_by_hand(art))
    with st.expander("Choose the inks by hand"), st.container(horizontal=True):
        for each in found.assignments:
            code = each.flat.hex
            now = each.ink.name if each.ink else BARE
            st.selectbox(
                f"{code}, {each.flat.area_share:.0%} of the print",
                [*names, BARE],
                index=[*names, BARE].index(now),
                key=f"ink {art.sha256} {code}",
                on_change=_remember_ink,
                args=(art.sha256, code, chosen),
                width=240,
            )


def _remember_ink(sha256: str, code: str, chosen: dict[str, str]) -> None:
    ink = st.session_state[f"ink {sha256} {code}"]
    st.session_state[f"inks {sha256}"] = {**chosen, code: NOT_PRINTED if ink == BARE else ink}
