"""Pictures of a chart and shirts as a camera would take them, with the colors that are true."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from PIL import Image
from skimage.transform import ProjectiveTransform, warp

from inksim.colour import D50, WAVELENGTHS_NM, encode_srgb, lab, weights
from inksim.common import FloatArray
from inksim.photo import chart_of

PATCH, GAP, MARGIN = 44, 6, 40
SIZE = (640, 480)
CLOTHS = {"sage": (0.28, 0.45, 500), "rust": (0.50, -0.40, 590), "navy": (0.08, 0.06, 470)}
"""Invented: a level of reflectance, and a smooth band over it or under it, and where."""


def cloth(name: str) -> FloatArray:
    """Reflectance (31,) of an invented cloth."""
    level, depth, at = CLOTHS[name]
    band = np.exp(-(((WAVELENGTHS_NM - at) / 70.0) ** 2))
    return np.asarray(level * (1.0 + depth * band - 0.3 * (depth < 0) * (at > WAVELENGTHS_NM)))


def true_lab(name: str) -> FloatArray:
    """Lab, D50/2°, of an invented cloth."""
    return np.asarray(lab(cloth(name), D50))


def sensor(reflectance: FloatArray) -> FloatArray:
    """Light (..., 3) that a camera with three broad bands gets, white 0.75: no eye's bands."""
    bands = np.stack([np.exp(-(((WAVELENGTHS_NM - at) / 45.0) ** 2)) for at in (600, 540, 455)])
    bands = bands * weights("D50", 2).sum(axis=-1)
    return np.asarray(0.75 * reflectance @ (bands / bands.sum(axis=1, keepdims=True)).T)


@dataclass(frozen=True, kw_only=True)
class Shot:
    """How a picture is taken. seen_from: corners of the flat scene in the picture, as shares."""

    chart: str | Path = "iso17321"
    cloths: tuple[str, ...] = ("sage", "rust")
    seen_from: tuple[tuple[float, float], ...] = (
        (0.04, 0.06),
        (0.98, 0.02),
        (0.93, 0.97),
        (0, 0.9),
    )
    exposure: float = 1.0
    shading: float = 0.12
    noise: float = 0.01
    blur_px: float = 0.6
    lamp: tuple[float, float, float] = (1.1, 1.0, 0.8)
    other_lamp: tuple[float, float, float] | None = None
    stripes: float = 0.0
    quarter_turns: int = 0
    mirrored: bool = False


@dataclass(frozen=True, kw_only=True, eq=False)
class Taken:
    """A picture (H, W, 3) of linear light, and where in it the chart, the cloths and card lie."""

    light: FloatArray
    corners: list[tuple[float, float]]
    cloths: dict[str, list[tuple[float, float]]]
    card: list[list[tuple[float, float]]]

    def words(self) -> list[str]:
        """The options that say so."""
        outlines = {name: outline_words(each) for name, each in self.cloths.items()}
        regions = [word for name, at in outlines.items() for word in ("--region", f"{name}={at}")]
        return ["--corners", *(f"{x:.0f},{y:.0f}" for x, y in self.corners), *regions]

    def save(self, path: Path, *, bits: int = 8, **options: object) -> Path:
        """Encode it as sRGB."""
        codes = encode_srgb(np.clip(self.light, 0.0, 1.0))
        if bits == 16:
            import tifffile

            tifffile.imwrite(path, np.rint(codes * 65535).astype(np.uint16), photometric="rgb")
            return path
        out = io.BytesIO()
        kind = {".jpg": "JPEG", ".png": "PNG", ".tif": "TIFF", ".webp": "WebP"}[path.suffix]
        more = {"quality": 95} | options if kind in ("JPEG", "WebP") else options
        Image.fromarray(np.rint(codes * 255).astype(np.uint8)).save(out, kind, **more)
        path.write_bytes(out.getvalue())
        return path


