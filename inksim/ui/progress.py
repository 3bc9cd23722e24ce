"""Work of seconds: whose turn it is, what it is at, in words, and a way to stop it.

Whoever leaves or asks for something else is stopped where his work next draws something: Streamlit
then ends his script. So work that is long draws at each of its steps, and while it waits.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from threading import get_ident, local
from typing import Any

import streamlit as st
from streamlit.delta_generator import DeltaGenerator
from streamlit.runtime.scriptrunner import get_script_run_ctx

from inksim.common import InksimError
from inksim.ui.style import plain
from inksim.ui.turns import Turns

STOPPED, PLACE = "stopped work", "place of short work"
LONG, SHORT = Turns(1), Turns(max(1, (os.cpu_count() or 2) // 2))
"""A picture's halftones take ten seconds and both of two cores; the rest a second or so, and does
not wait behind them."""
_mine = local()


Step = Callable[[str, float], None]
"""Told what is done now and what share of it all."""


class Stopped(Exception):
    """Work a visitor stopped: what rests on it is not drawn, the rest of the page is."""


@contextmanager
def stoppable(
    what: Hashable, *, turns: Turns = LONG, words: str = "Reading the picture"
) -> Iterator[Step]:
    """Wait for a turn, show how far the work is and a button that stops it; gives what it calls.

    what: tells this work from others; work that was stopped waits until it is asked for again.
    words: what it begins with.

    Raises
    ------
    Stopped : that work was stopped, which is said in its place.
    """
    if getattr(_mine, "turn", False):  # part of work that has its turn
        yield _untold
        return
    place = st.empty()
    if st.session_state.get(STOPPED) == what:
        with place.container():
            st.info("Stopped. Nothing was worked out for these choices.")
            st.button("Work it out after all", on_click=st.session_state.pop, args=(STOPPED, None))
        raise Stopped
    with place.container(horizontal=True, vertical_alignment="center"):
        bar = st.progress(0.0, text=f"{words} …")
        st.button("Stop", key=f"stop-work {hash(what)}", on_click=_stop, args=(what,))
    try:
        with _taken(turns, waits=lambda ahead: _tell(bar, _waiting(ahead), 0.0)):
            yield lambda words, done: _tell(bar, words, done)
    except InksimError:
        place.empty()
        raise
    place.empty()


def set_place() -> None:
    """Keep a place, on every page the same, for what short work says.

    What is drawn while it goes on, and not on the next run, would move what follows: Streamlit
    then builds that anew, and a box that somebody opened is closed.
    """
    with st.container():
        st.session_state[PLACE] = st.empty()


def _place() -> DeltaGenerator:
    """Return the place kept; work of a callback, before its page is drawn, finds the last run's."""
    place = st.session_state.get(PLACE)
    return place if isinstance(place, DeltaGenerator) else st.empty()


@contextmanager
def whole() -> Iterator[None]:
    """Do a change as a whole: its work draws before it begins, and not again.

    Once anything else is asked for, Streamlit stops a callback where it draws or looks into the
    session's state: what was to be changed would be lost without a word.
    """
    context = get_script_run_ctx()
    state: Any = context.session_state if context else None
    stops = getattr(state, "_yield_callback", None)  # Streamlit's own; it has no other way
    _mine.change = True
    if stops:
        object.__setattr__(state, "_yield_callback", _go_on)  # its own takes names of values
    try:
        yield
    finally:
        _mine.change = False
        if stops:
            object.__setattr__(state, "_yield_callback", stops)


def _go_on() -> None:
    """Nothing stops here."""


@contextmanager
def ahead() -> Iterator[None]:
    """Work before anybody asks for it: it waits for no turn, and tells nobody."""
    _mine.turn = True
    try:
        yield
    finally:
        _mine.turn = False


@contextmanager
def in_turn(words: str) -> Iterator[Step]:
    """Wait for a turn of work that takes a second or so, and say what it is while it goes on."""
    if getattr(_mine, "turn", False):  # part of work that has its turn
        yield _untold
        return
    place = _place() if get_script_run_ctx() else None  # else nobody looks on
    if getattr(_mine, "change", False):
        if place:
            place.caption(f"{words} …")  # the page takes it away
        with _taken(SHORT, waits=lambda ahead: None):
            yield _untold
        return
    with _taken(SHORT, waits=lambda ahead: _wait(place, ahead)), _said(place, words):
        yield _untold
    if place:
        place.empty()


@contextmanager
def _taken(turns: Turns, *, waits: Callable[[int], None]) -> Iterator[None]:
    """This visitor's turn; what is part of the work does not wait for one of its own."""
    with turns.taken(_visitor(), waits=waits):
        _mine.turn = True
        try:
            yield
        finally:
            _mine.turn = False


@contextmanager
def _said(place: DeltaGenerator | None, words: str) -> Iterator[None]:
    if place is None:
        yield
        return
    with place, st.spinner(words):
        yield


@contextmanager
def unwatched() -> Iterator[Step]:
    """A turn of long work that nobody looks at, as where a file is made."""
    with _taken(LONG, waits=lambda ahead: None):
        yield _untold


def _untold(words: str, done: float) -> None:
    """Nobody looks on."""


def _visitor() -> Hashable:
    """Whose work this is: a window of the app, or what runs outside of one."""
    context = get_script_run_ctx()
    return context.session_id if context else get_ident()


def _waiting(ahead: int) -> str:
    return f"Waiting: {ahead} before you"


def _wait(place: DeltaGenerator | None, ahead: int) -> None:
    if place:
        place.caption(f"{_waiting(ahead)} …")


def _tell(bar: DeltaGenerator, words: str, done: float) -> None:
    bar.progress(min(1.0, done), text=plain(f"{words} …"))


def _stop(what: Hashable) -> None:
    st.session_state[STOPPED] = what
