"""SVG charts of measured and fitted spectra, the worst film first."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.colour import WAVELENGTHS_NM, Viewing, delta_e_2000, hex_code, lab, readable_on, xyz
from inksim.common import FloatArray, escape

COLUMNS, WIDTH, PLOT, GAP, HEAD = 4, 240, 132, 18, 64
LEFT, RIGHT, TOP, BOTTOM = 42, 8, 34, 22  # around the axes of a panel; TOP: the patches' row
LINE, LETTERS = 15, 38  # of a title: height of a line, letters in it
MEASURED, FITTED, FAINT, INK = "#1a1a1a", "#b01818", "#9a9a9a", "#303030"
DASHED = f'stroke="{FITTED}" stroke-width="1.8" stroke-dasharray="5 3"'
WHOLE = f'stroke="{MEASURED}" stroke-width="1.8"'
SCALES = (0.02, 0.04, 0.1, 0.2, 0.4, 0.6, 0.8, 1.0, 1.2)
"""Ends of a panel's axis: a dark film on the scale of a light one would be a line at its foot."""


@dataclass(frozen=True, kw_only=True, eq=False)
class ChartPanel:
    """One drawdown: measured and fitted external reflectance (31,)."""

    title: str
    measured: FloatArray
    fitted: FloatArray

    def apart(self, viewing: Viewing = Viewing()) -> float:
        """ΔE00 of the fitted from the measured color."""
        return float(delta_e_2000(lab(self.measured, viewing), lab(self.fitted, viewing)))

    @property
    def most(self) -> float:
        """End of its own axis of reflectance."""
        highest = float(max(self.measured.max(), self.fitted.max()))
        return next((end for end in SCALES if end >= highest), SCALES[-1])


def worst_first(panels: Sequence[ChartPanel], viewing: Viewing = Viewing()) -> list[ChartPanel]:
    """Panels by how far the fit is from them."""
    return sorted(panels, key=lambda panel: -panel.apart(viewing))


