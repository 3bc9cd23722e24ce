"""'River Morning': a tonal painting of our own, misty valley and moored boat, fading to nothing.

A small smooth study (600 by 700) fixes light and layout. Brush strokes that take its colors, a
veil of mist and a little paper grain are then laid on at the wanted size, so every size shows the
same picture. Positions are in study pixels; a distance u or v is a share of width or height.
"""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw
from scipy.ndimage import gaussian_filter

from inksim.common import FloatArray, Uint8Array

from .brushwork import STUDY, boat, dabs, grasses, paint, ramp, rgb, trees
from .curves import spline

SIZE = (2400, 2800)
DPI = 200
SEED = 5
HORIZON = 0.46
OVERSAMPLE = 2


def picture(*, scale: float = 1.0) -> Uint8Array:
    """The whole painting as RGBA."""
    rng = np.random.default_rng(SEED)
    study, mist, detail = _study(rng)
    size = (round(SIZE[0] * scale), round(SIZE[1] * scale))
    canvas = Image.new("RGB", (size[0] * OVERSAMPLE, size[1] * OVERSAMPLE), (190, 190, 180))
    draw = ImageDraw.Draw(canvas)
    for radius, share, jitter in ((8.0, 0.0, 0.020), (4.2, 0.45, 0.020), (2.0, 0.72, 0.018)):
        _strokes(draw, study, detail, rng, radius=radius, share=share, jitter=jitter)
    trees(draw, rng)
    boat(draw, rng)
    grasses(draw, rng)
    painted = np.asarray(canvas.resize(size, Image.Resampling.BOX), float) / 255
    return _finish(painted, study, mist, size)


def _finish(
    painted: FloatArray, study: FloatArray, mist: FloatArray, size: tuple[int, int]
) -> Uint8Array:
    """Mist over the strokes, faint grain, rounding that keeps the file small, soft edge."""
    rng = np.random.default_rng(SEED + 1)
    veil = _enlarge(mist, size)[..., None]
    painted = 0.86 * painted + 0.14 * _enlarge(study, size)
    painted = painted * (1 - veil) + rgb("#e9e3d6") * veil
    grain = _enlarge(fbm(rng, cells=(150, 175), octaves=1), size)[..., None]
    painted = painted * (1 + 0.035 * grain)
    levels = np.rint(np.clip(painted, 0, 1) * 63) * (255 / 63)
    alpha = np.rint(_enlarge(_vignette(rng), size) * 85) * 3
    levels[alpha == 0] = 0
    return np.dstack([np.rint(levels), alpha]).clip(0, 255).astype(np.uint8)


# The study ------------------------------------------------------------------------------------


def fbm(
    rng: np.random.Generator, *, cells: tuple[int, int], octaves: int, height: int = STUDY[1]
) -> FloatArray:
    """Fractal noise over the study, about -1 to 1; ``cells`` across and down at the coarsest."""
    total = np.zeros((height, STUDY[0]))
    for k in range(octaves):
        lattice = rng.uniform(-1, 1, (cells[1] * 2**k, cells[0] * 2**k))
        total += _enlarge(lattice, (STUDY[0], height)) * 0.5**k
    return total / sum(0.5**k for k in range(octaves))


def smoothstep(x: FloatArray, low: float, high: float) -> FloatArray:
    t = np.clip((x - low) / (high - low), 0, 1)
    return t * t * (3 - 2 * t)


def grid() -> tuple[FloatArray, FloatArray]:
    v, u = np.mgrid[0 : STUDY[1], 0 : STUDY[0]]
    return u / STUDY[0], v / STUDY[1]


def _over(base: FloatArray, colour: FloatArray, mask: FloatArray) -> FloatArray:
    return base * (1 - mask[..., None]) + colour * mask[..., None]


SKY = [(0.0, "#557d94"), (0.14, "#86a5ae"), (0.26, "#c6c8b9"), (0.34, "#efd2a4"), (0.5, "#f9dcae")]


