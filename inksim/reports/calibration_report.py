"""What is said of a calibration: tables for people, a document for machines. Computes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from inksim.calibration import (
    Calibration,
    HistoryRow,
    ShopCalibration,
    calibration_findings,
    plus_minus,
    told_strengths,
)
from inksim.reports.text import rounded, table
from inksim.shop import Version
from inksim.stock import MEANINGS


def calibration_text(found: ShopCalibration, *, press: str, folder: Path | None) -> str:
    """Before and after, parameters, what could not be told, what looks wrong, what was written."""
    calibration = found.calibration
    total = found.fresh + found.old
    parts = [
        f"{press}: {total} reading{'s' * (total != 1)} of prints"
        f" ({found.fresh} from the file, {found.old} kept from before)",
        _readings(calibration),
        _parameters(calibration),
        "\n".join(calibration_findings(found)),
        _written(found, folder=folder),
    ]
    return "\n\n".join(part for part in parts if part)


def _readings(found: Calibration) -> str:
    rows = [
        [
            r.name,
            f"{r.before:.1f}",
            "left out" if r.left_out else f"{r.after:.1f}",
            f"{r.alone:.1f}",
        ]
        for r in found.readings
    ]
    medians = [f"{found.median(when):.1f}" for when in ("before", "after", "alone")]
    head = ["ΔE00 of the reading", "before", "after", "by the others"]
    return table(head, [*rows, ["median", *medians]])


def _parameters(found: Calibration) -> str:
    rows = [
        [
            f"{each.name}, {MEANINGS[each.name].unit}".removesuffix(", "),
            plus_minus(each.before),
            plus_minus(each.after),
            f"{each.low:.3g} to {each.high:.3g}",
            "" if each.told else "not told by these readings",
        ]
        for each in found.parameters
    ]
    rows += [
        [f"{field} of {ink}, ×", "1", plus_minus(value), "", ""]
        for ink, field, value in told_strengths(found.press)
    ]
    return table(["parameter", "before", "after", "90 %", ""], rows, left_last=True)


def _written(found: ShopCalibration, *, folder: Path | None) -> str:
    if found.version is None:
        return "Nothing was written."
    return (
        f"Written: press.toml is version {found.version.number} now, and {found.added} "
        f"reading{'s' * (found.added != 1)} went into the history. "
        f"'inksim press --back --shop {folder}' brings back the version before."
    )


def calibration_document(found: ShopCalibration) -> dict[str, Any]:
    """Return a calibration as JSON-ready values."""
    calibration = found.calibration
    press = calibration.press
    return {
        "readings": [
            {
                "name": r.name,
                "before": round(r.before, 3),
                "after": round(r.after, 3),
                "by_the_others": round(r.alone, 3),
                "left_out": r.left_out,
            }
            for r in calibration.readings
        ],
        "median": {
            "before": round(calibration.median("before"), 3),
            "after": round(calibration.median("after"), 3),
            "by_the_others": round(calibration.median("alone"), 3),
        },
        "parameters": [
            {
                "name": each.name,
                "before": each.before._asdict(),
                "after": each.after._asdict(),
                "interval_90": [each.low, each.high],
                "told": each.told,
            }
            for each in calibration.parameters
        ],
        "inks": [{"name": s.ink, "K": s.K._asdict(), "S": s.S._asdict()} for s in press.strengths],
        "model_sd": press.model_sd,
        "ink_sd_factor": press.ink_sd_factor,
        "together": [
            {"pair": [one, two], "correlation": round(value, 3)}
            for one, two, value in calibration.together
        ],
        "wrong": [
            {
                "name": s.name,
                "ciede2000": round(s.delta_e, 3),
                "expected_lab": rounded(s.expected),
                "swapped_with": s.swapped_with,
            }
            for s in calibration.suspects
        ],
        "contradictions": [
            {"pair": list(c.names), "ciede2000": round(c.delta_e, 3)}
            for c in calibration.contradictions
        ],
        "cloths_not_kept": [
            {
                "garment": c.name,
                "of": "dye left by a discharge" if c.discharged else "dye",
                "factor": round(c.factor, 4),
                "sd_of_ln": round(c.sd, 4),
                "sd_of_ln_before": round(c.sd_before, 4),
            }
            for c in calibration.cloths
        ],
        "from_file": found.fresh,
        "from_history": found.old,
        "not_used": list(found.unused),
        "version": None if found.version is None else found.version.number,
        "added_to_history": found.added,
    }


def versions_text(versions: Sequence[Version]) -> str:
    """All versions of a press, the current one marked."""
    rows = [
        [f"{v.number}{' ←' if v.current else ''}", v.day or "–", str(v.readings), v.source or "–"]
        for v in versions
    ]
    return table(["version", "day", "readings", "source"], rows, left=2, left_last=True)


def versions_document(versions: Sequence[Version]) -> dict[str, Any]:
    """Return the versions of a press as JSON-ready values."""
    return {
        "versions": [
            {
                "number": v.number,
                "day": v.day,
                "readings": v.readings,
                "source": v.source,
                "current": v.current,
            }
            for v in versions
        ]
    }


def history_text(kept: Sequence[HistoryRow]) -> str:
    """The readings of a shop, one a line."""
    if not kept:
        return "No readings are kept yet; 'inksim calibrate' keeps those it uses."
    rows = [
        [str(k.number), k.row.date, k.row.name, k.row.ink, k.row.garment, k.row.route, k.row.note]
        for k in kept
    ]
    head = ["no.", "date", "name", "ink", "garment", "route", "note"]
    return table(head, rows, left=len(head), left_last=True)
