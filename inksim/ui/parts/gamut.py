"""All colors of a garment in CIELAB, as a picture to turn: drag it, or use the arrow keys."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import streamlit as st

from inksim.colour import Viewing, hex_from_rgb8, srgb8, xyz_from_lab
from inksim.common import visible
from inksim.decision import Answer, Gamut

HTML = """
<canvas tabindex="0" role="img"></canvas>
<p>Every print of the shop's inks, their tints, and two mixed. Drag to turn, or press the arrow
keys. ● a color of the palette in reach of an ink, ✕ one of none; up is lighter, outward more
colorful.</p>
"""
CSS = """
canvas { width: 100%; aspect-ratio: 4 / 3; max-height: 70vh; background: #b5b5b5; cursor: grab;
  touch-action: pan-y; display: block; }
canvas:focus-visible { outline: 3px solid #1a1a1a; outline-offset: 2px; }
p { font: .85rem var(--st-font, sans-serif); color: #333; margin: .4rem 0 0; }
"""
JS = """
const turned = new WeakMap();
export default function ({ data, parentElement }) {
  const canvas = parentElement.querySelector("canvas"), pen = canvas.getContext("2d");
  canvas.setAttribute("aria-label", data.label);
  const view = turned.get(parentElement) || { turn: 0.6, tilt: 0.35 };
  turned.set(parentElement, view);
  const draw = () => {
    const ratio = window.devicePixelRatio || 1;
    const wide = canvas.clientWidth, high = canvas.clientHeight;
    canvas.width = wide * ratio; canvas.height = high * ratio; pen.scale(ratio, ratio);
    const scale = Math.min(wide / 215, high / 140);
    const [cos, sin, up, back] = [Math.cos, Math.sin, Math.cos, Math.sin]
      .map((f, i) => f(i < 2 ? view.turn : view.tilt));
    const place = ([L, a, b]) => {
      const x = a * cos + b * sin, deep = -a * sin + b * cos, z = L - 50;
      return [wide / 2 + scale * x, high / 2 - scale * (z * up + deep * back * 0.9),
        deep * up - z * back];
    };
    pen.clearRect(0, 0, wide, high);
    pen.strokeStyle = "#555"; pen.fillStyle = "#1a1a1a"; pen.font = "13px sans-serif";
    data.axes.forEach(({ from, to, words }) => {
      const [p, q] = [place(from), place(to)];
      pen.beginPath(); pen.moveTo(p[0], p[1]); pen.lineTo(q[0], q[1]); pen.stroke();
      pen.fillText(words, q[0] + 4, q[1] - 4);
    });
    data.points.map((point) => [place(point.lab), point.hex]).sort((m, n) => n[0][2] - m[0][2])
      .forEach(([p, hex]) => {
        pen.fillStyle = hex; pen.beginPath(); pen.arc(p[0], p[1], 4, 0, 7); pen.fill();
      });
    data.targets.forEach((target) => {
      const [x, y] = place(target.lab);
      pen.lineWidth = 2;
      if (target.nominal) {
        pen.fillStyle = target.hex; pen.strokeStyle = "#000";
        pen.beginPath(); pen.arc(x, y, 7, 0, 7); pen.fill(); pen.stroke();
      } else {
        for (const [color, width] of [["#fff", 5], ["#000", 2]]) {
          pen.strokeStyle = color; pen.lineWidth = width; pen.beginPath();
          pen.moveTo(x - 6, y - 6); pen.lineTo(x + 6, y + 6);
          pen.moveTo(x - 6, y + 6); pen.lineTo(x + 6, y - 6); pen.stroke();
        }
      }
    });
    pen.lineWidth = 1;
  };
  const move = (turn, tilt) => {
    view.turn += turn; view.tilt = Math.max(-1.5, Math.min(1.5, view.tilt + tilt)); draw();
  };
  canvas.onpointerdown = (event) => canvas.setPointerCapture(event.pointerId);
  canvas.onpointermove = (event) => {
    if (event.buttons) move(event.movementX / 120, event.movementY / 120);
  };
  canvas.onkeydown = (event) => {
    const step = { ArrowLeft: [-0.15, 0], ArrowRight: [0.15, 0], ArrowUp: [0, -0.1],
      ArrowDown: [0, 0.1] }[event.key];
    if (step) { event.preventDefault(); move(...step); }
  };
  new ResizeObserver(draw).observe(canvas);
  draw();
}
"""
AXES = (
    {"from": (0, 0, 0), "to": (100, 0, 0), "words": "L*"},
    {"from": (50, -80, 0), "to": (50, 80, 0), "words": "a* red"},
    {"from": (50, 0, -80), "to": (50, 0, 80), "words": "b* yellow"},
)
MOST_POINTS = 1500


@st.cache_resource
def _component() -> Callable[..., Any]:
    return st.components.v2.component("inksim_gamut", html=HTML, css=CSS, js=JS)


def gamut(found: Gamut, column: Sequence[Answer], *, viewing: Viewing) -> None:
    """Show every print of a garment and where the palette lies among them."""
    _component()(data=gamut_data(found, column, viewing=viewing), key="gamut")


def gamut_data(found: Gamut, column: Sequence[Answer], *, viewing: Viewing) -> dict[str, Any]:
    """What the browser draws; of very many prints, evenly chosen ones."""
    lab = found.lab[:: max(1, -(-len(found.lab) // MOST_POINTS))]
    rgb, _ = srgb8(xyz_from_lab(lab, viewing), viewing)
    reached = sum(cell.nominal for cell in column)
    return {
        "label": f"Prints on {visible(found.garment.name)} in CIELAB; {reached} of {len(column)} "
        "colors of the palette are nominally in reach of an ink of the shop",
        "axes": AXES,
        "points": [
            {"lab": [round(float(v), 1) for v in one], "hex": hex_from_rgb8(code)}
            for one, code in zip(lab, rgb, strict=True)
        ],
        "targets": [
            {
                "lab": [round(float(v), 1) for v in cell.target.lab(viewing)],
                "hex": cell.target.hex_d50,
                "nominal": cell.nominal,
            }
            for cell in column
        ],
    }
