"""Calibration report, press versions and kept readings: text and JSON."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from inksim.calibration import (
    NOT_SHOWN,
    Calibration,
    HistoryRow,
    ShopCalibration,
    calibration_findings,
    interval_words,
    lot_words,
    plus_minus,
    told_strengths,
)
from inksim.common import PROGRAM, counted
from inksim.reports.json_documents import document
from inksim.reports.text import table
from inksim.shop import Version
from inksim.stock import MEANINGS


def calibration_text(found: ShopCalibration, *, press: str, folder: Path | None) -> str:
    """Readings before and after, parameters, findings, and what was written."""
    calibration = found.calibration
    total = found.fresh + found.old
    parts = [
        f"{press}: {counted(total, 'reading')} of prints"
        f" ({found.fresh} from the file, {found.old} kept from before)",
        _readings(calibration),
        _parameters(calibration),
        _lots(calibration),
        "\n".join(calibration_findings(found)),
        _written(found, folder=folder),
        f"{PROGRAM}.",
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
    medians = [f"{median:.1f}" for median in found.medians.values()]
    head = ["ΔE00 of the reading", "before", "after", "by the others"]
    return table(head, [*rows, ["median", *medians]])


def _parameters(found: Calibration) -> str:
    rows = [
        [
            f"{each.name}, {MEANINGS[each.name].unit}".removesuffix(", "),
            plus_minus(each.before),
            plus_minus(each.after),
            interval_words(each),
            "" if each.told else NOT_SHOWN,
        ]
        for each in found.parameters
    ]
    rows += [
        [f"{field} of {ink}, ×", "1", plus_minus(value), "", ""]
        for ink, field, value in told_strengths(found.press)
    ]
    return table(["parameter", "before", "after", "90 %", ""], rows, left_last=True)


def _lots(found: Calibration) -> str:
    rows = [
        [
            f"{each.of}, lot {each.lot}{', newest' if each.newest else ''}",
            lot_words(each),
            "" if each.told else NOT_SHOWN,
        ]
        for each in found.lots
    ]
    return (
        table(["lot", "strength, times its ink's or cloth's", ""], rows, left_last=True)
        if rows
        else ""
    )


def _written(found: ShopCalibration, *, folder: Path | None) -> str:
    if found.version is None:
        return "Nothing was written."
    scored = ""
    if found.scoring:
        scored = f" {counted(found.scoring, 'reading')} of them only score proofs."
    return (
        f"Written: press.toml is version {found.version.number} now, and "
        f"{counted(found.added, 'reading')} went into the history.{scored} "
        f"'inksim press --back --shop {folder}' brings back the version before."
    )


def calibration_document(found: ShopCalibration) -> dict[str, Any]:
    """The calibration as JSON-ready values."""
    made: dict[str, Any] = document(found)
    made["together"] = [
        {"pair": pair, "correlation": round(value, 3)} for *pair, value in made["together"]
    ]
    return made


def versions_text(versions: Sequence[Version]) -> str:
    """Table of press versions, the current one marked."""
    rows = [
        [f"{v.number}{' ←' if v.current else ''}", v.day or "–", str(v.readings), v.source or "–"]
        for v in versions
    ]
    return table(["version", "day", "readings", "source"], rows, left=2, left_last=True)


def history_text(kept: Sequence[HistoryRow]) -> str:
    """Table of a shop's kept readings."""
    if not kept:
        return "No readings are kept yet; 'inksim calibrate' keeps them."
    rows = [
        [str(k.number), k.row.date, k.row.name, k.row.ink, k.row.garment, k.row.route,
         "no, scores proofs" if k.row.scores_only else "yes", k.row.read_words, k.noted]
        for k in kept
    ]  # fmt: skip
    head = ["no.", "date", "name", "ink", "garment", "route", "fitted", "read by", "note"]
    return table(head, rows, left=len(head), left_last=True)
