"""Altair charts; swatches are true colors (`scale=None`).

Channels are made by class: Altair finds that of a bare text by hashing its schemas, a tenth of the
time of a page with charts.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import product
from typing import Any

import numpy as np

from inksim.calibration import NOT_SHOWN
from inksim.colour import WAVELENGTHS_NM
from inksim.common import ROUTE_TITLES, FloatArray, cell, visible
from inksim.printing import ROUTES
from inksim.reports import spread

INK, PAPER = "#1a1a1a", "#e4e4e4"
NAME_NM, NAME_HIGH, NAME_EDGE, FREE = 110.0, 0.05, 7, 0.2
"""Room of a line's name on a phone: width in nm, height as a share, bands to the edge; enough."""
DASHES = ([1, 0], [6, 3], [2, 2], [8, 3, 2, 3], [12, 4])


def _wavelengths() -> Any:
    """The axis of wavelengths."""
    import altair as alt

    return alt.X(
        "nm:Q",
        title="Wavelength, nm",
        scale=alt.Scale(domain=[400, 700], nice=False),
        axis=alt.Axis(values=list(range(400, 701, 50))),
    )


def tips(*fields: str) -> list[Any]:
    """What a mark tells under the pointer: "name:Q", or "name:Q|.1f" with its number's format."""
    from altair import Tooltip, Undefined

    pairs = [each.partition("|") for each in fields]
    return [Tooltip(name, format=how or Undefined) for name, _, how in pairs]


def kinds_of_mark(
    field: str, kinds: Mapping[str, tuple[str, str]], **legend: Any
) -> dict[str, Any]:
    """Kinds of a point, name → (shape, shade), with their words above the chart."""
    import altair as alt

    names = list(kinds)
    shapes, shades = (
        alt.Scale(domain=names, range=list(each)) for each in zip(*kinds.values(), strict=True)
    )
    words = alt.Legend(title=None, orient="top", **legend)
    return {
        "shape": alt.Shape(field, sort=names, scale=shapes, legend=words),
        "fill": alt.Fill(field, sort=names, scale=shades),
    }


def finished(chart: Any, *, height: Any, **legend: Any) -> Any:
    """A chart on the page's ground, with dark words."""
    return (
        chart.properties(height=height)
        .configure(background="transparent")
        .configure_axis(labelColor=INK, titleColor=INK, gridColor="#a9a9a9")
        .configure_legend(labelColor=INK, **legend)
    )


def frame(rows: Iterable[Mapping[str, Any]]) -> Any:
    """Table of a chart or a grid; its texts as a spreadsheet may take them away (`common.cell`)."""
    import pandas as pd

    return pd.DataFrame(
        [{key: cell(v) if isinstance(v, str) else v for key, v in row.items()} for row in rows]
    )


def _named(base: Any, lines: Mapping[str, FloatArray], *, value: str) -> list[Any]:
    """The name of each line (31,) over or under it, where most is free of others and their names.

    lines: their heights on the axis of `value` as it is drawn.
    """
    span = max(float(np.ptp(np.stack(list(lines.values())))), 1e-9)
    heights = {name: own / span for name, own in lines.items()}
    all_lines = np.stack(list(heights.values()))
    layers: list[Any] = []
    placed: list[tuple[float, float]] = []
    for name, own in heights.items():
        others = [np.abs(other - own) for key, other in heights.items() if key != name]
        apart = np.min(others, axis=0, initial=FREE)
        sides = []
        for up, at in product((1.0, -1.0), range(NAME_EDGE, len(own) - NAME_EDGE)):
            nm, high = float(WAVELENGTHS_NM[at]), own[at] + up * NAME_HIGH
            over = all_lines[:, at - 4 : at + 5]
            clear = np.maximum(over.min(axis=1) - high, high - over.max(axis=1)).min()
            taken = any(
                abs(nm - there) < NAME_NM and abs(high - level) < 1.2 * NAME_HIGH
                for there, level in placed
            )
            room = 3.0 * min(float(clear), 0.8 * NAME_HIGH) + float(apart[at]) - 2.0 * taken
            sides.append((room, up, at))
        _, up, at = max(sides)
        placed.append((float(WAVELENGTHS_NM[at]), float(own[at] + up * NAME_HIGH)))
        here = {"line": cell(name), "nm": placed[-1][0]}
        one = base.transform_filter(
            {"and": [{"field": field, "equal": is_} for field, is_ in here.items()]}
        )
        layers += words_over(one, text="line:N", dy=-11 * up, y=value)
    return layers


