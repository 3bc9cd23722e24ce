"""The regatta's scene: mill and hills, boat of pears, reeds. Design pixels, 300 to the inch."""

from __future__ import annotations

import numpy as np

from .curves import Path, brush, ellipse, outline, place, shift, spline
from .flat import FlatCanvas
from .palette import CREAM, EDGE, FINE, ORANGE, TEAL, YELLOW


def draw_landscape(c: FlatCanvas, rng: np.random.Generator) -> None:
    """Sky with cloud bands, ripe fields, a mill on the far bank, and the river."""
    c.fill(np.array([(600, 800), (3000, 800), (3000, 3500), (600, 3500)], float), ORANGE)
    _clouds(c)
    _fields(c)
    _far_bank(c, rng)
    c.fill(
        np.vstack(
            [
                spline([(600, 2012), (1200, 2030), (1900, 2006), (3000, 2030)]),
                [(3000, 3500), (600, 3500)],
            ]
        ),
        TEAL,
    )
    _ripples(c, rng)
    _scull(c)


def _clouds(c: FlatCanvas) -> None:
    bands = [  # x0, x1, y, thickness, ink
        (640, 1330, 1415, 44, YELLOW),
        (820, 1560, 1490, 30, CREAM),
        (600, 1180, 1560, 40, YELLOW),
        (1280, 1500, 1335, 20, CREAM),
        (2130, 2960, 1330, 44, YELLOW),
        (2250, 2760, 1255, 26, CREAM),
        (2330, 3000, 1420, 28, CREAM),
        (2080, 2520, 1500, 40, YELLOW),
        (1330, 1830, 1110, 26, YELLOW),
        (1560, 2200, 1055, 18, CREAM),
    ]
    for x0, x1, y, thick, ink in bands:
        mid = (x0 + x1) / 2
        c.fill(brush([(x0, y), (mid, y - 12), (x1, y)], [0, thick, thick, thick * 0.6, 0]), ink)


def _fields(c: FlatCanvas) -> None:
    far = spline(
        [
            (560, 1800),
            (820, 1700),
            (1150, 1730),
            (1500, 1800),
            (1900, 1700),
            (2300, 1640),
            (2700, 1700),
            (3040, 1660),
        ]
    )
    c.fill(np.vstack([far, [(3040, 2100), (560, 2100)]]), TEAL)
    for start, end in ((40, 24), (84, 58)):
        c.line(far + np.linspace(start, end, len(far))[:, None] * (0, 1), ORANGE, width=FINE)
    near = spline(
        [(560, 1905), (900, 1850), (1350, 1880), (1800, 1830), (2300, 1790), (3040, 1890)]
    )
    c.fill(np.vstack([near, [(3040, 2100), (560, 2100)]]), YELLOW)
    for k in range(9):  # furrows run to one vanishing point behind the heron
        foot = 1330 + 205 * k
        top = 1900 + (foot - 1900) * 0.6
        ridge = float(np.interp(top, near[:, 0], near[:, 1])) + 5
        bend = (1900 + (foot - 1900) * 0.88, 0.6 * ridge + 0.4 * 2080)
        c.fill(brush([(top, ridge), bend, (foot, 2080)], [5, 14, 24]), ORANGE)


