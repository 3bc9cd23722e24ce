"""A picture on which places are marked: clicked, dragged, or with the arrow keys and Enter.

A tool takes so many points; when it has them they are sent, and the page writes them into its
fields, where they may be typed as well. All words come as data and are put in as text.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable, Sequence
from typing import Any

import streamlit as st

from inksim.common import visible

KEY = "marked-picture"
Share = tuple[float, float]
"""A point as share of the picture's width and height, from the upper left corner."""
HTML = """
<figure><div class="stage" tabindex="0" role="application"><img alt=""><b></b><i></i></div>
<figcaption aria-live="polite"></figcaption></figure>
"""
CSS = """
figure { margin: 0; color: #1a1a1a; font-family: var(--st-font, sans-serif); }
.stage { position: relative; line-height: 0; cursor: crosshair; touch-action: pan-y pinch-zoom;
  user-select: none; overflow: hidden; }
.stage:focus-visible { outline: 3px solid #1a1a1a; outline-offset: 2px; }
img { width: 100%; height: auto; display: block; pointer-events: none; }
b, i, u { position: absolute; pointer-events: none; }
b { border: 2px solid #fff; outline: 1px solid #000; display: none; }
i { width: 1.3rem; height: 1.3rem; transform: translate(-50%, -50%); display: none;
  background: linear-gradient(#000, #000) center / 1px 100% no-repeat,
    linear-gradient(#000, #000) center / 100% 1px no-repeat; border: 1px solid #fff; }
.stage:focus-visible i { display: block; }
u { width: .7rem; height: .7rem; border-radius: 50%; background: #fff; border: 2px solid #000;
  transform: translate(-50%, -50%); }
figcaption { font-size: .9rem; padding: .3rem 0; }
"""
JS = """
const kept = new WeakMap();
export default function ({ data, parentElement, setTriggerValue }) {
  const pick = (selector) => parentElement.querySelector(selector);
  const [stage, image, box, cross, said] = [".stage", "img", "b", "i", "figcaption"].map(pick);
  const state = kept.get(parentElement) || { points: [], cross: [0.5, 0.5] };
  kept.set(parentElement, state);
  if (state.version !== data.version) state.points = [];
  if (state.tool !== data.tool) state.points = [];
  state.tool = data.tool;
  image.alt = data.alt;
  image.onload = () => {  // all of it within the window's height
    const shape = image.naturalWidth / image.naturalHeight;
    pick("figure").style.maxWidth = `max(18rem, calc(75vh * ${shape}))`;
  };
  stage.setAttribute("aria-label", `${data.label}. Arrow keys move the cross, with Shift by ` +
    "less; Enter marks, Escape begins again.");
  const at = (element, [x, y]) => {
    element.style.left = `${100 * x}%`; element.style.top = `${100 * y}%`;
  };
  const draw = () => {
    parentElement.querySelectorAll("u").forEach((dot) => dot.remove());
    state.points.forEach((point) => {
      const dot = document.createElement("u"); at(dot, point); stage.append(dot);
    });
    at(cross, state.cross);
    box.style.display = "none";
    const left = data.points.slice(state.points.length);
    said.textContent = left.length ? `Mark ${left[0]}` : "";
  };
  const put = (...points) => {
    state.points.push(...points);
    if (state.points.length >= data.points.length) {
      setTriggerValue("marked", { tool: data.tool, points: state.points });
      state.points = [];
    }
    draw();
  };
  const place = (event) => {
    const frame = stage.getBoundingClientRect();
    return [(event.clientX - frame.left) / frame.width, (event.clientY - frame.top) / frame.height]
      .map((share) => Math.min(1, Math.max(0, share)));
  };
  const dragged = (event) => data.points.length === 2 && !state.points.length && state.from
    && Math.hypot(event.clientX - state.from[0], event.clientY - state.from[1]) > 8;
  stage.onpointerdown = (event) => {
    state.from = event.pointerType === "mouse" ? [event.clientX, event.clientY] : null;
    state.start = place(event);
  };
  stage.onpointermove = (event) => {
    if (!event.buttons || !dragged(event)) return;
    const [a, b] = [state.start, place(event)];
    at(box, [Math.min(a[0], b[0]), Math.min(a[1], b[1])]);
    box.style.width = `${100 * Math.abs(a[0] - b[0])}%`;
    box.style.height = `${100 * Math.abs(a[1] - b[1])}%`;
    box.style.display = "block";
  };
  stage.onclick = (event) => {
    if (dragged(event)) put(state.start, place(event)); else put(place(event));
  };
  stage.onkeydown = (event) => {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const move = step[event.key];
    if (move) {
      const far = event.shiftKey ? 0.002 : 0.02;
      state.cross = state.cross.map((v, axis) => Math.min(1, Math.max(0, v + far * move[axis])));
      draw();
    } else if (event.key === "Enter") put([...state.cross]);
    else if (event.key === "Escape") { state.points = []; draw(); }
    else return;
    event.preventDefault();
  };
  if (state.version !== data.version) image.src = data.picture;
  state.version = data.version;
  draw();
}
"""


@st.cache_resource(show_spinner=False)
def _component() -> Callable[..., Any]:
    return st.components.v2.component("inksim_marks", html=HTML, css=CSS, js=JS)


def marked_picture(
    png: bytes,
    *,
    tool: str,
    points: Sequence[str],
    alt: str,
    on_marked: Callable[[str, list[Share]], None],
) -> None:
    """Show a PNG to mark places on.

    tool: what is marked, in words; points: what each of its points is, in words that follow
    'Mark'; on_marked: called with tool and points when all have been marked.
    """
    data = {
        "picture": f"data:image/png;base64,{base64.b64encode(png).decode()}",
        "version": hashlib.sha256(png).hexdigest(),
        "tool": tool,
        "points": list(points),
        "alt": visible(alt),
        "label": f"{visible(alt)}: mark {tool.lower()}",
    }

    def marked() -> None:
        sent = st.session_state[KEY]["marked"]
        if sent:
            on_marked(str(sent["tool"]), _shares(sent["points"]))

    _component()(data=data, key=KEY, on_marked_change=marked)


def _shares(points: Any) -> list[Share]:
    return [(float(x), float(y)) for x, y in points]
