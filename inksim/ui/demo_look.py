"""Looking at the invented demo shop from a shop of one's own: apart from it, within the session.

Nothing can be written into the demo shop. What a session has chosen in its own shop is put by while
the demo is looked at, and what it chose there is dropped on the way back: a name of an ink or a
garment means something else in each.
"""

from __future__ import annotations

import streamlit as st

from inksim.shop import is_demo
from inksim.ui import current_job
from inksim.ui.cache import DEMO_LOOK, served_folder

CHOSEN = ("garment", "garments", "ink", "target", "own palette", "tolerance", "light",
          current_job.OPEN, current_job.UPLOADED)  # fmt: skip
"""Keys of what a session has chosen of a shop."""


def offer() -> None:
    """A button that shows the demo shop, from a shop of one's own."""
    if not is_demo(served_folder()):
        st.button("Look at the invented demo shop", on_click=_look, key="demo-look")


def banner() -> None:
    """Say on every page that this is the demo shop, with the way back; nothing in one's own."""
    if DEMO_LOOK not in st.session_state:
        return
    with st.container(horizontal=True, vertical_alignment="center", key="demo-banner"):
        st.warning(
            "You look at the invented demo shop; nothing here is yours, and nothing goes into "
            "your shop.",
            icon=":material/visibility:",
        )
        st.button("Back to my shop", on_click=_back, type="primary", key="demo-back")


def _look() -> None:
    st.session_state[DEMO_LOOK] = _put_by()


def _back() -> None:
    mine = st.session_state.pop(DEMO_LOOK)
    _put_by()
    for key, value in mine.items():
        st.session_state[key] = value


def _put_by() -> dict[str, object]:
    """Take what was chosen out of the session and the address."""
    keys = [
        str(k) for k in st.session_state if k in CHOSEN or str(k).startswith(current_job.WISHES)
    ]
    st.query_params.clear()
    return {key: st.session_state.pop(key) for key in keys}
