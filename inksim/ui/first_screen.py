"""What a client sees first: the picture as high as the window allows, each color in a word."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, floor, log

from inksim.colour import Viewing
from inksim.common import Markup, escape
from inksim.decision import SHAPES
from inksim.job import Plan
from inksim.ui.style import pads, show

SHAPE_STEP, MOST_STEPS = 0.04, 50
"""Shapes of pictures that room is made for: ln(width / height) in steps; never too little room."""
_SHAPES = "".join(
    f".st-key-first-picture-{at} {{ --wide: {exp(SHAPE_STEP * (at - MOST_STEPS)):.4f}; }}"
    for at in range(2 * MOST_STEPS + 1)
)
STYLE = Markup(
    f"<style>{_SHAPES}"
    """
[class*="st-key-first-picture"] { flex-wrap: nowrap; align-items: flex-start; }
[class*="st-key-first-picture"] > :has(.st-key-first-print, .st-key-first-art) { --high: 52vh;
  flex: none !important; width: min(62%, var(--high) * var(--wide)) !important; min-width: 0; }
[class*="st-key-first-picture"] > :has(.st-key-first-art) { --high: 36vh; max-width: 32%; }
.st-key-garment-row, .st-key-garments-row { min-height: 5.05rem; }
:is(.st-key-first-print, .st-key-first-art) > :first-child { aspect-ratio: var(--wide); }
.st-key-garment-row, .st-key-garments-row { flex-wrap: nowrap !important; }
.st-key-garment, .st-key-garments { flex: 1 1 0 !important; min-width: 0; }
:is(.st-key-garment, .st-key-garments) :is([role="radiogroup"], [role="toolbar"]) {
  flex-wrap: nowrap; overflow-x: auto; scroll-snap-type: x proximity; }
:is(.st-key-garment, .st-key-garments) [data-variant="pills"] { flex: none;
  scroll-snap-align: start; scroll-margin: .4rem; }
.st-key-panels-each [data-testid="stColumn"] { min-width: min(9rem, calc(50% - 1rem)); }
.chips { display: flex; flex-wrap: wrap; gap: .4rem 1.2rem; color: #1a1a1a; }
.chips > span { display: flex; gap: .5rem; align-items: center; font-size: .9rem; }
.chips .pads { width: 4.4rem; height: 1.5rem; }
.st-key-job-bar { min-height: 4.15rem; }
.st-key-said { min-height: 3.2rem; }
.jobbar > b { width: 3.6rem; height: 3.6rem; background: #b5b5b5; flex: none; }
@media (max-width: 640px) {
  .stMain .block-container { padding-top: .5rem; }
  .block-container > div > [data-testid="stVerticalBlock"] { gap: .55rem; }
  .st-key-phone-nav { flex-wrap: nowrap !important; overflow-x: auto; min-height: 2.5rem; }
  .st-key-phone-nav > * { flex: none; }
  .st-key-garment-row, .st-key-garments-row { min-height: 4.65rem; }
  .st-key-job-bar { min-height: 3.6rem; } .st-key-said { min-height: 3.75rem; }
  .st-key-top { row-gap: .3rem !important; }
  .st-key-top [data-testid="stHeading"]:has(h1) { margin-bottom: 0; }
  .st-key-top h1 { font-size: 1.3rem !important; }
  .verdict { padding: .45rem .7rem !important; }
  .verdict b { font-size: 1.1rem !important; }
  .jobbar span { line-height: 1.25 !important; font-size: .8rem !important; }
}
</style>
"""
)


def room_key(width_px: int, height_px: int) -> str:
    """Key of a container that has room for a picture of this shape before it is there."""
    step = floor(log(width_px / height_px) / SHAPE_STEP)
    return f"first-picture-{min(max(step, -MOST_STEPS), MOST_STEPS) + MOST_STEPS}"


def colour_chips(plans: Sequence[Plan], viewing: Viewing) -> None:
    """A pair of swatches for each color, asked for and predicted, and its verdict in a word."""
    chips = []
    for plan in plans:
        asked, _ = plan.colour.target.hex(viewing)
        printed = plan.prediction.hex
        pair = pads([(asked, ""), (printed, "")], label=f"{plan.called}: {asked}, print {printed}")
        word = "left bare" if plan.build.bare else _marked(plan)
        merged = f", as {plan.merged}" if plan.merged else ""
        chips.append(f"<span>{pair}{escape(f'{plan.called} {word}{merged}')}</span>")
    show(Markup(f'<div class="chips">{"".join(chips)}</div>'))


def _marked(plan: Plan) -> str:
    return f"{SHAPES[plan.verdict.word]} {plan.verdict.word}"
