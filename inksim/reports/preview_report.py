"""What is said of a preview and of the demo: tables for people, documents for machines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from inksim.common import ROUTE_NAMES
from inksim.reports.text import patch, prediction_document, table

if TYPE_CHECKING:
    from inksim.decision import Advice
    from inksim.preview import DemoResult, PreviewResult


def preview_document(result: PreviewResult) -> dict[str, Any]:
    """Return what a preview wrote as JSON-ready values."""
    from inksim.preview import reach_document

    return {
        "artwork": result.artwork,
        "garment": result.garment.name,
        "colors": [
            {
                "hex": a.flat.hex,
                "area_share": round(a.flat.area_share, 4),
                "ink": a.ink.name if a.ink else None,
                "chosen_by": a.chosen_by,
            }
            for a in result.assignments
        ],
        "routes": [
            {
                "route": r.route,
                "file": str(r.path),
                "predictions": [prediction_document(p) if p else None for p in r.predictions],
                "tonal": None if r.reach is None else reach_document(r.reach),
                "beyond_screen": round(r.beyond, 5),
                "views": [{"what": what, "file": str(path)} for what, path in r.views],
            }
            for r in result.routes
        ],
        "sheet": str(result.sheet),
        "notes": list(result.notes),
    }


def preview_text(result: PreviewResult) -> str:
    """Say which ink prints which flat, how far each route is, and where the files are."""
    head = ["color", "area", "ink", "chosen by", *(ROUTE_NAMES[r.route] for r in result.routes)]
    rows = []
    for at, assignment in enumerate(result.assignments):
        distances = [
            "–" if (p := r.predictions[at]) is None else f"ΔE00 {p.delta_e_2000 or 0.0:.1f}"
            for r in result.routes
        ]
        rows.append(
            [
                patch(assignment.flat.hex) + assignment.flat.hex,
                f"{assignment.flat.area_share:.1%}",
                assignment.ink.name if assignment.ink else "not printed",
                assignment.chosen_by,
                *distances,
            ]
        )
    from inksim.preview import beyond_words

    tonal = any(r.reach is not None for r in result.routes)
    if tonal:
        from inksim.preview import REACH_HEAD, reach_row

        head = list(REACH_HEAD)
        rows = [reach_row(ROUTE_NAMES[r.route], r.reach) for r in result.routes if r.reach]
    body = table(head, rows, left=1 if tonal else 4)
    lines = [f"{result.artwork} on {result.garment.name}", "", body, ""]
    lines += [f"  note: {note}" for note in result.notes]
    for route in result.routes:
        lines.append(f"  {ROUTE_NAMES[route.route]}: {route.path}")
        lines += [f"    {what}: {path}" for what, path in route.views]
        lines += [f"    {words}" for words in beyond_words(route.beyond)]
    lines.append(f"  all of them beside the artwork: {result.sheet}")
    return "\n".join(lines)


def demo_text(result: DemoResult) -> str:
    """Lay out the decision table, the reasons for two shirts, and what to do next."""
    shop = result.shop
    printed = [c for c in result.rows[0].colors if c.ink]
    head = ["garment", *(f"{c.flat.hex} {c.ink.name}" for c in printed if c.ink)]
    rows = [
        [
            row.garment.name,
            *(f"{ROUTE_NAMES[a.verdict]} {_reach(a)}" for a in row.advice),
        ]
        for row in result.rows
    ]
    tolerance = result.rows[0].advice[0].tolerance
    invented = " (its inks, garments and colors are invented)" if shop.invented else ""
    lines = [
        f"{shop.name}{invented}",
        "",
        f"Which base does each color need, for ΔE00 within {tolerance:g}? "
        "The number is the ΔE00 reached.",
        "",
        table(head, rows),
        "",
    ]
    for row in result.rows:
        if row.garment.name in {p.garment.name for p in result.previews} and row.advice:
            lines.append(
                f"Why, for {printed[0].ink.name if printed[0].ink else ''} on {row.garment.name}:"
            )
            lines += [f"  - {reason}" for reason in row.advice[0].reasons]
            lines.append("")
    lines.append("Pictures, each route at full size and a sheet of all:")
    for preview in result.previews:
        lines.append(f"  {preview.sheet}")
        lines += [f"    {r.path}" for r in preview.routes]
    lines += [
        "",
        "Invented data are good for ranking only. The first print on the real garment decides.",
        "Open the app:  inksim app     (or .venv/bin/inksim app if you followed the README)",
    ]
    return "\n".join(lines)


def _reach(advice: Advice) -> str:
    nearest = advice.chosen or advice.nearest
    if nearest is None or nearest.best is None or nearest.best.delta_e_2000 is None:
        return ""
    return f"{nearest.best.delta_e_2000:.1f}"
