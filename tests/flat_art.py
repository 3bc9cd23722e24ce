"""Flat art drawn eight times finer, and how far a separation of it is off."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import skimage
from PIL import Image, ImageDraw

from inksim.artwork.flats import Flats

FINE = 8

RED, BLUE, YELLOW, WHITE, BLACK = (
    (200, 30, 40), (20, 60, 160), (250, 220, 40), (255, 255, 255), (20, 20, 20),
)  # fmt: skip

TWELVE = [
    RED, BLUE, YELLOW, WHITE, BLACK, (128, 128, 128), (255, 128, 128), (0, 128, 0), (130, 60, 20),
    (240, 140, 0), (100, 200, 240), (120, 0, 120),
]  # fmt: skip

Colour = tuple[int, int, int]


def drawing(colours: int, *, seed: int = 2, size: tuple[int, int] = (400, 300)) -> np.ndarray:
    """Label per fine pixel: overlapping discs, polygons and boxes; 0 is the cloth."""
    width, height = size[0] * FINE, size[1] * FINE
    image = Image.new("L", (width, height))
    draw = ImageDraw.Draw(image)
    rng = np.random.default_rng(seed)
    for number in range(max(40, 3 * colours)):
        x, y, r = rng.uniform(0, width), rng.uniform(0, height), rng.uniform(12, 50) * FINE
        label = 1 + number % colours
        if number % 3 == 0:
            draw.ellipse((x - r, y - r, x + r, y + r), fill=label)
        elif number % 3 == 1:
            turn = rng.uniform(0, 2 * np.pi, 5)
            corners = zip(x + r * np.cos(turn), y + r * np.sin(turn), strict=True)
            draw.polygon(list(corners), fill=label)
        else:
            draw.rectangle((x - r, y - r / 2, x + r, y + r / 2), fill=label)
    return np.array(image)


def coverage(fine: np.ndarray, colours: int) -> np.ndarray:
    """(H, W, colors + 1) share of each label in each pixel."""
    height, width = fine.shape[0] // FINE, fine.shape[1] // FINE
    cells = fine.reshape(height, FINE, width, FINE)
    return np.stack([(cells == n).mean(axis=(1, 3)) for n in range(colours + 1)], axis=-1)


def antialiased(share: np.ndarray, colours: Sequence[Colour]) -> np.ndarray:
    """RGBA as a drawing program blends: in sRGB code values, straight alpha."""
    paint = share[..., 1:] @ np.array(colours, dtype=float)
    alpha = 1 - share[..., 0]
    rgb = np.divide(paint, alpha[..., None], out=np.zeros_like(paint), where=alpha[..., None] > 0)
    return np.dstack([rgb, 255 * alpha]).round().astype(np.uint8)


def art(
    colours: Sequence[Colour], *, ground: bool = False, seed: int = 2
) -> tuple[np.ndarray, np.ndarray]:
    """Pixels and the coverage they show; with `ground` the cloth is painted in the first color."""
    fine = drawing(len(colours), seed=seed)
    if ground:
        fine[fine == 0] = 1
    share = coverage(fine, len(colours))
    return antialiased(share, colours), share


def numbered(flats: Flats, colours: Sequence[Colour], *, within: int = 0) -> np.ndarray:
    """Labels renumbered as in `colours`; every flat must be one of them."""
    table = np.zeros(256, dtype=int)
    for number, flat in enumerate(flats.colours, start=1):
        gap = [max(abs(a - b) for a, b in zip(flat.rgb, c, strict=True)) for c in colours]
        assert min(gap) <= within, f"{flat.hex} is none of the colors drawn"
        table[number] = 1 + int(np.argmin(gap))
    return table[flats.labels]


def wrong(labels: np.ndarray, share: np.ndarray, *, lead: float = 0.1) -> float:
    """Share of pixels on another plate than the one that covers them most, by a clear `lead`.

    Bare cloth is where alpha is below one half, whatever the rest.
    """
    alpha = np.rint(255 * (1 - share[..., 0]))
    truth = np.where(alpha < 128, 0, 1 + share[..., 1:].argmax(axis=-1))
    ranked = np.sort(share[..., 1:], axis=-1)
    clear = (alpha < 128) | (share.shape[-1] == 2)
    if share.shape[-1] > 2:
        clear |= ranked[..., -1] - ranked[..., -2] >= lead
    return float((clear & (labels != truth)).mean())


PICTURES = Path(skimage.__file__).parent / "data"
