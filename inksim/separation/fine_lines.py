"""The smallest line and gap that mesh and cloth hold, and where flat art has smaller ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.common import MM_PER_INCH, BoolArray, FloatArray, InputError, Int64Array, Uint8Array
from inksim.stock import Screen

BARE = 0
_STRIP_PIXELS = 1 << 20
_MOST_MEASURED = 1 << 20  # pixels whose width is measured, evenly taken
_AROUND = ((0, 1), (1, 1), (1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1))


def least_line_mm(screen: Screen, *, cloth_mm: float) -> float:
    """Width in mm of the narrowest line of flat art that a mesh holds on a cloth.

    Two pitches of the mesh, that is two openings and two threads: wherever the line falls, its
    stencil then bridges a whole opening and rests on threads to both sides. On the cloth, at least
    `cloth_mm`, `least_line_on_knit_mm` of the shop's rules: narrower than one leg of a loop, half
    of the 0.7 mm from wale to wale, it sinks between two. Both common practice, no source.
    """
    return max(2.0 * screen.pitch_um / 1000.0, cloth_mm)


def least_gap_mm(screen: Screen, *, cloth_mm: float, spread_um: float) -> float:
    """Width in mm of the narrowest gap between prints that stays open.

    As a line, plus the ink that spreads into it from both sides by `spread_um` each, the press's
    `dot_growth_um`.
    """
    return least_line_mm(screen, cloth_mm=cloth_mm) + 2.0 * spread_um / 1000.0


@dataclass(frozen=True, kw_only=True, eq=False)
class FineParts:
    """Parts of flat art too narrow to hold, at the picture's size.

    lines : (H, W) uint8, n where flat n is too narrow, else 0.
    gaps : (H, W), where bare cloth between prints is too narrow.
    line_shares : (N,) of each flat's own area; gap_share: of the printed area.
    thinnest_mm : (N,) width of each flat's thinnest such line, None where all holds.
    narrowest_mm : width of the narrowest such gap, or None.
    """

    lines: Uint8Array
    gaps: BoolArray
    line_shares: tuple[float, ...]
    gap_share: float
    thinnest_mm: tuple[float | None, ...]
    narrowest_mm: float | None

    @property
    def places(self) -> BoolArray:
        """Where (H, W) anything is too narrow."""
        return np.asarray((self.lines > BARE) | self.gaps)


def fine_parts(
    labels: Uint8Array,
    *,
    flats: int,
    dpi: float,
    line_mm: float | Sequence[float],
    gap_mm: float,
    least_times: float = 0.0,
) -> FineParts:
    """Find the lines and gaps of flat art that are narrower than what holds.

    A part holds where a disc of the least width fits into it; corners and tips shorter than that
    width lose nothing that is seen. Widths are rounded to whole pixels: what is found is narrower
    by half a pixel at least. Prints end at the picture's border.

    Parameters
    ----------
    labels : (H, W) uint8, 0 bare cloth, n flat n of `flats`.
    dpi : pixels per inch as printed, above 0.
    line_mm, gap_mm : least widths, 0 or more (`least_line_mm`, `least_gap_mm`); line_mm may be one
        number for each flat, for each has its mesh.
    least_times : pieces shorter than so many of their least widths are let be; 0 counts every dot.

    Raises
    ------
    InputError : a shape, a number of widths or a value outside of that.
    """
    least = [line_mm] * flats if isinstance(line_mm, int | float) else list(line_mm)
    if labels.ndim != 2 or not labels.size or labels.max() > flats:
        raise InputError(
            f"the labels have shape {labels.shape}; give rows x columns, none above {flats}."
        )
    if len(least) != flats or not dpi > 0 or not min([gap_mm, *least]) >= 0:
        raise InputError(
            f"the least lines {least}, the least gap {gap_mm:g} mm or {dpi:g} dpi make no sense: "
            f"give {flats} lines and a gap of 0 mm or more, and dpi above 0."
        )
    per_mm = dpi / MM_PER_INCH
    lines = np.zeros_like(labels)
    lost, width = np.zeros(flats + 1, dtype=np.int64), np.full(flats + 1, np.inf)
    pixels = [round(mm * per_mm) for mm in least]
    for px in sorted(set(pixels)):
        own = np.array([False, *(each == px for each in pixels)])
        found = _Narrow.parts(labels, wanted=own, width=px, least_times=least_times)
        lines.ravel()[found.places] = found.labels
        lost += np.bincount(found.labels, minlength=flats + 1)
        np.minimum.at(width, found.labels, found.widths)
    cloth = (labels > BARE).astype(np.uint8)
    found = _Narrow.parts(
        cloth,
        wanted=np.array([True, False]),
        width=round(gap_mm * per_mm),
        least_times=least_times,
    )
    gaps = np.zeros(labels.shape, dtype=bool)
    gaps.ravel()[found.places] = True
    size = np.array([np.count_nonzero(labels == flat) for flat in range(flats + 1)])
    return FineParts(
        lines=lines,
        gaps=gaps,
        line_shares=tuple(float(v) for v in (lost / np.maximum(size, 1))[1:]),
        gap_share=len(found.places) / max(1, int(size[1:].sum())),
        thinnest_mm=tuple(None if np.isinf(px) else float(px) / per_mm for px in width[1:]),
        narrowest_mm=float(found.widths.min()) / per_mm if len(found.places) else None,
    )


def too_fine(plate: Uint8Array, *, detail_px: float) -> BoolArray:
    """Mask (H, W) of the solid parts of a plate (half a tint or more) narrower than a detail."""
    solid = (plate >= 128).astype(np.uint8)
    found = _Narrow.parts(solid, wanted=np.array([False, True]), width=round(detail_px))
    lost = np.zeros(plate.shape, dtype=bool)
    lost.ravel()[found.places] = True
    return lost


@dataclass(frozen=True, kw_only=True, eq=False)
class _Narrow:
    """Pixels (n,) too narrow: flat places in the picture, their labels, their pieces' widths."""

    places: Int64Array
    labels: Uint8Array
    widths: FloatArray

    @classmethod
    def parts(
        cls, labels: Uint8Array, *, wanted: BoolArray, width: int, least_times: float = 0.0
    ) -> _Narrow:
        """Parts of the labels `wanted` that no disc of `width` pixels fits into."""
        if width <= 1 or not wanted.any():
            none = np.empty(0, dtype=np.int64)
            return cls(places=none, labels=none.astype(np.uint8), widths=none.astype(np.float64))
        margin = width + 1
        page = np.pad(labels, margin)
        held = _held(page, width)
        stride = page.shape[1]
        sheet, open_ = page.ravel(), held.ravel()
        rows, columns = np.nonzero(~held[margin:-margin, margin:-margin])
        at = (rows + margin) * stride + columns + margin
        at = at[wanted[sheet[at]]]  # few are left: asking all pixels takes far longer
        steps = [down * stride + across for down, across in _AROUND]

        def beside_held(at: Int64Array) -> BoolArray:
            touched = np.zeros(len(at), dtype=bool)
            for step in steps:
                touched |= open_[at + step] & (sheet[at + step] == sheet[at])
            return touched

        # A disc leaves (√2 − 1) radii of a right angle, which print.
        corner = int(np.ceil((np.sqrt(2.0) - 1.0) * width / 2.0))
        for _ in range(corner):
            tip = beside_held(at)
            open_[at[tip]] = True
            at = at[~tip]
        pieces = _pieces(at, sheet[at], stride)
        short = _short(
            at, pieces, beside_held(at), stride, tip=width - corner, speck=least_times * width
        )
        at, pieces = at[~short], pieces[~short]
        rows, columns = np.divmod(at, stride)
        return cls(
            places=(rows - margin) * labels.shape[1] + columns - margin,
            labels=sheet[at],
            widths=_widths(at, pieces, sheet, steps, width),
        )