def _study(rng: np.random.Generator) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The smooth picture (h, w, 3), the mist (h, w) and where fine strokes are wanted (h, w)."""
    u, v = grid()
    sky = _sky(rng, v)
    land = _ridges(rng, sky, u, v)
    land = _meadow(rng, land, u, v)
    river = _river(u, v)
    picture = _over(land, _water(rng, land, u, v), river)
    bank = np.exp(-(((river - 0.5) / 0.3) ** 2)) * (v > HORIZON)
    picture = _over(picture, np.broadcast_to(rgb("#4d5a43"), picture.shape), 0.5 * bank)
    mist = _mist(rng, u, v)
    grey = gaussian_filter(picture.mean(axis=2), 1.0)
    edges = gaussian_filter(np.hypot(*np.gradient(grey)), 2.0)
    detail = np.clip(edges / np.quantile(edges, 0.97), 0, 1)
    return np.clip(picture, 0, 1), mist, detail


def _sky(rng: np.random.Generator, v: FloatArray) -> FloatArray:
    sky = ramp(v, SKY)
    clouds = smoothstep(fbm(rng, cells=(3, 14), octaves=4), 0.05, 0.55)
    warm = ramp(v, [(0.0, "#c3cbc8"), (0.2, "#f0d3b4"), (0.45, "#fbe6c2")])
    return _over(sky, warm, 0.7 * clouds)


def _ridges(rng: np.random.Generator, sky: FloatArray, u: FloatArray, v: FloatArray) -> FloatArray:
    """Five ranges of hills, darker and more wooded towards the viewer, mist at their feet."""
    out = sky
    layers = [  # crest, height, wooded, near color
        (0.318, 0.060, 0.000, "#8fa3aa"),
        (0.352, 0.052, 0.002, "#6f8d92"),
        (0.390, 0.040, 0.008, "#4c7271"),
        (0.420, 0.030, 0.013, "#355a4f"),
        (0.447, 0.018, 0.018, "#2b4a38"),
    ]
    for k, (crest, height, wooded, colour) in enumerate(layers):
        line = fbm(rng, cells=(3 + k, 1), octaves=3, height=1)[0]
        wood = np.abs(fbm(rng, cells=(46, 1), octaves=2, height=1)[0])
        lean = (0.025, -0.03, 0.02, -0.02, 0.0)[k] * np.sin(2.4 * (u[0] - 0.2))
        top = crest - height * line - wooded * wood + lean
        mask = smoothstep(v - top[None, :], -0.0015, 0.0025)
        foot = smoothstep(v - top[None, :], 0.0, 0.085)[..., None]
        out = _over(out, rgb(colour) * (1 - 0.62 * foot) + rgb("#e6d9c0") * 0.62 * foot, mask)
    return out


def _meadow(rng: np.random.Generator, base: FloatArray, u: FloatArray, v: FloatArray) -> FloatArray:
    """Flat land from the far bank to the viewer: dewy green, stubble gold, dark near corners."""
    colour = ramp(
        v,
        [
            (0.45, "#93a077"),
            (0.55, "#a3a05a"),
            (0.68, "#6a7d3e"),
            (0.82, "#3f5429"),
            (1, "#22331f"),
        ],
    )
    patches = smoothstep(fbm(rng, cells=(4, 16), octaves=3), -0.05, 0.35) * smoothstep(v, 0.47, 0.6)
    gold = ramp(v, [(0.45, "#d4bd83"), (0.65, "#cfa653"), (1, "#8a6a33")])
    colour = _over(colour, gold, 0.75 * patches)
    tufts = fbm(rng, cells=(40, 34), octaves=2)[..., None]
    colour = colour * (1 + 0.10 * tufts * smoothstep(v, 0.5, 0.8)[..., None])
    edge = HORIZON + 0.012 * np.sin(5 * u + 1)
    return _over(base, colour, smoothstep(v - edge, -0.004, 0.006))


def _river_centre(v: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Center line and half width of the river at each height, shares of the width."""
    course = [(0.66, 0.462), (0.575, 0.485), (0.45, 0.53), (0.36, 0.60), (0.47, 0.72)]
    course = spline([*course, (0.60, 0.86), (0.55, 1.02)])
    order = np.argsort(course[:, 1])
    centre = np.interp(v, course[order, 1], course[order, 0])
    half = np.interp(
        v, [0.462, 0.50, 0.58, 0.70, 0.85, 1.0], [0.006, 0.035, 0.10, 0.19, 0.29, 0.36]
    )
    return centre, half


def _river(u: FloatArray, v: FloatArray) -> FloatArray:
    centre, half = _river_centre(v)
    ragged = 0.010 * np.sin(37 * v + 9 * u) + 0.006 * np.sin(91 * v + 3)
    inside = half + ragged * smoothstep(v, 0.48, 0.6) - np.abs(u - centre)
    return smoothstep(inside, -0.006, 0.006) * smoothstep(v, 0.461, 0.466)


