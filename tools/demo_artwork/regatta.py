"""'Millrace Harvest Regatta': a four-color flat T-shirt design of our own, 12 by 14 inches."""

from __future__ import annotations

import numpy as np

from inksim.common import Uint8Array

from .curves import Path, ellipse, outline, place, shift, spline
from .flat import FlatCanvas, keyline, to_rgba
from .heron import draw_heron
from .lettering import set_on_arc
from .palette import CREAM, EDGE, FINE, ORANGE, PALETTE, TEAL, YELLOW
from .riverside import (
    draw_boat,
    draw_bulrush,
    draw_landscape,
    draw_leaf,
    draw_pear,
    draw_reed,
)

SIZE = (3600, 4200)
DPI = 300
KEYLINE = 24.0  # 2 mm of cream around the design keeps its teal edge on a dark garment
SPECK = 44.0  # bare gaps under 88 px (7 mm) inside the keyline are closed
ARCH = (1800.0, 2080.0)
SEED = 20


def picture(*, scale: float = 1.0) -> Uint8Array:
    """The whole design as RGBA."""
    rng = np.random.default_rng(SEED)
    c = FlatCanvas(SIZE, scale=scale)
    _oars(c)
    _window(c, rng)
    _reeds(c)
    _title(c)
    _pears(c, rng)
    _ribbon(c)
    covered = keyline(
        c.coverage(len(PALETTE)), CREAM, width_px=KEYLINE * scale, close_px=SPECK * scale
    )
    return to_rgba(covered, PALETTE)


def arch(grow: float) -> Path:
    """The window: a round arch on straight sides and a sagging sill, ``grow`` px larger."""
    half = 1110 + grow
    top = ellipse(*ARCH, half, half, start=180, end=360)
    sill = spline(
        [(ARCH[0] + half, 3060 + grow), (ARCH[0], 3290 + grow), (ARCH[0] - half, 3060 + grow)]
    )
    return np.vstack([top, sill])


def _window(c: FlatCanvas, rng: np.random.Generator) -> None:
    c.fill(arch(96), TEAL)
    c.fill(arch(74), CREAM)
    c.fill(arch(32), TEAL)
    c.line(arch(53), ORANGE, width=FINE, closed=True)
    scene = c.like()
    draw_landscape(scene, rng)
    draw_boat(scene, rng)
    for root, tip, bow, ink in (
        ((2640, 3300), (2560, 1980), 50, YELLOW),
        ((2800, 3250), (2760, 2240), 40, CREAM),
    ):
        draw_reed(scene, root=root, tip=tip, bow=bow, ink=ink)
    draw_heron(scene)
    c.paste(scene, inside=arch(10))


def _reeds(c: FlatCanvas) -> None:
    """Reeds in front of the window, some past its frame."""
    for root, tip, bow, ink in (
        ((2700, 3330), (2600, 2780), 30, YELLOW),
        ((2960, 3260), (3350, 2330), -90, YELLOW),
        ((2830, 3290), (3150, 2440), -60, CREAM),
        ((2980, 3240), (3390, 2660), -60, YELLOW),
        ((640, 3230), (270, 2380), 80, YELLOW),
        ((760, 3270), (470, 2560), 50, CREAM),
        ((600, 3220), (210, 2680), 50, YELLOW),
    ):
        draw_reed(c, root=root, tip=tip, bow=bow, ink=ink)
    draw_bulrush(c, root=(2800, 3300), top=(2870, 1990), length=270)
    draw_bulrush(c, root=(2880, 3250), top=(3080, 2290), length=230)
    draw_bulrush(c, root=(770, 3250), top=(585, 2430), length=250)
    for root, tip, bow, ink in (
        ((2780, 3300), (2930, 2480), -30, YELLOW),
        ((860, 3290), (880, 2600), -40, YELLOW),
        ((700, 3290), (690, 2720), 20, YELLOW),
        ((960, 3300), (1130, 2810), -30, CREAM),
    ):
        draw_reed(c, root=root, tip=tip, bow=bow, ink=ink)


def _title(c: FlatCanvas) -> None:
    """MILLRACE over the arch: block shadow, outline, orange face, cream inline."""
    word = set_on_arc("MILLRACE", height=535, centre=ARCH, radius=1315)
    faces = [s for g in word for s in g.shapes]
    for step in range(0, 46, 6):
        for s in faces:
            c.fill(shift(s, 0, step), TEAL)
    for s in faces:
        c.line(s, TEAL, width=2 * EDGE, closed=True)
        c.line(shift(s, 0, 42), TEAL, width=2 * EDGE, closed=True)
    for s in faces:
        c.fill(s, ORANGE)
    for g in word:
        for p in g.inlines:
            c.line(p, CREAM, width=FINE)


