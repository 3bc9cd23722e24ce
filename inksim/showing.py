"""An artwork made ready once, then shown on any garment: separated, reduced, quick to recolor.

Reading, separating and reducing a picture take seconds and depend on the file alone; a garment, an
ink or a light only changes the table of colors that the reduced picture is drawn with.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inksim.appearance import Viewing, srgb8, xyz
from inksim.artwork import MM_PER_INCH, Artwork
from inksim.build import Route
from inksim.coverage import Coverage, Weave, reduce_labels, reduce_tile, reduction_factor
from inksim.fibre import knit_tile
from inksim.flats import Flats, find_flats
from inksim.garment import Garment
from inksim.picture import Picture, decode8, encode8
from inksim.predict import usable_routes
from inksim.preview import Assignment, RoutePicture, assign_inks, route_picture
from inksim.render import recolour
from inksim.shop import Shop

ASSUMED_DPI = 300.0
Light = NDArray[np.float32]


@dataclass(frozen=True, kw_only=True, eq=False)
class Ready:
    """An artwork ready to be shown; it holds nothing of any garment.

    dpi: of the file, or `ASSUMED_DPI`. tile: the fiber field at that resolution. coverage, weave:
    both reduced by one whole factor. drawn: (h, w, 4) the artwork itself reduced alike, linear
    light times alpha, and alpha.
    """

    name: str
    sha256: str
    width_px: int
    height_px: int
    dpi: float
    notes: tuple[str, ...]
    flats: Flats
    tile: Picture
    coverage: Coverage
    weave: Weave
    drawn: Light

    @property
    def width_mm(self) -> float:
        """Width of the print."""
        return self.width_px / self.dpi * MM_PER_INCH

    @property
    def height_mm(self) -> float:
        """Height of the print."""
        return self.height_px / self.dpi * MM_PER_INCH


@dataclass(frozen=True, kw_only=True, eq=False)
class Shown:
    """A route's picture (h, w, 3) uint8 with what was predicted for it."""

    route: Route
    picture: Picture
    drawing: RoutePicture


def make_ready(artwork: Artwork, *, max_px: int = 1200) -> Ready:
    """Separate an artwork and reduce it so that its longer side is at most max_px.

    Raises
    ------
    InputError : more flat colors than can be separated, or a resolution no cloth can be drawn at.
    """
    notes = list(artwork.notes)
    if artwork.dpi is None:
        notes.append(f"Print size is worked out at {ASSUMED_DPI:.0f} dpi.")
    dpi = artwork.dpi or ASSUMED_DPI
    flats = find_flats(artwork)
    factor = reduction_factor(flats.labels.shape, max_px=max_px)
    coverage = reduce_labels(flats.labels, factor)
    tile = knit_tile(px_per_mm=dpi / MM_PER_INCH)
    return Ready(
        name=artwork.name,
        sha256=artwork.sha256,
        width_px=artwork.width_px,
        height_px=artwork.height_px,
        dpi=dpi,
        notes=(*notes, *flats.notes),
        flats=flats,
        tile=tile,
        coverage=coverage,
        weave=reduce_tile(tile, factor, coverage.shape),
        drawn=reduced_light(artwork.rgba, factor),
    )


def reduced_light(rgba: Picture, factor: int) -> Light:
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


def artwork_on(ready: Ready, garment: Garment, viewing: Viewing) -> Picture:
    """The artwork as drawn (h, w, 3) uint8; where it is transparent, the garment's color."""
    cloth, _ = srgb8(xyz(garment.reflectance, viewing), viewing)
    return encode8(ready.drawn[..., :3] + decode8(cloth) * (1.0 - ready.drawn[..., 3:]))


def inks_for(
    ready: Ready, *, shop: Shop, garment: Garment, chosen: Mapping[str, str] | None = None
) -> tuple[Assignment, ...]:
    """Give each flat color an ink: the one chosen by hand for its hex code, else the nearest."""
    return assign_inks(ready.flats, shop=shop, garment=garment, mapping=chosen)


def show_route(
    ready: Ready,
    assignments: tuple[Assignment, ...],
    *,
    shop: Shop,
    garment: Garment,
    route: Route,
    viewing: Viewing,
) -> Shown:
    """Draw one route, reduced."""
    drawing = route_picture(assignments, shop=shop, garment=garment, route=route, viewing=viewing)
    return Shown(
        route=route,
        picture=recolour(ready.coverage, ready.weave, drawing.look),
        drawing=drawing,
    )


def routes_shown(garment: Garment) -> tuple[Route, ...]:
    """The routes that can be drawn on a garment."""
    return usable_routes(garment)


def png_bytes(picture: Picture) -> bytes:
    """A lossless PNG of a picture (h, w, 3 or 4) uint8, quickly packed."""
    from PIL import Image

    buffer = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(picture[..., :3])).save(
        buffer, format="PNG", compress_level=1
    )
    return buffer.getvalue()
