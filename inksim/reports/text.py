"""Text tables: predictions, lights, hiding power, drawdowns, advice, a shop's stock."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from inksim.colour import D50, hex_code, lab, xyz
from inksim.common import (
    KIND_WORDS,
    ROUTE_NAMES,
    FloatArray,
    counted,
    lab_words,
    patch,
    width,
)
from inksim.decision import route_headline, verdict_of
from inksim.reports.json_documents import document

if TYPE_CHECKING:
    from inksim.decision import Advice
    from inksim.drawdowns import Characterisation
    from inksim.printing import Prediction, SeenInLight
    from inksim.shop import Hiding


def table(
    head: Sequence[str], rows: Sequence[Sequence[str]], *, left: int = 1, left_last: bool = False
) -> str:
    """Rows under a head; the first `left` columns (and the last) are flush left."""
    widths = [max(width(row[at]) for row in [head, *rows]) for at in range(len(head))]

    def line(cells: Sequence[str]) -> str:
        padded = [
            f"{cell}{' ' * (wide - width(cell))}"
            if at < left or (left_last and at == len(head) - 1)
            else f"{' ' * (wide - width(cell))}{cell}"
            for at, (cell, wide) in enumerate(zip(cells, widths, strict=True))
        ]
        return "  ".join(padded).rstrip()

    rule = "  ".join("─" * wide for wide in widths)
    return "\n".join([line(head), rule, *(line(row) for row in rows)])


def predictions_text(predictions: Sequence[Prediction]) -> str:
    """Table of predictions, with their verdicts and their builds below."""
    aimed = predictions[0].delta_e_2000 is not None
    head = ["route", "Lab", "hex", "contrast", "garment shows", "film µm", "data"]
    if aimed:
        head[3:3] = ["nominal ΔE00", "CMC 2:1"]
    rows = []
    for p in predictions:
        row = [
            ROUTE_NAMES[p.build.route],
            lab_words(p.lab),
            p.hex + ("" if p.in_srgb_gamut else "*"),
            f"{p.contrast_ratio:.2f}",
            f"{p.show_through:.0%}",
            f"{p.film_um:.1f}" + (f"+{p.base_film_um:.1f}" if p.base_film_um else ""),
            p.data,
        ]
        if aimed:
            row[3:3] = [f"{p.delta_e_2000:.1f}", f"{p.delta_e_cmc:.1f}"]
        rows.append(row)
    lines = [table(head, rows), ""]
    for p in predictions:
        lines.append(f"  {patch(p.hex)}{ROUTE_NAMES[p.build.route]}: {p.words}")
        if p.interval is not None and p.interval.within is not None:
            lines.append(f"    {verdict_of(p.interval).said(p.interval.tolerance)}")
    if any(not p.in_srgb_gamut for p in predictions):
        lines.append("  * more colorful than a screen can show: the patch and hex are the nearest.")
    return "\n".join(lines)


def predictions_document(predictions: Sequence[Prediction]) -> list[dict[str, Any]]:
    """Predictions as JSON-ready values."""
    return [
        {
            **document(each),
            "verdict": document(verdict_of(each.interval))
            if each.interval is not None and each.interval.within is not None
            else None,
        }
        for each in predictions
    ]


def lights_text(rows: Sequence[SeenInLight]) -> str:
    """Table of a print under each light: color, difference from the target, metamerism."""

    def shown(value: float | None) -> str:
        return "–" if value is None else f"{value:.1f}"

    head = ["light", "Lab", "hex", "ΔE00", "CMC 2:1", "metamerism", "inconstancy"]
    return table(
        head,
        [
            [
                f"{patch(s.hex)}{s.viewing}",
                lab_words(s.lab),
                s.hex + ("" if s.in_srgb_gamut else "*"),
                shown(s.delta_e_2000),
                shown(s.delta_e_cmc),
                shown(s.metamerism),
                shown(s.inconstancy),
            ]
            for s in rows
        ],
    )


def hiding_text(rows: Sequence[Hiding]) -> str:
    """Table of hiding power: contrast ratio of the usual films, and the film that covers."""
    lines = []
    for row in rows:
        for at, film in enumerate(row.films):
            covers = ["", "", ""]
            if at == 0:
                covers = [
                    "never" if row.covers_um is None else f"{row.covers_um:.0f}",
                    "–" if row.times_usual is None else f"{row.times_usual:.1f} ×",
                    row.ink.data,
                ]
            lines.append(
                [
                    row.ink.name if at == 0 else "",
                    f"{film.screen} ×{film.passes}",
                    f"{film.film_um:.1f}",
                    f"{film.contrast_ratio:.2f}",
                    *covers,
                ]
            )
    head = ["ink", "screen", "film µm", "contrast", "covers at µm", "of the thickest", "data"]
    return table(head, lines)


def drawdowns_text(fitted: Characterisation) -> str:
    """Table of the residuals of each drawdown, their mean, and what was left out; the verdict."""
    in_um = fitted.unit == "µm"
    rows = [
        [
            d.name,
            f"{d.delta_e:.2f}",
            "–" if d.contrast_error is None else f"{d.contrast_error:+.3f}",
            f"{d.thickness:.1f}" if in_um else f"{d.thickness:.2f} ×",
            f"{100 * (d.thickness_factor - 1):+.0f} %",
        ]
        for d in fitted.drawdowns
    ]
    head = ["drawdown", "ΔE00", "contrast", "film µm" if in_um else "film", "than stated"]
    mean = f"The fit lies {fitted.mean_delta_e:.2f} ΔE00 from the drawdowns on average."
    lines = [table(head, rows), "", mean]
    if fitted.check is not None:
        lines += [fitted.check.words, *(f"  - {cause}" for cause in fitted.check.causes)]
        lines += [f"  - not left out: {name} ({why})" for name, why in fitted.check.kept.items()]
        lines.append(f"Verdict on the sheet: {fitted.check.verdict}.")
    return "\n".join(lines)


def look_text(reflectance: FloatArray) -> str:
    """A color (31,) as a patch, Lab and hex code, under D50."""
    code, inside = hex_code(xyz(reflectance, D50), D50)
    beyond = "" if inside else " (more colorful than a screen can show)"
    return f"{patch(code)}Lab {lab_words(lab(reflectance, D50))} ({D50}), {code}{beyond}"


def advice_text(advice: Advice) -> str:
    """Verdict, reasons, and a table of the routes."""
    headline = route_headline(advice.route, advice.verdict, tolerance=advice.tolerance)
    lines = [headline, *(f"  - {reason}" for reason in advice.reasons), ""]
    rows = [
        [
            f"{ROUTE_NAMES[r.route]}{' ◀' if r.route == advice.route else ''}",
            r.verdict.word if r.verdict else "not possible",
            f"{r.verdict.median_de00:.1f}" if r.verdict else "–",
            f"{r.verdict.low:.1f}–{r.verdict.high:.1f}" if r.verdict else "–",
            f"{r.verdict.percent}" if r.verdict else "–",
            r.best.hex if r.best else "–",
            r.best.data if r.best else "–",
            r.best.words if r.best else r.why_not,
        ]
        for r in advice.routes
    ]
    head = ["route", "verdict", "ΔE00", "9 in 10", "chance", "hex", "data", "build"]
    lines.append(table(head, rows, left=2, left_last=True))
    return "\n".join(lines)


def catalogue_text(document: dict[str, Any]) -> str:
    """Tables of a shop's inks, garments, screens and targets."""
    lines = [document["name"] + ("  (invented)" if document["invented"] else "")]
    if document["scenario"]:
        lines += ["", document["scenario"]]
    inks = [
        [
            patch(i["hex"]) + i["name"],
            KIND_WORDS[i["kind"]] + (", blocks dye" if i["blocks_dye"] else ""),
            i["data"] + (" *" if i["assumed"] else ""),
            lab_words(i["lab"]),
            i["entered"] or i["hex"],
        ]
        for i in document["inks"]
    ]
    garments = [
        [
            patch(g["hex"]) + g["name"],
            ", ".join(f"{share:.0%} {fibre}" for fibre, share in g["fibers"].items()),
            g["data"],
            "–" if g["discharge_grade"] is None else f"{g['discharge_grade']} of 5",
            lab_words(g["lab"]),
            g["entered"] or g["hex"],
        ]
        for g in document["garments"]
    ]
    screens = [
        [
            s["name"],
            f"{s['threads_per_inch']:.0f}",
            f"{s['threads_per_cm']:.0f}",
            f"{s['thread_um']:.0f}",
            f"{s['opening_um']:.0f}",
            f"{s['open_area']:.0%}",
            f"{s['ink_volume_cm3_m2']:.0f}",
        ]
        for s in document["screens"]
    ]
    targets = [
        [patch(t["hex"]) + t["name"], t["data"], lab_words(t["lab"]), t["entered"] or t["hex"]]
        for t in document["targets"]
    ]
    ink_head = ["ink", "kind", "data", "Lab on a white card", "hex"]
    garment_head = ["garment", "fibers", "data", "discharges", "Lab", "hex"]
    screen_head = [
        "screen",
        "threads/in",
        "threads/cm",
        "thread µm",
        "opening µm",
        "open",
        "cm³/m²",
    ]
    lines += ["", table(ink_head, inks, left=3)]
    lines += [f"* {i['name']}: {'; '.join(i['assumed'])}" for i in document["inks"] if i["assumed"]]
    lines += ["", table(garment_head, garments, left=3), "", table(screen_head, screens)]
    if targets:
        lines += ["", table(["target", "data", "Lab", "hex"], targets, left=2)]
    press = _stations_words(document["press"]["name"], document["stations"])
    numbers = [
        [name, _setting_words(held["value"]), held["unit"], held["what"]]
        for name, held in document["settings"].items()
    ]
    head = ["set by 'inksim set NAME=VALUE'", "value", "unit", "what"]
    return "\n".join([*lines, "", press, "", table(head, numbers, left=4)])


def _setting_words(value: Any) -> str:
    """A value of the shop; a parameter with its standard deviation."""
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(map(_setting_words, value)) or "none"
    return f"{value:g}" if isinstance(value, float | int) else str(value)


def _stations_words(press: str, held: dict[str, Any]) -> str:
    """How many screens and flashes fit on the press."""
    flashes = counted(held["flashes"], "flash unit")
    own = ", each on a station of its own" if held["flash_takes_station"] else ""
    return f"{press}: {counted(held['stations'], 'station')}, {flashes}{own}"
