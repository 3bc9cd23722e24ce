"""Paths as (n, 2) arrays of x, y (y down): splines, brush shapes, simple transforms."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import CubicSpline, PchipInterpolator

from inksim.common import FloatArray

Path = FloatArray


def spline(points: ArrayLike, *, closed: bool = False, steps: int = 18) -> FloatArray:
    """Cubic spline (continuous curvature) through ``points``, ``steps`` samples a segment.

    Knots at the square root of the chord lengths ("centripetal": Lee, "Choosing nodes in
    parametric curve interpolation", CAD 21, 1989) keep close points from making loops.
    """
    p = np.asarray(points, float)
    if closed:
        p = np.vstack([p, p[:1]])
    knots = np.concatenate([[0.0], np.cumsum(np.sqrt(np.hypot(*np.diff(p, axis=0).T)))])
    curve = CubicSpline(knots, p, bc_type="periodic" if closed else "natural")
    between = np.linspace(0.0, 1.0, steps, endpoint=False)
    at = (knots[:-1, None] + np.diff(knots)[:, None] * between).ravel()
    return curve(at if closed else np.append(at, knots[-1]))


def outline(*pieces: Sequence[Sequence[float]]) -> FloatArray:
    """A closed shape of spline pieces that meet in sharp corners."""
    return np.vstack([spline(piece) for piece in pieces])


def brush(
    points: ArrayLike, widths: ArrayLike, *, round_start: bool = False, straight: bool = False
) -> FloatArray:
    """The closed shape a brush leaves: a spline whose width runs smoothly through ``widths``."""
    centre = resample(points, 24) if straight else spline(points)
    along = arc_length(centre)
    knots = np.linspace(0.0, 1.0, len(np.atleast_1d(widths)))
    half = PchipInterpolator(knots, widths)(along / along[-1])[:, None] / 2
    normal = normals(centre)
    cap = np.empty((0, 2))
    if round_start:
        a = np.linspace(0.0, np.pi, 13)[1:-1, None]
        back = centre[0] - centre[1]
        back /= np.hypot(*back)
        cap = centre[0] + half[0] * (-np.cos(a) * normal[0] + np.sin(a) * back)
    return np.vstack([centre + normal * half, (centre - normal * half)[::-1], cap])


def arc_length(path: FloatArray) -> FloatArray:
    """Length from the start to each point."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])


def normals(path: FloatArray) -> FloatArray:
    """Unit normals of an open path."""
    tangent = np.gradient(path, axis=0)
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    return np.stack([-tangent[:, 1], tangent[:, 0]], axis=1)


def resample(points: ArrayLike, count: int) -> FloatArray:
    """``count`` points evenly spaced along a polyline."""
    p = np.asarray(points, float)
    along = arc_length(p)
    at = np.linspace(0.0, along[-1], count)
    return np.stack([np.interp(at, along, p[:, 0]), np.interp(at, along, p[:, 1])], axis=1)


def shift(path: ArrayLike, dx: float, dy: float) -> FloatArray:
    return np.asarray(path, float) + np.array([dx, dy])


def ellipse(
    cx: float, cy: float, rx: float, ry: float, *, start: float = 0.0, end: float = 360.0
) -> FloatArray:
    """Points of an ellipse; angles in degrees, clockwise from three o'clock."""
    a = np.radians(np.linspace(start, end, 97))
    return np.stack([cx + rx * np.cos(a), cy + ry * np.sin(a)], axis=1)


def place(
    path: ArrayLike,
    *,
    at: tuple[float, float],
    turn: float = 0.0,
    size: float = 1.0,
    mirror: bool = False,
) -> FloatArray:
    """Mirror left to right, scale, turn clockwise by degrees, then move the origin to ``at``."""
    p = np.asarray(path, float) * size
    if mirror:
        p = p * (-1.0, 1.0)
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    return p @ np.array([[c, s], [-s, c]]) + np.asarray(at)
