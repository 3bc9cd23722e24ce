"""The heron of the regatta. Design pixels, 300 to the inch."""

from __future__ import annotations

import numpy as np

from .curves import Path, arc_length, brush, ellipse, outline, place, shift, spline
from .flat import FlatCanvas
from .palette import CREAM, EDGE, ORANGE, TEAL, YELLOW

NECK = [
    (2030, 2160),
    (1920, 2075),
    (1815, 1950),
    (1812, 1800),
    (1900, 1665),
    (1950, 1530),
    (1915, 1400),
    (1800, 1337),
    (1700, 1346),
]
NECK_W = [300, 310, 235, 158, 122, 104, 94, 98, 116, 104]
BODY = [
    (1815, 2110),
    (1890, 1990),
    (2020, 1945),
    (2200, 2030),
    (2400, 2260),
    (2560, 2480),
    (2680, 2690),
    (2520, 2640),
    (2390, 2610),
    (2230, 2590),
    (2050, 2530),
    (1900, 2420),
    (1820, 2280),
]


def draw_heron(c: FlatCanvas) -> None:
    """The heron, facing left. One dark silhouette first, so no line crosses where parts join."""
    _legs(c)
    body = spline(BODY, closed=True)
    head = spline(
        [
            (1650, 1345),
            (1700, 1285),
            (1790, 1262),
            (1880, 1295),
            (1915, 1370),
            (1820, 1408),
            (1710, 1410),
        ],
        closed=True,
    )
    bill = outline(
        [(1700, 1300), (1560, 1335), (1300, 1420)],
        [(1300, 1420), (1540, 1405), (1690, 1398)],
        [(1690, 1398), (1718, 1350), (1700, 1300)],
    )
    neck = brush(NECK, NECK_W, round_start=True)
    for part in (body, head, bill, neck):
        c.line(part, TEAL, width=2 * EDGE, closed=True)
    _tail(c)
    for part in (body, neck, head):
        c.fill(part, CREAM)
    _wing(c)
    _breast(c)
    _face(c, bill)
    _neck_marks(c)


def _legs(c: FlatCanvas) -> None:
    feet = ((2225, 3000), (2035, 3055))
    for foot in feet:
        c.line(ellipse(foot[0], foot[1] + 4, 74, 15), CREAM, width=10, closed=True)
    for rx, ry, gap in ((240, 54, 24), (350, 84, 40)):
        for start in (0, 180):
            arc = ellipse(2130, 3034, rx, ry, start=start + gap, end=start + 180 - gap)
            c.line(arc, CREAM, width=10)
    for hip, knee, foot in (
        ((2190, 2540), (2275, 2760), feet[0]),
        ((2070, 2500), (2085, 2770), feet[1]),
    ):
        thigh = [hip, np.add(hip, (22, 100)), knee]
        for extra, ink in ((2 * 11, TEAL), (0, YELLOW)):
            c.fill(brush(thigh, [130 + extra, 76 + extra, 30 + extra]), TEAL if extra else CREAM)
            c.line(np.array([knee, foot], float), ink, width=30 + extra)
            c.dots([np.array(knee, float)], ink, radius=25 + extra / 2)


def _breast(c: FlatCanvas) -> None:
    """Long plumes that hang from the base of the neck."""
    plumes = (
        ((1965, 2250), (1965, 2430), (2040, 2640), 62),
        ((1915, 2200), (1895, 2400), (1950, 2640), 66),
        ((1868, 2130), (1825, 2340), (1868, 2580), 70),
    )
    for *spine, width in plumes:
        c.fill(brush(spine, [width + 20, width + 24, width + 10, 10], round_start=True), TEAL)
        c.fill(brush(spine, [width, width, width * 0.6, 0], round_start=True), CREAM)
        vein = spline(spine)
        c.line(vein[12:27], TEAL, width=8)
    c.fill(ellipse(1905, 2090, 84, 96), CREAM)
    c.fill(brush([(1868, 2060), (1862, 2110), (1866, 2190)], [70, 70, 60], round_start=True), CREAM)


def _tail(c: FlatCanvas) -> None:
    for tip, width in (((2640, 2760), 60), ((2720, 2790), 60)):
        spine = [(2380, 2450), (2540, 2610), tip]
        c.fill(brush(spine, [width + 24, width + 24, 20]), TEAL)
        c.fill(brush(spine, [width, width, 0]), CREAM)


