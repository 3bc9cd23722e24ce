"""What is said of a change of the shop where it was made, and its undo beside it."""

from __future__ import annotations

import streamlit as st

from inksim.calibration import history_file
from inksim.common import sentence
from inksim.shop import Change, Shop, last_change, undo, what_undo_brings
from inksim.ui import changes
from inksim.ui.changes import locked_reason
from inksim.ui.pages.shop_forms import do
from inksim.ui.style import note, plain

SHOWN = "shop-undo-shown"


def undo_place() -> st.delta_generator.DeltaGenerator:
    """Where the undo stands; opens a run, so that one cut short leaves nothing said to the next."""
    st.session_state.pop(SHOWN, None)
    return st.container()  # always one place: what is said must not move what is below it


def undo_button(shop: Shop) -> None:
    """Take back one's own last save, by what comes back; say what the last change did."""
    made = changes.say_what_was_done()
    if st.session_state.get(SHOWN) and not made:
        return  # it stands where the change was made
    if why := locked_reason(shop):
        note(why)
        return
    _offer_undo(shop)


def said_here(shop: Shop, place: str) -> None:
    """Say what was done in this place of the page, with its undo one tap away."""
    with st.container():  # always one place: what is said must not move what is below it
        if changes.say_what_was_done(place):
            st.session_state[SHOWN] = True
            _offer_undo(shop)


def _offer_undo(shop: Shop) -> None:
    with changes.as_visitor():
        change = last_change(shop.folder)
    if change is None:
        return
    if not change.mine:
        note(
            f"The last change is not yours, and not undone from here: {change.whose} "
            f"{change.words}. Where you mean it, 'inksim undo --anyway' takes it back."
        )
        return
    what = what_undo_brings(change, money=shop.costs.currency)
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button(
            f"Undo: {plain(what)}", key="shop-undo", on_click=do,
            args=(lambda: _undone(shop, change, what),),
        )  # fmt: skip
        note(f"Your change of {change.at}, in {change.files}.{_what_stays(shop, change)}")


def _undone(shop: Shop, shown: Change, what: str) -> str:
    change = undo(shop.folder, shown.file)
    are = "are as they were" if change.also else "is as it was"
    return f"{sentence(what)} {change.files} {are}.{_what_stays(shop, change)}"


def _what_stays(shop: Shop, change: Change) -> str:
    """A reading of a print is true whichever press was made of it, so it is not undone."""
    if "press.toml" not in change.files or not history_file(shop.folder).exists():
        return ""
    return (
        " Readings of prints stay kept, and the next calibration uses them: take a wrong one out "
        "under Press."
    )
