"""An artwork made ready once, then shown on any garment: separated, reduced, quick to recolor.

Reading, separating and reducing a picture take seconds and depend on the file alone; a garment, an
ink or a light only changes the table of colors that the reduced picture is drawn with.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from inksim.artwork import (
    Artwork,
    Assignment,
    Flats,
    assign_inks,
    decode8,
    encode8,
    find_flats,
    printed_at,
)
from inksim.colour import Viewing, srgb8, xyz
from inksim.common import MM_PER_INCH, Float32Array, InputError, Uint8Array
from inksim.decision import best_way, difference_words, weigh_colors, why_not
from inksim.optics import LEVELS
from inksim.picture import (
    Coverage,
    Weave,
    colour_table,
    knit_tile,
    recolour,
    reduce_labels,
    reduce_tile,
    reduction_factor,
    render_crop,
)
from inksim.preview.route_picture import RoutePicture, point_looks
from inksim.printing import ROUTES, Build, Interval, Prediction, Route, predict_nominal
from inksim.shop import Shop
from inksim.stock import Garment, Target, target_from_hex

LARGE_PX = 1200
"""Most pixels on the longer side of a picture looked at by itself; among others it is half."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Reduced:
    """An artwork at one size: plates and cloth, and the artwork itself.

    drawn: (h, w, 4) linear light times alpha, and alpha.
    """

    coverage: Coverage
    weave: Weave
    drawn: Float32Array


@dataclass(frozen=True, kw_only=True, eq=False)
class PreparedArtwork:
    """An artwork ready to be shown; it holds nothing of any garment.

    dpi: of the file, or the one assumed. tile: the fiber field at that resolution. sketch: of a
    tonal picture, the artwork itself (h, w, 4) uint8 at twice `LARGE_PX`; None for flat artwork.
    """

    name: str
    sha256: str
    width_px: int
    height_px: int
    dpi: float
    notes: tuple[str, ...]
    flats: Flats
    tile: Uint8Array
    small: Reduced
    large: Reduced
    sketch: Uint8Array | None = None

    @property
    def width_mm(self) -> float:
        """Width of the print."""
        return self.width_px / self.dpi * MM_PER_INCH

    @property
    def height_mm(self) -> float:
        """Height of the print."""
        return self.height_px / self.dpi * MM_PER_INCH


@dataclass(frozen=True, kw_only=True, eq=False)
class ColourAnswer:
    """What becomes of one flat color by one route. words: how it differs from the artwork."""

    asked: str
    prediction: Prediction
    lands: bool
    words: str