def outline_words(points: Sequence[tuple[float, float]]) -> str:
    """An outline as an option has it."""
    return " ".join(f"{x:.0f},{y:.0f}" for x, y in points)


def taken(shot: Shot = Shot(), **changes: object) -> Taken:
    """Take a picture of a gray card on which a chart and two cloths lie."""
    shot = replace(shot, **changes)  # type: ignore[arg-type]
    chart = chart_of(shot.chart)
    spectra = chart.reflectance
    assert spectra is not None
    pitch = PATCH + GAP
    wide, high = chart.columns * pitch - GAP, chart.rows * pitch - GAP
    side = 130
    across = 2 * MARGIN + max(wide, len(shot.cloths) * (side + MARGIN) - MARGIN)
    down = 3 * MARGIN + high + side
    scene = np.tile(sensor(np.full(31, 0.5)), (down, across, 1))
    scene[MARGIN - 8 : MARGIN + high + 8, MARGIN - 8 : MARGIN + wide + 8] = sensor(
        np.full(31, 0.03)
    )
    for at, spectrum in enumerate(spectra):
        row, column = divmod(at, chart.columns)
        y, x = MARGIN + row * pitch, MARGIN + column * pitch
        scene[y : y + PATCH, x : x + PATCH] = sensor(spectrum)
    y, x = np.mgrid[0:side, 0:side]
    knit = 1.0 + 0.08 * np.sin(2 * np.pi * x / 5.0) * np.cos(2 * np.pi * y / 7.0)
    knit /= knit.mean()
    outlines = {}
    top = 2 * MARGIN + high
    for at, name in enumerate(shot.cloths):
        left = MARGIN + at * (side + MARGIN)
        scene[top : top + side, left : left + side] = sensor(cloth(name)) * knit[..., None]
        outlines[name] = box(left + 10, top + 10, side - 20, side - 20)
    third = (down - 8) / 3
    card = [box(x, 4 + at * third, 30, third) for x in (4, across - 34) for at in range(3)]
    fringe = 1.0 + shot.stripes * np.sin(2 * np.pi * np.arange(across) / 17.0)
    scene[..., 0] *= fringe
    plane = np.array([(0, 0), (across, 0), (across, down), (0, down)], dtype=float)
    if shot.mirrored:
        plane = plane[[1, 0, 3, 2]]
    plane = np.roll(plane, shot.quarter_turns, axis=0)
    to_picture = ProjectiveTransform.from_estimate(plane, np.array(shot.seen_from) * SIZE)
    light = warp(scene, to_picture.inverse, output_shape=SIZE[::-1], order=1, mode="edge")
    rng = np.random.default_rng(7)
    u, v = np.meshgrid(np.linspace(-1, 1, SIZE[0]), np.linspace(-1, 1, SIZE[1]))
    light *= (1.0 + shot.shading * (0.7 * u - 0.5 * v - 0.3 * (u**2 + v**2)))[..., None]
    lamps = np.array(shot.lamp)
    if shot.other_lamp:
        share = (u[..., None] + 1) / 2
        lamps = lamps * (1 - share) + np.array(shot.other_lamp) * share
    light = light * lamps * shot.exposure
    if shot.blur_px:
        from scipy.ndimage import gaussian_filter

        light = gaussian_filter(light, (shot.blur_px, shot.blur_px, 0))
    light += rng.normal(size=light.shape) * shot.noise * np.sqrt(np.maximum(light, 1e-4))

    def pixels(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        return [(float(x), float(y)) for x, y in to_picture(np.array(points, dtype=float))]

    return Taken(
        light=light, corners=pixels(box(MARGIN, MARGIN, wide, high)),
        cloths={name: pixels(each) for name, each in outlines.items()},
        card=[pixels(each) for each in card],
    )  # fmt: skip


def box(x: float, y: float, across: float, down: float) -> list[tuple[float, float]]:
    """Corners of a rectangle."""
    return [(x, y), (x + across, y), (x + across, y + down), (x, y + down)]
