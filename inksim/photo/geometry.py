"""Where chart and regions lie in a picture: points typed or clicked, perspective, outlines."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from inksim.common import FloatArray, InputError, shortened

INNER = 0.5
"""Share of a patch's side that is looked at: a gap or a wrong click of a quarter does no harm."""
LEAST_SIDE_PX = 8.0
_NUMBER = r"-?\d{1,6}(?:\.\d{1,6})?"
_POINT = re.compile(rf"({_NUMBER}),({_NUMBER})")
_FOUR = re.compile(rf"({_NUMBER}),({_NUMBER}),({_NUMBER}),({_NUMBER})")
Point = tuple[float, float]
Row = tuple[Sequence[str], Point, Point]
"""Names of a row of patches, and the middles of its first and its last."""


@dataclass(frozen=True, kw_only=True)
class Region:
    """A region to read: the corners of its outline (x, y) in pixels of the upright picture."""

    name: str
    outline: tuple[Point, ...]

    @property
    def centre(self) -> Point:
        """Middle of its corners."""
        x, y = np.mean(self.outline, axis=0)
        return float(x), float(y)


def point_of(text: str) -> Point:
    """A point as '120,340', in pixels from the upper left corner of the upright picture."""
    found = _POINT.fullmatch(text.strip())
    if not found:
        raise InputError(
            f"'{shortened(text)}' is no point; write x,y in pixels from the upper left corner, as "
            "120,340."
        )
    return float(found[1]), float(found[2])


def outline_of(text: str) -> tuple[Point, ...]:
    """An outline: 'x,y,w,h' of a rectangle, or three points and more as 'x,y x,y x,y'."""
    box = _FOUR.fullmatch(text.strip())
    if box:
        x, y, across, down = (float(each) for each in box.groups())
        if across <= 0 or down <= 0:
            raise InputError(
                f"the region '{shortened(text)}' has no area; write x,y,width,height, the last "
                "two above 0."
            )
        return (x, y), (x + across, y), (x + across, y + down), (x, y + down)
    points = tuple(point_of(word) for word in text.split())
    if not 3 <= len(points) <= 100:
        raise InputError(
            f"'{shortened(text)}' is no region; write x,y,width,height, or three points and more "
            "as x,y x,y x,y."
        )
    return points


def region_of(text: str) -> Region:
    """A region with its name, as 'NAME=x,y,w,h' or 'NAME=x,y x,y x,y'."""
    name, equals, rest = text.rpartition("=")
    name = name.strip()
    if not equals or not name:
        raise InputError(
            f"'{shortened(text)}' is no region with a name; write NAME=x,y,width,height."
        )
    return Region(name=name, outline=outline_of(rest))


def sheet_places(outlines: Sequence[Sequence[Point]]) -> list[Region]:
    """Name the places where the sheet below everything shows: 'surround 1' and so on."""
    return [
        Region(name=f"surround {at}", outline=tuple(each))
        for at, each in enumerate(outlines, start=1)
    ]


def wanted_of(text: str) -> tuple[list[Region], list[Row]]:
    """Regions and rows to read, one a line: as `region_of` has it, and a row as 'A,B,C=x,y x,y'.

    Raises
    ------
    InputError : a line that is neither.
    """
    regions, rows = list[Region](), list[Row]()
    for line in filter(None, map(str.strip, text.splitlines())):
        names, equals, rest = line.rpartition("=")
        if equals and len(ends := rest.split()) == 2:
            first, last = map(point_of, ends)
            rows.append(([each.strip() for each in names.split(",")], first, last))
        else:
            regions.append(region_of(line))
    return regions, rows


