"""What prints on a garment, cut twice through a target: at its hue, and at its lightness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import streamlit as st

from inksim.colour import Viewing, hex_code, hex_from_rgb8, lab, srgb8, xyz, xyz_from_lab
from inksim.common import BoolArray, FloatArray, visible
from inksim.decision import SHAPES, Answer, Gamut
from inksim.ui.charts import INK, finished, frame, words_over
from inksim.ui.style import note, plain

STEP, FINER = 2.5, 5
"""Width of a patch of a slice, units of CIELAB; parts of it, each way, at the slice's edge."""
LIGHTNESS = "Lightness L*"
SHAPES_OF = {"target": "circle", "print": "triangle-up", "cloth": "square"}


@dataclass(frozen=True, kw_only=True, eq=False)
class Slice:
    """A plane through CIELAB: a point of it and two directions in it, at right angles, (3,)."""

    title: str
    axes: tuple[str, str]
    through: FloatArray
    across: FloatArray
    up: FloatArray

    def flat(self, colours: FloatArray) -> FloatArray:
        """Places (..., 2) in the slice of CIELAB (..., 3), seen straight onto it."""
        return (colours - self.through) @ np.stack([self.across, self.up], axis=-1)

    def lab(self, flat: FloatArray) -> FloatArray:
        """CIELAB (..., 3) of places (..., 2)."""
        return self.through + flat @ np.stack([self.across, self.up])


def slices_through(target: FloatArray) -> tuple[Slice, Slice]:
    """The slice at the hue of a color (3,), its opposite to the left, and at its lightness."""
    hue = float(np.arctan2(target[2], target[1]))
    return (
        Slice(
            title=f"At its hue, {np.degrees(hue) % 360:.0f}°",
            axes=("Colorfulness C*, the opposite hue to the left", LIGHTNESS),
            through=np.zeros(3),
            across=np.array([0.0, np.cos(hue), np.sin(hue)]),
            up=np.array([1.0, 0.0, 0.0]),
        ),
        Slice(
            title=f"At its lightness, L* {target[0]:.0f}",
            axes=("a*, green to red", "b*, blue to yellow"),
            through=np.array([target[0], 0.0, 0.0]),
            across=np.array([0.0, 1.0, 0.0]),
            up=np.array([0.0, 0.0, 1.0]),
        ),
    )


def gamut(found: Gamut, cell: Answer, *, viewing: Viewing) -> None:
    """Show where the target of an answer lies in what prints on its garment."""
    target, seen = cell.target.lab(viewing), xyz(found.garment.reflectance, viewing)
    marks = [
        ("target", target, cell.target.hex(viewing)[0]),
        ("cloth", lab(found.garment.reflectance, viewing), hex_code(seen, viewing)[0]),
    ]
    if not cell.build.bare:
        marks.append(("print", cell.lab, cell.hex))
    where = "inside" if found.contains(target) else "outside"
    for each in slices_through(target):
        st.subheader(plain(each.title))
        st.altair_chart(
            _chart(found, each, marks, viewing=viewing), width="stretch", theme=None,
            alt=visible(
                f"{each.title}: {cell.target.name} lies {where} what the shop's inks, mixed, "
                f"print on {found.garment.name}; {_said(cell)}"
            ),
        )  # fmt: skip
    note(
        f"{cell.target.name} lies {where} what prints: no mix of these inks leaves the outline. "
        "Cloth and print are seen straight onto the slice."
    )


def _said(cell: Answer) -> str:
    return cell.mark if cell.build.bare else f"{SHAPES[cell.verdict.word]} {cell.verdict.word}"


def _chart(
    found: Gamut,
    cut: Slice,
    marks: Sequence[tuple[str, FloatArray, str]],
    *,
    viewing: Viewing,
) -> Any:
    import altair as alt

    edge = found.edge(cut.through, across=cut.across, up=cut.up)
    x, y = alt.X("x:Q", title=cut.axes[0]), alt.Y("y:Q", title=cut.axes[1])
    places = [(what, *cut.flat(colour), code) for what, colour, code in marks]
    middle = float(np.mean([edge[:, 0].min(), edge[:, 0].max()])) if len(edge) else 0.0
    layers = []
    if len(edge):
        patches = alt.Chart(frame(_patches(found, cut, edge, viewing=viewing)))
        layers.append(
            patches.mark_rect(clip=True, strokeWidth=0.6).encode(  # no seams between patches
                x=x,
                y=y,
                x2="x2:Q",
                y2="y2:Q",
                fill=alt.Fill("hex:N", scale=None),
                stroke=alt.Stroke("hex:N", scale=None),
            )
        )
        outline = [
            {"x": float(a), "y": float(b), "at": at} for at, (a, b) in enumerate([*edge, edge[0]])
        ]
        layers.append(
            alt.Chart(frame(outline))
            .mark_line(color=INK, strokeWidth=2)
            .encode(x=x, y=y, order=alt.Order("at:Q"))
        )
    for what, across, up, code in places:
        point = alt.Chart(frame([{"x": float(across), "y": float(up), "what": what}])).encode(
            x=x, y=y
        )
        layers.append(
            point.mark_point(
                shape=SHAPES_OF[what], size=170, filled=True, fill=code, stroke=INK, strokeWidth=2,
                opacity=1,
            )
        )  # fmt: skip
        side = "right" if across > middle else "left"
        look: dict[str, Any] = {
            "align": side, "dx": -12 if side == "right" else 12,
            "dy": {"target": -9, "print": 11, "cloth": 0}[what],
        }  # fmt: skip
        layers += words_over(point, text="what:N", **look)
    return finished(alt.layer(*layers), height=300)


def _patches(
    found: Gamut, cut: Slice, edge: FloatArray, *, viewing: Viewing
) -> list[dict[str, float | str]]:
    """Patches of a slice in their colors, wholly in the hull; at its edge they are finer."""
    low, high = np.floor(edge.min(axis=0) / STEP), np.ceil(edge.max(axis=0) / STEP)
    steps = (np.arange(first, last) * STEP for first, last in zip(low, high, strict=True))
    corners = np.stack(np.meshgrid(*steps), axis=-1).reshape(-1, 2)
    touched = _inside(found, cut, corners, STEP)
    parts = np.stack(np.meshgrid(np.arange(FINER), np.arange(FINER)), axis=-1).reshape(-1, 2)
    fine = STEP / FINER
    small = (corners[touched.any(axis=1) & ~touched.all(axis=1), None] + fine * parts).reshape(
        -1, 2
    )
    small = small[_inside(found, cut, small, fine).all(axis=1)]
    made: list[dict[str, float | str]] = []
    for at, size in ((corners[touched.all(axis=1)], STEP), (small, fine)):
        codes, _ = srgb8(xyz_from_lab(cut.lab(at + size / 2), viewing), viewing)
        made += [
            {"x": float(a), "x2": float(a + size), "y": float(b), "y2": float(b + size),
             "hex": hex_from_rgb8(code)}
            for (a, b), code in zip(at, codes, strict=True)
        ]  # fmt: skip
    return made


def _inside(found: Gamut, cut: Slice, corners: FloatArray, size: float) -> BoolArray:
    """Whether the corners (n, 4) of squares, given by their lowest (n, 2), lie in the hull."""
    around = size * np.array([(0, 0), (1, 0), (0, 1), (1, 1)])
    return found.contains(cut.lab(corners[:, None] + around))
