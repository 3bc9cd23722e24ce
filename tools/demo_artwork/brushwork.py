"""Brush marks for the painting, and the things painted directly: trees, boat, reeds.

Positions are in study pixels (600 by 700), whatever size the picture is drawn at.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from PIL import ImageDraw

from inksim.common import FloatArray

from .curves import shift, spline

STUDY = (600, 700)


def rgb(code: str) -> FloatArray:
    return np.array([int(code[i : i + 2], 16) for i in (1, 3, 5)]) / 255


def ramp(x: ArrayLike, stops: list[tuple[float, str]]) -> FloatArray:
    """Colors along a gradient."""
    at = [s for s, _ in stops]
    colours = np.array([rgb(c) for _, c in stops])
    return np.stack([np.interp(x, at, colours[:, i]) for i in range(3)], axis=-1)


def paint(draw: ImageDraw.ImageDraw, shapes: FloatArray, colours: FloatArray) -> None:
    """Polygons (n, k, 2) in study pixels, colors (n, 3) from 0 to 1."""
    k = draw.im.size[0] / STUDY[0]
    corners = np.rint(shapes * k).astype(int).reshape(len(shapes), -1).tolist()
    fills = np.rint(np.clip(colours, 0, 1) * 255).astype(int)
    for corner, fill in zip(corners, map(tuple, fills.tolist()), strict=True):
        draw.polygon(corner, fill=fill)


def dabs(
    centre: FloatArray, angle: FloatArray, length: FloatArray, width: FloatArray, bend: FloatArray
) -> FloatArray:
    """Curved, pointed brush marks: (n, 14, 2) polygons."""
    t = np.linspace(-1, 1, 8)
    half = np.sqrt(np.clip(1 - np.abs(t) ** 2.6, 0, 1))
    x = length[:, None] / 2 * t
    spine = bend[:, None] * (t**2 - 0.4)
    up = spine + width[:, None] / 2 * half
    down = spine - width[:, None] / 2 * half
    xs = np.concatenate([x, x[:, -2:0:-1]], axis=1)
    ys = np.concatenate([up, down[:, -2:0:-1]], axis=1)
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    return np.stack([centre[:, :1] + xs * c - ys * s, centre[:, 1:] + xs * s + ys * c], axis=-1)


TREES = [  # x, foot y, height, spread, shade, middle, light
    (152, 345, 66, 27, "#5f725f", "#8d956b", "#c9bc8a"),
    (470, 343, 58, 25, "#62755f", "#90976c", "#cdbf8c"),
    (528, 372, 138, 52, "#2f452d", "#6d7438", "#cdb05a"),
    (78, 395, 192, 70, "#22381f", "#526631", "#a59a4c"),
    (146, 404, 122, 46, "#5a3c1d", "#ad6d2a", "#e2ad52"),
]


def trees(draw: ImageDraw.ImageDraw, rng: np.random.Generator) -> None:
    """Leafy trees on both banks: shade on the grass, trunk, then dabs from dark to light."""
    for x, foot, height, spread, *tones in TREES:
        crown = foot - 0.58 * height
        n = int(spread * 2)
        at = rng.normal(0, 1, (n, 2)) * (spread * 0.50, 0.016 * height) + (
            x - spread * 0.15,
            foot + 1,
        )
        length = rng.uniform(0.10, 0.26, n) * spread
        shade = 0.75 * rgb("#3d4a2b") + 0.25 * rgb(tones[0]) + rng.normal(0, 0.02, (n, 1))
        paint(draw, dabs(at, np.zeros(n), length, length * 0.18, np.zeros(n)), shade)
        w = 0.022 * height
        trunk = [(x - w, foot + 2), (x - w * 0.5, crown), (x + w * 0.5, crown), (x + w, foot + 2)]
        paint(draw, np.array([trunk]), 0.6 * rgb("#2e261c")[None] + 0.4 * rgb(tones[0]))
        _crown(draw, rng, x=x, y=crown, spread=spread, height=height, tones=tones)


def _crown(
    draw: ImageDraw.ImageDraw,
    rng: np.random.Generator,
    *,
    x: float,
    y: float,
    spread: float,
    height: float,
    tones: list[str],
) -> None:
    """Leaves on rounded boughs, lit from the upper right, darkest laid first."""
    golden = np.arange(17) * 2.39996 + rng.normal(0, 0.25, 17)  # sunflower spacing fills a disc
    angle, out = golden, np.sqrt(np.linspace(0.0, 0.72, 17)) * rng.uniform(0.85, 1.12, 17)
    boughs = np.stack([np.cos(angle), np.sin(angle)], axis=1) * out[:, None]
    count = int(height * 26)
    bough = rng.integers(0, len(boughs), count)
    angle, out = rng.uniform(0, 2 * np.pi, count), rng.uniform(0, 1, count) ** 0.6 * 0.42
    offset = np.stack([np.cos(angle), np.sin(angle)], axis=1) * out[:, None]
    leaf = boughs[bough] + offset
    lit = (leaf @ (0.30, -0.42)) + (offset @ (0.55, -0.95)) + rng.normal(0, 0.12, count)
    order = np.argsort(lit + rng.normal(0, 0.12, count))
    leaf, lit = leaf[order], lit[order]
    at = leaf * (spread * 0.80, height * 0.36) + (x, y)
    size = rng.uniform(0.010, 0.020, count) * height + 0.7
    colours = ramp(lit, [(-0.5, tones[0]), (0.08, tones[1]), (0.62, tones[2])])
    colours = colours + rng.normal(0, 0.022, (count, 1))
    paint(draw, dabs(at, rng.uniform(-0.9, 0.9, count), size * 2.2, size, size * 0.2), colours)


def _plank(
    draw: ImageDraw.ImageDraw,
    rng: np.random.Generator,
    upper: list[tuple[float, float]],
    lower: list[tuple[float, float]],
    tones: list[tuple[float, str]],
    *,
    count: int,
    width: float,
) -> None:
    """Lengthwise marks between two edges; ``tones`` run from the upper edge (0) to the lower."""
    top, low = spline(upper), spline(lower)
    low = np.stack(
        [np.interp(np.linspace(0, 1, len(top)), np.linspace(0, 1, len(low)), c) for c in low.T], 1
    )
    s = np.sort(rng.random(count))
    i = rng.integers(1, len(top) - 1, count)
    edge = s[:, None]
    at = top[i] * (1 - edge) + low[i] * edge
    ahead = (top[i + 1] - top[i - 1]) * (1 - edge) + (low[i + 1] - low[i - 1]) * edge
    length = rng.uniform(5, 13, count) * np.sin(np.pi * i / (len(top) - 1)) ** 0.5
    colours = ramp(s, tones) + rng.normal(0, 0.022, (count, 1))
    paint(draw, np.concatenate([top, low[::-1]])[None], ramp([0.6], tones))
    marks = dabs(at, np.arctan2(ahead[:, 1], ahead[:, 0]), length, np.full(count, width), 0 * s)
    paint(draw, marks, colours)


def boat(draw: ImageDraw.ImageDraw, rng: np.random.Generator) -> None:
    """A small boat moored in the bend, with its reflection."""
    x, y = 300.0, 528.0

    def at(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
        return [(x + 1.18 * px, y + 1.18 * py) for px, py in points]

    for _ in range(90):  # reflection: dark under the hull, broken further down
        depth = rng.random() ** 1.4
        half = 62 * (1 - 0.55 * depth)
        centre = np.array(at([(rng.uniform(-half, half), 22 + 40 * depth)]))
        tone = ramp([depth], [(0, "#22302f"), (0.5, "#4a4038"), (1, "#58737a")])
        size = np.array([rng.uniform(10, 34) * (1 - 0.4 * depth)])
        paint(draw, dabs(centre, np.zeros(1), size, size * 0.09, size * 0), tone)
    near = at([(-82, -17), (-46, -2), (4, 3), (44, 0), (70, -9)])
    far = at([(-82, -17), (-44, -14), (4, -13), (44, -13), (70, -9)])
    keel = at([(-82, -17), (-52, 13), (-6, 24), (36, 23), (66, 13)])
    wood = [(0, "#3a2a1f"), (0.5, "#6b4e33"), (1, "#2c211b")]
    _plank(draw, rng, far, near, wood, count=150, width=1.6)
    for seat in (-30, 6, 40):
        board = at([(seat - 4, -13), (seat + 5, -13), (seat + 9, 0), (seat - 1, 0)])
        paint(draw, np.array([board]), rgb("#b08f5c")[None])
        lit = at([(seat + 2, -13), (seat + 5, -13), (seat + 9, 0), (seat + 5, 0)])
        paint(draw, np.array([lit]), rgb("#dcc08a")[None])
    strakes = [
        (0, "#c8693a"),
        (0.22, "#b4532f"),
        (0.3, "#e5d3a8"),
        (0.36, "#8e3f29"),
        (1, "#33201c"),
    ]
    _plank(draw, rng, near, keel, strakes, count=420, width=1.7)
    for edge, code, thick in ((far, "#a58559", 1.5), (near, "#ead6a4", 2.4)):
        path = spline(edge)
        rim = np.concatenate([path, shift(path[::-1], 0, thick)])
        paint(draw, rim[None], rgb(code)[None])
    bow = at([(-82, -17), (-100, -6), (-124, 0)])
    rope = spline(bow)
    paint(draw, np.concatenate([rope, shift(rope[::-1], 0, 1.0)])[None], rgb("#d8c79c")[None])
    post = at([(-126, -24), (-122, -24), (-121, 16), (-127, 16)])
    paint(draw, np.array([post]), rgb("#3b3226")[None])
    paint(
        draw,
        np.array([at([(-123.5, -24), (-122, -24), (-121, 16), (-123, 16)])]),
        rgb("#8d7550")[None],
    )


def grasses(draw: ImageDraw.ImageDraw, rng: np.random.Generator) -> None:
    """Reeds and seed heads rise from the near banks, dark first, light last."""
    tones = ("#16261a", "#22361d", "#38491f", "#5d662b", "#8f813b", "#c9ab62")
    for k, code in enumerate(tones):
        n = (330, 300, 230, 150, 80, 46)[k]
        left = rng.random(n) < 0.56
        across = rng.beta(1.1, 2.4, n)
        x = np.where(left, across * 225, 600 - across * 175)
        foot = 690 + rng.uniform(-46, 20, n) - 60 * across
        height = rng.uniform(50, 175, n) * (1.0 - 0.45 * across)
        lean = rng.normal(0.10, 0.13, n)
        t = np.linspace(0, 1, 9)
        px = x[:, None] + lean[:, None] * height[:, None] * t**2
        py = foot[:, None] - height[:, None] * t
        half = (
            rng.uniform(0.8, 1.9, n)[:, None]
            * np.clip(np.sin(np.pi * (0.12 + 0.88 * t)), 0, 1) ** 0.6
        )
        blades = np.concatenate(
            [np.stack([px - half, py], -1), np.stack([px + half, py], -1)[:, ::-1]], axis=1
        )
        colours = rgb(code) + rng.normal(0, 0.02, (n, 1))
        paint(draw, blades, colours)
        if k >= 3:
            tips = np.stack([px[:, -1], py[:, -1]], axis=1)
            size = rng.uniform(6, 12, n)
            paint(draw, dabs(tips, np.pi / 2 - lean * 2, size, size * 0.24, size * 0.05), colours)
