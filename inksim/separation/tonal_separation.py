"""Tonal separation: for every color the coverages whose predicted print comes closest.

`separation_table` inverts the print model on a lattice over RGB, once per garment, base, ink set
and viewing; `separate_picture` applies it to a picture. Overprints, the cloth between dots, the
base under the colors and dot growth are all in the inverted model.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inksim.colour import (
    Viewing,
    cielab_from_xyz,
    delta_e_2000,
    lab_from_xyz,
    srgb8,
    xyz,
    xyz_from_srgb8,
)
from inksim.common import BoolArray, Float32Array, FloatArray, InputError, Uint8Array
from inksim.printing import Build, tabulate, wet_deposit_um
from inksim.separation.halftone_print import (
    TonalModel,
    TonalSet,
    quick_mosaic,
    quick_xyz,
    tonal_model,
)
from inksim.separation.inversion import (
    INK_WEIGHT,
    Mosaic,
    agreed,
    closest,
    coverages_of,
    difference_weights,
    mosaic_xyz,
    neighbours_mean,
)
from inksim.separation.rgb_lattice import (
    Axes,
    PictureTable,
    SeenColours,
    by_strips,
    coarser,
    even_axes,
    laid_on,
    node_codes,
    node_colours,
    picture_table,
    refined,
    seen_colours,
)
from inksim.stock import Garment

NODES = 41
DEARER = (4.0, 16.0)
"""Times the ink's penalty with which a color is solved again whose ink is over the shop's limit."""
FADE_DE00 = 2.0
"""Within this of the cloth's own color plates fade to nothing, in proportion: less than a
shop's usual tolerance."""
HOLD = 20.0
"""Weight of staying near the coarser lattice's solution, in ΔE² per coverage squared."""
SMOOTHINGS = 3
FAR = 5.0
"""ΔE beyond which a color is too far out of reach to be solved on the finest lattice."""
MISS_STEP = 0.1
"""ΔE00 per code value of `miss`."""
MOST_SAMPLES = 8192


@dataclass(frozen=True, kw_only=True, eq=False)
class SeparationTable:
    """A print model inverted on a lattice of n³ colors.

    coverage (n, n, n, C) on the shirt, base first. cloth: sRGB of the bare garment, which is a
    node. Made for a picture it is exact where that has colors, and good for no other picture.
    """

    tonal: TonalSet
    model: TonalModel
    viewing: Viewing
    axes: Axes
    coverage: Float32Array
    cloth: tuple[int, int, int]
    plates_and_miss: PictureTable


@dataclass(frozen=True, kw_only=True, eq=False)
class Separation:
    """A separated picture: coverages on the shirt, and ΔE00 of the predicted print.

    coverages: (C, H, W) uint8, 255 a solid, base first. miss: (H, W) uint8, ΔE00 / `MISS_STEP`.
    printed: share of the picture that is not fully transparent. mean, p95: ΔE00 between predicted
    print and picture over the printed area; out_of_reach: share of it beyond `tolerance`. All are 0
    if nothing is printed.
    """

    table: SeparationTable
    coverages: Uint8Array
    miss: Uint8Array
    printed: float
    mean: float
    p95: float
    out_of_reach: float
    tolerance: float

    def beyond(self) -> BoolArray:
        """Mask (H, W) of the pixels whose print is beyond the tolerance."""
        return self.miss > self.tolerance / MISS_STEP


def ink_costs(tonal: TonalSet) -> FloatArray:
    """Penalty of solids (1 + N,), base first (0 without): `INK_WEIGHT` scaled by wet deposit."""
    build = Build(garment=tonal.garment, layers=tonal.layers, route=tonal.route)
    wet = wet_deposit_um(tabulate([build]), tonal.press)[0]
    costs = INK_WEIGHT * wet / wet.mean()
    return costs if tonal.base is not None else np.concatenate([[0.0], costs])


def colours_seen(rgba: Uint8Array, garment: Garment, viewing: Viewing) -> SeenColours:
    """The colors of a picture (H, W, 4) on a garment: one for all sets of inks that print it."""
    red, green, blue = srgb8(xyz(garment.reflectance, viewing), viewing)[0].tolist()
    return seen_colours(rgba, (red, green, blue))


