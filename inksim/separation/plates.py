"""Plates of a print, tonal or flat: film, coverage, ink, and what the mesh cannot hold.

`film` is the plate as on film, 255 a solid; `shirt` is what it leaves on the shirt, for halftones
with dots grown. Areas and ink are those on the shirt.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inksim.artwork import Artwork, printed_at
from inksim.colour import Viewing
from inksim.common import MM_PER_INCH, InputError, Uint8Array
from inksim.job import ink_per_print_g
from inksim.optics import dot_coverage, ruling_warning
from inksim.printing import Build, Layer, Route, tabulate, wet_deposit_um
from inksim.separation.fine_lines import too_fine
from inksim.separation.halftone_print import DEFAULT_LINES_PER_INCH
from inksim.separation.register import check_edges, fitted
from inksim.separation.tonal_inks import chosen_set, picture_colours
from inksim.separation.tonal_separation import (
    Separation,
    colours_seen,
    separate_picture,
    separation_table,
)
from inksim.shop import Shop
from inksim.stock import Garment, Ink, PressValues, Screen


@dataclass(frozen=True, kw_only=True, eq=False)
class Plate:
    """One plate.

    film, shirt: (H, W) uint8. coverage: mean over the whole picture; area_cm2: the same as an
    area; ink_g: wet ink on one print. least_detail_mm: narrowest line (flats) or dot that holds;
    too_fine_share: share of the plate's solid parts that is narrower. least_tint: coverage below
    which dots are smaller than that, 0 for flats; light_share: share of the printed area below it.
    goes: strokes of each go, two of them where it is printed, flashed and printed again. run: of a
    job that takes two.
    """

    layer: Layer
    is_base: bool
    film: Uint8Array
    shirt: Uint8Array
    coverage: float
    area_cm2: float
    ink_g: float
    least_detail_mm: float
    too_fine_share: float
    least_tint: float
    light_share: float
    warnings: tuple[str, ...]
    goes: tuple[int, ...]
    run: int = 1

    @property
    def ink(self) -> Ink:
        """The ink it prints."""
        return self.layer.ink


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateSet:
    """All plates of a print in print order.

    route: of a tonal print; None for flats, whose colors may go by several. lines_per_inch: 0 for
    flats. separation: what tonal plates come from, with how far that print is off its picture; None
    for flats.
    """

    garment: Garment
    route: Route | None
    plates: tuple[Plate, ...]
    dpi: float
    lines_per_inch: float
    choke_mm: float
    trap_mm: float
    separation: Separation | None = None

    @property
    def warnings(self) -> tuple[str, ...]:
        """Warnings of all plates."""
        return tuple(said for plate in self.plates for said in plate.warnings)


def least_detail_um(screen: Screen) -> float:
    """Narrowest dot of a halftone that a mesh holds: two threads and the opening between them.

    A smaller one may fall on a single thread or a crossing and print broken or not at all (common
    practice, no source).
    """
    return 2.0 * screen.thread_um + screen.mesh_opening_um


def least_tint(screen: Screen, *, lines_per_inch: float) -> float:
    """Coverage at which round dots are as small as the mesh's least detail."""
    pitch_um = 1000.0 * MM_PER_INCH / lines_per_inch
    return float(dot_coverage(0.5 * least_detail_um(screen) / pitch_um))


def separate(
    artwork: Artwork,
    *,
    shop: Shop,
    garment: Garment,
    inks: Sequence[Ink] | None = None,
    route: Route | None = None,
    lines_per_inch: float = DEFAULT_LINES_PER_INCH,
    choke_mm: float = 0.0,
    trap_mm: float = 0.0,
    viewing: Viewing = Viewing(),
    tolerance: float = 3.0,
) -> PlateSet:
    """Separate a picture into halftone plates whose predicted print comes closest to it.

    Parameters
    ----------
    artwork : see `read_artwork`; one without a resolution is printed at 300 dpi.
    shop : whose screens, bases and press are used.
    garment : to print on.
    inks : up to six in print order; chosen by the predicted print if not given.
    route : 'straight', 'discharge-base' or 'white-base'; chosen the same way if not given.
    lines_per_inch : of the halftone, 10 to 150.
    choke_mm, trap_mm : how far the base stays back, and the colors spread; 0 to 2 mm.
    viewing : the light and the observer that the picture is matched under.
    tolerance : largest ΔE00 that counts as in reach, above 0 to 25.

    Returns
    -------
    One plate per screen, base first: film and shirt (H, W) uint8, 255 a solid. Its `separation`
    has the mean ΔE00 of the predicted print from the picture, and what is out of reach.

    Raises
    ------
    InputError : nothing is printed; inks that cannot be printed together; a route the cloth does
        not allow; a number out of its range.
    """
    dpi, _ = printed_at(artwork)
    check_plates(dpi, choke_mm, trap_mm)
    tonal = chosen_set(
        picture_colours(artwork.rgba, garment, viewing),
        shop=shop,
        garment=garment,
        inks=inks,
        route=route,
        lines_per_inch=lines_per_inch,
        viewing=viewing,
    )
    seen = colours_seen(artwork.rgba, garment, viewing)
    table = separation_table(tonal, viewing=viewing, seen=seen)
    made = separate_picture(artwork.rgba, table, tolerance=tolerance)
    return tonal_plates(made, dpi=dpi, choke_mm=choke_mm, trap_mm=trap_mm)