def words_over(base: Any, *, text: str, **look: Any) -> list[Any]:
    """Words at a place of a chart, in two layers: readable on any color."""
    import altair as alt

    y = look.pop("y", None)
    placed = base.encode(y=alt.Y(y) if isinstance(y, str) else y) if y is not None else base
    under = placed.mark_text(
        fontSize=13, fontWeight="bold", stroke=PAPER, strokeWidth=4, color=PAPER, **look
    )
    over = placed.mark_text(fontSize=13, fontWeight="bold", color=INK, **look)
    return [under.encode(text=alt.Text(text)), over.encode(text=alt.Text(text))]


def spectrum_chart(spectra: Mapping[str, tuple[FloatArray, str]]) -> Any:
    """Reflectance by wavelength: name → (reflectance (31,), hex of its line)."""
    import altair as alt

    rows = frame(
        [
            {"nm": float(nm), "Reflectance, %": 100.0 * float(value), "line": name, "hex": code}
            for name, (values, code) in spectra.items()
            for nm, value in zip(WAVELENGTHS_NM, values, strict=True)
        ]
    )
    names = [cell(name) for name in spectra]
    highest = 100.0 * max(float(values.max()) for values, _ in spectra.values())
    base = alt.Chart(rows).encode(
        x=_wavelengths(),
        y=alt.Y("Reflectance, %:Q", scale=alt.Scale(domainMin=-0.08 * highest)),
        strokeDash=alt.StrokeDash(
            "line:N",
            sort=names,
            scale=alt.Scale(domain=names, range=list(DASHES[: len(names)])),
            legend=None,
        ),
    )
    under = base.mark_line(strokeWidth=5, color=INK)
    over = base.mark_line(strokeWidth=3).encode(
        color=alt.Color("hex:N", scale=None),
        tooltip=tips("line:N", "nm:Q", "Reflectance, %:Q|.1f"),
    )
    heights = {name: 100.0 * values for name, (values, _) in spectra.items()}
    places = alt.Chart(rows).encode(x=_wavelengths())
    words = _named(places, heights, value="Reflectance, %:Q")
    return finished(alt.layer(under, over, *words), height=320)


def ink_chart(K: FloatArray, S: FloatArray) -> Any:
    """Absorption and scattering by wavelength, per µm of dry film, on a logarithmic axis."""
    import altair as alt

    lines = {"K, absorption": np.maximum(K, 1e-5), "S, scattering": np.maximum(S, 1e-5)}
    rows = frame(
        [
            {"nm": float(nm), "per µm": float(value), "line": name}
            for name, values in lines.items()
            for nm, value in zip(WAVELENGTHS_NM, values, strict=True)
        ]
    )
    drawn = (
        alt.Chart(rows)
        .mark_line(strokeWidth=2.5, color=INK)
        .encode(
            x=_wavelengths(),
            y=alt.Y(
                "per µm:Q",
                title="Per µm of dry film",
                scale=alt.Scale(type="log"),
                axis=alt.Axis(values=[0.0001, 0.001, 0.01, 0.1, 1, 10], format="~g"),
            ),
            strokeDash=alt.StrokeDash(
                "line:N",
                scale=alt.Scale(range=list(DASHES[:2])),
                legend=None,
            ),
            tooltip=tips("line:N", "nm:Q", "per µm:Q|.4f"),
        )
    )
    places = alt.Chart(rows).encode(x=_wavelengths())
    words = _named(places, {n: np.log10(v) for n, v in lines.items()}, value="per µm:Q")
    return finished(alt.layer(drawn, *words), height=260)