def _held(page: Uint8Array, width: int) -> BoolArray:
    """Where a disc of `width` pixels across lies within one label and covers the pixel.

    An opening of all labels at once. The disc's rows are runs of equal pixels; consecutive rows
    have the same label, seen at a column that all rows share.
    """
    middle = (width - 1) / 2.0
    half = np.sqrt(np.maximum(width**2 / 4.0 - (np.arange(width) - middle) ** 2, 0.0))
    first = np.ceil(middle - half - 1e-9).astype(int)
    length = width - 2 * first
    shared = width // 2
    height, columns = page.shape
    held = np.zeros(page.shape, dtype=bool)
    rows = max(4 * width, _STRIP_PIXELS // columns)
    for top in range(0, height - width + 1, rows):
        bottom = min(top + rows + width - 1, height)
        some = page[top:bottom]
        same = some[:, 1:] == some[:, :-1]
        below = some[1:] == some[:-1]
        high, wide = bottom - top - width + 1, columns - width + 1
        fits = np.ones((high, wide), dtype=bool)
        run = np.ones((bottom - top, columns), dtype=bool)  # of `far` equal pixels from here on
        for far in range(1, width + 1):
            if far > 1:
                run = run[:, :-1] & same[:, far - 2 :]
            for row in np.flatnonzero(length == far):
                start = first[row]
                fits &= run[row : row + high, start : start + wide]
        for row in np.arange(width - 1):
            fits &= below[row : row + high, shared : shared + wide]
        spread = np.zeros((high, columns), dtype=bool)  # `fits`, drawn out to the right
        for far in range(1, width + 1):
            spread[:, far - 1 : far - 1 + wide] |= fits
            for row in np.flatnonzero(length == far):
                start = first[row]
                held[top + row : top + row + high, start:] |= spread[:, : columns - start]
    return held


def _pieces(at: Int64Array, own: Uint8Array, stride: int) -> Int64Array:
    """(n,) the number of the connected piece of one label that each pixel, in order, belongs to.

    Of the few pixels that are narrow; labeling the whole picture takes far longer.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    pairs = []
    for step in (1, stride - 1, stride, stride + 1):
        beside = np.minimum(np.searchsorted(at, at + step), max(len(at) - 1, 0))
        one = np.flatnonzero((at[beside] == at + step) & (own[beside] == own))
        pairs.append((one, beside[one]))
    ones, others = (np.concatenate(each) for each in zip(*pairs, strict=True))
    joined = coo_array((np.ones(len(ones), dtype=bool), (ones, others)), shape=(len(at),) * 2)
    return np.asarray(connected_components(joined, directed=False)[1], dtype=np.int64)


def _short(
    at: Int64Array,
    pieces: Int64Array,
    touched: BoolArray,
    stride: int,
    *,
    tip: float,
    speck: float,
) -> BoolArray:
    """Which pixels belong to a piece shorter than `tip` on a part that holds, or than `speck`."""
    count = int(pieces.max(initial=-1)) + 1
    attached = np.zeros(count, dtype=bool)
    attached[pieces[touched]] = True
    extent = np.zeros(count, dtype=np.int64)
    for place in np.divmod(at, stride):
        low, high = np.full(count, np.iinfo(np.int64).max), np.zeros(count, dtype=np.int64)
        np.minimum.at(low, pieces, place)
        np.maximum.at(high, pieces, place)
        extent = np.maximum(extent, high - low + 1)
    return np.asarray((extent < np.where(attached, max(tip, speck), speck))[pieces])


def _widths(
    at: Int64Array, pieces: Int64Array, sheet: Uint8Array, steps: Sequence[int], width: int
) -> FloatArray:
    """(n,) pixels across the piece of each pixel: its median of the shortest of four runs."""
    every = len(at) // _MOST_MEASURED + 1
    some, piece = at[::every], pieces[::every]
    across = np.full(len(some), float(width))
    for number, step in enumerate(steps[:4]):
        run = np.ones(len(some))
        for way in (step, -step):
            going = np.ones(len(some), dtype=bool)
            for far in range(1, width):
                going &= sheet[some + far * way] == sheet[some]
                run += going
        across = np.minimum(across, run * (np.sqrt(2.0) if number % 2 else 1.0))
    order = np.lexsort((across, piece))
    found, first, count = np.unique(piece[order], return_index=True, return_counts=True)
    of_piece = np.full(int(pieces.max(initial=-1)) + 1, float(width))
    of_piece[found] = across[order][first + count // 2]
    return np.asarray(of_piece[pieces])
