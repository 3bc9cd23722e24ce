"""Where the Tab key goes: into an opened box next, and to the chosen one of several choices.

Streamlit hangs an opened box at the end of the document: the Tab key would come to it last. Of a
row of choices it would come to the first, whichever is chosen.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

JS = """
const STOPS = "a[href], button, input, select, textarea, summary, [tabindex]";
const stops = (box) => [...box.querySelectorAll(STOPS)].filter((one) =>
  one.tabIndex >= 0 && !one.disabled && one.checkVisibility() && !one.closest("[inert]"));
let entering = false;
const pressed = (event) => {
  entering = event.key === "Tab";
  const button = document.querySelector("[data-testid=stPopoverButton][aria-expanded=true]");
  const box = document.querySelector("[data-testid=stPopoverBody]");
  if (!entering || !button || !box) return;
  const inside = stops(box), here = document.activeElement;
  if (here === button && !event.shiftKey) {
    box.setAttribute("aria-label", button.querySelector("p").textContent);
    box.tabIndex = -1;
    event.preventDefault();
    (inside[0] ?? box).focus();  // it opens a moment before what is in it is drawn
  } else if (here === inside.at(event.shiftKey ? 0 : -1) || (here === box && event.shiftKey)) {
    button.focus();  // from there the browser goes on to what follows it
    if (event.shiftKey) event.preventDefault();
  }
};
const pointed = () => { entering = false; };
const entered = (event) => {
  const row = event.target.closest?.("[data-variant]")?.parentElement;
  if (!entering || !row || row.contains(event.relatedTarget)) return;
  row.querySelector(":scope > [aria-checked=true], :scope > [aria-pressed=true]")?.focus();
};
export default function () {
  document.addEventListener("keydown", pressed, true);
  document.addEventListener("pointerdown", pointed, true);
  document.addEventListener("focusin", entered);
}
"""


@st.cache_resource(show_spinner=False)
def _component() -> Callable[..., Any]:
    return st.components.v2.component("inksim_keys", html="<i hidden></i>", js=JS)


def keys() -> None:
    """Lead the Tab key, on every page; shows nothing."""
    _component()(key="keys")
