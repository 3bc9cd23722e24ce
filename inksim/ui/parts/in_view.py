"""Where a row that scrolls stands: at the chosen one, so that it is seen and hides nobody."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

JS = """
const stood = new WeakMap(), watched = new WeakSet();
export default function ({ data }) {
  const stand = (left) => {
    const row = document.querySelector(data.row);
    const chosen = row?.querySelector("[aria-checked=true], [aria-pressed=true]");
    if (!chosen || getComputedStyle(row).flexWrap !== "nowrap") {
      if (left) setTimeout(() => stand(left - 1), 50);  // it is drawn a moment later
      return;
    }
    if (!watched.has(row)) {  // another run may put a new row in its place
      watched.add(row);
      new ResizeObserver(() => { if (!row.isConnected) stand(200); }).observe(row);
    }
    if (stood.get(row) === data.chosen) return;  // where a hand has scrolled it since, it stays
    stood.set(row, data.chosen);
    const box = row.getBoundingClientRect(), own = chosen.getBoundingClientRect();
    if (own.left >= box.left && own.right <= box.right) return;
    row.scrollLeft += own.left + own.width / 2 - box.left - box.width / 2;
  };
  stand(200);
}
"""


@st.cache_resource
def _component() -> Callable[..., Any]:
    return st.components.v2.component("inksim_in_view", html="<i hidden></i>", js=JS)


def in_view(row: str, *, chosen: str, key: str) -> None:
    """Scroll a row of choices to the (first) chosen one if it is not seen; shows nothing.

    row: its CSS selector. chosen: what is chosen; the row is moved again when it changes.
    """
    _component()(data={"row": row, "chosen": chosen}, key=key)
