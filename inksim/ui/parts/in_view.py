"""Where a row that scrolls stands: at the chosen one, so that it is seen and hides nobody."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

JS = """
const stood = new WeakMap(), timers = new WeakMap();
export default function ({ data, parentElement }) {
  const stand = (row) => {
    const chosen = row.querySelector("[aria-checked=true], [aria-pressed=true]");
    if (!chosen || !row.clientWidth || getComputedStyle(row).flexWrap !== "nowrap") return;
    const now = `${row.clientWidth} ${data.chosen}`;
    if (stood.get(row) === now) return;  // where a hand has scrolled it since, it stays
    stood.set(row, now);
    const box = row.getBoundingClientRect(), own = chosen.getBoundingClientRect();
    if (own.left >= box.left && own.right <= box.right) return;
    row.scrollLeft += own.left + own.width / 2 - box.left - box.width / 2;
  };
  const stop = () => clearInterval(timers.get(parentElement));
  const look = () => {  // the row is drawn a moment later, and a run may put a new one in its place
    if (parentElement.isConnected) document.querySelectorAll(data.row).forEach(stand); else stop();
  };
  stop();
  timers.set(parentElement, setInterval(look, 100));
  look();
  return stop;
}
"""


@st.cache_resource
def _component() -> Callable[..., Any]:
    return st.components.v2.component("inksim_in_view", html="<i hidden></i>", js=JS)


def in_view(row: str, *, chosen: str, key: str) -> None:
    """Scroll a row of choices to the (first) chosen one if it is not seen; shows nothing.

    row: its CSS selector. chosen: what is chosen; the row is moved again when it changes, and when
    the window's width does.
    """
    _component()(data={"row": row, "chosen": chosen}, key=key)
