"""Twelve hand-drawn capitals with flared stems, set along an arc.

A glyph lives in a box one cap height tall, x to the right, y **up** from the baseline. It is a
union of closed shapes, a list of inline strokes for the decorative version, and an advance width.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from .curves import Path, brush, outline, resample, spline

STEM, ARM, GAP, SPACE = 0.235, 0.185, 0.13, 0.36
KERN = {"LL": -0.04, "LR": -0.05, "RA": -0.03, "AC": -0.05, "CE": 0.07, "HA": -0.04, "AR": -0.03}
KERN |= {"RV": -0.03, "GA": -0.03, "AT": -0.13, "TA": -0.13}
FLARE = (1.30, 1.13, 1.03, 1.0, 1.0, 1.0, 1.03, 1.13, 1.30)


@dataclass(frozen=True, kw_only=True)
class Glyph:
    width: float
    shapes: tuple[Path, ...]
    inlines: tuple[Path, ...]


def _stem(x: float, *, x_top: float | None = None, w: float = STEM) -> Path:
    """A full-height stroke, wider at both ends; ``x_top`` makes it lean."""
    top = x if x_top is None else x_top
    centre = resample([(x, 0.0), (top, 1.0)], 41)
    half = np.interp(np.linspace(0, 1, 41), np.linspace(0, 1, len(FLARE)), FLARE)[:, None] * w / 2
    side = np.array([1.0, 0.0])
    return np.vstack([centre + side * half, (centre - side * half)[::-1]])


def _leg(x: float, *, w: float) -> Path:
    """A stroke that widens at its foot only, for a letter whose top is drawn apart."""
    foot = FLARE[: len(FLARE) // 2]
    half = np.interp(np.linspace(0, 0.98, 41), np.linspace(0, 0.5, len(foot)), foot) * w / 2
    y = np.linspace(0, 0.98, 41)
    return np.vstack([np.stack([x + half, y], 1), np.stack([x - half, y], 1)[::-1]])


def _facets(*corners: tuple[float, float]) -> Path:
    """A straight-sided shape with points enough along each side to follow an arc."""
    ends = np.roll(corners, -1, axis=0)
    return np.vstack(
        [np.linspace(a, b, 20, endpoint=False) for a, b in zip(corners, ends, strict=True)]
    )


def _arm(x0: float, x1: float, y: float, *, grow_up: float, grow_down: float) -> Path:
    """A horizontal stroke around ``y`` that widens towards its free end at ``x1``."""
    t = np.linspace(0.0, 1.0, 25)
    swell = t**3
    x = x0 + (x1 - x0) * t
    up = np.stack([x, y + ARM / 2 + grow_up * swell], axis=1)
    down = np.stack([x, y - ARM / 2 - grow_down * swell], axis=1)
    return np.vstack([up, down[::-1]])


def _line(*points: tuple[float, float]) -> Path:
    return resample(points, 24)


LOW, MID, HIGH = ARM / 2, 0.5, 1 - ARM / 2
RISE = (0.16, 0.88)  # where an inline starts and stops in a stem


def _upright(x: float) -> Path:
    return _line((x, RISE[0]), (x, RISE[1]))


ROUND = outline(
    [
        (0.655, 0.90),
        (0.55, 0.975),
        (0.385, 1.01),
        (0.135, 0.88),
        (0.01, 0.5),
        (0.135, 0.12),
        (0.385, -0.01),
        (0.55, 0.025),
        (0.665, 0.10),
    ],
    [(0.665, 0.10), (0.70, 0.36)],
    [(0.70, 0.36), (0.55, 0.36)],
    [
        (0.55, 0.36),
        (0.50, 0.215),
        (0.40, 0.165),
        (0.30, 0.25),
        (0.265, 0.5),
        (0.30, 0.75),
        (0.40, 0.835),
        (0.49, 0.785),
        (0.535, 0.64),
    ],
    [(0.535, 0.64), (0.69, 0.64)],
    [(0.69, 0.64), (0.655, 0.90)],
)
CURVE_INLINE = spline([(0.40, 0.92), (0.225, 0.80), (0.14, 0.5), (0.225, 0.20), (0.40, 0.08)])

GLYPHS = {
    "I": Glyph(width=0.31, shapes=(_stem(0.155),), inlines=(_upright(0.155),)),
    "L": Glyph(
        width=0.55,
        shapes=(_stem(0.155), _arm(0.1, 0.55, LOW, grow_up=0.12, grow_down=0)),
        inlines=(_upright(0.155),),
    ),
    "E": Glyph(
        width=0.58,
        shapes=(
            _stem(0.155),
            _arm(0.1, 0.57, LOW, grow_up=0.10, grow_down=0),
            _arm(0.1, 0.49, MID, grow_up=0.05, grow_down=0.05),
            _arm(0.1, 0.56, HIGH, grow_up=0, grow_down=0.10),
        ),
        inlines=(_upright(0.155),),
    ),
    "T": Glyph(
        width=0.66,
        shapes=(
            _stem(0.33),
            _arm(0.33, 0.0, HIGH, grow_up=0, grow_down=0.12),
            _arm(0.33, 0.66, HIGH, grow_up=0, grow_down=0.12),
        ),
        inlines=(_upright(0.33),),
    ),
    "H": Glyph(
        width=0.74,
        shapes=(_stem(0.155), _stem(0.585), _arm(0.1, 0.64, MID, grow_up=0, grow_down=0)),
        inlines=(_upright(0.155), _upright(0.585)),
    ),
    "M": Glyph(
        width=1.045,
        shapes=(
            _leg(0.13, w=0.185),
            _leg(0.915, w=0.23),
            _facets((0.0, 1.0), (0.30, 1.0), (0.615, 0.05), (0.40, 0.05)),
            _facets((1.045, 1.0), (0.815, 1.0), (0.44, 0.05), (0.575, 0.05)),
        ),
        inlines=(_upright(0.13), _upright(0.915)),
    ),
    "A": Glyph(
        width=0.78,
        shapes=(
            _stem(0.13, x_top=0.37, w=0.20),
            _stem(0.65, x_top=0.41, w=0.25),
            _arm(0.18, 0.6, 0.30, grow_up=0, grow_down=0),
        ),
        inlines=(_line((0.165, 0.16), (0.335, 0.86)), _line((0.615, 0.16), (0.455, 0.86))),
    ),
    "V": Glyph(
        width=0.78,
        shapes=(_stem(0.37, x_top=0.13, w=0.25), _stem(0.41, x_top=0.65, w=0.20)),
        inlines=(_line((0.335, 0.16), (0.165, 0.86)),),
    ),
    "R": Glyph(
        width=0.72,
        shapes=(
            _stem(0.155),
            brush(
                [
                    (0.12, 0.915),
                    (0.36, 0.915),
                    (0.525, 0.85),
                    (0.57, 0.70),
                    (0.525, 0.55),
                    (0.36, 0.485),
                    (0.12, 0.485),
                ],
                [0.17, 0.17, 0.20, 0.24, 0.20, 0.16, 0.16],
            ),
            brush([(0.36, 0.50), (0.48, 0.33), (0.60, 0.0)], [0.20, 0.21, 0.23, 0.31]),
        ),
        inlines=(_upright(0.155),),
    ),
    "C": Glyph(width=0.70, shapes=(ROUND,), inlines=(CURVE_INLINE,)),
    "G": Glyph(
        width=0.74,
        shapes=(
            ROUND,
            _facets((0.40, 0.50), (0.72, 0.50), (0.72, 0.0), (0.56, 0.10), (0.53, 0.34)),
        ),
        inlines=(CURVE_INLINE,),
    ),
    "S": Glyph(
        width=0.62,
        shapes=(
            brush(
                [
                    (0.545, 0.75),
                    (0.49, 0.865),
                    (0.32, 0.91),
                    (0.16, 0.83),
                    (0.145, 0.68),
                    (0.28, 0.56),
                    (0.42, 0.46),
                    (0.485, 0.32),
                    (0.44, 0.155),
                    (0.29, 0.09),
                    (0.12, 0.13),
                    (0.06, 0.27),
                ],
                [0.28, 0.19, 0.18, 0.20, 0.22, 0.24, 0.25, 0.24, 0.22, 0.20, 0.18, 0.19, 0.28],
            ),
        ),
        inlines=(),
    ),
}


def set_on_arc(
    text: str,
    *,
    height: float,
    centre: tuple[float, float],
    radius: float,
    smile: bool = False,
    spacing: float = GAP,
) -> list[Glyph]:
    """Glyphs of ``text`` in canvas coordinates, centered on an arc through their baseline.

    The arc is a rainbow with its center below the line, or a smile with its center above.
    """
    widths = [GLYPHS[c].width if c != " " else SPACE for c in text]
    gaps = [spacing + KERN.get(a + b, 0.0) for a, b in pairwise(text)]
    total = sum(widths) + sum(gaps)
    middle = radius + (-0.5 if smile else 0.5) * height

    def bend(offset: float) -> Callable[[Path], Path]:
        def onto_arc(p: Path) -> Path:
            angle = (p[:, 0] + offset - total / 2) * height / middle
            r = radius + (-1 if smile else 1) * p[:, 1] * height
            y = r * np.cos(angle) * (1 if smile else -1)
            return np.stack([centre[0] + r * np.sin(angle), centre[1] + y], axis=1)

        return onto_arc

    placed, at = [], 0.0
    for character, width, gap in zip(text, widths, [*gaps, 0.0], strict=True):
        if character != " ":
            glyph, onto = GLYPHS[character], bend(at)
            placed.append(
                Glyph(
                    width=width,
                    shapes=tuple(onto(s) for s in glyph.shapes),
                    inlines=tuple(onto(s) for s in glyph.inlines),
                )
            )
        at += width + gap
    return placed
