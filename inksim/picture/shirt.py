"""Draw a print on a T-shirt laid flat: chest, back or sleeve.

The shirt is this project's own drawing: a half outline in millimeters, mirrored, with soft light.
Colors are to be judged on the flat picture; here the light of the folds is normalized so that
the print keeps its mean, and the cloth beside it is the same cloth.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from inksim.artwork import SURROUND, decode8, encode8, resampled_light
from inksim.common import Float32Array, FloatArray, InputError, Uint8Array
from inksim.picture.render import Look
from inksim.stock import USUAL_TOP_MM, Place, check_fit

Point = tuple[float, float]

# Right half of a shirt laid flat, millimeters from the highest point of the neck, y downwards:
# (end, control, control) of cubic curves.
WIDTH_MM, LENGTH_MM = 800.0, 744.0
_MARGIN_MM = 36.0
_NECK: Point = (90.0, 0.0)
_OUTLINE: tuple[tuple[Point, ...], ...] = (
    ((222.0, 46.0), (136.0, 14.0), (186.0, 30.0)),  # shoulder
    ((386.0, 252.0), (284.0, 78.0), (344.0, 170.0)),  # sleeve, top
    ((308.0, 300.0), (362.0, 274.0), (334.0, 288.0)),  # sleeve, hem
    ((256.0, 224.0), (290.0, 272.0), (270.0, 244.0)),  # sleeve, under
    ((257.0, 732.0), (245.0, 390.0), (248.0, 570.0)),  # side
    ((0.0, 744.0), (172.0, 744.0), (86.0, 744.0)),  # hem
)
_FRONT_NECK: tuple[Point, ...] = ((0.0, 102.0), (82.0, 58.0), (50.0, 102.0))
_BACK_NECK: tuple[Point, ...] = ((0.0, 20.0), (68.0, 12.0), (36.0, 20.0))
_RIB_MM = 19.0
# The sleeve at the right: the middle of its hem, and the way from there to the shoulder.
_CUFF: Point = (347.0, 276.0)
_UP: Point = (-0.524, -0.852)
View = tuple[float, float, float, float]
WHOLE: View = (
    -WIDTH_MM / 2 - _MARGIN_MM, -_MARGIN_MM, WIDTH_MM + 2 * _MARGIN_MM, LENGTH_MM + 2 * _MARGIN_MM
)  # fmt: skip
_SLEEVE_VIEW: View = (140.0, 0.0, 282.0, 340.0)  # left, top, width, height
_REACH_MM = 45.0  # of the softest blur, 12 mm, and the shadow's shift
_SUPERSAMPLE = 3
_KEPT_PX = 2000
"""Height of the largest shirt whose drawing is kept: 25 MB at 1200 px, 70 MB at this."""

# Soft creases: from, to, half width in mm, strength. Light falls from the upper left.
_CREASES: tuple[tuple[Point, Point, float, float], ...] = (
    ((250.0, 236.0), (128.0, 330.0), 20.0, 0.050),
    ((256.0, 262.0), (166.0, 420.0), 24.0, 0.040),
    ((-250.0, 236.0), (-128.0, 330.0), 20.0, -0.050),
    ((-256.0, 262.0), (-166.0, 420.0), 24.0, -0.040),
    ((244.0, 470.0), (178.0, 690.0), 30.0, 0.035),
    ((-244.0, 500.0), (-190.0, 700.0), 30.0, -0.035),
    ((40.0, 600.0), (76.0, 728.0), 34.0, 0.028),
    ((-70.0, 620.0), (-96.0, 728.0), 30.0, -0.026),
    ((262.0, 88.0), (330.0, 214.0), 15.0, 0.045),
    ((-262.0, 88.0), (-330.0, 214.0), 15.0, -0.045),
)


def on_shirt(
    print_rgb: Uint8Array,
    *,
    look: Look,
    tile: Uint8Array,
    tile_px_per_mm: float,
    print_width_mm: float,
    print_top_mm: float | None = None,
    label: int = 0,
    height_px: int = 1200,
    place: Place = "front",
) -> Uint8Array:
    """A shirt of the look's bare cloth with the print on it: uint8 (height_px, w, 3).

    print_rgb: the drawn print, uint8 (h, w, 3) or (h, w, 4), with the bare cloth round it.
    print_top_mm is measured down from the collar's lower edge, on the sleeve up from its hem to the
    print; `USUAL_TOP_MM` if not given. The print is centered; on the sleeve its top points to the
    shoulder, and the view is of the sleeve. tile_px_per_mm is the resolution the tile was made for.
    label is the bare cloth's. Raises InputError for a print that does not fit its place.
    """
    if not 200 <= height_px <= 6000:
        raise InputError(f"a shirt {height_px} px high is asked for; give 200 to 6000 px.")
    if not 0 <= label < look.labels:
        raise InputError(f"the cloth's label is {label}; the look has 0 to {look.labels - 1}.")
    distance = USUAL_TOP_MM[place] if print_top_mm is None else print_top_mm
    height_mm = print_width_mm * print_rgb.shape[0] / print_rgb.shape[1]
    check_fit(place, width_mm=print_width_mm, height_mm=height_mm, top_mm=distance)
    blank = (_kept_blank if height_px <= _KEPT_PX else _blank)(place, height_px)
    canvas = blank.canvas
    cloth = _cloth(look.linear[label], tile, px_per_mm=tile_px_per_mm, canvas=canvas)
    if place == "sleeve":
        reach = distance + height_mm / 2
        centre = (_CUFF[0] + reach * _UP[0], _CUFF[1] + reach * _UP[1])
        shape = (print_width_mm, height_mm)
        inside = _lay_turned(cloth, print_rgb, canvas=canvas, centre=centre, size_mm=shape)
    else:
        top = _neckline(place)[0][1] + _RIB_MM + distance
        window = canvas.window(-print_width_mm / 2, top, print_width_mm, height_mm)
        cloth[window] = _resized(print_rgb, cloth[window].shape[:2])
        inside = np.zeros(cloth.shape[:2], dtype=np.float32)
        inside[window] = 1.0
    # The print keeps its mean; the shade of the neck lies on the cloth as the light does.
    light = blank.light / ((blank.light * inside).sum() / inside.sum())
    cloth *= light[..., None]
    cloth *= blank.shade[..., None]
    ground = decode8(np.array(SURROUND, dtype=np.uint8)) * blank.ground[..., None]
    drawn = encode8(ground * (1 - blank.shape[..., None]) + cloth * blank.shape[..., None])
    if place != "sleeve":
        return drawn
    return np.ascontiguousarray(drawn[canvas.window(*_SLEEVE_VIEW)][:height_px])


class _Blank(NamedTuple):
    """A shirt without cloth and print, all (h, w) of its canvas: the same for every garment.

    light: of creases, edge and seams. shade: light left at the neck's opening. shape: coverage.
    ground: light left on the surround, in the shirt's shadow.
    """

    canvas: _Canvas
    light: Float32Array
    shade: Float32Array
    shape: Float32Array
    ground: Float32Array


def _blank(place: Place, height_px: int) -> _Blank:
    sleeve = place == "sleeve"
    seen_mm = _SLEEVE_VIEW[3] if sleeve else LENGTH_MM + 2 * _MARGIN_MM
    canvas = _Canvas(scale=height_px / seen_mm, view=_around(_SLEEVE_VIEW) if sleeve else WHOLE)
    neck = _neckline(place)
    light = _creases(canvas, turned=place == "back") * _rounding(canvas, neck)
    light *= 1 - 0.15 * _seams(canvas, neck)
    drawn = _Blank(canvas, light, *_outline(canvas, opened=place != "back"))
    for part in drawn[1:]:
        part.setflags(write=False)
    return drawn


_kept_blank = lru_cache(maxsize=2)(_blank)


def _neckline(place: Place) -> tuple[Point, ...]:
    return _BACK_NECK if place == "back" else _FRONT_NECK


def _around(view: View) -> View:
    """A view with as much round it, inside the whole, as soft shadows and edges reach."""
    (left, top, width, height), (least, highest, most, longest) = view, WHOLE
    right, bottom = left + width + _REACH_MM, top + height + _REACH_MM
    left, top = max(left - _REACH_MM, least), max(top - _REACH_MM, highest)
    return left, top, min(right, least + most) - left, min(bottom, highest + longest) - top


def _lay_turned(
    cloth: Float32Array,
    print_rgb: Uint8Array,
    *,
    canvas: _Canvas,
    centre: Point,
    size_mm: tuple[float, float],
) -> Float32Array:
    """Lay the print on the sleeve, in place; returns its coverage 0..1 (h, w) of the canvas."""
    from scipy.ndimage import map_coordinates

    wide, high = (max(1, round(side * canvas.scale)) for side in size_mm)
    small = _resized(print_rgb, (high, wide))
    x, y = canvas.mm
    x, y = x - np.float32(centre[0]), y - np.float32(centre[1])
    across = (-x * _UP[1] + y * _UP[0]) * canvas.scale  # right of the way up
    along = -(x * _UP[0] + y * _UP[1]) * canvas.scale  # down
    inside = np.clip(wide / 2 - np.abs(across) + 0.5, 0, 1)
    inside = (inside * np.clip(high / 2 - np.abs(along) + 0.5, 0, 1)).astype(np.float32)
    at = inside > 0
    places = np.stack([along[at] + (high - 1) / 2, across[at] + (wide - 1) / 2])
    for channel in range(3):
        drawn = map_coordinates(small[..., channel], places, order=1, mode="nearest")
        cloth[at, channel] += inside[at] * (drawn - cloth[at, channel])
    return np.asarray(inside)


class _Canvas:
    """Millimeters to pixels, and masks of shapes drawn finer than they are shown.

    view: left, top, width and height of what is drawn, mm from the middle of the neck.
    """

    def __init__(self, *, scale: float, view: View = WHOLE) -> None:
        self.scale = scale
        self.left, self.top, width, height = view
        self.height, self.width = round(height * scale), round(width * scale)

    @property
    def mm(self) -> tuple[Float32Array, Float32Array]:
        """x (1, w) and y (h, 1) of the pixel centers in millimeters."""
        x = (np.arange(self.width) + 0.5) / self.scale + self.left
        y = (np.arange(self.height) + 0.5) / self.scale + self.top
        return x.astype(np.float32)[None, :], y.astype(np.float32)[:, None]

    def window(self, left: float, top: float, width: float, height: float) -> tuple[slice, slice]:
        x = round((left - self.left) * self.scale)
        y = round((top - self.top) * self.scale)
        return (
            slice(y, y + max(1, round(height * self.scale))),
            slice(x, x + max(1, round(width * self.scale))),
        )

    def mask(self, points: Sequence[Point]) -> Float32Array:
        """Coverage 0..1 (h, w) of a polygon in millimeters."""
        from PIL import Image, ImageDraw

        fine = self.scale * _SUPERSAMPLE
        page = Image.new("L", (self.width * _SUPERSAMPLE, self.height * _SUPERSAMPLE), 0)
        moved = [((x - self.left) * fine, (y - self.top) * fine) for x, y in points]
        ImageDraw.Draw(page).polygon(moved, fill=255)
        small = page.resize((self.width, self.height), Image.Resampling.BOX)
        return np.asarray(small, dtype=np.float32) / np.float32(255)

    def blurred(self, mask: Float32Array, *, sigma_mm: float) -> Float32Array:
        from PIL import Image, ImageFilter

        page = Image.fromarray(np.rint(mask * 255).astype(np.uint8))
        soft = page.filter(ImageFilter.GaussianBlur(sigma_mm * self.scale))
        return np.asarray(soft, dtype=np.float32) / np.float32(255)


def _curve(start: Point, end: Point, first: Point, second: Point) -> list[Point]:
    """Points of a cubic Bezier curve, without its start."""
    t = np.linspace(0, 1, 25)[1:, None]
    p = (np.array(q) for q in (start, first, second, end))
    a, b, c, d = p
    xy = a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t**2 * (1 - t) + d * t**3
    return [(float(x), float(y)) for x, y in xy]


def _half(start: Point, curves: Sequence[tuple[Point, ...]]) -> list[Point]:
    points = [start]
    for end, first, second in curves:
        points += _curve(points[-1], end, first, second)
    return points


def _mirrored(half: Sequence[Point]) -> list[Point]:
    """The half and its mirror image, as one closed outline (the half ends on the middle)."""
    return [*half, *[(-x, y) for x, y in reversed(half)]]


def _neck(curve: tuple[Point, ...], *, drop: float = 0.0) -> list[Point]:
    """Neck opening down to a curve, *drop* mm wider."""
    widen = 1 + drop / _NECK[0]
    half = [(x * widen, y + drop * (y / curve[0][1])) for x, y in _half(_NECK, [curve])]
    return _mirrored(half)


def _cloth(
    levels: FloatArray, tile: Uint8Array, *, px_per_mm: float, canvas: _Canvas
) -> Float32Array:
    """Bare cloth in linear light over the whole canvas, its texture averaged to scale."""
    texture = np.asarray(levels, dtype=np.float32)[tile]
    size = tuple(max(1, round(side / px_per_mm * canvas.scale)) for side in tile.shape)
    small = _scaled(texture, (size[0], size[1]))
    y = np.arange(canvas.height) % size[0]
    x = np.arange(canvas.width) % size[1]
    return np.asarray(small[y[:, None], x[None, :]])


def _resized(rgb: Uint8Array, shape: tuple[int, ...]) -> Float32Array:
    return _scaled(decode8(rgb[..., :3]), (shape[0], shape[1]))


def _scaled(light: Float32Array, shape: tuple[int, int]) -> Float32Array:
    """Light (h, w, 3) at another size: area means when smaller, smooth when larger."""
    from PIL import Image

    smaller = shape[0] <= light.shape[0] and shape[1] <= light.shape[1]
    how = Image.Resampling.HAMMING if smaller else Image.Resampling.BILINEAR
    planes = np.moveaxis(light, -1, 0)
    return resampled_light(planes, lambda plane: plane.resize(shape[::-1], how))


def _creases(canvas: _Canvas, *, turned: bool) -> Float32Array:
    """How much light falls on the cloth (h, w): about 1, the soft creases within 10 %.

    turned: the shirt lies on its front, and its creases are the other way round.
    """
    x, y = canvas.mm
    light = 1.0 - 0.05 * (x / WIDTH_MM) - 0.05 * (y / LENGTH_MM)
    x = -x if turned else x
    for (x0, y0), (x1, y1), half_width, strength in _CREASES:
        length = float(np.hypot(x1 - x0, y1 - y0))
        along = ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / length
        bend = ((x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)) / (length * half_width)
        fade = ((along / length - 0.4) / 0.42) ** 2
        light = light + np.float32(strength) * bend * np.exp(0.5 - bend**2 / 2 - fade)
    return np.asarray(light, dtype=np.float32)


def _rounding(canvas: _Canvas, neck: tuple[Point, ...]) -> Float32Array:
    """Less light (h, w) where the edge of the shirt turns away."""
    turned = np.clip(canvas.blurred(canvas.mask(_shirt(neck)), sigma_mm=11) * 2 - 1, 0, 1)
    return np.asarray(0.8 + 0.2 * turned, dtype=np.float32)


def _seams(canvas: _Canvas, neck: tuple[Point, ...]) -> Float32Array:
    """Thin lines 0..1 (h, w): sleeve seams, stitches of the hems, the edge of the collar."""
    x, y = canvas.mm
    side = np.abs(x)
    hem = np.exp(-(((y - 722 + 0.00018 * x**2) / 1.4) ** 2)) * (side < 257)
    run = np.clip((y - 46) / (224 - 46), 0, 1)
    armhole_x = 222 + 34 * run**1.6 - 24 * np.sin(np.pi * run)
    armhole = np.exp(-(((side - armhole_x) / 1.8) ** 2)) * ((y > 46) & (y < 224))
    from_cuff = ((side - 308) * 48 + (y - 300) * 78) / np.hypot(48, 78)
    cuff = np.exp(-(((from_cuff + 16) / 1.4) ** 2)) * ((side > 280) & (y > 180))
    wide = canvas.mask(_neck(neck, drop=_RIB_MM))
    soft = canvas.blurred(wide, sigma_mm=1.4)
    lines = np.clip(hem + armhole + cuff + 4 * soft * (1 - soft), 0, 1)
    return np.asarray(lines, dtype=np.float32)


def _outline(canvas: _Canvas, *, opened: bool) -> tuple[Float32Array, Float32Array, Float32Array]:
    """Shade of the neck on the cloth, shape of the shirt, and light its shadow leaves beside it."""
    shape = canvas.mask(_shirt(_BACK_NECK))
    opening = canvas.mask(_neck(_FRONT_NECK)) if opened else np.zeros_like(shape)
    back_rib = canvas.mask(
        [*[(x, y + 15) for x, y in _neck(_BACK_NECK)], (-_NECK[0], -30.0), (_NECK[0], -30.0)]
    )
    # The inside of the back: its rib catches light, the rest lies in the shade of the front.
    shade = 0.60 - 0.18 * canvas.blurred(opening, sigma_mm=12) + 0.20 * back_rib
    shadow = np.roll(canvas.blurred(shape, sigma_mm=9), round(7 * canvas.scale), axis=0)
    return 1 - opening * (1 - shade), shape, 1 - np.float32(0.42) * shadow


def _shirt(neck: tuple[Point, ...]) -> list[Point]:
    """Outline of the shirt, its top closed by a neck line."""
    half = _half(_NECK, _OUTLINE)
    down = _half(_NECK, [neck])
    return [*_mirrored(half), *[(-x, y) for x, y in down[1:]], *reversed(down[1:])]