def _far_bank(c: FlatCanvas, rng: np.random.Generator) -> None:
    """A row of round trees and, at the left, a watermill with its wheel in the race."""
    for x in np.arange(1330, 3020, 62):
        r = 34 + 22 * rng.random()
        c.fill(ellipse(x, 1990 - r * 0.6, r, r * 1.15), TEAL)
    c.fill(np.array([(560, 1985), (3040, 1985), (3040, 2060), (560, 2060)], float), TEAL)
    for x, h in ((640, 270), (1255, 210)):
        c.fill(brush([(x, 1990), (x, 1990 - h / 2), (x, 1990 - h)], [76, 90, 66, 0]), TEAL)
    walls = np.array([(830, 2000), (830, 1770), (945, 1650), (1060, 1770), (1060, 2000)], float)
    c.shape(walls, CREAM, edge=TEAL, width=EDGE)
    roof = np.array(
        [(790, 1785), (945, 1620), (1100, 1785), (1066, 1810), (945, 1690), (824, 1810)], float
    )
    c.shape(roof, ORANGE, edge=TEAL, width=EDGE)
    for x, y in ((885, 1830), (975, 1830)):
        c.fill(np.array([(x, y), (x + 36, y), (x + 36, y + 58), (x, y + 58)], float), TEAL)
    c.fill(outline([(925, 2000), (925, 1945), (945, 1920), (965, 1945), (965, 2000)]), TEAL)
    hub = (1120.0, 1945.0)
    c.fill(ellipse(*hub, 112, 112), TEAL)
    c.fill(ellipse(*hub, 94, 94), YELLOW)
    c.fill(ellipse(*hub, 72, 72), TEAL)
    for a in np.arange(0, 360, 45):
        spoke = np.array([(0, -6), (106, -6), (106, 6), (0, 6)], float)
        c.fill(place(spoke, at=hub, turn=a + 12), YELLOW)
    c.fill(ellipse(*hub, 20, 20), CREAM)


def _ripples(c: FlatCanvas, rng: np.random.Generator) -> None:
    """Broken wavelets, longer and thicker towards the viewer, in drifts with calm between."""
    y = 2066.0
    while y < 3350:
        near = (y - 2066) / 1290
        x = 600 + 260 * rng.random()
        while x < 2990:
            length = (70 + 230 * near) * (0.6 + 0.9 * rng.random())
            calm = np.sin(x / 260 + y / 90) + np.sin(x / 410 - y / 170) < -0.35
            ink = (CREAM, CREAM, YELLOW)[rng.integers(3)]
            if not calm:
                thick = FINE + 9 * near
                wave = [(x, y), (x + length * 0.45, y + 4 + 12 * near), (x + length, y)]
                c.fill(brush(wave, [0, thick, thick * 0.9, 0]), ink)
            x += length * (1.7 + 1.3 * rng.random())
        y += 34 + 50 * near


def _scull(c: FlatCanvas) -> None:
    """A far pair of rowers: the regatta itself."""
    x, y = 1530.0, 2100.0
    c.fill(ellipse(x, y + 6, 230, 40), TEAL)
    for seat in (-50, 46):
        hip = np.array([x + seat, y - 4])
        c.fill(
            brush(
                [hip, shift(hip, -10, -34), shift(hip, -22, -62)], [34, 40, 26], round_start=True
            ),
            ORANGE,
        )
        c.dots([shift(hip, -26, -84)], CREAM, radius=19)
        c.line(
            np.array([shift(hip, -18, -44), shift(hip, 44, -22), shift(hip, 104, 20)]),
            CREAM,
            width=9,
        )
        c.line(np.array([shift(hip, 82, 12), shift(hip, 116, 26)]), YELLOW, width=18)
    c.fill(brush([(x - 235, y - 8), (x, y + 4), (x + 225, y - 8)], [0, 24, 26, 0]), CREAM)
    c.fill(brush([(x - 150, y + 34), (x, y + 38), (x + 150, y + 34)], [0, 10, 10, 0]), CREAM)