def separation_table(
    tonal: TonalSet,
    *,
    viewing: Viewing = Viewing(),
    nodes: int = NODES,
    seen: SeenColours | None = None,
) -> SeparationTable:
    """Invert the print model of a tonal set on a lattice over RGB.

    Solved on a coarse lattice from many starts, then on two finer ones from the coarser solution,
    with a weak penalty on departing from it, so that plates are smooth.

    seen: the colors of a picture on this cloth, for which alone the finest lattice is solved: a
    photograph has a twentieth of them.
    """
    model = tonal_model(tonal)
    quick = quick_mosaic(model, viewing, nodes=3, paired=True)
    costs = ink_costs(tonal)
    cloth, _ = srgb8(xyz(tonal.garment.reflectance, viewing), viewing)
    coarse, middle = (even_axes((nodes + part - 1) // part) for part in (4, 2))
    fine = tuple(node_codes(nodes, through=float(code)) for code in cloth)
    axes = (fine[0], fine[1], fine[2])
    bare = (int(cloth[0]), int(cloth[1]), int(cloth[2]))
    cube = (axes[0].size, axes[1].size, axes[2].size)
    asked = np.full(cube, True) if seen is None else seen.nodes(axes)
    # What smoothing carries from the nodes around is worked out too.
    some = coarser(asked, axes, middle, around=SMOOTHINGS).ravel()
    asked = asked.ravel()
    first = _wanted(coarse, viewing)
    found = agreed(quick, first, closest(quick, first, ink=costs), ink=costs)
    x = refined(found.x, coarse, middle)
    then = _wanted(middle, viewing)
    for _ in range(SMOOTHINGS):
        anchor = neighbours_mean(x)[some]
        x[some] = closest(
            quick, then[some], ink=costs, start=x[some], anchor=anchor, hold=HOLD, rounds=2
        ).x
    off = _prints(quick, x, model) - then
    far = np.linalg.norm(np.einsum("mij,mj->mi", difference_weights(then), off), axis=1)
    near = asked & (refined(far[:, None], middle, axes)[:, 0] < FAR)
    x = refined(x, middle, axes)
    wanted = _wanted(axes, viewing)
    x[near] = closest(quick, wanted[near], ink=costs, start=x[near], hold=HOLD, rounds=2).x
    for dearer in DEARER:
        over = asked & (_total(x, model) > tonal.most_total_coverage)
        if over.any():
            x[over] = closest(quick, wanted[over], ink=dearer * costs, start=x[over], rounds=4).x
    # The cloth's own color needs nothing, exactly, and the colors around it little: else the cloth
    # would be a hole in plates that make nearly its color out of much ink.
    from_cloth = delta_e_2000(lab_from_xyz(xyz_from_srgb8(cloth, viewing), viewing), wanted)
    share = np.minimum(1.0, from_cloth / FADE_DE00)[:, None]
    # What is over the shop's limit in spite of dearer ink is made less, all colors alike.
    colours = slice(None, model.inks)
    x[:, colours] *= np.minimum(
        1.0, tonal.most_total_coverage / np.maximum(_total(x, model), 1e-9)
    )[:, None]
    coverage = share * coverages_of(x, has_base=model.has_base)
    miss = np.zeros(len(coverage))
    prints = lab_from_xyz(quick_xyz(model, coverage[asked], viewing), viewing)
    miss[asked] = delta_e_2000(wanted[asked], prints)
    both = np.concatenate([coverage, miss[:, None] / (255.0 * MISS_STEP)], axis=1)
    return SeparationTable(
        tonal=tonal,
        model=model,
        viewing=viewing,
        axes=axes,
        coverage=coverage.reshape(*cube, -1).astype(np.float32),
        cloth=bare,
        plates_and_miss=picture_table(both.reshape(*cube, -1), axes, nothing_at=bare, seen=seen),
    )


def _total(unknowns: FloatArray, model: TonalModel) -> FloatArray:
    """Sum (M,) of the colors' coverages."""
    return np.asarray(unknowns[:, : model.inks].sum(axis=1))


def _wanted(axes: Axes, viewing: Viewing) -> FloatArray:
    """Target CIELAB (n³, 3) of a lattice's colors."""
    return lab_from_xyz(xyz_from_srgb8(node_colours(axes), viewing), viewing)


def _prints(m: Mosaic, unknowns: FloatArray, model: TonalModel) -> FloatArray:
    shares = model.weights(coverages_of(unknowns, has_base=model.has_base))
    return cielab_from_xyz(mosaic_xyz(m, shares), white=m.white)


def separate_picture(
    rgba: Uint8Array, table: SeparationTable, *, tolerance: float = 3.0
) -> Separation:
    """Separate a picture (H, W, 4) sRGB with straight alpha.

    Half-transparent pixels are composited on the garment's color, as a picture editor shows them;
    fully transparent ones stay bare. Works in strips: C + 1 bytes per pixel for the result and
    little else.

    Raises
    ------
    InputError : no pixels, not RGBA bytes, or a tolerance out of range.
    """
    if rgba.ndim != 3 or rgba.shape[2] != 4 or rgba.dtype != np.uint8 or not rgba.size:
        raise InputError(
            f"the picture to separate has shape {rgba.shape} and type {rgba.dtype}; "
            "give 8-bit RGBA, rows x columns x 4."
        )
    if not 0.0 < tolerance <= 25.0:
        raise InputError(f"the tolerance is {tolerance:g} ΔE00; give above 0, up to 25.")
    height, width = rgba.shape[:2]
    plates = np.empty((table.model.plates, height, width), dtype=np.uint8)
    miss = np.empty((height, width), dtype=np.uint8)

    def work(top: int, low: int) -> None:
        laid = laid_on(rgba[top:low], table.cloth)
        found = table.plates_and_miss(laid)
        for plate in range(len(plates)):
            plates[plate, top:low] = found[..., plate]
        miss[top:low] = found[..., len(plates)]

    by_strips(height, width, work)
    printed, mean, p95 = _quality(rgba, plates, table)
    beyond = np.count_nonzero(miss > tolerance / MISS_STEP)
    return Separation(
        table=table,
        coverages=plates,
        miss=miss,
        printed=printed,
        mean=mean,
        p95=p95,
        out_of_reach=float(beyond / max(1.0, printed * height * width)),
        tolerance=tolerance,
    )


def share_out_of_reach(rgba: Uint8Array, table: SeparationTable, *, tolerance: float) -> float:
    """Share of the printed pixels of a picture (H, W, 4) off by more than a tolerance in ΔE00.

    As `separate_picture` finds it, without plates: a few strips' memory.
    """
    counts = []

    def work(top: int, low: int) -> None:
        laid = laid_on(rgba[top:low], table.cloth)
        miss = table.plates_and_miss(laid)[..., table.model.plates]
        beyond = np.count_nonzero(miss > tolerance / MISS_STEP)
        counts.append((beyond, np.count_nonzero(laid[..., 3])))

    by_strips(rgba.shape[0], rgba.shape[1], work)
    beyond, printed = np.sum(counts, axis=0)
    return float(beyond / max(1, printed))


def _quality(
    rgba: Uint8Array, plates: Uint8Array, table: SeparationTable
) -> tuple[float, float, float]:
    """Printed share, mean and 95th percentile of ΔE00, on an even sample of pixels."""
    height, width = rgba.shape[:2]
    printed = sum(
        int(np.count_nonzero(rgba[top : top + 256, :, 3])) for top in range(0, height, 256)
    ) / (height * width)
    if not printed:
        return 0.0, 0.0, 0.0
    most = MOST_SAMPLES / printed
    step = max(1, int(np.sqrt(height * width / most)))
    down = max(1, min(step, height // 8))
    across = max(1, round(height * width / most / down))
    some = laid_on(rgba[down // 2 :: down, across // 2 :: across], table.cloth).reshape(-1, 4)
    shown = plates[:, down // 2 :: down, across // 2 :: across].reshape(len(plates), -1)
    inked = some[:, 3] > 0
    if not inked.any():
        return printed, 0.0, 0.0
    wanted = lab_from_xyz(xyz_from_srgb8(some[inked, :3], table.viewing), table.viewing)
    made = quick_xyz(table.model, shown.T[inked] / 255.0, table.viewing)
    off = delta_e_2000(wanted, lab_from_xyz(made, table.viewing))
    return printed, float(off.mean()), float(np.percentile(off, 95))