ROUTE_SHAPES = {
    ROUTE_TITLES[route]: shape
    for route, shape in zip(ROUTES, ("circle", "triangle-up", "square"), strict=True)
}


def chance_chart(rows: Any) -> Any:
    """Chance to land against wet ink: a point for each build, its shape the route."""
    import altair as alt

    names = list(ROUTE_SHAPES)
    chart = (
        alt.Chart(rows)
        .mark_point(filled=True, size=110, stroke=INK, strokeWidth=1, opacity=1)
        .encode(
            x=alt.X(
                "Wet ink:Q",
                title="Wet ink, cm³/m²",
                scale=alt.Scale(zero=False, padding=12),
                axis=alt.Axis(tickCount=8),
            ),
            y=alt.Y(
                "Chance:Q",
                title="Chance to land, %",
                scale=alt.Scale(domain=[0, 100]),
            ),
            fill=alt.Fill("Print:N", scale=None),
            shape=alt.Shape(
                "Route:N",
                scale=alt.Scale(domain=names, range=list(ROUTE_SHAPES.values())),
                legend=alt.Legend(title=None, orient="top", symbolFillColor=INK, columns=1),
            ),
            tooltip=tips(
                *("Route:N", "Mesh:Q", "Passes:Q", "Base mesh:Q", "Base passes:Q"),
                *("ΔE00:Q|.1f", "Chance:Q|.0f"),
            ),
        )
    )
    return finished(chart, height=280, labelLimit=260)


def cost_chart(rows: Any, *, unit: str) -> Any:
    """Chance that all colors land against the cost of a print; the proposed way is filled."""
    import altair as alt

    proposed = alt.FieldOneOfPredicate("Proposed", [True])
    marked = rows.assign(
        Proposed=rows["Way"].str.contains("proposed"), Number=rows["Way"].str.split().str[0]
    )
    x, y = (
        alt.X(
            "Cost:Q", title=visible(unit), scale=_around(marked["Cost"]), axis=alt.Axis(tickCount=6)
        ),
        alt.Y("Chance:Q", title="Chance that all land, %", scale=_around(marked["Chance"])),
    )
    sizes = np.array([_width(marked["Cost"]) / 13, _width(marked["Chance"]) / 10])
    there = marked[["Cost", "Chance"]].to_numpy(dtype=np.float64)
    moved = spread(there / sizes) * sizes
    marked = marked.assign(across=moved[:, 0], up=moved[:, 1])
    lines = (
        alt.Chart(marked)
        .mark_rule(color=INK)
        .encode(x=x, y=y, x2=alt.X2("across:Q"), y2=alt.Y2("up:Q"))
    )
    axes = alt.Chart(marked).encode(
        x=alt.X(
            "across:Q",
            title=visible(unit),
            scale=_around(marked["Cost"]),
            axis=alt.Axis(tickCount=6),
        ),
        y=alt.Y("up:Q", title="Chance that all land, %", scale=_around(marked["Chance"])),
        tooltip=tips(
            "Way:N", "Verdict:N", "Chance:Q|.0f", "Cost:Q|.2f", "Dry film:Q|.1f", "Bases:N"
        ),
    )
    dots = axes.mark_point(size=420, stroke=INK, strokeWidth=2, filled=True, opacity=1).encode(
        fill=alt.condition(proposed, alt.value(INK), alt.value("#e0e0e0"))
    )
    words = axes.mark_text(fontSize=12, fontWeight="bold").encode(
        text=alt.Text("Number:N"),
        color=alt.condition(proposed, alt.value("#f4f4f4"), alt.value(INK)),
    )
    return finished(lines + dots + words, height=280)