def fit_chart_svg(
    panels: Sequence[ChartPanel],
    *,
    title: str,
    viewing: Viewing = Viewing(),
    ground: str = "#ffffff",
) -> str:
    """Draw one panel per drawdown, the worst first: name, patches, ΔE00 and both spectra.

    Each panel has a scale of its own, from 0 to the end of `SCALES` that holds it.
    """
    shown = worst_first(panels, viewing)
    titles = [textwrap.wrap(panel.title, LETTERS) or [""] for panel in shown]
    names = LINE * max(map(len, titles))
    height = names + TOP + PLOT + BOTTOM
    wide = COLUMNS * (WIDTH + GAP) + GAP
    high = HEAD + -(-len(shown) // COLUMNS) * (height + GAP) + GAP
    body = [_legend(title, shown, viewing)]
    for at, (panel, lines) in enumerate(zip(shown, titles, strict=True)):
        x, y = GAP + (at % COLUMNS) * (WIDTH + GAP), HEAD + (at // COLUMNS) * (height + GAP)
        words = "".join(
            f'<text x="0" y="{12 + LINE * row}" font-weight="bold">{escape(line)}</text>'
            for row, line in enumerate(lines)
        )
        drawn = f'<g transform="translate(0 {names})">{_panel(panel, viewing)}</g>'
        name = f"<title>{escape(panel.title)}</title>"
        body.append(f'<g transform="translate({x} {y})">{name}{words}{drawn}</g>')
    return _svg(body, wide=wide, high=high, title=title, ground=ground)


def panel_svg(panel: ChartPanel, *, viewing: Viewing = Viewing(), ground: str = "#ffffff") -> str:
    """Draw one drawdown by itself, to stand under its name: patches, ΔE00, both spectra."""
    body = [f'<g transform="translate(4 2)">{_panel(panel, viewing)}</g>']
    high = TOP + PLOT + BOTTOM + 4
    return _svg(body, wide=WIDTH + 8, high=high, title=panel.title, ground=ground)


def _svg(body: Sequence[str], *, wide: int, high: int, title: str, ground: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" '
        f'viewBox="0 0 {wide} {high}" font-family="sans-serif" font-size="12" fill="{INK}">\n'
        f"<title>{escape(title)}</title>\n"
        f'<rect width="{wide}" height="{high}" fill="{ground}"/>\n' + "\n".join(body) + "\n</svg>\n"
    )


def _legend(title: str, panels: Sequence[ChartPanel], viewing: Viewing) -> str:
    mean, worst = np.mean([panel.apart(viewing) for panel in panels]), panels[0]
    words = (
        f"ΔE00 {viewing}: mean {mean:.2f}, worst {worst.apart(viewing):.2f} ({worst.title}). "
        "Reflectance in %, each film on a scale of its own."
    )
    return (
        f'<text x="{GAP}" y="24" font-size="16">{escape(title)}</text>'
        f'<text x="{GAP}" y="44">{escape(words)}</text>'
    )


def _panel(panel: ChartPanel, viewing: Viewing) -> str:
    """Both patches, each over the line of its spectrum; ΔE00; the axes and the spectra."""
    parts = []
    for at, (word, spectrum, look) in enumerate(
        (("measured", panel.measured, WHOLE), ("fitted", panel.fitted, DASHED))
    ):
        code, _ = hex_code(xyz(spectrum, viewing), viewing)
        x = 78 * at
        parts.append(
            f'<rect x="{x}" y="2" width="72" height="18" fill="{code}"/>'
            f'<text x="{x + 5}" y="15" fill="{readable_on(code)}">{word}</text>'
            f'<path d="M{x} 25H{x + 72}" {look}/>'
        )
    words = f"ΔE00 {panel.apart(viewing):.2f}"
    parts.append(
        f'<text x="{WIDTH - RIGHT}" y="16" font-size="13" font-weight="bold" text-anchor="end">'
        f"{words}</text>"
    )
    foot, right = TOP + PLOT, WIDTH - RIGHT
    for level in np.linspace(0.0, panel.most, _steps(panel.most) + 1).tolist():
        y = _y(level, panel.most)
        parts.append(f'<path d="M{LEFT} {y:.1f}H{right}" stroke="{FAINT}" stroke-width="0.6"/>')
        unit = " %" if level == panel.most else ""
        parts.append(
            f'<text x="{LEFT - 4}" y="{y + 4:.1f}" class="level" text-anchor="end">'
            f"{100 * level:.3g}{unit}</text>"
        )
    for nm in (400, 500, 600, 700):
        unit = " nm" if nm == 700 else ""
        anchor = "end" if unit else "middle"
        end = _x(nm) + 8 * bool(unit)
        parts.append(
            f'<text x="{end:.1f}" y="{foot + 15}" text-anchor="{anchor}">{nm}{unit}</text>'
        )
    parts += [_curve(panel.measured, panel.most, WHOLE), _curve(panel.fitted, panel.most, DASHED)]
    return "".join(parts)


def _steps(most: float) -> int:
    """How many ticks an axis has above 0: round numbers of a percent."""
    return 3 if round(1000 * most) % 3 == 0 else 5 if most in (0.1, 1.0) else 4


def _x(nm: float) -> float:
    return LEFT + (nm - 400.0) / 300.0 * (WIDTH - LEFT - RIGHT)


def _y(level: float, most: float) -> float:
    return TOP + PLOT * (1.0 - level / most)


def _curve(spectrum: FloatArray, most: float, look: str) -> str:
    points = " ".join(
        f"{_x(float(nm)):.1f},{_y(min(float(v), most), most):.1f}"
        for nm, v in zip(WAVELENGTHS_NM, spectrum, strict=True)
    )
    return f'<polyline points="{points}" fill="none" {look}/>'