@dataclass(frozen=True, kw_only=True, eq=False)
class RouteAnswer:
    """What becomes of the artwork by one route."""

    drawing: RoutePicture
    colours: tuple[ColourAnswer, ...]

    @property
    def route(self) -> Route:
        """The route."""
        return self.drawing.route

    @property
    def landed(self) -> int:
        """How many colors land."""
        return sum(colour.lands for colour in self.colours)

    @property
    def all_land(self) -> bool:
        """Whether something is printed and every color of it lands."""
        return bool(self.colours) and self.landed == len(self.colours)

    @property
    def furthest(self) -> float:
        """The largest ΔE00 of its colors, 0 where nothing is printed."""
        return max((c.prediction.delta_e_2000 or 0.0 for c in self.colours), default=0.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class ArtworkResult:
    """An artwork on a garment by every route that can be printed, in order of effort.

    why_not: the routes that cannot, and why.
    best: the first route on which every color lands; else the one with the most colors landing,
    and among those the one whose furthest color is nearest.
    """

    garment: Garment
    assignments: tuple[Assignment, ...]
    routes: tuple[RouteAnswer, ...]
    why_not: Mapping[Route, str]
    tolerance: float

    @property
    def best(self) -> RouteAnswer:
        """The route to propose."""
        for route in self.routes:
            if route.all_land:
                return route
        return max(self.routes, key=lambda route: (route.landed, -route.furthest))

    def by(self, route: Route) -> RouteAnswer:
        """One route's answer."""
        return next(each for each in self.routes if each.route == route)


def prepare_artwork(artwork: Artwork) -> PreparedArtwork:
    """Separate an artwork and reduce it to the two sizes in which it is shown.

    Raises
    ------
    InputError : more flat colors than can be separated, or a resolution no cloth can be drawn at.
    """
    dpi, notes = printed_at(artwork)
    factor = reduction_factor(artwork.rgba.shape[:2], max_px=LARGE_PX)
    # Cloth, light and plates take as long as one another, and none needs the others.
    with ThreadPoolExecutor(max_workers=2) as beside:
        weaving = beside.submit(knit_tile, px_per_mm=dpi / MM_PER_INCH)
        lighting = beside.submit(reduced_light, artwork.rgba, factor)
        flats = find_flats(artwork)
        drawn, tile = lighting.result(), weaving.result()
    # Twice the factor, not any other: a tile reduced by an odd factor takes seconds.
    double = 2 if max(flats.labels.shape) > factor * LARGE_PX // 2 else 1

    def reduced(factor: int, drawn: Float32Array) -> Reduced:
        coverage = reduce_labels(flats.labels, factor)
        return Reduced(
            coverage=coverage, weave=reduce_tile(tile, factor, coverage.shape), drawn=drawn
        )

    return PreparedArtwork(
        name=artwork.name,
        sha256=artwork.sha256,
        width_px=artwork.width_px,
        height_px=artwork.height_px,
        dpi=dpi,
        notes=(*notes, *(() if flats.tonal else flats.notes)),
        flats=flats,
        tile=tile,
        small=reduced(double * factor, halved(drawn) if double == 2 else drawn),
        large=reduced(factor, drawn),
        sketch=_sketch(artwork.rgba, max(1, factor // 2)) if flats.tonal else None,
    )


def _sketch(rgba: Uint8Array, factor: int) -> Uint8Array:
    """The artwork (h, w, 4) uint8, reduced in linear light, straight alpha."""
    light = reduced_light(rgba, factor)
    alpha = light[..., 3:]
    plain = np.divide(light[..., :3], alpha, out=np.zeros_like(light[..., :3]), where=alpha > 0)
    opacity = np.rint(alpha * 255.0).astype(np.uint8)
    return np.concatenate([encode8(plain), opacity], axis=-1)


def reduced_light(rgba: Uint8Array, factor: int) -> Float32Array:
    """Linear light times alpha, and alpha, (h, w, 4), averaged over factor × factor pixels.

    Blocks cut by the right or bottom edge average what is there, as `reduce_labels` does.
    """
    height, width = rgba.shape[:2]
    starts = np.arange(0, width, factor)
    across = np.diff(np.append(starts, width)).astype(np.float32)[:, None]
    small = np.empty((-(-height // factor), starts.size, 4), dtype=np.float32)
    for row in range(small.shape[0]):
        strip = rgba[row * factor : (row + 1) * factor]
        light = np.empty(strip.shape, dtype=np.float32)
        light[..., 3] = strip[..., 3] / np.float32(255)
        light[..., :3] = decode8(strip[..., :3]) * light[..., 3:]
        summed = np.add.reduceat(light.sum(axis=0), starts, axis=0)
        small[row] = summed / (across * strip.shape[0])
    small.setflags(write=False)
    return small


def halved(drawn: Float32Array) -> Float32Array:
    """Mean of 2 × 2 pixels; a last odd row or column stands for itself."""
    odd = [(0, side % 2) for side in drawn.shape[:2]]
    even = np.pad(drawn, (*odd, (0, 0)), mode="edge")
    rows, columns = (side // 2 for side in even.shape[:2])
    small: Float32Array = even.reshape(rows, 2, columns, 2, 4).mean(axis=(1, 3))
    small.setflags(write=False)
    return small


def artwork_result(
    ready: PreparedArtwork,
    *,
    shop: Shop,
    garment: Garment,
    viewing: Viewing,
    tolerance: float,
    inks: Mapping[str, str] | None = None,
) -> ArtworkResult:
    """Predict every color of an artwork by every route on a garment, each with its interval.

    inks: ink names by the hex code of a flat ('none' leaves it bare), over the nearest print.

    Raises
    ------
    InputError : an unknown ink or flat, or no color ink in the shop.
    """
    assignments = assign_inks(ready.flats, shop=shop, garment=garment, mapping=inks)
    wanted = [(a.ink, target_from_hex(a.flat.hex)) for a in assignments if a.ink is not None]
    printed = [ink for ink, _ in wanted]
    reasons = {r: why_not(shop, garment=garment, inks=printed, route=r) for r in ROUTES}
    colors = weigh_colors(
        shop, garment=garment, wanted=wanted, tolerance=tolerance, viewing=viewing
    )
    ways = {
        route: best_way(colors, route)
        for route in ROUTES
        if not reasons[route] and (route == "straight" or wanted)
    }
    if not ways or (wanted and not any(ways.values())):
        raise InputError(
            f"nothing can be printed on '{garment.name}': {reasons['straight']}; add a screen to "
            "screens.toml."
        )
    drawings = [
        _drawing(assignments, way, garment=garment, shop=shop, route=route, viewing=viewing)
        for route, way in ways.items()
        if way or not wanted
    ]
    return ArtworkResult(
        garment=garment,
        assignments=assignments,
        routes=tuple(_route_answer(d, assignments, tolerance=tolerance) for d in drawings),
        why_not={
            route: reasons[route] or "its colors share no base"
            for route in ROUTES
            if not any(drawing.route == route for drawing in drawings)
        },
        tolerance=tolerance,
    )


def _drawing(
    assignments: Sequence[Assignment],
    way: Sequence[tuple[Build, Interval]],
    *,
    shop: Shop,
    garment: Garment,
    route: Route,
    viewing: Viewing,
) -> RoutePicture:
    """Predict the chosen build of each printed color, and its look at every fiber level."""
    press = shop.press.values
    looks = np.empty((len(assignments) + 1, LEVELS, garment.reflectance.size))
    looks[:] = garment.reflectance
    predictions: list[Prediction | None] = []
    chosen = iter(way)
    for at, each in enumerate(assignments, start=1):
        if each.ink is None:
            predictions.append(None)
            continue
        build, sure = next(chosen)
        target = target_from_hex(each.flat.hex)
        (found,) = predict_nominal([build], press=press, viewing=viewing, target=target)
        predictions.append(replace(found, interval=sure))
        looks[at] = point_looks(build, press=press)
    return RoutePicture(
        route=route, predictions=tuple(predictions), look=colour_table(looks, viewing)
    )


def _route_answer(
    drawing: RoutePicture, assignments: Sequence[Assignment], *, tolerance: float
) -> RouteAnswer:
    colours = []
    for assignment, prediction in zip(assignments, drawing.predictions, strict=True):
        if prediction is None or prediction.delta_e_2000 is None:
            continue
        target = target_from_hex(assignment.flat.hex)
        colours.append(
            ColourAnswer(
                asked=assignment.flat.hex,
                prediction=prediction,
                lands=prediction.delta_e_2000 <= tolerance,
                words=_difference(target, prediction),
            )
        )
    return RouteAnswer(drawing=drawing, colours=tuple(colours))


def _difference(target: Target, prediction: Prediction) -> str:
    """'as drawn' where the eye hardly sees a difference, else how it differs."""
    if prediction.delta_e_2000 is not None and prediction.delta_e_2000 < 1.0:
        return "as drawn"
    return difference_words(target.lab(prediction.viewing), prediction.lab)


def artwork_on(reduced: Reduced, garment: Garment, viewing: Viewing) -> Uint8Array:
    """The artwork as drawn (h, w, 3) uint8; where it is transparent, the garment's color."""
    cloth, _ = srgb8(xyz(garment.reflectance, viewing), viewing)
    return encode8(reduced.drawn[..., :3] + decode8(cloth) * (1.0 - reduced.drawn[..., 3:]))


def print_on(reduced: Reduced, drawing: RoutePicture) -> Uint8Array:
    """The print (h, w, 3) uint8 at that size."""
    return recolour(reduced.coverage, reduced.weave, drawing.look)


def at_life_size(
    ready: PreparedArtwork,
    drawing: RoutePicture,
    *,
    center: tuple[float, float],
    size_px: tuple[int, int],
) -> Uint8Array:
    """A window (h, w, 3) uint8 of the full-size print, pixel for pixel.

    center: across and down, 0 to 1; size_px: width and height. The window stays in the picture.
    """
    width, height = (
        min(s, full) for s, full in zip(size_px, (ready.width_px, ready.height_px), strict=True)
    )
    x = round(center[0] * (ready.width_px - width))
    y = round(center[1] * (ready.height_px - height))
    drawn = render_crop(
        ready.flats.labels, drawing.look, ready.tile, x=x, y=y, width=width, height=height
    )
    return np.ascontiguousarray(drawn[..., :3])


def busiest_place(ready: PreparedArtwork, *, by_the_cloth: bool = False) -> tuple[float, float]:
    """Where most edges meet, across and down, 0 to 1: worth a look at life size.

    by_the_cloth: only edges of the whole print against the bare cloth, where a base is choked.
    """
    coverage = ready.small.coverage
    rows, columns = coverage.shape
    edges = np.zeros(rows * columns)
    edges[coverage.mixed] = 1.0
    if by_the_cloth:
        edges[coverage.label.ravel() != 0] = 0.0  # of a mixed pixel: its lowest label
    cells = [
        (part.sum(), (r, c))
        for r, band in enumerate(np.array_split(edges.reshape(rows, columns), min(8, rows)))
        for c, part in enumerate(np.array_split(band, min(8, columns), axis=1))
    ]
    row, column = max(cells)[1]
    return (column + 0.5) / min(8, columns), (row + 0.5) / min(8, rows)


def png_bytes(picture: Uint8Array) -> bytes:
    """A lossless PNG of a picture (h, w, 3 or 4) uint8, quickly packed."""
    from PIL import Image

    buffer = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(picture[..., :3])).save(
        buffer, format="PNG", compress_level=1
    )
    return buffer.getvalue()
