"""SVG chart of measured and fitted spectra."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.colour import WAVELENGTHS_NM, Viewing, delta_e_2000, hex_code, lab, xyz
from inksim.common import FloatArray, escape

COLUMNS, WIDTH, HEIGHT, GAP, HEAD = 4, 230, 180, 18, 64
LEFT, RIGHT, TOP, BOTTOM = 30, 8, 46, 22  # around the axes of a panel
MEASURED, FITTED, FAINT, INK = "#1a1a1a", "#b01818", "#b4b4b4", "#303030"
LONGEST_TITLE = 30


@dataclass(frozen=True, kw_only=True, eq=False)
class ChartPanel:
    """One drawdown: measured and fitted external reflectance (31,)."""

    title: str
    measured: FloatArray
    fitted: FloatArray


def fit_chart_svg(
    panels: Sequence[ChartPanel],
    *,
    title: str,
    viewing: Viewing = Viewing(),
    ground: str = "#ffffff",
) -> str:
    """Draw one panel per drawdown: both spectra, both colors as patches, and their ΔE00.

    All panels share one scale, from 0 to the next fifth above the highest reflectance. The line
    under the title names the worst panel.
    """
    highest = max(float(max(p.measured.max(), p.fitted.max())) for p in panels)
    most = min(1.2, math.ceil(highest * 5.0 + 1e-9) / 5.0)
    rows = -(-len(panels) // COLUMNS)
    wide = COLUMNS * (WIDTH + GAP) + GAP
    high = HEAD + rows * (HEIGHT + GAP) + GAP
    body = [_legend(title, panels, viewing)]
    for at, panel in enumerate(panels):
        x = GAP + (at % COLUMNS) * (WIDTH + GAP)
        y = HEAD + (at // COLUMNS) * (HEIGHT + GAP)
        body.append(f'<g transform="translate({x} {y})">{_panel(panel, most, viewing)}</g>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" '
        f'viewBox="0 0 {wide} {high}" font-family="sans-serif" font-size="11" fill="{INK}">\n'
        f"<title>{escape(title)}</title>\n"
        f'<rect width="{wide}" height="{high}" fill="{ground}"/>\n' + "\n".join(body) + "\n</svg>\n"
    )


def apart(panel: ChartPanel, viewing: Viewing) -> float:
    """ΔE00 of the fitted from the measured color."""
    return float(delta_e_2000(lab(panel.measured, viewing), lab(panel.fitted, viewing)))


def _legend(title: str, panels: Sequence[ChartPanel], viewing: Viewing) -> str:
    differences = np.array([apart(panel, viewing) for panel in panels])
    worst = panels[int(differences.argmax())]
    words = (
        f"ΔE00 {viewing}: mean {differences.mean():.2f}, worst {differences.max():.2f} "
        f"({worst.title})"
    )
    return (
        f'<text x="{GAP}" y="24" font-size="16">{escape(title)}</text>'
        f'<text x="{GAP}" y="44">{escape(words)}</text>'
        f'<g transform="translate({GAP + 500} 40)"><path d="M0 0H28" stroke="{MEASURED}" '
        f'stroke-width="1.6"/><text x="34" y="4">measured</text><path d="M100 0H128" '
        f'stroke="{FITTED}" stroke-width="1.6" stroke-dasharray="4 3"/>'
        f'<text x="134" y="4">fitted</text></g>'
    )


def _panel(panel: ChartPanel, most: float, viewing: Viewing) -> str:
    bottom, right = HEIGHT - BOTTOM, WIDTH - RIGHT
    parts = [f"<title>{escape(panel.title)}</title>"]
    for level in np.arange(0.0, most + 1e-9, 0.2):
        y = _y(float(level), most)
        parts.append(f'<path d="M{LEFT} {y:.1f}H{right}" stroke="{FAINT}" stroke-width="0.6"/>')
        parts.append(f'<text x="{LEFT - 4}" y="{y + 4:.1f}" text-anchor="end">{level:.1f}</text>')
    for nm in (400, 500, 600, 700):
        parts.append(f'<text x="{_x(nm):.1f}" y="{bottom + 15}" text-anchor="middle">{nm}</text>')
    parts.append(_curve(panel.measured, most, f'stroke="{MEASURED}" stroke-width="1.6"'))
    dashes = f'stroke="{FITTED}" stroke-width="1.6" stroke-dasharray="4 3"'
    parts.append(_curve(panel.fitted, most, dashes))
    for at, spectrum in enumerate((panel.measured, panel.fitted)):
        code, _ = hex_code(xyz(spectrum, viewing), viewing)
        x = right - 44 + 22 * at
        parts.append(f'<rect x="{x}" y="2" width="22" height="14" fill="{code}"/>')
    shown = panel.title
    if len(shown) > LONGEST_TITLE:
        shown = shown[: LONGEST_TITLE - 1] + "…"
    parts.append(f'<text x="0" y="13">{escape(shown)}</text>')
    parts.append(f'<text x="0" y="28">ΔE00 {apart(panel, viewing):.2f}</text>')
    return "".join(parts)


def _x(nm: float) -> float:
    return LEFT + (nm - 400.0) / 300.0 * (WIDTH - LEFT - RIGHT)


def _y(level: float, most: float) -> float:
    return HEIGHT - BOTTOM - level / most * (HEIGHT - TOP - BOTTOM)


def _curve(spectrum: FloatArray, most: float, look: str) -> str:
    points = " ".join(
        f"{_x(float(nm)):.1f},{_y(float(v), most):.1f}"
        for nm, v in zip(WAVELENGTHS_NM, spectrum, strict=True)
    )
    return f'<polyline points="{points}" fill="none" {look}/>'
