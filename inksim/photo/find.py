"""The corners of a chart, found: even patches of one size that lie in rows and columns."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from inksim.common import FloatArray, InputError
from inksim.photo.charts import Chart
from inksim.photo.picture import Picture
from inksim.photo.turned import MOST_MISFIT_DE00, Placed, place_chart

WIDEST_PX = 900
LEAST_PATCHES = 6
"""Of fewer patches no rows and columns can be told from whatever else lies about."""
_SHARES = (2e-4, 0.06)
"""Smallest and largest patch as share of the picture."""
_LEAST_FOUND = 0.6
"""Share of a chart's patches that have to be found; a black one often is one with its frame."""
_ONE_SIZE, _OFF_LATTICE = 1.8, 0.25
_EDGES = (0.02, 0.035, 0.06)
"""Slopes of a code, 1 at most, per pixel, above which a pixel is an edge: tried in turn."""

Cell = tuple[int, int]


def find_corners(picture: Picture, chart: Chart) -> FloatArray:
    """Outer corners (4, 2) of a chart's corner patches in pixels, from its first patch on.

    Raises
    ------
    InputError : no such chart is found, or two are; the corners of one have to be given.
    """
    if min(chart.rows, chart.columns) < 2 or len(chart.names) < LEAST_PATCHES:
        raise picture.fault(
            f"has to have its chart '{chart.name}' pointed at: so few patches are not told from "
            "other things; give its four corners."
        )
    found: list[Placed] = []
    for slope in _EDGES:
        for corners in _candidates(picture, chart, slope):
            try:
                found.append(place_chart(picture, chart, corners))
            except InputError:
                continue
        if any(each.misfit_de00 < MOST_MISFIT_DE00 / 2 for each in found):
            break
    if not found:
        raise picture.fault(
            f"shows no chart '{chart.name}' that could be found; give its four corners, or take "
            "the chart from straight above, whole and evenly lit."
        )
    best = min(found, key=lambda each: each.misfit_de00)
    if any(_lies_beside(each, best) for each in found):
        raise picture.fault(
            f"shows chart '{chart.name}' at two places: the light may differ between them; give "
            "the four corners of the one that lies beside what is read."
        )
    return best.grid.corners


def _lies_beside(one: Placed, other: Placed) -> bool:
    """Whether the middle of one chart lies outside the other."""
    grid = other.grid
    ((column, row),) = grid.places(one.grid.corners.mean(axis=0))
    return not (0 <= column <= grid.columns and 0 <= row <= grid.rows)


def _candidates(picture: Picture, chart: Chart, slope: float) -> Iterator[FloatArray]:
    """Corners of every lattice of even patches that has the chart's rows and columns."""
    centres, sides, step = _patches(picture, slope)
    if len(centres) < LEAST_PATCHES:
        return
    done: set[int] = set()
    for start in np.argsort(np.linalg.norm(centres - np.median(centres, axis=0), axis=1)):
        if int(start) in done:
            continue
        cells = _lattice(centres, sides, int(start))
        done |= set(cells.values())
        for rows, columns in {(chart.rows, chart.columns), (chart.columns, chart.rows)}:
            corners = _corners(centres, cells, rows=rows, columns=columns)
            if corners is not None:
                yield (corners + 0.5) * step


