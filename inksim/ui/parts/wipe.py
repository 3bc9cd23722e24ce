"""A wipe between two pictures of one size: drag, or move the slider with the keyboard.

The pictures travel as the bytes they are, behind a small header, and the browser shows them
without touching a pixel. Moving the wipe costs no rerun. Words come as data and are put in as text.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Callable
from typing import Any

import streamlit as st

from inksim.common import visible

HTML = """
<figure>
  <div class="stage">
    <img class="under" alt=""><img class="over" alt=""><div class="edge"></div>
  </div>
  <figcaption><span class="left"></span><span class="right"></span></figcaption>
  <input type="range" min="0" max="100" value="50" step="1" aria-label="Wipe">
</figure>
"""
CSS = """
figure { margin: 0; color: #1a1a1a; font-family: var(--st-font, sans-serif); }
.stage { position: relative; line-height: 0; cursor: ew-resize; touch-action: pan-y;
  user-select: none; }
img { width: 100%; height: auto; display: block; pointer-events: none; }
.over { position: absolute; inset: 0; clip-path: inset(0 calc(100% - var(--at, 50%)) 0 0); }
.edge { position: absolute; top: 0; bottom: 0; left: var(--at, 50%); width: 0;
  border-left: 2px solid #fff; outline: 1px solid #000; }
figcaption { display: flex; justify-content: space-between; gap: 1rem; font-size: .95rem;
  padding: .45rem 0 .2rem; }
figcaption .left::before { content: "◀ "; } figcaption .right::after { content: " ▶"; }
input { width: 100%; accent-color: #1a1a1a; height: 2rem; margin: 0; }
input:focus-visible { outline: 3px solid #1a1a1a; outline-offset: 2px; }
"""
JS = """
const shown = new WeakMap();
export default function ({ data, parentElement }) {
  const bytes = data instanceof Uint8Array ? data : new Uint8Array(data);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const length = view.getUint32(0, false);
  const head = JSON.parse(new TextDecoder().decode(bytes.subarray(4, 4 + length)));
  const start = 4 + length, middle = start + head.first;
  const parts = [bytes.subarray(start, middle), bytes.subarray(middle)];
  const urls = parts.map((part) => URL.createObjectURL(new Blob([part], { type: "image/png" })));
  const pick = (selector) => parentElement.querySelector(selector);
  const [over, under, range, stage] = [".over", ".under", "input", ".stage"].map(pick);
  under.onload = () => {  // all of it within the window's height
    const figure = pick("figure"), shape = under.naturalWidth / under.naturalHeight;
    figure.style.maxWidth = `max(18rem, calc(82vh * ${shape}))`;
  };
  over.src = urls[0]; under.src = urls[1];
  over.alt = head.left; under.alt = head.right;
  pick(".left").textContent = head.left; pick(".right").textContent = head.right;
  range.setAttribute("aria-label", `Wipe: share of ${head.left}, the rest is ${head.right}`);
  const place = () => {
    stage.style.setProperty("--at", `${range.value}%`);
    range.setAttribute("aria-valuetext", `${range.value} % ${head.left}`);
  };
  const drag = (event) => {
    const box = stage.getBoundingClientRect();
    range.value = 100 * Math.min(1, Math.max(0, (event.clientX - box.left) / box.width));
    place();
  };
  range.oninput = place;
  stage.onpointerdown = (event) => { stage.setPointerCapture(event.pointerId); drag(event); };
  stage.onpointermove = (event) => { if (event.buttons) drag(event); };
  place();
  (shown.get(parentElement) || []).forEach((url) => URL.revokeObjectURL(url));
  shown.set(parentElement, urls);
}
"""


def pack(left: bytes, right: bytes, *, left_words: str, right_words: str) -> bytes:
    """Header length (4 bytes, big-endian), header (JSON), first picture, second picture."""
    head = json.dumps(
        {"left": visible(left_words), "right": visible(right_words), "first": len(left)}
    ).encode()
    return struct.pack(">I", len(head)) + head + left + right


@st.cache_resource(show_spinner=False)
def _component() -> Callable[..., Any]:
    return st.components.v2.component("inksim_wipe", html=HTML, css=CSS, js=JS)


def wipe(left: bytes, right: bytes, *, left_words: str, right_words: str) -> None:
    """Show two PNG of the same size, one over the other."""
    _component()(data=pack(left, right, left_words=left_words, right_words=right_words), key="wipe")
