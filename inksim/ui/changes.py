"""Changes made from a page: whether they may be, as whom, and what is said of them."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import streamlit as st

from inksim.common import InksimError, InputError, is_read_only
from inksim.shop import ChangedMeanwhile, NameTaken, Shop, acting_as, editable_folder, is_demo
from inksim.ui.style import plain

SAID, FAULT = "shop-said", "shop-fault"


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


def do(work: Callable[[], str], *, kept: Callable[[], str] = lambda: "") -> None:
    """Run a change; its message or fault shows when the page is next drawn.

    kept: what stays of what was typed where somebody else has changed the file, in words.
    """
    try:
        with as_visitor():
            st.session_state[SAID] = work()
    except ChangedMeanwhile as error:
        st.session_state[FAULT] = f"{error}{kept()}"
    except NameTaken as taken:
        st.session_state[FAULT] = (
            f"{taken.there}; choose it under 'Which' to change it, or give another name."
        )
    except InksimError as error:
        st.session_state[FAULT] = str(error)


def say_what_was_done() -> None:
    """Say what the last change did, or why it was not made; once."""
    if said := st.session_state.pop(SAID, None):
        st.success(plain(said))
    if fault := st.session_state.pop(FAULT, None):
        st.error(plain(fault))