def _patches(picture: Picture, slope: float) -> tuple[FloatArray, FloatArray, int]:
    """Centers (N, 2) and sides (N,) of even convex areas in a reduced picture, and its step."""
    from scipy.ndimage import gaussian_filter, sobel
    from skimage.measure import label, regionprops

    codes, step = picture.small(WIDEST_PX)
    smooth = gaussian_filter(codes / 255.0, (1.0, 1.0, 0.0))
    edges: Any = np.zeros(codes.shape[:2])
    for channel in range(3):
        edges = np.maximum(
            edges, np.hypot(*(sobel(smooth[..., channel], axis=axis) for axis in (0, 1))) / 8.0
        )
    least, most = (share * edges.size for share in _SHARES)
    centres, sides = [], []
    even = label(edges < slope, connectivity=1)  # type: ignore[no-untyped-call]
    for found in regionprops(even):  # type: ignore[no-untyped-call]
        if not least <= found.area <= most:
            continue
        if found.solidity < 0.85 or found.axis_major_length > 3.0 * found.axis_minor_length:
            continue
        y, x = found.centroid
        centres.append((x, y))
        sides.append(np.sqrt(found.area))
    return np.array(centres, dtype=float).reshape(-1, 2), np.array(sides), step


def _lattice(centres: FloatArray, sides: FloatArray, start: int) -> dict[Cell, int]:
    """Patches by column and row, gone through from one of them to its neighbors.

    Steps are taken from the neighbors already found, so that they may change over the chart as
    perspective has it.
    """
    alike = np.flatnonzero(np.abs(np.log(sides / sides[start])) < np.log(_ONE_SIZE))
    others = alike[alike != start]
    if len(others) < 3:
        return {(0, 0): start}
    away = centres[others] - centres[start]
    order = np.argsort(np.linalg.norm(away, axis=1))
    along = away[order[0]]
    across = next(
        (
            each for each in away[order[1:6]]
            if abs(along @ each) < 0.5 * np.linalg.norm(along) * np.linalg.norm(each)
            and np.linalg.norm(each) < 2.0 * np.linalg.norm(along)
        ),
        None,
    )  # fmt: skip
    if across is None:
        return {(0, 0): start}
    cells, steps = {(0, 0): start}, {(0, 0): (along, across)}
    taken, todo = {start}, [(0, 0)]
    while todo:
        cell = todo.pop(0)
        here = centres[cells[cell]]
        for axis, sign in ((0, 1), (0, -1), (1, 1), (1, -1)):
            there = (cell[0] + sign * (axis == 0), cell[1] + sign * (axis == 1))
            if there in cells:
                continue
            step = sign * steps[cell][axis]
            off = np.linalg.norm(centres[alike] - (here + step), axis=1)
            near = int(alike[int(np.argmin(off))])
            if off.min() > _OFF_LATTICE * np.linalg.norm(step) or near in taken:
                continue
            cells[there] = near
            taken.add(near)
            own = list(steps[cell])
            own[axis] = sign * (centres[near] - here)
            steps[there] = (own[0], own[1])
            todo.append(there)
    return cells


def _corners(
    centres: FloatArray, cells: dict[Cell, int], *, rows: int, columns: int
) -> FloatArray | None:
    """Corners of a lattice's part of so many rows and columns that has most patches."""
    from skimage.transform import ProjectiveTransform

    places = np.array(list(cells))
    first, last = places.min(axis=0), places.max(axis=0)
    if len(cells) < _LEAST_FOUND * rows * columns:
        return None
    far = last - (columns - 1, rows - 1)
    windows = [
        (left, top)
        for left in range(min(first[0], far[0]), max(first[0], far[0]) + 1)
        for top in range(min(first[1], far[1]), max(first[1], far[1]) + 1)
    ]

    def inside(window: Cell) -> Any:
        shifted = places - window
        return ((shifted >= 0) & (shifted < (columns, rows))).all(axis=1)

    window = max(windows, key=lambda each: int(inside(each).sum()))
    chosen = inside(window)
    if chosen.sum() < max(LEAST_PATCHES, _LEAST_FOUND * rows * columns):
        return None
    pixels = centres[[at for at, is_in in zip(cells.values(), chosen, strict=True) if is_in]]
    plane = ProjectiveTransform.from_estimate(places[chosen] - window + 0.5, pixels)  # type: ignore[no-untyped-call]
    if not plane:
        return None
    ends = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], dtype=float)
    return np.asarray(plane(ends), dtype=float)
