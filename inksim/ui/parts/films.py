"""Drawdowns as pictures: each film under its whole name, one beside the other as there is room."""

from __future__ import annotations

import base64
from collections.abc import Iterable

from inksim.common import Markup, escape
from inksim.drawdowns import ChartPanel, panel_svg
from inksim.ui.style import show

GROUND = "#d6d6d6"  # a neutral gray, as around every color here
STYLE = Markup("""
<style>
.films { display: grid; gap: 1rem; grid-template-columns: repeat(auto-fill, minmax(min(100%, 17rem),
  1fr)); }
.films figure { margin: 0; background: #d6d6d6; color: #1a1a1a; display: flex;
  flex-direction: column; justify-content: space-between; }
.films figcaption { padding: .4rem .5rem 0; font-weight: 600; font-size: .9rem;
  overflow-wrap: anywhere; }
.films img { width: 100%; display: block; }
</style>
""")


def films(panels: Iterable[ChartPanel]) -> None:
    """Show films in the order given: patches, ΔE00, and the spectra measured and fitted."""
    made = []
    for panel in panels:
        drawn = base64.b64encode(panel_svg(panel, ground=GROUND).encode()).decode()
        alt = f"{panel.title}, measured and fitted: ΔE00 {panel.apart():.2f}"
        made.append(
            f"<figure><figcaption>{escape(panel.title)}</figcaption>"
            f'<img alt="{escape(alt)}" src="data:image/svg+xml;base64,{drawn}"></figure>'
        )
    show(Markup(f'<div class="films">{"".join(made)}</div>{STYLE}'))
