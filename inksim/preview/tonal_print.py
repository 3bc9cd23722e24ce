"""Print a tonal artwork with one set of inks: separate it, draw it, say how near it comes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from inksim.artwork import shrink_to
from inksim.colour import Viewing
from inksim.common import Uint8Array
from inksim.picture import (
    TonalLook,
    draw_plates,
    hatched,
    render_tonal,
    shifted,
    tonal_look,
    window_on_change,
)
from inksim.printing import Layer
from inksim.separation import (
    DEFAULT_LINES_PER_INCH,
    Misfit,
    SeenColours,
    Separation,
    SeparationTable,
    TonalModel,
    TonalSet,
    choose_inks,
    colours_seen,
    fitted,
    inks_that_fit,
    picture_colours,
    separate_picture,
    separation_table,
    share_out_of_reach,
)
from inksim.shop import Shop, StationsEntry
from inksim.stock import Garment, Ink, Provenance, least_sure

NEAR = 0.05
"""Share of a picture that may be out of reach of a print that is still called the picture."""


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

    @property
    def in_short(self) -> tuple[str, str]:
        """('83% of it nominally within ΔE00 3', '✕'): words and the shape of their mark."""
        words = f"{1.0 - self.out_of_reach:.0%} of it nominally within ΔE00 {self.tolerance:g}"
        return words, "●" if self.nominal else "✕"

    @property
    def nominal(self) -> bool:
        """Whether all but a little of the most likely picture is inside the tolerance."""
        return self.out_of_reach <= NEAR


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

    @property
    def reach(self) -> TonalReach:
        """How near it comes to the artwork."""
        tonal, found = self.tonal, self.separation
        return TonalReach(
            inks=tuple(layer.ink.name for layer in tonal.colours),
            base=None if tonal.base is None else tonal.base.ink.name,
            lines_per_inch=tonal.lines_per_inch,
            mean=found.mean,
            p95=found.p95,
            out_of_reach=found.out_of_reach,
            tolerance=found.tolerance,
            warnings=tonal.warnings,
            data=self.data,
        )


def tonal_inks(
    rgba: Uint8Array,
    *,
    shop: Shop,
    garment: Garment,
    viewing: Viewing,
    press: StationsEntry | None = None,
) -> tuple[Ink, ...]:
    """Choose the inks that come nearest to a picture (H, W, 4), as many as fit the press.

    They are chosen over a white base, so that they are chosen for their own colors, and so that
    all routes are printed with the same ones.
    """
    return tuple(
        choose_inks(
            picture_colours(rgba, garment, viewing),
            shop=shop,
            garment=garment,
            route="white-base",
            lines_per_inch=DEFAULT_LINES_PER_INCH,
            viewing=viewing,
            most=inks_that_fit(press or shop.stations),
        )
    )


def print_tonal(
    rgba: Uint8Array,
    tonal: TonalSet,
    *,
    viewing: Viewing,
    tolerance: float,
    seen: SeenColours | None = None,
    every: int = 1,
) -> TonalPrint:
    """Separate a picture (H, W, 4) for a set of inks, and work out what its colors look like.

    seen: its colors on the garment, if they are known. every: separate each n-th pixel of each n-th
    row alone, where nothing but its reach is asked. What is out of reach is then counted in full
    where it may be `NEAR`: a pattern can fall in with the sample, and what is said turns there.
    """
    seen = seen or colours_seen(rgba, tonal.garment, viewing)
    table = separation_table(tonal, viewing=viewing, seen=seen)
    some = np.ascontiguousarray(rgba[::every, ::every])
    found = separate_picture(some, table, tolerance=tolerance)
    if every > 1 and found.out_of_reach <= 2.0 * NEAR:
        found = replace(found, out_of_reach=share_out_of_reach(rgba, table, tolerance=tolerance))
    return TonalPrint(
        table=table,
        separation=found,
        look=tonal_look(
            table.model,
            viewing,
            axes=table.axes,
            coverage=table.coverage,
            cloth=table.cloth,
            seen=seen,
        ),
    )


def draw_tonal(
    made: TonalPrint,
    rgba: Uint8Array,
    tile: Uint8Array,
    *,
    viewing: Viewing,
    px_per_mm: float,
    misfit: Misfit | None = None,
) -> Uint8Array:
    """The print of a picture at its full size: uint8 (H, W, 4), RGBX, or (H, W, 3).

    With a misfit the plates are drawn as they lie, worked out spectrally: about a second a
    megapixel, where a print in register is many times faster.
    """
    if not misfit:
        return render_tonal(rgba, made.look, tile)
    plates = fitted(
        list(made.separation.coverages),
        has_base=made.tonal.base is not None,
        px_per_mm=px_per_mm,
        choke_mm=misfit.choke_mm,
        trap_mm=misfit.trap_mm,
    )
    moved = _moved(plates, error_mm=misfit.register_mm, px_per_mm=px_per_mm)
    return draw_plates(made.table.model, moved, tile, viewing)


def _moved(plates: Sequence[Uint8Array], *, error_mm: float, px_per_mm: float) -> list[Uint8Array]:
    """Plates moved by an error each in a direction of its own; the first one stays."""
    moves = Misfit(register_mm=error_mm).moves_mm(len(plates))
    return [
        shifted(plate, dx_px=right * px_per_mm, dy_px=down * px_per_mm)
        for plate, (right, down) in zip(plates, moves, strict=True)
    ]


def close_up(
    model: TonalModel,
    plates: Sequence[Uint8Array],
    tile: Uint8Array,
    viewing: Viewing,
    *,
    px_per_mm: float,
    size_px: int,
    error_mm: float = 0.0,
) -> Uint8Array:
    """A window (h, w, 3) at 1:1 where most happens, from the plates as they lie on the press.

    error_mm: how far every plate after the first is out of register.
    """
    rows, columns = window_on_change(plates, size_px=size_px)
    margin = int(np.ceil(error_mm * px_per_mm)) + 1
    top, left = max(0, rows.start - margin), max(0, columns.start - margin)
    around = [plate[top : rows.stop + margin, left : columns.stop + margin] for plate in plates]
    moved = _moved(around, error_mm=error_mm, px_per_mm=px_per_mm)
    drawn = draw_plates(model, moved, tile, viewing, x=left, y=top)
    inside = drawn[rows.start - top : rows.stop - top, columns.start - left : columns.stop - left]
    return np.ascontiguousarray(inside)


def reach_map(made: TonalPrint, drawn: Uint8Array, *, most_px: int) -> Uint8Array:
    """The print as drawn, at most so large (h, w, 3), hatched where it is out of reach."""
    return hatched(shrink_to(drawn, width=most_px, height=most_px), made.separation.beyond())


REACH_HEAD = ("halftones", "mean ΔE00", "95th percentile", "out of reach")


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


def base_words(base: Layer | None) -> tuple[str, ...]:
    """The base with its mesh in one line, if there is a base."""
    if base is None:
        return ()
    flash = ", flashed" if base.flash else ", wet on wet"
    mesh = f"{base.screen.threads_per_inch:.0f} ×{base.passes}"
    return (f"{base.ink.name} through {mesh}{flash}",)


def ink_words(tonal: TonalSet) -> tuple[str, ...]:
    """The base and the inks with their meshes, and the line count."""
    inks = ", ".join(
        f"{layer.ink.name} {layer.screen.threads_per_inch:.0f} ×{layer.passes}"
        for layer in tonal.colours
    )
    return (*base_words(tonal.base), f"{inks}; {tonal.lines_per_inch:g} lines/inch")
