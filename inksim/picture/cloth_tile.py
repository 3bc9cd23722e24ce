"""A seamless tile of knit: film-thickness quantiles of printed jersey, exactly uniform."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from inksim.common import DATA, MM_PER_INCH, FloatArray, InputError, Uint8Array
from inksim.optics import LEVELS

WALES_PER_CM = 14.0
COURSES_PER_CM = 18.0
TILE_MM = 40.0
KEPT_PX_PER_MM = 300 / MM_PER_INCH
KEPT_TILE = DATA / "cloth_300dpi.npy"
"""The tile at 300 dpi as tools/make_cloth_tile.py drew it: what artworks mostly have."""

# The field is made at no less than this and averaged down, so that a loop never aliases.
_FINE_PX_PER_MM = 20.0
_MIN_PX_PER_MM = 1.0
_MAX_PX_PER_MM = 60.0

# Shares of variance, chosen by eye at 300 dpi against what a light jersey looks like.
_RELIEF, _FUZZ, _STREAK, _SLUB, _CLOUD = 1.0, 0.75, 0.06, 0.03, 0.05


def knit_tile(
    *, px_per_mm: float, seed: int = 1, size_px: tuple[int, int] | None = None
) -> Uint8Array:
    """Seamless tile (h, w) of thickness quantiles of printed jersey, exactly uniform in 0..255.

    A value v stands for the quantile q = (v + 0.5)/256. Low q is a proud fiber, where the film is
    thin; high q is a hollow. The field is the sum of jersey loop relief (14 wales and 18 courses
    per cm), fuzz, yarn streaks along the wale, slub along the course and cloud, rank-transformed
    [assumption: the mixture]. Every one of the 256 values occurs equally often, to within one.

    px_per_mm is the resolution of the picture (1 to 60; 11.81 is 300 dpi). size_px (rows, columns)
    is about 40 mm square when not given; a whole number of loops is fitted to it, which changes
    their pitch by less than 1 % at 40 mm. Below about 3 px/mm loops are no longer resolved.
    The same arguments give the same tile, read-only; the last few are kept. Raises InputError for
    a size that holds no loop.
    """
    if not _MIN_PX_PER_MM <= px_per_mm <= _MAX_PX_PER_MM:
        raise InputError(
            f"the picture's resolution is {px_per_mm:g} px/mm; a cloth tile needs "
            f"{_MIN_PX_PER_MM:g} to {_MAX_PX_PER_MM:g} px/mm (11.81 is 300 dpi)."
        )
    side = round(TILE_MM * px_per_mm)
    rows, columns = (side, side) if size_px is None else size_px
    wales = round(columns / px_per_mm * WALES_PER_CM / 10)
    courses = round(rows / px_per_mm * COURSES_PER_CM / 10)
    if min(wales, courses) < 1:
        raise InputError(
            f"a cloth tile of {rows} x {columns} px holds no whole loop at {px_per_mm:g} px/mm; "
            "give at least 1 mm each way."
        )
    return _cached_tile((rows, columns), (courses, wales), px_per_mm, seed)


def draw_tile() -> Uint8Array:
    """Draw the tile that is kept for 300 dpi."""
    side = round(TILE_MM * KEPT_PX_PER_MM)
    loops = round(TILE_MM * COURSES_PER_CM / 10), round(TILE_MM * WALES_PER_CM / 10)
    return _drawn((side, side), loops, KEPT_PX_PER_MM, 1)


@lru_cache(maxsize=4)
def _cached_tile(
    size: tuple[int, int], loops: tuple[int, int], px_per_mm: float, seed: int
) -> Uint8Array:
    if abs(px_per_mm - KEPT_PX_PER_MM) < 1e-9 and seed == 1:
        tile: Uint8Array = np.load(KEPT_TILE)
        if tile.shape == size:
            tile.setflags(write=False)
            return tile
    return _drawn(size, loops, px_per_mm, seed)


def _drawn(
    size: tuple[int, int], loops: tuple[int, int], px_per_mm: float, seed: int
) -> Uint8Array:
    tile = _rank_levels(-_knit_height(size, loops=loops, px_per_mm=px_per_mm, seed=seed))
    tile.setflags(write=False)
    return tile


def _knit_height(
    size: tuple[int, int], *, loops: tuple[int, int], px_per_mm: float, seed: int
) -> FloatArray:
    """Fiber height (rows, columns), arbitrary units, periodic both ways."""
    fine = max(1, int(np.ceil(_FINE_PX_PER_MM / px_per_mm)))
    shape = (size[0] * fine, size[1] * fine)
    mm = 1.0 / (px_per_mm * fine)
    rng = np.random.default_rng(seed)

    def noise(across_mm: float, along_mm: float) -> FloatArray:
        return _unit(_smooth(rng.standard_normal(shape), (across_mm / mm, along_mm / mm)))

    # Loops wander and differ: a perfect grid reads as printed screen, not as cloth.
    warp_y, warp_x = noise(0.35, 0.35), noise(0.7, 0.35)
    drift_y, drift_x = noise(3.0, 6.0), noise(8.0, 2.0)
    relief = _loops(
        shape,
        loops=loops,
        shift=(0.06 * warp_y + 0.10 * drift_y, 0.05 * warp_x + 0.07 * drift_x),
    )
    relief *= 1.0 + 0.25 * noise(0.25, 0.2)
    height = (
        np.sqrt(_RELIEF) * _unit(relief)
        + np.sqrt(_FUZZ) * _unit(_fuzz(rng, shape, mm=mm))
        + np.sqrt(_STREAK) * noise(5.0, 0.2)
        + np.sqrt(_SLUB) * noise(0.2, 2.0)
        + np.sqrt(_CLOUD) * noise(0.8, 0.6)
    )
    # Without broad light and dark places the eye does not find where the tile repeats.
    height -= _smooth(height, (1.5 / mm, 1.5 / mm))
    mean: FloatArray = height.reshape(size[0], fine, size[1], fine).mean(axis=(1, 3))
    return mean


def _loops(
    shape: tuple[int, int], *, loops: tuple[int, int], shift: tuple[FloatArray, FloatArray]
) -> FloatArray:
    """Face of a plain knit: columns of stacked V's, two slanting legs to a loop.

    The legs are ridges of v + slope |u|, with u across the wale and v along it in loops; between
    two wales lies a deep furrow, between the two legs of a V a shallow one.
    """
    v = np.arange(shape[0])[:, None] * (loops[0] / shape[0]) + shift[0]
    u = np.arange(shape[1])[None, :] * (loops[1] / shape[1]) + shift[1]
    across = np.abs(u - np.round(u))  # 0 in the middle of the wale, 0.5 between wales
    leg = 0.5 + 0.5 * np.cos(2 * np.pi * (v + 1.9 * across))
    middle = 1.0 - 0.35 * np.exp(-((across / 0.07) ** 2))
    furrow = 1.0 - np.exp(-(((0.5 - across) / 0.13) ** 2))
    height: FloatArray = (0.35 + 0.65 * leg**0.8) * middle * furrow
    return height


def _fuzz(rng: np.random.Generator, shape: tuple[int, int], *, mm: float) -> FloatArray:
    """Loose fiber ends: short fine strokes that lie every way, over grain of about 0.08 mm."""
    grain = _unit(_smooth(rng.standard_normal(shape), (0.035 / mm, 0.035 / mm)))
    strokes = np.zeros(shape)
    for angle in np.arange(6) * (np.pi / 6):
        hair = _unit(_smooth(rng.standard_normal(shape), (0.022 / mm, 0.22 / mm), angle=angle))
        strokes = np.maximum(strokes, hair)
    return grain + _unit(strokes)


def _smooth(field: FloatArray, sigma: tuple[float, float], *, angle: float = 0.0) -> FloatArray:
    """Periodic Gaussian blur; sigma in pixels down and across, turned by *angle* (radians)."""
    fy = np.fft.fftfreq(field.shape[0])[:, None]
    fx = np.fft.rfftfreq(field.shape[1])[None, :]
    down = fy * np.cos(angle) - fx * np.sin(angle)
    right = fy * np.sin(angle) + fx * np.cos(angle)
    gain = np.exp(-2 * np.pi**2 * ((sigma[0] * down) ** 2 + (sigma[1] * right) ** 2))
    return np.fft.irfft2(np.fft.rfft2(field) * gain, s=field.shape)


def _unit(field: FloatArray) -> FloatArray:
    """The field with mean 0 and variance 1."""
    unit: FloatArray = (field - field.mean()) / field.std()
    return unit


def _rank_levels(field: FloatArray) -> Uint8Array:
    """Rank transform to 0..255: value floor(256 rank/N), so counts differ by at most one."""
    flat = field.ravel()
    order = np.argsort(flat, kind="stable")
    levels = np.empty(flat.size, dtype=np.uint8)
    levels[order] = (np.arange(flat.size, dtype=np.int64) * LEVELS // flat.size).astype(np.uint8)
    return levels.reshape(field.shape)
