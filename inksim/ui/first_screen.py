"""What a client sees first: the picture as high as the window allows, each color in a word."""

from __future__ import annotations

from collections.abc import Sequence

from inksim.colour import Viewing
from inksim.common import Markup, escape
from inksim.decision import SHAPES
from inksim.job import Plan
from inksim.ui.style import pads, show

STYLE = Markup("""
<style>
.st-key-first-picture img { width: auto !important; max-width: 100%; max-height: 62vh; }
.st-key-panels-each [data-testid="stColumn"] { min-width: min(9rem, calc(50% - 1rem)); }
.chips { display: flex; flex-wrap: wrap; gap: .4rem 1.2rem; color: #1a1a1a; }
.chips > span { display: flex; gap: .5rem; align-items: center; font-size: .9rem; }
.chips .pads { width: 4.4rem; height: 1.5rem; }
.jobbar { min-height: 3.6rem; }
.jobbar > b { width: 3.6rem; height: 3.6rem; background: #b5b5b5; flex: none; }
@media (max-width: 640px) {
  .block-container { padding-top: .5rem !important; }
  .block-container > div > [data-testid="stVerticalBlock"] { gap: .55rem; }
  .st-key-phone-nav { flex-wrap: nowrap !important; overflow-x: auto; }
  .st-key-phone-nav > * { flex: none; }
  .st-key-first-picture img { max-height: 44vh; }
  .st-key-top h1 { font-size: 1.3rem !important; }
  .verdict { padding: .45rem .7rem !important; }
  .verdict b { font-size: 1.1rem !important; }
  .jobbar span { line-height: 1.25 !important; font-size: .8rem !important; }
}
</style>
""")


def shape_of_pictures(width_px: int, height_px: int) -> None:
    """Reserve the room of the first pictures before they are there, so that nothing moves."""
    show(
        Markup(
            f"<style>.st-key-first-picture img {{ aspect-ratio: {width_px} / {height_px}; }}"
            "</style>"
        )
    )


def color_chips(plans: Sequence[Plan], viewing: Viewing) -> None:
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
