"""A tonal artwork printed by one set of inks: separated, drawn, and looked at closely (level 9)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from inksim.artwork import shrink_to
from inksim.colour import Viewing
from inksim.common import MM_PER_INCH, Uint8Array
from inksim.picture import (
    SheetPanel,
    TonalLook,
    busiest,
    draw_plates,
    marked,
    render_tonal,
    shifted,
    tonal_look,
)
from inksim.separation import (
    Misfit,
    Separation,
    SeparationTable,
    TonalModel,
    TonalSet,
    fitted,
    separate_picture,
    separation_table,
)
from inksim.stock import Provenance, least_sure


@dataclass(frozen=True, kw_only=True, eq=False)
class TonalPrint:
    """A tonal artwork as one set of inks prints it."""

    table: SeparationTable
    separation: Separation
    look: TonalLook

    @property
    def tonal(self) -> TonalSet:
        """What prints it."""
        return self.table.tonal

    @property
    def data(self) -> Provenance:
        """Where the least sure of its numbers comes from."""
        return least_sure(self.tonal.garment.data, *(layer.ink.data for layer in self.tonal.layers))


def print_tonal(
    rgba: Uint8Array, tonal: TonalSet, *, viewing: Viewing, tolerance: float
) -> TonalPrint:
    """Separate a picture (H, W, 4) for a set of inks, and work out what its colors look like."""
    table = separation_table(tonal, viewing=viewing)
    return TonalPrint(
        table=table,
        separation=separate_picture(rgba, table, tolerance=tolerance),
        look=tonal_look(
            table.model,
            viewing,
            axes=table.axes,
            coverage=table.coverage,
            cloth=table.cloth,
        ),
    )


def picture_of(made: TonalPrint, rgba: Uint8Array, tile: Uint8Array) -> Uint8Array:
    """The print at full size, in register: uint8 (H, W, 4), RGBX."""
    return render_tonal(rgba, made.look, tile)


def off_register(
    plates: Sequence[Uint8Array], *, error_mm: float, px_per_mm: float
) -> list[Uint8Array]:
    """Plates moved by an error each in a direction of its own; the first one stays."""
    moves = Misfit(register_mm=error_mm).moves_mm(len(plates))
    return [
        shifted(plate, dx_px=right * px_per_mm, dy_px=down * px_per_mm)
        for plate, (right, down) in zip(plates, moves, strict=True)
    ]


def pressed_picture(
    made: TonalPrint, tile: Uint8Array, viewing: Viewing, *, dpi: float, misfit: Misfit
) -> Uint8Array:
    """The whole print (H, W, 3) with its plates as they lie, worked out spectrally.

    About a second a megapixel; in register `picture_of` is many times faster.
    """
    px_per_mm = dpi / MM_PER_INCH
    plates = fitted(
        list(made.separation.coverages),
        has_base=made.tonal.base is not None,
        px_per_mm=px_per_mm,
        choke_mm=misfit.choke_mm,
        trap_mm=misfit.trap_mm,
    )
    moved = off_register(plates, error_mm=misfit.register_mm, px_per_mm=px_per_mm)
    return draw_plates(made.table.model, moved, tile, viewing)


def close_up(
    model: TonalModel,
    plates: Sequence[Uint8Array],
    tile: Uint8Array,
    viewing: Viewing,
    *,
    dpi: float,
    size_px: int,
    error_mm: float = 0.0,
) -> Uint8Array:
    """A window (h, w, 3) at 1:1 where most happens, from the plates as they lie on the press.

    error_mm: how far every plate after the first is out of register.
    """
    px_per_mm = dpi / MM_PER_INCH
    height, width = plates[0].shape
    high, wide = min(size_px, height), min(size_px, width)
    y, x = busiest(np.stack([plate[::4, ::4] for plate in plates]), high // 4, wide // 4)
    top, left = min(4 * y, height - high), min(4 * x, width - wide)
    margin = int(np.ceil(error_mm * px_per_mm)) + 1
    above, before = min(margin, top), min(margin, left)
    window = [
        plate[top - above : top + high + margin, left - before : left + wide + margin]
        for plate in plates
    ]
    drawn = draw_plates(
        model,
        off_register(window, error_mm=error_mm, px_per_mm=px_per_mm),
        tile,
        viewing,
        x=left - before,
        y=top - above,
    )
    return np.ascontiguousarray(drawn[above : above + high, before : before + wide])


def reach_map(made: TonalPrint, rgba: Uint8Array, *, most_px: int) -> Uint8Array:
    """Where (h, w, 3) the print is out of reach: black on a pale gray picture of the artwork."""
    return marked(rgba, made.separation.beyond(), cloth=made.table.cloth, most_px=most_px)


@dataclass(frozen=True, kw_only=True)
class TonalReach:
    """How near a tonal print comes to its artwork, without its pixels."""

    inks: tuple[str, ...]
    base: str | None
    lines_per_inch: float
    mean: float
    p95: float
    out_of_reach: float
    tolerance: float
    warnings: tuple[str, ...]
    data: Provenance


def reach_of(made: TonalPrint) -> TonalReach:
    """Sum a tonal print up."""
    tonal, found = made.tonal, made.separation
    return TonalReach(
        inks=tuple(layer.ink.name for layer in tonal.colours),
        base=None if tonal.base is None else tonal.base.ink.name,
        lines_per_inch=tonal.lines_per_inch,
        mean=found.mean,
        p95=found.p95,
        out_of_reach=found.out_of_reach,
        tolerance=found.tolerance,
        warnings=tonal.warnings,
        data=made.data,
    )


REACH_HEAD = ("halftones", "mean ΔE00", "95th percentile", "out of reach")


def reach_document(reach: TonalReach) -> dict[str, Any]:
    """Return how near a tonal print comes as JSON-ready values."""
    return {
        "inks": list(reach.inks),
        "base": reach.base,
        "lines_per_inch": reach.lines_per_inch,
        "delta_e_2000": {"mean": round(reach.mean, 3), "p95": round(reach.p95, 3)},
        "out_of_reach": round(reach.out_of_reach, 4),
        "tolerance": reach.tolerance,
        "warnings": list(reach.warnings),
        "data": reach.data,
    }


def reach_row(title: str, reach: TonalReach) -> list[str]:
    """One line of `REACH_HEAD`'s table."""
    return [title, f"{reach.mean:.1f}", f"{reach.p95:.1f}", f"{reach.out_of_reach:.0%}"]


