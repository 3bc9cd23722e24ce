"""The entries of a kind as a list: each with its swatch, what is known, and edit and copy."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import streamlit as st

from inksim.common import Markup, escape
from inksim.shop import Shop
from inksim.ui.changes import locked_reason
from inksim.ui.pages.shop_forms import Opened, entry_form, open_form, opened
from inksim.ui.pages.shop_undo import said_here
from inksim.ui.style import plain, show

WORDS = {
    "ink": "an ink",
    "garment": "a garment",
    "cloth": "a cloth",
    "screen": "a screen",
    "target": "a target",
    "palette": "a color of the palette",
}
NEEDED = ("ink", "garment", "screen")
"""Kinds without which nothing is printed: the form of the first stands open."""
STYLE = Markup("""
<style>
.entry { display: flex; gap: .8rem; align-items: center; color: #1a1a1a; }
.entry > i { flex: none; width: 5.5rem; height: 2.6rem; border: 1px solid #6a6a6a; }
.entry b { display: block; font-weight: 600; line-height: 1.3; }
.entry span { display: block; font-size: .9rem; line-height: 1.35; }
[class*="st-key-row-"] { border-top: 1px solid #8a8a8a; padding-top: .4rem; }
[class*="st-key-row-"] button em { position: absolute; clip-path: inset(50%); width: 1px;
  height: 1px; overflow: hidden; white-space: nowrap; }
@media (max-width: 640px) { .entry > i { width: 2.8rem; } }
</style>
""")


class Row(NamedTuple):
    """An entry as the list shows it. hex: of its swatch, '' without one; facts: a line each."""

    name: str
    hex: str
    facts: Sequence[str]


def entries(shop: Shop, kind: str, rows: Sequence[Row]) -> None:
    """The list, and the form where it was opened: at its row, or above them all."""
    locked = bool(locked_reason(shop))
    said_here(shop, kind)
    if not locked:
        if not rows and kind in NEEDED and opened(kind) is None:
            open_form(kind, Opened("new"))
        st.button(f"Add {WORDS[kind]}", key=f"add {kind}", on_click=open_form,
                  args=(kind, Opened("new")))  # fmt: skip
    of = None if locked else opened(kind)
    if of is not None and of.verb == "new":
        entry_form(shop, kind)
    for at, row in enumerate(rows):
        with st.container(horizontal=True, vertical_alignment="center", key=f"row-{kind}-{at}"):
            show_entry(row)
            if not locked:
                _buttons(kind, row.name)
        said_here(shop, f"{kind} {row.name}")
        if of is not None and of.name == row.name and of.verb != "read":
            entry_form(shop, kind)


def show_entry(row: Row) -> None:
    """An entry with its swatch, in a page that has `STYLE`."""
    swatch = ""
    if row.hex:
        code = escape(row.hex)
        swatch = f'<i style="background:{code}" role="img" aria-label="{code}"></i>'
    facts = "".join(f"<span>{escape(line)}</span>" for line in row.facts if line)
    show(Markup(f'<div class="entry">{swatch}<div><b>{escape(row.name)}</b>{facts}</div></div>'))


def _buttons(kind: str, name: str) -> None:
    """Edit and copy; who hears the page hears of what, too."""
    for verb, words in (("edit", "Edit"), ("copy", "Copy")):
        st.button(
            f"{words} *{plain(name)}*", key=f"{verb} {kind} {name}", on_click=open_form,
            args=(kind, Opened(verb, name)),  # type: ignore[arg-type]
        )  # fmt: skip
