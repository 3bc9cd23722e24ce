"""Forms that add, change or remove an entry of the shop, and undo.

A form is filled from the file as it was when the page was drawn; if somebody else has saved in the
meantime nothing is overwritten (see `inksim.shop.edit`), and what was typed stays. The demo shop is
not for changing.
"""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from inksim.calibration import history_file
from inksim.common import sentence
from inksim.ledger import uses_of
from inksim.shop import (
    Change,
    Draft,
    Shop,
    ink_assumptions,
    last_change,
    open_draft,
    save,
    undo,
)
from inksim.ui import changes
from inksim.ui.changes import locked_reason
from inksim.ui.pages.shop_colour import Fields
from inksim.ui.pages.shop_fields import ask, made
from inksim.ui.pages.shop_typed import as_drawn, form_key, keep_typed
from inksim.ui.style import note, plain

NEW = "a new one"
WORDS = {"ink": "an ink", "garment": "a garment", "screen": "a screen", "target": "a target"}


def undo_button(shop: Shop) -> None:
    """Take back one's own last save, by its name; say what the last change did."""
    changes.say_what_was_done()
    if why := locked_reason(shop):
        note(why)
        return
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
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button(
            f"Undo: {plain(change.what)}", key="shop-undo", on_click=do,
            args=(lambda: _undone(shop, change),),
        )  # fmt: skip
        note(
            f"Yours of {change.at}: {change.file} comes back as it was before that save."
            f"{_what_stays(shop, change.file)}"
        )


def _undone(shop: Shop, shown: Change) -> str:
    change = undo(shop.folder, shown.file)
    return (
        f"{sentence(change.back)} {change.file} is as it was before that save."
        f"{_what_stays(shop, change.file)}"
    )


def _what_stays(shop: Shop, file: str) -> str:
    """A reading of a print is true whichever press was made of it, so it is not undone."""
    if file != "press.toml" or not history_file(shop.folder).exists():
        return ""
    return (
        " Readings of prints stay kept, and the next calibration uses them: take a wrong one out "
        "under Press."
    )


def do(work: Callable[[], str], form: str = "", draft: Draft | None = None) -> None:
    """Run a change; its message or fault shows when the page is next drawn.

    form, draft: the form it is of, and the file that it was drawn from; what was typed into it
    stays where somebody else has changed that file.
    """

    def kept() -> str:
        if draft is None:
            return ""
        keep_typed(form, draft)
        return " What you typed still stands in the form, over what is there now."

    changes.do(work, kept=kept)


def change(shop: Shop, kind: str) -> None:
    """Form for one kind of entry."""
    if locked_reason(shop):
        return
    with st.expander(f"Add or change {WORDS[kind]}"):
        names = list({"ink": shop.inks, "garment": shop.garments, "screen": shop.screens,
                      "target": shop.targets}[kind])  # fmt: skip
        which = str(st.selectbox("Which", [NEW, *names], key=f"which {kind}"))
        draft = open_draft(shop.folder, kind)
        old = {} if which == NEW else draft.entry(kind, which)
        form = f"{kind} {which}"
        key = form_key(form, draft)
        with st.form(f"form {key}", border=False):
            ask(shop, kind, old, key)
            st.form_submit_button(
                "Save",
                on_click=do,
                args=(lambda: _saved(draft, kind, which, made(kind, old, key)), form, draft),
            )
        as_drawn(key)
        if which != NEW:
            if uses := uses_of(shop.folder, kind, which):
                note(f"Before you remove it: {'; '.join(uses)}.")
            st.button(
                plain(f"Remove {which}"),
                key=f"remove {key}",
                on_click=do,
                args=(lambda: _removed(draft, kind, which),),
            )


def _saved(draft: Draft, kind: str, which: str, entry: Fields) -> str:
    fresh = draft.add(kind, entry) if which == NEW else draft.replace(kind, which, entry)
    save(fresh)
    assumed = ink_assumptions(fresh.entry(kind, entry["name"])) if kind == "ink" else ()
    said = "; ".join([f"{entry['name']} is saved in {draft.file}", *assumed])
    return f"{said}."


def _removed(draft: Draft, kind: str, which: str) -> str:
    save(draft.remove(kind, which))
    return f"{which} is removed from {draft.file}."
