"""Work of many seconds: what it is at, in words, and a way to stop it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from inksim.ui.style import plain

STOPPED = "stopped work"


@contextmanager
def stoppable(what: str) -> Iterator[Callable[[str, float], None]]:
    """Show how far it is and a button that stops it; gives what the work calls at each step.

    Streamlit leaves a script where it next draws something, so the work stops at its next step.
    what: tells this work from others; work that was stopped waits until it is asked for again.
    """
    place = st.empty()
    if st.session_state.get(STOPPED) == what:
        with place.container():
            st.info("Stopped. Nothing was worked out for these choices.")
            st.button("Work it out after all", on_click=st.session_state.pop, args=(STOPPED, None))
        st.stop()
    with place.container():
        bar = st.progress(0.0, text="Reading the picture …")
        st.button("Stop", key="stop-work", on_click=_stop, args=(what,))
    yield lambda words, done: _tell(bar, words, done)
    place.empty()


def _tell(bar: DeltaGenerator, words: str, done: float) -> None:
    bar.progress(min(1.0, done), text=plain(f"{words} …"))


def _stop(what: str) -> None:
    st.session_state[STOPPED] = what