def quadrilateral(points: Sequence[Point]) -> FloatArray:
    """Four corners (4, 2) in the order they are walked around, the first as given.

    Two that were swapped are put right: the corners of a chart have no other sensible order.

    Raises
    ------
    InputError : not four, two in one place, three in a line, or one inside the others' triangle.
    """
    given = np.array(points, dtype=float)
    if given.shape != (4, 2):
        raise InputError(f"the chart has {len(points)} corners here; give its four.")
    about = given - given.mean(axis=0)
    order = np.argsort(np.arctan2(about[:, 1], about[:, 0]), kind="stable")
    first = int(np.flatnonzero(order == 0)[0])
    quad = given[np.roll(order, -first)]
    sides = np.roll(quad, -1, axis=0) - quad
    after = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0]
    lengths = np.linalg.norm(sides, axis=1)
    if lengths.min() < 4 or (turns <= 0.02 * lengths * np.linalg.norm(after, axis=1)).any():
        raise InputError(
            "the four corners do not go round a chart: two are in one place, or three in a line; "
            "give the outer corners of its four corner patches."
        )
    was_turning_left = _area(given) < 0
    return quad[[0, 3, 2, 1]] if was_turning_left else quad


def _area(points: FloatArray) -> float:
    x, y = points.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


@dataclass(frozen=True, kw_only=True, eq=False)
class Grid:
    """`rows` by `columns` patches between four corners (4, 2) in pixels.

    The corners follow the first row's beginning and end, then the last row's end and beginning.
    """

    corners: FloatArray
    rows: int
    columns: int

    @cached_property
    def _plane(self) -> Any:
        """From the chart's plane, in patches, to pixels."""
        from skimage.transform import ProjectiveTransform

        wide, high = self.columns, self.rows
        plane = np.array([(0, 0), (wide, 0), (wide, high), (0, high)], dtype=float)
        found = ProjectiveTransform.from_estimate(plane, self.corners)  # type: ignore[no-untyped-call]
        if not found:
            raise InputError("the four corners are seen too much from the side; see it from above.")
        return found

    def pixels(self, places: FloatArray) -> FloatArray:
        """Pixels (N, 2) of places (N, 2): columns and rows of patches from the first corner."""
        return np.asarray(self._plane(np.atleast_2d(places)), dtype=float)

    def places(self, pixels: FloatArray) -> FloatArray:
        """Places (N, 2) in the chart's plane of pixels (N, 2)."""
        return np.asarray(self._plane.inverse(np.atleast_2d(pixels)), dtype=float)

    def patch(self, row: int, column: int) -> tuple[Point, ...]:
        """The outline of what is looked at of a patch, in pixels."""
        left, top = column + (1 - INNER) / 2, row + (1 - INNER) / 2
        return self.around(left, top, INNER, INNER)

    def around(self, left: float, top: float, across: float, down: float) -> tuple[Point, ...]:
        """The outline in pixels of a rectangle in the chart's plane."""
        right, bottom = left + across, top + down
        box = np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
        return tuple((float(x), float(y)) for x, y in self.pixels(box))

    def smallest_patch_px(self) -> float:
        """The shortest side of what is looked at of a patch, in pixels."""
        sides = [
            math.dist(a, b)
            for row in {0, self.rows - 1}
            for column in {0, self.columns - 1}
            for patch in [self.patch(row, column)]
            for a, b in zip(patch, (*patch[1:], patch[0]), strict=True)
        ]
        return min(sides)

    def row_of(self, names: Sequence[str], first: Point, last: Point) -> tuple[Region, ...]:
        """Regions of a row of equal patches, from the middles of the first and the last.

        They are taken to lie in the chart's plane, side by side without gaps wider than a quarter.

        Raises
        ------
        InputError : fewer than two names, one empty or twice, or both points in one place.
        """
        if len(names) < 2 or len(set(names)) < len(names) or not all(names):
            raise InputError(
                f"the row '{shortened(','.join(names))}' needs two names or more, each once and "
                "none empty; name a single patch as a region."
            )
        start, end = self.places(np.array([first, last]))
        along = (end - start) / (len(names) - 1)
        across = np.array([-along[1], along[0]])
        if not np.hypot(*along) > 1e-3:
            raise InputError("the row begins and ends in one place; give the middles of both ends.")
        half = INNER / 2
        corners = ((-half, -half), (half, -half), (half, half), (-half, half))
        made = []
        for at, name in enumerate(names):
            middle = start + at * along
            outline = self.pixels(np.array([middle + u * along + v * across for u, v in corners]))
            made.append(Region(name=name, outline=tuple((float(x), float(y)) for x, y in outline)))
        return tuple(made)