def tonal_plates(
    separation: Separation, *, dpi: float, choke_mm: float = 0.0, trap_mm: float = 0.0
) -> PlateSet:
    """Make the plates of a tonal separation: base choked, colors trapped, dot growth compensated.

    Raises
    ------
    InputError : dpi out of reason, a choke or trap below 0 or above 2 mm.
    """
    check_plates(dpi, choke_mm, trap_mm)
    tonal = separation.table.tonal
    shirts = fitted(
        list(separation.coverages),
        has_base=tonal.base is not None,
        px_per_mm=dpi / MM_PER_INCH,
        choke_mm=choke_mm,
        trap_mm=trap_mm,
    )
    film = np.rint(255.0 * tonal.on_plate(np.arange(256) / 255.0)).astype(np.uint8)
    wet = wet_um(tonal.garment, tonal.layers, tonal.press)
    plates = [
        plate_of(
            layer,
            film=film[shirt],
            shirt=shirt,
            wet_um=wet[at],
            detail_mm=least_detail_um(layer.screen) / 1000.0,
            is_base=tonal.base is not None and at == 0,
            dpi=dpi,
            lines_per_inch=tonal.lines_per_inch,
        )
        for at, (layer, shirt) in enumerate(zip(tonal.layers, shirts, strict=True))
    ]
    return PlateSet(
        garment=tonal.garment,
        route=tonal.route,
        plates=tuple(plates),
        dpi=dpi,
        lines_per_inch=tonal.lines_per_inch,
        choke_mm=choke_mm,
        trap_mm=trap_mm,
        separation=separation,
    )


def check_plates(dpi: float, choke_mm: float, trap_mm: float) -> None:
    """Refuse a resolution, a choke or a trap out of range."""
    if not 10.0 <= dpi <= 10_000.0:
        raise InputError(f"the plates' resolution is {dpi:g} dpi; it must be 10 to 10000.")
    check_edges(choke_mm=choke_mm, trap_mm=trap_mm)


def wet_um(garment: Garment, layers: Sequence[Layer], press: PressValues) -> list[float]:
    """Wet film of each layer, µm."""
    build = Build(garment=garment, layers=tuple(layers))
    return [float(um) for um in wet_deposit_um(tabulate([build]), press)[0]]


def plate_of(
    layer: Layer,
    *,
    film: Uint8Array,
    shirt: Uint8Array,
    wet_um: float,
    detail_mm: float,
    is_base: bool,
    dpi: float,
    lines_per_inch: float,
    goes: tuple[int, ...] = (),
    run: int = 1,
) -> Plate:
    """Measure a plate; wet_um: of all that it lays down; detail_mm: the least that it holds."""
    coverage = float(shirt.mean(dtype=np.float64)) / 255.0
    area_cm2 = coverage * shirt.size * (MM_PER_INCH / dpi / 10.0) ** 2
    flat = not lines_per_inch
    said = []
    tint = light = fine = 0.0
    if lines_per_inch:
        ruling = ruling_warning(layer.screen.threads_per_inch, lines_per_inch=lines_per_inch)
        said += [ruling] if ruling else []
        tint = least_tint(layer.screen, lines_per_inch=lines_per_inch)
        counts = np.bincount(shirt.ravel(), minlength=256)
        light = float(counts[1 : int(tint * 255.0) + 1].sum() / max(1, counts[1:].sum()))
    solid = int(np.count_nonzero(shirt >= 128))
    if solid:
        lost = too_fine(shirt, detail_px=detail_mm * dpi / MM_PER_INCH)
        fine = np.count_nonzero(lost) / solid
    if fine > 0.001:
        said.append(
            f"{fine:.1%} of its solid parts is narrower than the {detail_mm:.2f} mm that "
            f"{layer.screen.threads_per_inch:.0f} threads/inch{' and a knit' * flat} hold."
        )
    if light > 0.05:
        said.append(
            f"{light:.0%} of its printed area is lighter than {tint:.0%}, where dots are smaller "
            "than the mesh holds: they may not print."
        )
    return Plate(
        layer=layer,
        is_base=is_base,
        film=film,
        shirt=shirt,
        coverage=coverage,
        area_cm2=area_cm2,
        ink_g=float(
            ink_per_print_g(wet_um, area_cm2=area_cm2, density_g_cm3=layer.ink.density_g_cm3)
        ),
        least_detail_mm=detail_mm,
        too_fine_share=fine,
        least_tint=tint,
        light_share=light,
        goes=goes or (layer.passes,),
        run=run,
        warnings=tuple(f"{layer.ink.name}: {words}" for words in said),
    )
