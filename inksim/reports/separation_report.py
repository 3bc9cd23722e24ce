"""Separation report: plates, notes and files written."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from inksim.preview import SeparationResult
    from inksim.separation import PlateFile


PLATE_HEAD = ("plate", "mesh", "passes", "covers", "cm²", "g/print", "least mm", "least tint")


def plate_rows(result: SeparationResult) -> list[list[str]]:
    """Rows of the plate table, under `PLATE_HEAD`."""
    return [
        [
            plate.ink.name,
            f"{plate.layer.screen.threads_per_inch:.0f}",
            ", flash, ".join(f"{strokes}" for strokes in plate.goes),
            f"{plate.coverage:.1%}",
            f"{plate.area_cm2:.1f}",
            f"{plate.ink_g:.2f}",
            f"{plate.least_detail_mm:.2f}",
            f"{plate.least_tint:.0%}" if plate.least_tint else "–",
        ]
        for plate in result.plates.plates
    ]


def separation_lines(result: SeparationResult) -> list[str]:
    """Choices, warnings, notes and files, one a line."""
    lines = [f"  chosen by the predicted print: {words}" for words in result.chosen]
    lines += [f"  warning: {words}" for words in result.plates.warnings]
    lines += [f"  note: {words}" for words in result.notes]
    lines += [f"  {_kind(file)} of {file.plate.ink.name}: {file.path}" for file in result.files]
    lines.append(f"  the print: {result.picture}")
    if result.reach is not None:
        far = f"out of reach (ΔE00 over {result.reach.tolerance:g})"
        lines.append(f"  hatched what is {far}: {result.reach_map}")
    lines.append(f"  all of it on one sheet: {result.sheet}")
    return lines


def _kind(file: PlateFile) -> str:
    return f"screened plate at {file.angle_deg:g}°" if file.screened else "plate"