def _water(rng: np.random.Generator, land: FloatArray, u: FloatArray, v: FloatArray) -> FloatArray:
    """The sky and far hills upside down, squeezed, a little darker, broken by ripples."""
    ripple = fbm(rng, cells=(10, 90), octaves=2)
    source = HORIZON - 0.62 * (v - HORIZON) + 0.012 * ripple * smoothstep(v, 0.5, 0.9)
    rows = np.clip(source * STUDY[1], 0, STUDY[1] - 1).astype(int)
    mirrored = gaussian_filter(land, (6, 2, 0))[rows, np.arange(STUDY[0])[None, :]]
    deep = ramp(v, [(0.46, "#c5c4b2"), (0.7, "#58808a"), (1, "#1f444d")])
    weight = np.interp(v, [0.46, 0.75, 1], [0.12, 0.36, 0.62])
    water = _over(mirrored * 0.97, deep, weight)
    glint = smoothstep(ripple, 0.30, 0.55) * smoothstep(v, 0.52, 0.7)
    water = _over(water, np.broadcast_to(rgb("#f3e6cb"), water.shape), 0.34 * glint)
    centre, half = _river_centre(v)
    shade = np.exp(-(((half - np.abs(u - centre)) / (0.05 + 0.10 * (v - 0.46))).clip(0) ** 2))
    return _over(water, np.broadcast_to(rgb("#3c5748"), water.shape), 0.55 * shade)


def _mist(rng: np.random.Generator, u: FloatArray, v: FloatArray) -> FloatArray:
    """Low banks of mist along the far bank and over the water."""
    cloud = smoothstep(fbm(rng, cells=(2, 9), octaves=4), -0.35, 0.45)
    far = np.exp(-(((v - 0.468) / 0.026) ** 2)) * 0.85
    low = np.exp(-(((v - 0.56 - 0.03 * np.sin(5 * u)) / 0.040) ** 2)) * 0.55
    return np.clip((far + low) * (0.25 + 0.75 * cloud), 0, 0.9)


def _vignette(rng: np.random.Generator) -> FloatArray:
    """Opacity: 1 within, 0 at the canvas edge, along a rounded rectangle with a brushed rim."""
    u, v = grid()
    a, b = np.abs(2 * u - 1), np.abs(2 * v - 1)
    reach = (a**3.2 + b**3.2) ** (1 / 3.2)
    rim = 0.055 * fbm(rng, cells=(9, 11), octaves=3) + 0.035 * fbm(rng, cells=(14, 90), octaves=1)
    return 1 - smoothstep(reach + rim, 0.77, 0.91)


# Paint ----------------------------------------------------------------------------------------


def _enlarge(field: FloatArray, size: tuple[int, int]) -> FloatArray:
    """Bicubic, one float plane at a time."""
    planes = field[..., None] if field.ndim == 2 else field
    out = [
        np.asarray(Image.fromarray(planes[..., i].astype(np.float32)).resize(size, Image.BICUBIC))
        for i in range(planes.shape[2])
    ]
    return np.clip(np.stack(out, axis=-1), -1, 1).astype(float).squeeze()


def _strokes(
    draw: ImageDraw.ImageDraw,
    study: FloatArray,
    detail: FloatArray,
    rng: np.random.Generator,
    *,
    radius: float,
    share: float,
    jitter: float,
) -> None:
    """One pass of marks along the forms; passes with ``share`` skip places of less detail."""
    w, h = STUDY
    step = radius * 0.8
    ys, xs = np.mgrid[0:h:step, 0:w:step]
    centre = np.stack([xs.ravel(), ys.ravel()], axis=1)
    centre = centre + rng.uniform(-step, step, centre.shape) * 0.7
    column = np.clip(centre[:, 0].astype(int), 0, w - 1)
    row = np.clip(centre[:, 1].astype(int), 0, h - 1)
    keep = rng.random(len(centre)) < np.where(
        share > 0, (1 - share) * 0.3 + 1.2 * detail[row, column], 1
    )
    order = rng.permutation(np.flatnonzero(keep))
    centre, row, column = centre[order], row[order], column[order]

    grey = gaussian_filter(study.mean(axis=2), radius)
    gy, gx = np.gradient(grey)
    strength = np.hypot(gx, gy)[row, column]
    along = np.arctan2(gx[row, column], -gy[row, column])  # across the gradient
    flat = strength < 0.0025
    angle = np.where(flat, 0.0, along) + rng.normal(0, 0.16, len(order))
    length = radius * rng.uniform(3.0, 6.5, len(order)) * np.where(flat, 1.5, 1.0)
    width = radius * rng.uniform(0.8, 1.5, len(order))
    bend = radius * rng.normal(0, 0.35, len(order))
    smooth = gaussian_filter(study, (radius / 3, radius / 3, 0))
    colours = smooth[row, column]
    colours = (
        colours
        + rng.normal(0, jitter, (len(order), 1))
        + rng.normal(0, jitter / 3, (len(order), 3))
    )
    paint(draw, dabs(centre, angle, length, width, bend), colours)