PATCH = [
    (1950, 2130),
    (1985, 2030),
    (2070, 1995),
    (2190, 2070),
    (2310, 2220),
    (2390, 2360),
    (2380, 2440),
    (2270, 2470),
    (2120, 2430),
    (2010, 2330),
    (1955, 2230),
]


def _wing(c: FlatCanvas) -> None:
    """Flight feathers under the coverts, rows of scallops, a warm shoulder."""
    for root, mid, tip in (
        ((2130, 2400), (2330, 2520), (2530, 2650)),
        ((2150, 2370), (2370, 2510), (2600, 2700)),
        ((2190, 2330), (2410, 2480), (2670, 2750)),
        ((2210, 2280), (2430, 2430), (2740, 2810)),
        ((2230, 2200), (2430, 2360), (2780, 2880)),
    ):
        c.fill(brush([root, mid, tip], [90, 100, 90, 14]), CREAM)
        c.fill(brush([root, mid, tip], [74, 80, 66, 0]), TEAL)
        c.line(spline([root, mid, tip])[14:-9], CREAM, width=7)
    patch = spline(PATCH, closed=True)
    c.line(patch, CREAM, width=22, closed=True)
    c.fill(patch, TEAL)
    c.fill(
        outline(
            [(1963, 2150), (1995, 2045), (2072, 2012), (2165, 2062), (2235, 2140)],
            [(2235, 2140), (2130, 2090), (2040, 2095), (1963, 2150)],
        ),
        ORANGE,
    )
    for row, count in (
        ([(1990, 2190), (2090, 2150), (2210, 2200), (2310, 2290)], 6),
        ([(1998, 2262), (2090, 2228), (2210, 2280), (2330, 2372)], 6),
        ([(2050, 2340), (2130, 2318), (2230, 2362), (2330, 2425)], 5),
    ):
        path = spline(row)
        slope = np.degrees(np.arctan2(*np.gradient(path, axis=0).T[::-1]))
        along = arc_length(path)
        for s in np.linspace(0.06, 0.94, count) * along[-1]:
            i = int(np.searchsorted(along, s))
            scallop = outline(
                [(-36, -12), (-24, 30), (0, 44), (24, 30), (36, -12)],
                [(36, -12), (18, 14), (0, 20), (-18, 14), (-36, -12)],
            )
            c.fill(place(scallop, at=tuple(path[i]), turn=slope[i] * 0.7), YELLOW)


def _face(c: FlatCanvas, bill: Path) -> None:
    c.fill(bill, YELLOW)
    c.fill(
        outline(
            [(1702, 1356), (1540, 1378), (1330, 1416)],
            [(1330, 1416), (1540, 1402), (1690, 1398)],
            [(1690, 1398), (1706, 1378), (1702, 1356)],
        ),
        ORANGE,
    )
    c.line(spline([(1722, 1356), (1540, 1372), (1320, 1417)]), TEAL, width=9)
    for tip, bow in (((2290, 1450), 0), ((2200, 1550), 30)):
        c.fill(brush([(1800, 1305), (1980, 1325 + bow), tip], [40, 44, 30, 0]), TEAL)
    c.fill(brush([(1690, 1314), (1760, 1290), (1850, 1300), (1960, 1330)], [8, 40, 64, 40]), TEAL)
    eye = np.array([[1752.0, 1340.0]])
    for radius, ink in ((29, TEAL), (22, YELLOW), (12, TEAL)):
        c.dots(eye, ink, radius=radius)
    c.dots(shift(eye, -4, -4), CREAM, radius=4)
    c.line(spline([(1770, 1392), (1830, 1400), (1868, 1425)]), TEAL, width=8)


def _neck_marks(c: FlatCanvas) -> None:
    """Two rows of dark flecks down the front of the neck."""
    spine = spline(NECK)
    for k, y in enumerate(np.linspace(1500, 2010, 12)):
        i = int(np.argmin(np.abs(spine[:, 1] - y)))
        tangent = spine[i - 1] - spine[i + 1]
        tangent /= np.hypot(*tangent)
        across = np.array([-tangent[1], tangent[0]])
        at = spine[i] + across * (26 if k % 2 else -2)
        c.fill(brush([at, at + tangent * 26, at + tangent * 56], [0, 17, 15, 0]), TEAL)
