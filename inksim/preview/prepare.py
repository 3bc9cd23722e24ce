"""Separate and reduce an artwork once, so that it is quickly drawn on any garment.

Reading, separating and reducing a picture take seconds and depend on the file alone; a garment, an
ink or a light only changes the table of colors that the reduced picture is drawn with.
"""

from __future__ import annotations

from collections.abc import Hashable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from inksim.artwork import (
    Artwork,
    Flats,
    encode8,
    find_flats,
    halve_light,
    laid_on_ground,
    png_info,
    printed_at,
    reduce_light,
    unfiltered_png,
)
from inksim.colour import Viewing, srgb8, xyz
from inksim.common import MM_PER_INCH, NOT_A_PROOF, STRIKE_OFF, Float32Array, Uint8Array
from inksim.picture import (
    Coverage,
    Look,
    Weave,
    Window,
    knit_tile,
    recolour,
    reduce_labels,
    reduce_tile,
    reduction_factor,
)
from inksim.stock import Garment

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
    """An artwork ready to be drawn; it holds nothing of any garment.

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
    def key(self) -> Hashable:
        """What it is known by: its file, its size, and what of it prints."""
        printed = tuple((flat.hex, flat.pixels) for flat in self.flats.colours)
        return self.name, self.sha256, self.dpi, printed

    @property
    def width_mm(self) -> float:
        """Width of the print."""
        return self.width_px / self.dpi * MM_PER_INCH

    @property
    def height_mm(self) -> float:
        """Height of the print."""
        return self.height_px / self.dpi * MM_PER_INCH


def prepare_artwork(artwork: Artwork, flats: Flats | None = None) -> PreparedArtwork:
    """Separate an artwork and reduce it to the two sizes in which it is shown.

    flats: of it, if they have been found.

    Raises
    ------
    InputError : more flat colors than can be separated, or a resolution no cloth can be drawn at.
    """
    dpi, notes = printed_at(artwork)
    factor = reduction_factor(artwork.rgba.shape[:2], max_px=LARGE_PX)
    # Cloth, light and plates take as long as one another, and none needs the others.
    with ThreadPoolExecutor(max_workers=2) as beside:
        weaving = beside.submit(knit_tile, px_per_mm=dpi / MM_PER_INCH)
        lighting = beside.submit(reduce_light, artwork.rgba, factor)
        flats = flats or find_flats(artwork)
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
        small=reduced(double * factor, halve_light(drawn) if double == 2 else drawn),
        large=reduced(factor, drawn),
        sketch=sketch_of(artwork.rgba) if flats.tonal else None,
    )


def sketch_of(rgba: Uint8Array) -> Uint8Array:
    """The artwork (h, w, 4) uint8 at twice `LARGE_PX`, reduced in linear light, straight alpha.

    What inks and base of a picture are chosen by, wherever it is asked.
    """
    factor = max(1, reduction_factor(rgba.shape[:2], max_px=LARGE_PX) // 2)
    light = reduce_light(rgba, factor)
    alpha = light[..., 3:]
    plain = np.divide(light[..., :3], alpha, out=np.zeros_like(light[..., :3]), where=alpha > 0)
    opacity = np.rint(alpha * 255.0).astype(np.uint8)
    return np.concatenate([encode8(plain), opacity], axis=-1)


def artwork_on(reduced: Reduced, garment: Garment, viewing: Viewing) -> Uint8Array:
    """The artwork as drawn (h, w, 3) uint8; where it is transparent, the garment's color."""
    cloth, _ = srgb8(xyz(garment.reflectance, viewing), viewing)
    return laid_on_ground(reduced.drawn, cloth)


def print_on(reduced: Reduced, look: Look) -> Uint8Array:
    """The print (h, w, 3) uint8 at that size."""
    return recolour(reduced.coverage, reduced.weave, look)


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


def window_at(
    shape: tuple[int, ...], *, centre: tuple[float, float], size_px: tuple[int, int]
) -> Window:
    """Rows and columns of a window that stays in a picture of some shape (h, w, …).

    centre: across and down, 0 to 1; size_px: width and height.
    """
    wide, high = min(size_px[0], shape[1]), min(size_px[1], shape[0])
    x, y = round(centre[0] * (shape[1] - wide)), round(centre[1] * (shape[0] - high))
    return slice(y, y + high), slice(x, x + wide)


def png_bytes(picture: Uint8Array, *, about: str = f"{NOT_A_PROOF} {STRIKE_OFF}") -> bytes:
    """A lossless PNG of a picture (h, w, 3 or 4) uint8, quickly packed; about: see `save_png`."""
    return unfiltered_png(picture, compress_level=1, pnginfo=png_info(about))