def draw_boat(c: FlatCanvas, rng: np.random.Generator) -> None:
    """A clinker rowing boat, bow to the left, heaped with pears, and its broken reflection."""

    def put(points: object) -> Path:
        return place(np.asarray(points, float) - (735, 2235), at=(728, 2300), size=1.2)

    sheer = [(735, 2235), (900, 2318), (1150, 2362), (1420, 2362), (1690, 2315)]
    hull = put(
        outline(
            sheer,
            [(1690, 2315), (1672, 2420), (1600, 2505)],
            [(1600, 2505), (1300, 2530), (1020, 2505), (840, 2395), (735, 2235)],
        )
    )
    inside = put(
        outline(sheer, [(1690, 2315), (1420, 2262), (1150, 2262), (900, 2268), (735, 2235)])
    )
    for k in range(6):
        y, half = 2556 + 24 * k, 390 - 48 * k
        x = 1230 + 26 * (-1) ** k
        c.fill(put(brush([(x - half, y), (x, y + 9), (x + half, y)], [0, 16, 16, 0])), ORANGE)
    c.shape(inside, TEAL, edge=TEAL, width=EDGE)
    heap = [
        (985, 2300),
        (1075, 2296),
        (1165, 2300),
        (1255, 2302),
        (1345, 2304),
        (1435, 2300),
        (1030, 2240),
        (1120, 2232),
        (1212, 2236),
        (1300, 2236),
        (1388, 2246),
        (1165, 2172),
        (1255, 2176),
    ]
    for x, y in heap:
        turn = float(rng.uniform(-38, 38))
        draw_pear(c, at=tuple(put([(x, y + 40)])[0]), turn=turn, size=0.43, rng=rng)
    c.shape(hull, ORANGE, edge=TEAL, width=EDGE)
    for drop, ink in ((78, CREAM), (112, YELLOW)):
        strake = spline(
            [
                (772 + drop * 0.42, 2235 + drop),
                (900 + drop * 0.3, 2318 + drop * 0.86),
                (1150, 2362 + drop * 0.8),
                (1420, 2362 + drop * 0.8),
                (1668, 2318 + drop),
            ]
        )
        c.line(put(strake[8:-4]), ink, width=FINE)
    rail = [(722, 2215), (900, 2310), (1150, 2356), (1420, 2356), (1700, 2307)]
    c.fill(put(brush([(712, 2209), *rail[1:4], (1708, 2305)], [38, 50, 50, 50, 46])), TEAL)
    c.fill(put(brush(rail, [18, 28, 28, 28, 26])), CREAM)
    for lock in put([(1060, 2358), (1330, 2360)]):
        c.dots([lock], TEAL, radius=23)
        c.dots([lock], YELLOW, radius=11)


PEAR = [
    (-26, -300),
    (-74, -262),
    (-92, -190),
    (-112, -110),
    (-172, -10),
    (-186, 100),
    (-128, 196),
    (0, 226),
    (128, 196),
    (186, 100),
    (172, -10),
    (112, -110),
    (92, -190),
    (74, -262),
    (26, -300),
]


def draw_pear(
    c: FlatCanvas,
    *,
    at: tuple[float, float],
    turn: float,
    size: float,
    rng: np.random.Generator,
) -> None:
    """A yellow pear with an orange cheek, dotted skin and a cream light."""

    def put(points: object) -> Path:
        return place(np.asarray(points, float), at=at, turn=turn, size=size)

    edge = EDGE if size < 0.6 else 20.0
    body = spline(PEAR, closed=True)
    c.line(put(spline([(0, -285), (10, -350), (44, -410)])), TEAL, width=34 * max(size, 0.6))
    c.shape(put(body), YELLOW, edge=TEAL, width=edge)
    steps = len(body) // len(PEAR)
    shade = spline([(26, -300), (30, -200), (44, -100), (84, 10), (70, 120), (-40, 218)])
    c.fill(put(np.vstack([body[int(6.6 * steps) : 14 * steps], shade])), ORANGE)
    if size >= 0.6:
        edge_x = np.interp(np.linspace(-190, 190, 39), shade[:, 1], shade[:, 0])
        for x, y in _scatter(rng, 70, box=(-60, -190, 96, 190), gap=17):
            inside = float(np.interp(y, np.linspace(-190, 190, 39), edge_x)) - x
            if inside > 0:  # smaller away from the shade
                c.dots(put([(x, y)]), ORANGE, radius=8.5 * max(0.5, 1 - inside / 110) * size)
        for x, y in _scatter(rng, 20, box=(92, -10, 164, 160), gap=22):
            if ((x - 128) / 36) ** 2 + ((y - 75) / 84) ** 2 < 1:
                c.dots(put([(x, y)]), YELLOW, radius=6)
    c.fill(put(brush([(-98, -80), (-140, 5), (-150, 90), (-108, 158)], [0, 26, 30, 0])), CREAM)


