"""Preview and demo reports: text and JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from inksim.common import ROUTE_NAMES
from inksim.preview import REACH_HEAD, beyond_words, reach_row
from inksim.reports.json_documents import document
from inksim.reports.text import patch, table

if TYPE_CHECKING:
    from inksim.decision import Advice
    from inksim.preview import DemoResult, PreviewResult


def preview_document(result: PreviewResult) -> dict[str, Any]:
    """The preview as JSON-ready values."""
    made: dict[str, Any] = document(result)
    for route in made["routes"]:
        route["views"] = [{"what": what, "file": file} for what, file in route["views"]]
    return made


def demo_document(result: DemoResult) -> dict[str, Any]:
    """The demo's decisions and previews as JSON-ready values."""
    return {
        "decisions": [
            {
                "garment": row.garment.name,
                "colors": [
                    {"hex": color.flat.hex, "ink": color.ink, **document(advice)}
                    for color, advice in row.decided
                ],
            }
            for row in result.rows
        ],
        "previews": [preview_document(each) for each in result.previews],
    }


def preview_text(result: PreviewResult) -> str:
    """Ink of each flat, ΔE00 by each route, and the files."""
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
    tonal = any(r.reach is not None for r in result.routes)
    if tonal:
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