def reach_words(made: TonalPrint) -> tuple[str, ...]:
    """How near the print comes to the artwork, in two lines."""
    found = made.separation
    return (
        f"ΔE00 {found.mean:.1f} on average, {found.p95:.1f} at the 95th percentile",
        f"{found.out_of_reach:.0%} of the print is out of reach (ΔE00 over {found.tolerance:g})",
    )


def ink_words(tonal: TonalSet) -> tuple[str, ...]:
    """The base and the inks with their meshes, and the line count."""
    lines = []
    if tonal.base is not None:
        flash = ", flashed" if tonal.base.flash else ", wet on wet"
        lines.append(
            f"{tonal.base.ink.name} through {tonal.base.screen.threads_per_inch:.0f} "
            f"×{tonal.base.passes}{flash}"
        )
    lines.append(
        ", ".join(
            f"{layer.ink.name} {layer.screen.threads_per_inch:.0f} ×{layer.passes}"
            for layer in tonal.colours
        )
        + f"; {tonal.lines_per_inch:g} lines/inch"
    )
    return tuple(lines)


def tonal_panel(made: TonalPrint, picture: Uint8Array, *, heading: str, most_px: int) -> SheetPanel:
    """The print's picture, reduced, with how near it comes and what prints it."""
    near = made.separation.out_of_reach <= 0.05
    return SheetPanel(
        picture=shrink_to(picture, width=most_px, height=most_px),
        heading=heading,
        verdict=f"{1 - made.separation.out_of_reach:.0%} within ΔE00 {made.separation.tolerance:g}",
        met=near,
        lines=(*reach_words(made)[:1], *ink_words(made.tonal)),
    )
