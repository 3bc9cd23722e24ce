"""Changes made from a page: whether they may be, as whom, and what is said of them, and where."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import NamedTuple

import streamlit as st

from inksim.common import InksimError, InputError, capital, counted, is_read_only
from inksim.shop import ChangedMeanwhile, Shop, acting_as, editable_folder, is_demo
from inksim.ui.progress import whole
from inksim.ui.style import plain

SAID, FAULT, FIELDS = "shop-said", "shop-fault", "shop-fields"


class Done(NamedTuple):
    """What a change did, in words, and the place of the page where that is said."""

    words: str
    place: str


class FieldFaults(InputError):
    """What is wrong with fields of a form, by the keys of their widgets."""

    def __init__(self, by_field: Mapping[str, str]) -> None:
        self.by_field = dict(by_field)
        count = len(self.by_field)
        super().__init__(
            f"Not saved: {counted(count, 'field')} above {'has' if count == 1 else 'have'} "
            "something to mend."
        )


def locked_reason(shop: Shop) -> str:
    """Why this shop cannot be changed here; '' if it can."""
    if is_read_only():
        return "This page is for reading only: its host has switched changes off."
    try:
        editable_folder(None if is_demo(shop.folder) else shop.folder)
    except InputError as error:
        return str(error)[0].upper() + str(error)[1:]
    return ""


@contextmanager
def as_visitor() -> Iterator[None]:
    """Act as whoever is at this page: the server's user stands for all who are."""
    mark = st.session_state.setdefault("shop-visitor", secrets.token_hex(3))
    with acting_as(f"page visitor {mark}"):
        yield


def do(
    work: Callable[[], str | Done], *, kept: Callable[[], str] = lambda: "", place: str = ""
) -> None:
    """Run a change; its message or fault shows when the page is next drawn.

    kept: what stays of what was typed where somebody else has changed the file, in words.
    place: of the page, where a fault is said, and what was done unless that says its own.
    """
    for old in (SAID, FAULT, FIELDS):
        st.session_state.pop(old, None)
    try:
        with as_visitor(), whole():
            done = work()
        st.session_state[SAID] = done if isinstance(done, Done) else Done(done, place)
    except ChangedMeanwhile as error:
        st.session_state[FAULT] = Done(f"{error}{kept()}", place)
    except FieldFaults as faults:
        st.session_state[FIELDS] = faults.by_field
        st.session_state[FAULT] = Done(str(faults), place)
    except InksimError as error:
        st.session_state[FAULT] = Done(str(error), place)


def as_shown(*keys: str) -> Callable[[], None]:
    """Of the choices a result was made by: what refuses to store it once one has been changed.

    A button stays on the page while the next result is worked out.
    """
    shown = [st.session_state.get(key) for key in keys]

    def check() -> None:
        if [st.session_state.get(key) for key in keys] != shown:
            raise InputError(
                "not stored: what it rests on has been changed since it was worked out; look at "
                "the new result, then store that."
            )

    return check


def say_what_was_done(place: str | None = None) -> bool:
    """Say once what the last change did, or why it was not made; whether it was done just now.

    place: say it only if it belongs to this place of the page; None for whatever is unsaid.
    """
    made = False
    if (said := st.session_state.get(SAID)) and place in (None, said.place):
        del st.session_state[SAID]
        if made := bool(said.words):
            st.success(plain(said.words))
    if (fault := st.session_state.get(FAULT)) and place in (None, fault.place):
        del st.session_state[FAULT]
        st.error(plain(fault.words))
    return made


def beside(key: str) -> None:
    """Say what is wrong with a field, below its widget."""
    faults: dict[str, str] = st.session_state.get(FIELDS, {})
    if words := faults.pop(key, ""):
        st.warning(plain(capital(words)), icon=":material/edit:")
