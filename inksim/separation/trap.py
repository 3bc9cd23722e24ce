"""Morphology of plates: choke, spread and trap.

Plates are (H, W) uint8, 255 a solid. Radii are in pixels, whole or fractional; outside the picture
is bare.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from inksim.common import InputError, Uint8Array

MOST_RADIUS_PX = 64.0
_STRIP_PIXELS = 1 << 20


def eroded(plate: Uint8Array, *, radius_px: float) -> Uint8Array:
    """Erosion by a disc: minimum around each pixel; edges move inward by the radius.

    Fractional radii interpolate between the two whole ones, so that edges move by parts of a pixel.
    """
    _check(plate, radius_px)
    whole = int(radius_px)
    part = radius_px - whole
    if part < 1e-6:
        return _least(plate, whole)
    return _mixed(_least(plate, whole), _least(plate, whole + 1), part)


def spread(plate: Uint8Array, *, radius_px: float) -> Uint8Array:
    """Dilation by a disc: maximum around each pixel; edges move outward by the radius."""
    _check(plate, radius_px)
    whole = int(radius_px)
    part = radius_px - whole
    first = _greatest(plate, whole)
    return first if part < 1e-6 else _mixed(first, _greatest(plate, whole + 1), part)


def _check(plate: Uint8Array, radius_px: float) -> None:
    if plate.ndim != 2 or plate.dtype != np.uint8 or not plate.size:
        raise InputError(
            f"a plate has shape {plate.shape} and type {plate.dtype}; give 8-bit, rows x columns."
        )
    if not 0.0 <= radius_px <= MOST_RADIUS_PX:
        raise InputError(
            f"an edge is to move by {radius_px:.3g} pixels; it can move by 0 to "
            f"{MOST_RADIUS_PX:g}: give a smaller choke or trap in mm."
        )


def _mixed(first: Uint8Array, second: Uint8Array, share: float) -> Uint8Array:
    light = first.astype(np.float32)
    light += np.float32(share) * (second.astype(np.float32) - light)
    return np.asarray(np.rint(light).astype(np.uint8))


def _greatest(plate: Uint8Array, radius: int) -> Uint8Array:
    return np.asarray(255 - _least(255 - plate, radius, outside=255))


def _least(plate: Uint8Array, radius: int, *, outside: int = 0) -> Uint8Array:
    """Minimum within a disc of whole radius, as the minimum over its rows of running minima."""
    if radius == 0:
        return plate
    height, width = plate.shape
    half = np.sqrt(radius**2 - np.arange(-radius, radius + 1) ** 2.0).astype(int)
    out = np.empty_like(plate)
    rows = max(2 * radius, _STRIP_PIXELS // width)
    for top in range(0, height, rows):
        low = min(height, top + rows)
        near = plate[max(0, top - radius) : min(height, low + radius)]
        above, below = (
            radius - (top - max(0, top - radius)),
            radius - (min(height, low + radius) - low),
        )
        wide = np.pad(near, ((above, below), (radius, radius)), constant_values=outside)
        runs = [wide[:, radius : radius + width]]
        for reach in range(1, radius + 1):
            left = wide[:, radius - reach : radius - reach + width]
            right = wide[:, radius + reach : radius + reach + width]
            runs.append(np.minimum(np.minimum(left, right), runs[-1]))
        strip = runs[half[0]][: low - top].copy()
        for down in range(1, 2 * radius + 1):
            np.minimum(strip, runs[half[down]][down : down + low - top], out=strip)
        out[top:low] = strip
    return out


def union(plates: Sequence[Uint8Array]) -> Uint8Array:
    """Joint coverage of plates with independent dots: 1 − Π(1 − a)."""
    bare = np.full(plates[0].shape, 255, dtype=np.uint16)
    for plate in plates:
        bare *= 255 - plate.astype(np.uint16)
        bare += 127
        bare //= 255
    return np.asarray((255 - bare).astype(np.uint8))


def choked(base: Uint8Array, colours: Sequence[Uint8Array], *, radius_px: float) -> Uint8Array:
    """Choke a base under its colors, so that it does not show where they are off register.

    Where it is bare on purpose (more base than color) it stays.
    """
    if radius_px == 0.0:
        return base
    covered = union(colours)
    seen = base - np.minimum(base, covered)
    return np.maximum(eroded(base, radius_px=radius_px), seen)


def trapped(plate: Uint8Array, others: Sequence[Uint8Array], *, radius_px: float) -> Uint8Array:
    """Trap a color: spread it into its neighbors, never onto bare cloth, so that no gap opens."""
    if radius_px == 0.0 or not others:
        return plate
    grown = spread(plate, radius_px=radius_px)
    return np.maximum(plate, np.minimum(grown, union(others)))