def _oars(c: FlatCanvas) -> None:
    """A crossed pair behind the window, blades down."""
    for mirror in (False, True):

        def put(points: object, mirror: bool = mirror) -> Path:
            p = place(np.asarray(points, float), at=(3340, 1850), turn=53.2)
            return p * (-1, 1) + (SIZE[0], 0) if mirror else p

        shaft = np.array([(-30, 120), (30, 120), (34, 2900), (-34, 2900)], float)
        grip = outline([(-26, 150), (-36, 80), (-34, 10), (0, -8), (34, 10), (36, 80), (26, 150)])
        side = [(-31, 2740), (-44, 2850), (-92, 2990), (-114, 3170), (-112, 3370), (-78, 3500)]
        blade = spline([*side, (0, 3545), *[(-x, y) for x, y in side[::-1]]])
        c.shape(put(shaft), YELLOW, edge=TEAL, width=18)
        c.shape(put(grip), ORANGE, edge=TEAL, width=18)
        c.shape(put(blade), ORANGE, edge=TEAL, width=20)
        for y, ink in ((3110, CREAM), (3200, TEAL), (3290, CREAM)):
            half = 103
            chevron = [(-half, y - 44), (0, y + 20), (half, y - 44)]
            chevron += [(half, y + 20), (0, y + 84), (-half, y + 20)]
            c.fill(put(chevron), ink)
        c.line(put([(0, 2800), (0, 3060)]), YELLOW, width=26)


def _pears(c: FlatCanvas, rng: np.random.Generator) -> None:
    """A cluster of three under the ribbon."""
    for at, turn, size, mirror in (
        ((1620, 3600), 168, 1.5, False),
        ((1980, 3600), 12, 1.5, False),
        ((1560, 3720), 150, 1.2, False),
        ((2040, 3720), 30, 1.2, False),
    ):
        draw_leaf(c, at=at, turn=turn, size=size, mirror=mirror)
    draw_pear(c, at=(1590, 3840), turn=16, size=0.80, rng=rng)
    draw_pear(c, at=(2010, 3840), turn=-16, size=0.80, rng=rng)
    draw_pear(c, at=(1800, 3885), turn=0, size=0.93, rng=rng)


RIBBON = (1800.0, 300.0)  # center of its arcs, above the picture's middle
R_TOP, R_BOTTOM, HALF_ANGLE = 2860.0, 3210.0, 27.0


def polar(*points: tuple[float, float]) -> Path:
    """Points by angle (degrees, to the right of straight down) and radius from RIBBON."""
    a, r = np.radians([p[0] for p in points]), np.array([p[1] for p in points])
    return np.stack([RIBBON[0] + r * np.sin(a), RIBBON[1] + r * np.cos(a)], axis=1)


def arc(radius: float, start: float, end: float) -> Path:
    return polar(*[(float(a), radius) for a in np.linspace(start, end, 121)])


def band(r0: float, r1: float, start: float, end: float) -> Path:
    """A piece of ring around the ribbon's center."""
    return np.vstack([arc(r0, start, end), arc(r1, end, start)])


def _ribbon(c: FlatCanvas) -> None:
    """HARVEST REGATTA on a smiling ribbon with folded tails."""
    drop, inner, outer = 88.0, HALF_ANGLE - 2.4, HALF_ANGLE + 4.4
    low, high = R_BOTTOM + drop, R_TOP + drop
    for side in (-1, 1):
        tail = np.vstack(
            [
                arc(high, side * inner, side * (outer + 1.4)),
                polar((side * (outer - 2.0), (low + high) / 2)),
                arc(low, side * outer, side * inner),
            ]
        )
        c.shape(tail, ORANGE, edge=TEAL, width=20)
        for k in range(4):
            r = high + 62 + 75 * k
            c.line(
                arc(r, side * HALF_ANGLE, side * (HALF_ANGLE + 1.9 - 0.3 * (k % 2))),
                YELLOW,
                width=FINE,
            )
        fold = polar((side * HALF_ANGLE, R_BOTTOM), (side * inner, R_BOTTOM), (side * inner, low))
        c.shape(fold, TEAL, edge=TEAL, width=20)
    face = band(R_TOP, R_BOTTOM, -HALF_ANGLE, HALF_ANGLE)
    c.shape(face, YELLOW, edge=TEAL, width=20)
    for r in (R_TOP + 34, R_BOTTOM - 34):
        c.line(arc(r, 0.6 - HALF_ANGLE, HALF_ANGLE - 0.6), TEAL, width=FINE)
    word = set_on_arc(
        "HARVEST REGATTA", height=206, centre=RIBBON, radius=R_BOTTOM - 74, smile=True, spacing=0.17
    )
    for g in word:
        for s in g.shapes:
            c.fill(s, TEAL)