def _width(values: Any) -> float:
    """Width of an axis: of values as good as one still such that its ticks read differently."""
    return max(float(np.ptp(values)), 0.1 * float(np.abs(values).max())) or 1.0


def _around(values: Any) -> Any:
    """A scale of values with room for marks at both ends."""
    import altair as alt

    middle, half = float(values.min() + values.max()) / 2, 0.65 * _width(values)
    return alt.Scale(domain=[middle - half, middle + half], nice=False, zero=False)


TOLD = {"these prints show it": ("circle", INK), NOT_SHOWN: ("diamond", "#ffffff")}
"""What an interval is of, by shape, word and shade."""


def interval_chart(rows: Any, *, title: str, middle: float) -> Any:
    """Intervals before (light, wide) and after (dark, thin), each under its name and its words.

    middle: where nothing is moved, a line.
    """
    import altair as alt

    base = alt.Chart(rows).encode(y=alt.Y("Row:N", sort=None, axis=None))
    scale = alt.Scale(zero=False, nice=False, padding=8)

    def across(field: str) -> Any:
        return alt.X(f"{field}:Q", title=title, scale=scale, axis=alt.Axis(tickCount=6, grid=False))

    before = base.mark_rule(strokeWidth=12, color="#e0e0e0").encode(
        x=across("Before low"), x2=alt.X2("Before high")
    )
    after = base.mark_rule(strokeWidth=4, color="#5a5a5a").encode(
        x=across("Low"), x2=alt.X2("High")
    )
    line = (
        alt.Chart(frame([{"at": middle}]))
        .mark_rule(color="#7a7a7a", strokeDash=[3, 3])
        .encode(x=alt.X("at:Q", title=title))
    )
    dots = base.mark_point(filled=True, size=95, stroke=INK, strokeWidth=1.2, opacity=1).encode(
        x=across("Value"),
        **kinds_of_mark("Told:N", TOLD, labelLimit=260),
    )
    words: dict[str, Any] = {
        "align": "left",
        "baseline": "middle",
        "color": INK,
        "limit": 900,
        "font": "Source Sans, sans-serif",
    }
    left: dict[str, Any] = {"x": alt.value(0)}
    heads = base.mark_text(fontSize=13, fontWeight="bold", dy=-28, **words)
    said = base.mark_text(fontSize=12.5, dy=-13, **words)
    texts = heads.encode(text=alt.Text("Row:N"), **left) + said.encode(
        text=alt.Text("Said:N"), **left
    )
    return finished(before + line + after + dots + texts, height=alt.Step(62))


CALIBRATED = {
    "before": ("circle", "#ffffff"),
    "after": ("triangle-up", "#8a8a8a"),
    "by the other readings": ("square", INK),
}
"""Predictions of a reading by shape and shade; the last is what to expect of a new print."""


def calibration_chart(rows: Any) -> Any:
    """Residual ΔE00 of each reading, before and after calibration."""
    import altair as alt

    base = alt.Chart(rows).encode(
        y=alt.Y("Reading:N", sort=None, title=None, axis=alt.Axis(labelLimit=180)),
        x=alt.X(
            "ΔE00:Q",
            title="ΔE00 from the reading",
            scale=alt.Scale(domainMin=0),
            axis=alt.Axis(tickCount=8),
        ),
    )
    lines = base.mark_line(color="#6a6a6a", strokeWidth=2).encode(detail=alt.Detail("Reading:N"))
    marks = base.mark_point(filled=True, size=95, stroke=INK, strokeWidth=1.2, opacity=1).encode(
        **kinds_of_mark("Predicted:N", CALIBRATED, labelLimit=260, columns=1),
        tooltip=tips("Reading:N", "Predicted:N", "ΔE00:Q|.1f"),
    )
    return finished(lines + marks, height=alt.Step(26))
