"""The chart of measured against fitted spectra: well-formed, true to its numbers, safe to open."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import WAVELENGTHS_NM
from inksim.colour.srgb import hex_code
from inksim.colour.viewing import Viewing, lab, xyz
from inksim.drawdowns.chart import ChartPanel, fit_chart_svg

SVG = "{http://www.w3.org/2000/svg}"
CURVES = f"{SVG}g/{SVG}polyline"
RED = 0.05 + 0.5 / (1.0 + np.exp(-(WAVELENGTHS_NM - 590.0) / 12.0))
PANELS = [
    ChartPanel(title="over <black> & white", measured=RED, fitted=RED),
    ChartPanel(title="worse", measured=RED, fitted=0.9 * RED),
    *[ChartPanel(title=f"no. {n}", measured=RED, fitted=1.02 * RED) for n in range(5)],
]


def chart(panels: list[ChartPanel] = PANELS) -> ET.Element:
    return ET.fromstring(fit_chart_svg(panels, title='A "fit" & more'))


def test_there_is_a_panel_for_each_with_both_curves() -> None:
    panels = [g for g in chart().findall(f"{SVG}g") if g.find(CURVES) is not None]
    assert len(panels) == len(PANELS)
    for panel in panels:
        assert len(panel.findall(CURVES)) == 2


def test_curves_are_the_spectra_on_the_axes_drawn() -> None:
    """Read back from the picture: the labels of the axis give the scale of the curve."""
    panel = next(g for g in chart().findall(f"{SVG}g") if g.find(CURVES) is not None)
    levels = {
        float((t.text or "").removesuffix(" %")): float(t.get("y", "")) - 4
        for t in panel.iter(f"{SVG}text")
        if t.get("class") == "level"
    }
    assert sorted(levels) == [0.0, 20.0, 40.0, 60.0]
    nms = {
        float(t.text or ""): float(t.get("x", ""))
        for t in panel.iter(f"{SVG}text")
        if t.get("text-anchor") == "middle"
    }
    curve = panel.find(CURVES)
    assert curve is not None
    points = np.array([[float(v) for v in p.split(",")] for p in curve.get("points", "").split()])
    y_of = np.polyfit(list(levels.values()), list(levels), 1)
    x_of = np.polyfit(list(nms.values()), list(nms), 1)
    np.testing.assert_allclose(np.polyval(y_of, points[:, 1]), 100 * RED, atol=0.1)
    np.testing.assert_allclose(np.polyval(x_of, points[:, 0]), WAVELENGTHS_NM, atol=0.2)


def test_patches_and_differences_are_those_of_the_spectra() -> None:
    text = fit_chart_svg(PANELS, title="t")
    worst = float(delta_e_2000(lab(RED, Viewing()), lab(0.9 * RED, Viewing())))
    assert f"worst {worst:.2f} (worse)" in text
    assert hex_code(xyz(0.9 * RED, Viewing()), Viewing())[0] in text


def test_nothing_in_it_runs_or_is_fetched() -> None:
    text = fit_chart_svg([ChartPanel(title="<script>alert(1)</script>", measured=RED, fitted=RED)],
                         title="<script>")  # fmt: skip
    assert "<script" not in text
    assert set(re.findall(r"https?://[^\"]+", text)) == {"http://www.w3.org/2000/svg"}
    assert "href" not in text


@pytest.mark.parametrize("highest", [0.02, 0.2, 0.61, 1.05])
def test_the_scale_holds_every_spectrum_and_a_dark_one_fills_it(highest: float) -> None:
    flat = np.full(31, highest)
    panels = [*PANELS, ChartPanel(title="x", measured=flat, fitted=flat)]
    (panel,) = (g for g in chart(panels) if g.findtext(f"{SVG}title") == "x")
    feet = [
        float(t.get("y", "")) - 4 for t in panel.iter(f"{SVG}text") if t.get("class") == "level"
    ]
    for curve in panel.findall(CURVES):
        ys = [float(p.split(",")[1]) for p in curve.get("points", "").split()]
        assert min(feet) <= min(ys)
        assert max(feet) - max(ys) > 0.4 * (max(feet) - min(feet))  # not a line at the foot


def test_the_worst_film_comes_first_and_a_long_name_is_whole() -> None:
    name = "Chalk 90 % + Ember 10 % over the white of a card of the second box, thick"
    panels = [*PANELS, ChartPanel(title=name, measured=RED, fitted=0.7 * RED)]
    first = next(g for g in chart(panels) if g.find(CURVES) is not None)
    assert first.findtext(f"{SVG}title") == name
    assert " ".join(t.text or "" for t in first.findall(f"{SVG}text")) == name
