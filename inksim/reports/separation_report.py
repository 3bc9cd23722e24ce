"""What is said of tonal prints: tables for people, documents for machines. Computes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from inksim.preview import SeparationResult
    from inksim.separation import PlateFile


PLATE_HEAD = ("plate", "mesh", "passes", "covers", "cm²", "g/print", "least mm", "least tint")


def separation_document(result: SeparationResult) -> dict[str, Any]:
    """Return what a separation wrote as JSON-ready values."""
    from inksim.preview import reach_document

    plates = result.plates
    return {
        "artwork": result.artwork,
        "garment": result.garment.name,
        "route": result.route,
        "tonal": reach_document(result.reach),
        "plates": [
            {
                "ink": plate.ink.name,
                "base": plate.is_base,
                "screen": plate.layer.screen.name,
                "passes": plate.layer.passes,
                "coverage": round(plate.coverage, 5),
                "area_cm2": round(plate.area_cm2, 2),
                "ink_g": round(plate.ink_g, 3),
                "least_detail_mm": round(plate.least_detail_mm, 3),
                "too_fine_share": round(plate.too_fine_share, 5),
                "least_tint": round(plate.least_tint, 4),
                "light_share": round(plate.light_share, 4),
            }
            for plate in plates.plates
        ],
        "choke_mm": plates.choke_mm,
        "trap_mm": plates.trap_mm,
        "dpi": plates.dpi,
        "files": [
            {
                "ink": file.plate.ink.name,
                "path": str(file.path),
                "screened": file.screened,
                "angle_deg": file.angle_deg,
            }
            for file in result.files
        ],
        "picture": str(result.picture),
        "out_of_reach_map": str(result.reach_map),
        "sheet": str(result.sheet),
        "chosen": list(result.chosen),
        "warnings": list(plates.warnings),
        "notes": list(result.notes),
    }


def plate_rows(result: SeparationResult) -> list[list[str]]:
    """One line of `PLATE_HEAD`'s table for every plate."""
    return [
        [
            plate.ink.name,
            f"{plate.layer.screen.threads_per_inch:.0f}",
            f"{plate.layer.passes}",
            f"{plate.coverage:.1%}",
            f"{plate.area_cm2:.1f}",
            f"{plate.ink_g:.2f}",
            f"{plate.least_detail_mm:.2f}",
            f"{plate.least_tint:.0%}",
        ]
        for plate in result.plates.plates
    ]


def separation_lines(result: SeparationResult) -> list[str]:
    """What is said below the tables: what was chosen, warnings, notes and files."""
    lines = [f"  chosen by the predicted print: {words}" for words in result.chosen]
    lines += [f"  warning: {words}" for words in result.plates.warnings]
    lines += [f"  note: {words}" for words in result.notes]
    lines += [f"  {_kind(file)} of {file.plate.ink.name}: {file.path}" for file in result.files]
    lines.append(f"  the print: {result.picture}")
    far = f"out of reach (ΔE00 over {result.reach.tolerance:g})"
    lines.append(f"  in black what is {far}: {result.reach_map}")
    lines.append(f"  all of it on one sheet: {result.sheet}")
    return lines


def _kind(file: PlateFile) -> str:
    return f"screened plate at {file.angle_deg:g}°" if file.screened else "plate"
