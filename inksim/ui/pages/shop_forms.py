"""The form of an entry of the shop, and what a change typed into one does.

A form is filled from the file as it was when the page was drawn; if somebody else has saved in the
meantime nothing is overwritten (see `inksim.shop.edit`), and what was typed stays. The demo shop is
not for changing.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, NamedTuple

import streamlit as st

from inksim.common import InputError, sentence
from inksim.ledger import uses_of
from inksim.shop import Draft, NameTaken, Shop, ink_assumptions, open_draft, save
from inksim.ui import changes
from inksim.ui.changes import Done, FieldFaults
from inksim.ui.pages.shop_colour import Fields
from inksim.ui.pages.shop_entry import ask, field_of, made
from inksim.ui.pages.shop_typed import as_drawn, form_key, keep_typed
from inksim.ui.style import note, plain


class Opened(NamedTuple):
    """The form that is open among the entries of a kind: of this one, of a copy of it, or empty.

    read: filled with `seed`, which was read elsewhere on the page; at `place`, and said there.
    """

    verb: Literal["edit", "copy", "new", "read"]
    name: str = ""
    seed: Fields | None = None
    place: str = ""


def do(
    work: Callable[[], str | Done], form: str = "", draft: Draft | None = None, place: str = ""
) -> None:
    """Run a change; its message or fault shows when the page is next drawn.

    form, draft: the form it is of, and the file that it was drawn from; what was typed into it
    stays where somebody else has changed that file. place: where it is said.
    """

    def kept() -> str:
        if draft is None:
            return ""
        keep_typed(form, draft)
        return " What you typed still stands in the form, over what is there now."

    changes.do(work, kept=kept, place=place)


def opened(kind: str) -> Opened | None:
    """The form that is open among the entries of a kind."""
    found: Opened | None = st.session_state.get(f"opened {kind}")
    return found


def open_form(kind: str, which: Opened | None) -> None:
    """Open a form among the entries of a kind, instead of any other; None closes it."""
    st.session_state[f"opened {kind}"] = which


def entry_form(shop: Shop, kind: str) -> None:
    """The form that is open among the entries of a kind, with its buttons and its messages."""
    of = opened(kind)
    assert of is not None
    place = f"form {kind}"
    draft = open_draft(shop.folder, kind)
    try:
        old = dict(of.seed or {}) if of.verb in ("new", "read") else draft.entry(kind, of.name)
    except InputError:  # somebody else has removed it
        open_form(kind, None)
        return
    form = f"{kind} {of.verb} {of.name}" + (f" {hash(repr(of.seed))}" if of.seed else "")
    key = form_key(form, draft)
    if of.verb == "copy":
        old = {**old, "name": f"{of.name}, copy"}
    with st.container(border=True):
        with st.form(f"form {key}", border=False):
            ask(shop, kind, old, key)
            with st.container(horizontal=True, vertical_alignment="center"):
                st.form_submit_button(
                    "Save", type="primary", key=f"save {key}", on_click=do,
                    args=(lambda: _saved(draft, kind, of, old, key), form, draft, place),
                )  # fmt: skip
                st.form_submit_button("Cancel", key=f"cancel {key}", on_click=open_form,
                                      args=(kind, None))  # fmt: skip
            changes.say_what_was_done(place)
        as_drawn(key)
        if of.verb == "edit":
            _remove(shop, draft, kind, of.name, key)


def _remove(shop: Shop, draft: Draft, kind: str, name: str, key: str) -> None:
    if uses := uses_of(shop.folder, kind, name):
        note(f"Before you remove it: {'; '.join(uses)}.")
    st.button(
        plain(f"Remove {name}"), key=f"remove {key}", on_click=do,
        args=(lambda: _removed(draft, kind, name), "", None, f"form {kind}"),
    )  # fmt: skip


def _saved(draft: Draft, kind: str, of: Opened, old: Fields, key: str) -> Done:
    entry = made(kind, old, key)
    try:
        fresh = draft.replace(kind, of.name, entry) if of.verb == "edit" else draft.add(kind, entry)
        save(fresh)
    except NameTaken as taken:
        words = f"{taken.there}; edit that one in its row, or give another name."
        raise FieldFaults({f"{key} name": words}) from None
    except InputError as error:
        raise _by_field(error, kind, key) from None
    open_form(kind, None)
    assumed = ink_assumptions(fresh.entry(kind, entry["name"])) if kind == "ink" else ()
    said = "; ".join([f"{entry['name']} is saved", *assumed])
    return Done(f"{said}.", of.place or f"{kind} {entry['name']}")


def _by_field(error: InputError, kind: str, key: str) -> InputError:
    """The faults that the shop would have, each at its field; as they are where one has none."""
    _, *lines = str(error).splitlines()
    found: dict[str, str] = {}
    for line in lines:
        where, _, words = line.partition(": ")
        field = field_of(kind, where.rpartition(", ")[2], words)
        if not field:
            return error
        said = words.rpartition("': ")[2].removesuffix(".")
        found[f"{key} {field}"] = sentence(said)
    return FieldFaults(found) if found else error


def _removed(draft: Draft, kind: str, name: str) -> Done:
    save(draft.remove(kind, name))
    open_form(kind, None)
    return Done(f"{name} is removed.", kind)
