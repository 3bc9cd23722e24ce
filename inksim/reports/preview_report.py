"""Preview and demo reports: text and JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from inksim.common import ROUTE_NAMES, ROUTE_SHORT, patch
from inksim.decision import SHAPES, Answer, verdict_of
from inksim.preview import REACH_HEAD, beyond_words, reach_row
from inksim.reports.job_report import headline
from inksim.reports.json_documents import document
from inksim.reports.text import table

if TYPE_CHECKING:
    from inksim.preview import DemoResult, PreviewResult
    from inksim.printing import Prediction
    from inksim.stock import Ink


def preview_document(result: PreviewResult) -> dict[str, Any]:
    """The preview as JSON-ready values."""
    made: dict[str, Any] = document(result)
    for route, found in zip(made["routes"], result.routes, strict=True):
        for each, p in zip(route["predictions"], found.predictions, strict=True):
            if p is not None and p.interval is not None:
                each["verdict"] = document(verdict_of(p.interval))
        route["views"] = [{"what": what, "file": file} for what, file in route["views"]]
    return made


def demo_document(result: DemoResult) -> dict[str, Any]:
    """The demo's decisions and previews as JSON-ready values."""
    return {
        "answers": document(result.answer.answers),
        "previews": [preview_document(each) for each in result.previews],
    }


def preview_text(result: PreviewResult) -> str:
    """Ink of each flat, its verdict by each route, and the files."""
    head = ["color", "area", "ink", "chosen by", *(ROUTE_NAMES[r.route] for r in result.routes)]
    rows = []
    for at, colour in enumerate(result.colours):
        verdicts = [_by_route(r.predictions[at], ink=colour.ink) for r in result.routes]
        rows.append(
            [
                patch(colour.flat.hex) + colour.flat.hex,
                f"{colour.flat.area_share:.1%}",
                colour.ink.name if colour.ink else "left bare",
                colour.chosen_by,
                *verdicts,
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
        if route.verdict is not None:
            lines.append(f"    all colors together: {route.verdict.word}, {route.verdict.percent}")
        lines += [f"    {what}: {path}" for what, path in route.views]
        lines += [f"    {words}" for words in beyond_words(route.beyond)]
    if result.too_fine_picture is not None:
        lines.append(f"  in black what is too fine: {result.too_fine_picture}")
    lines.append(f"  all of them beside the artwork: {result.sheet}")
    return "\n".join(lines)


def _by_route(prediction: Prediction | None, *, ink: Ink | None) -> str:
    """'◐ should land 4.0, invented', and the ink where the route prints another than is decided."""
    if prediction is None or prediction.interval is None:
        return "–"
    said, printed = verdict_of(prediction.interval), prediction.build.ink
    words = f"{said.mark} {said.median_de00:.1f}, {prediction.data}"
    if printed is None or ink is None or printed.name == ink.name:
        return words
    return f"{words}, {printed.name}"


def demo_text(result: DemoResult) -> str:
    """Lay out the decision table, the answers for two shirts, and what to do next."""
    shop, job = result.shop, result.answer.job
    head = ["garment", *(colour.name for colour in job.colours)]
    rows = [
        [found.garment.name, *(_cell(a) for a in found.answers or [None] * len(job.colours))]
        for found in result.answer.garments
    ]
    invented = " (its inks, garments and colors are invented)" if shop.invented else ""
    lines = [
        f"{shop.name}{invented}",
        "",
        f"What may each color be promised, within ΔE00 {job.colours[0].tolerance:g}, and how is it "
        "printed? The numbers: the ΔE00 to expect, and the chance.",
        "",
        table(head, rows),
        " · ".join(f"{shape} {word}" for word, shape in SHAPES.items()),
        "",
    ]
    shown = {preview.garment.name for preview in result.previews}
    lines += [headline(f) for f in result.answer.garments if f.garment.name in shown]
    lines += ["", "Pictures at full size, and a sheet of all:"]
    for preview in result.previews:
        lines.append(f"  {preview.sheet}")
        lines += [f"    {r.path}" for r in preview.routes]
    lines += [
        "",
        "Invented data are good for ranking only. The first print on the real garment decides.",
        "Open the app:  inksim app     (or .venv/bin/inksim app if you followed the README)",
    ]
    return "\n".join(lines)


def _cell(answer: Answer | None) -> str:
    """'◐ Weir Teal over white 2.1, 66%'."""
    if answer is None:
        return "cannot be printed"
    if answer.ink is None:
        return ROUTE_SHORT[answer.route]
    said = answer.verdict
    return (
        f"{SHAPES[said.word]} {answer.ink.name} {ROUTE_SHORT[answer.route]} "
        f"{said.median_de00:.1f}, {said.percent}"
    )