def _scatter(
    rng: np.random.Generator, count: int, *, box: tuple[float, float, float, float], gap: float
) -> Path:
    """Up to ``count`` random points in a box (left, top, right, bottom), none nearer than gap."""
    kept: list[Path] = []
    for point in rng.uniform(box[:2], box[2:], (6 * count, 2)):
        if len(kept) < count and all(np.hypot(*(point - k)) >= gap for k in kept):
            kept.append(point)
    return np.array(kept)


def draw_leaf(
    c: FlatCanvas, *, at: tuple[float, float], turn: float, size: float, mirror: bool = False
) -> None:
    """A pear leaf growing to the right from ``at``."""

    def put(points: object) -> Path:
        return place(np.asarray(points, float), at=at, turn=turn, size=size, mirror=mirror)

    blade = outline(
        [(0, 0), (70, -78), (190, -96), (330, -10)], [(330, -10), (220, 62), (90, 58), (0, 0)]
    )
    c.line(put(blade), CREAM, width=24, closed=True)
    c.fill(put(blade), TEAL)
    c.line(put(spline([(18, -4), (120, -18), (290, -12)])), CREAM, width=FINE)
    for x in (90, 150, 210):
        c.line(put([(x, -16), (x + 46, -56)]), CREAM, width=8)
        c.line(put([(x, -14), (x + 50, 22)]), CREAM, width=8)


def draw_reed(
    c: FlatCanvas,
    *,
    root: tuple[float, float],
    tip: tuple[float, float],
    bow: float,
    ink: int,
    width: float = 80,
) -> None:
    """One blade: rises steeply, then bends over towards its tip."""
    r, t = np.array(root), np.array(tip)
    mid = r + (t - r) * (0.42, 0.60) + (-bow, 0)
    spine = [r, mid, r + (t - r) * (0.80, 0.93) + (-bow * 0.25, 0), t]
    widths = np.array([0.7, 0.95, 1.0, 0.85, 0.45, 0.0]) * width
    c.fill(brush(spine, widths + 2 * EDGE * np.array([1, 1, 1, 1, 1, 0.4])), TEAL)
    c.fill(brush(spine, widths), ink)
    vein = spline(spine)
    c.line(vein[6 : int(len(vein) * 0.72)], TEAL, width=7)


def draw_bulrush(
    c: FlatCanvas, *, root: tuple[float, float], top: tuple[float, float], length: float = 250
) -> None:
    """A stalk with its brown head and the bare spike above it."""
    r, t = np.array(root), np.array(top)
    stalk = spline([r, r + (t - r) * (0.35, 0.5), t])
    c.line(stalk, TEAL, width=20 + 2 * 11)
    c.line(stalk, YELLOW, width=20)
    lean = np.degrees(np.arctan2(*(stalk[-1] - stalk[-6]) * (1, -1)))
    head = np.vstack(
        [ellipse(0, -length, 36, 40, start=180, end=360), ellipse(0, 0, 36, 40, start=0, end=180)]
    )
    c.line(place([(0, 0), (0, -length - 150)], at=tuple(t), turn=lean), TEAL, width=20)
    c.shape(place(head, at=tuple(t), turn=lean), ORANGE, edge=TEAL, width=EDGE)
    c.line(place([(-14, -length + 10), (-14, -30)], at=tuple(t), turn=lean), CREAM, width=9)
    for k in range(5):
        c.dots(place([(12, -length + 30 + k * 46)], at=tuple(t), turn=lean), TEAL, radius=6)
