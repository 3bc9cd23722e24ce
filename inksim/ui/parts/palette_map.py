"""The map of a palette on the stock: a table of true swatches whose cells can be chosen.

The arrow keys move from cell to cell, Enter or a click chooses. All words come as data and are put
in as text.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import streamlit as st

from inksim.colour import Viewing
from inksim.common import counted, visible
from inksim.decision import WORDS, Answer, Gamut, mixture_sign, serves
from inksim.shop import Shop
from inksim.ui.pickers import cloth_hex

HTML = '<div class="scroll"><table><thead></thead><tbody></tbody></table></div>'
CSS = """
.scroll { overflow: auto; max-height: 80vh; color: #1a1a1a; scrollbar-width: auto;
  scrollbar-color: #4a4a4a #b5b5b5; font-family: var(--st-font, sans-serif); }
.scroll::after { content: attr(data-more); position: sticky; left: 0; display: block;
  font-size: .8rem; padding: .2rem .5rem; }
table { border-collapse: separate; border-spacing: 3px; width: 100%; }
th { font-weight: 600; font-size: .9rem; text-align: left; padding: .25rem .5rem;
  background: #c6c6c6; }
th small { display: block; font-weight: 400; }
thead th { position: sticky; top: 0; z-index: 2; vertical-align: bottom; }
tbody th { position: sticky; left: 0; z-index: 1; width: 6rem; }
thead th:first-child { left: 0; z-index: 3; }
thead th i { display: block; margin-bottom: .2rem; }
th i { display: inline-block; width: 1.4rem; height: 1.4rem; margin-right: .45rem;
  vertical-align: middle; }
td { padding: 0; height: 1px; }
button { display: block; width: 100%; height: 100%; min-width: 7.7rem; border: 0; padding: .35rem;
  cursor: pointer; font: inherit; color: #1a1a1a; text-align: left; border-radius: 0; }
button i { display: block; height: 2.4rem; }
button :is(span, em) { display: block; background: #e0e0e0; padding: .1rem .3rem;
  font: normal .76rem/1.35 var(--st-font, sans-serif); margin-top: .35rem; }
button em { margin-top: 2px; background: repeating-linear-gradient(135deg, #e0e0e0 0 5px,
  #cdcdcd 5px 7px); }
button.lands span { background: #1a1a1a; color: #f4f4f4; }
button.should span { background: #5a5a5a; color: #f4f4f4; }
button[aria-pressed=true] { outline: 4px solid #111; outline-offset: -1px;
  box-shadow: inset 0 0 0 5px #f4f4f4; }
button:focus-visible { outline: 4px dashed #111; outline-offset: -1px; }
@media (max-width: 640px) {
  tbody th { min-width: 5.2rem; max-width: 6.5rem; font-size: .8rem; padding: .2rem; }
  button { min-width: 7.4rem; } button :is(span, em) { font-size: .75rem; }
}
"""
JS = """
const element = (tag, text) => {
  const made = document.createElement(tag);
  if (text !== undefined) made.textContent = text;
  return made;
};
const swatch = (code) => { const made = element("i"); made.style.background = code; return made; };
const drawn = new WeakMap();
export default function ({ data, parentElement, setStateValue }) {
  const box = parentElement.querySelector(".scroll");
  const head = parentElement.querySelector("thead"), body = parentElement.querySelector("tbody");
  const mark = (row, column) => body.querySelectorAll("button").forEach((button) => {
    const chosen = +button.dataset.row === row && +button.dataset.column === column;
    button.setAttribute("aria-pressed", chosen);
    button.tabIndex = chosen ? 0 : -1;
  });
  const same = drawn.get(parentElement) === data.version;
  drawn.set(parentElement, data.version);
  if (same && body.childElementCount) { mark(data.row, data.column); return; }
  box.setAttribute("role", "region"); box.setAttribute("aria-label", data.label);
  const top = element("tr");
  const corner = element("th", "Color"); corner.scope = "col"; top.append(corner);
  data.garments.forEach((garment) => {
    const cell = element("th"); cell.scope = "col";
    cell.append(swatch(garment.cloth), garment.name, element("small", garment.serves));
    top.append(cell);
  });
  head.replaceChildren(top);
  body.replaceChildren(...data.colors.map((color, row) => {
    const line = element("tr"), name = element("th");
    name.scope = "row"; name.append(swatch(color.hex), color.name); line.append(name);
    color.cells.forEach((cell, column) => {
      const button = element("button"), place = element("td");
      const garment = data.garments[column];
      button.type = "button"; button.className = cell.lands ? "lands" : cell.should ? "should" : "";
      button.style.background = garment.cloth;
      button.dataset.row = row; button.dataset.column = column;
      const told = [cell.words, cell.mixed].filter(Boolean).join("; ");
      button.setAttribute("aria-label", `${color.name} on ${garment.name}: ${told}`);
      button.append(swatch(cell.hex), element("span", cell.words));
      if (cell.mixed) button.append(element("em", cell.mixed));
      button.onclick = () => { mark(row, column); setStateValue("cell", [row, column]); };
      place.append(button); line.append(place);
    });
    return line;
  }));
  body.onkeydown = (event) => {
    const step = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };
    const here = event.target.dataset, move = step[event.key];
    if (!move || here.row === undefined) return;
    const row = +here.row + move[0], column = +here.column + move[1];
    const next = body.querySelector(`button[data-row="${row}"][data-column="${column}"]`);
    if (next) { event.preventDefault(); next.focus(); }
  };
  mark(data.row, data.column);
  const more = () => {
    box.dataset.more = box.scrollWidth > box.clientWidth + 1 ? data.more : "";
  };
  new ResizeObserver(more).observe(box);
}
"""


@st.cache_resource(show_spinner=False)
def _component() -> Callable[..., Any]:
    return st.components.v2.component("inksim_map", html=HTML, css=CSS, js=JS)


def choose_cell(
    columns: Sequence[Sequence[Answer]],
    *,
    shop: Shop,
    viewing: Viewing,
    gamuts: Mapping[str, Gamut],
) -> Answer:
    """Show the map; returns the chosen cell, the first one until one is chosen.

    gamuts: by garment, for the cells that only a mixture reaches.
    """
    row, column = _chosen(rows=len(columns[0]), columns=len(columns))
    data = map_data(columns, shop=shop, viewing=viewing, gamuts=gamuts)
    data |= {"row": row, "column": column}
    _component()(data=data, key="map", on_cell_change=lambda: None)
    return columns[column][row]


def _chosen(*, rows: int, columns: int) -> tuple[int, int]:
    """Row and column chosen last, if there still is such a cell."""
    state = st.session_state.get("map") or {}
    row, column = state.get("cell") or (0, 0)
    return (int(row), int(column)) if row < rows and column < columns else (0, 0)


def map_data(
    columns: Sequence[Sequence[Answer]],
    *,
    shop: Shop,
    viewing: Viewing,
    gamuts: Mapping[str, Gamut],
) -> dict[str, Any]:
    """What the browser draws."""
    garments = []
    for column in columns:
        name = column[0].garment.name
        garments.append(
            {
                "name": visible(name),
                "cloth": cloth_hex(shop, name, viewing),
                "serves": serves(column).words,
            }
        )
    colours = [
        {
            "name": visible(row[0].target.name),
            "hex": row[0].target.hex(viewing)[0],
            "cells": [_cell(cell, gamuts) for cell in row],
        }
        for row in zip(*columns, strict=True)
    ]
    more = f"{counted(len(columns), 'garment')}: scroll sideways for the rest"
    body = {"label": "Palette by garment", "garments": garments, "colors": colours, "more": more}
    return body | {"version": str(hash(repr(body)))}


def _cell(cell: Answer, gamuts: Mapping[str, Gamut]) -> dict[str, Any]:
    word = "" if cell.build.bare else cell.verdict.word
    return {
        "hex": cell.hex,
        "lands": word == WORDS[0],
        "should": word == WORDS[1],
        "words": f"{cell.mark}, {cell.median_de00:.1f}",
        "mixed": mixture_sign(cell, gamuts),
    }
