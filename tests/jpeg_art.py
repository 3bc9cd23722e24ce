"""Flat art as customers send it: text, curves, thin rings and large areas through JPEG."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from inksim.artwork.flats import Flats
from inksim.colour import D50, delta_e_2000, lab_from_xyz, xyz_from_srgb8
from tests.flat_art import Colour

CLOSEST = 12.0  # ΔE00 between the two nearest colors of a palette
FAR = 14.0  # and at least between any two others
FINER = 3


def lab_of(colours: np.ndarray) -> np.ndarray:
    """CIELAB (N, 3), D50, of colors (N, 3) in 0 to 255."""
    return lab_from_xyz(xyz_from_srgb8(colours, D50), D50)


def random_palette(count: int, rng: np.random.Generator) -> list[Colour]:
    """`count` colors: white or black or any first, then one near it, then others far from all."""
    anchors = [(255, 255, 255), (0, 0, 0), tuple(int(v) for v in rng.integers(0, 256, 3))]
    found = [np.array(anchors[rng.integers(0, 3)])]
    while len(found) < count:
        some = rng.integers(0, 256, (400, 3))
        gap = np.stack([delta_e_2000(lab_of(c[None]), lab_of(some)) for c in found])
        nearest = gap.min(axis=0)
        second = len(found) == 1 and count > 2
        fit = np.abs(nearest - CLOSEST) < 0.7 if second else nearest >= FAR
        if fit.any():
            found.append(some[np.argmax(fit)])
    return [(int(c[0]), int(c[1]), int(c[2])) for c in found]


def jpeg_drawing(colours: list[Colour], width: int, *, seed: int) -> Image.Image:
    """A picture `width` wide and three quarters as high, the first color its ground.

    Every other color has one area of its own, text, a curve and a thin ring; drawn finer and
    reduced, so that its edges are soft as a drawing program makes them.
    """
    rng = np.random.default_rng(seed)
    height = width * 3 // 4
    scale = FINER if width <= 1500 else 2
    image = Image.new("RGB", (width * scale, height * scale), colours[0])
    draw = ImageDraw.Draw(image)
    unit = width * scale / 100
    columns = 4 if len(colours) > 3 else max(1, len(colours) - 1)
    rows = -(-(len(colours) - 1) // columns)
    wide, high = 100 / columns, 75 / rows
    for number, colour in enumerate(colours[1:]):
        left, top = number % columns * wide, number // columns * high
        x, y = left + rng.uniform(0.1, 0.3) * wide, top + rng.uniform(0.1, 0.25) * high
        r = rng.uniform(0.25, 0.35) * min(wide, high)
        box = (x * unit, y * unit, (x + 2 * r) * unit, (y + 2 * r) * unit)
        (draw.ellipse if number % 2 else draw.rectangle)(box, fill=colour)
        inner = colours[rng.integers(0, len(colours))]
        draw.text(
            ((x + 0.3 * r) * unit, (y + 0.5 * r) * unit),
            "Rk8",
            fill=inner if inner != colour else colours[0],
            font=ImageFont.load_default(max(8.0, 0.8 * r * unit)),
        )
        size = max(9.0 * scale, rng.uniform(2.0, 5.0) * unit)
        draw.text(
            (x * unit, (y + 2.2 * r) * unit),
            "Harbor & Sons",
            fill=colour,
            font=ImageFont.load_default(size),
        )
        ring = (x + 1.5 * r, y + 0.5 * r, x + 2.8 * r, y + 1.8 * r)
        thin = max(1, round(1.6 * scale))
        draw.ellipse([v * unit for v in ring], outline=colour, width=thin)
        t = np.linspace(0, 1, 60)
        curve = np.stack(
            [(left + wide * t) * unit, (top + high * (0.9 + 0.07 * np.sin(9 * t + number))) * unit],
            axis=-1,
        )
        draw.line([tuple(p) for p in curve], fill=colour, width=max(1, round(0.5 * unit)))
    return image.resize((width, height), Image.Resampling.BOX)


def through_jpeg(image: Image.Image, *, quality: int, subsampling: str) -> bytes:
    """The file's bytes."""
    out = io.BytesIO()
    image.save(out, "JPEG", quality=quality, subsampling=subsampling)
    return out.getvalue()


def missed(flats: Flats, colours: list[Colour]) -> str:
    """Nothing where every drawn color came back once, within ΔE00 2; else what is wrong."""
    found = np.array([c.rgb for c in flats.colours]).reshape(-1, 3)
    if len(found) != len(colours):
        return f"{len(found)} for {len(colours)}"
    gap = np.stack([delta_e_2000(lab_of(c[None]), lab_of(found)) for c in np.array(colours)])
    if len(set(gap.argmin(axis=1))) != len(colours):
        return "two drawn colors came back as one"
    worst = float(gap.min(axis=1).max())
    return f"ΔE00 {worst:.1f}" if worst > 2.0 else ""
