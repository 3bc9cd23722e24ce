"""What was read from a photo or a scan: as text, as JSON, and as a file of readings."""

from __future__ import annotations

from typing import Any

from inksim.colour import D50, hex_code, xyz_from_lab
from inksim.common import csv_text, lab_words, patch, sentence
from inksim.photo import PhotoRead, PhotoReading
from inksim.reports.json_documents import document
from inksim.reports.text import table
from inksim.stock import PHOTO

CSV_HEAD = (
    "name", "L", "a", "b", "light", "observer", "read_by", "sd_de00", "shared_de00", "picture",
    "L_sd", "a_sd", "b_sd",
)  # fmt: skip

READING_HEAD = ("read", "L* a* b*", "± L*", "± a*", "± b*", "± ΔE00", "shared ΔE00")
WHAT_SD_MEANS = (
    "± is one standard deviation, as the chart's own patches tell it; the shared part moves all "
    "readings of this picture together."
)


def photo_text(read: PhotoRead) -> str:
    """Table of the readings, then what was found."""
    picture = read.picture
    count = len(read.chart.names)
    patches = f"{count} patches" if count > 1 else "one patch"
    lines = [
        f"{picture.name}, {picture.width} × {picture.height} pixels, by chart {read.chart.name} "
        f"({patches}); Lab for {D50}",
        "",
    ]
    if read.readings:
        codes = [hex_code(xyz_from_lab(each.lab, D50), D50)[0] for each in read.readings]
        rows = [
            [*reading_cells(each), f"{patch(code)}{code}"]
            for each, code in zip(read.readings, codes, strict=True)
        ]
        lines.append(table([*READING_HEAD, "hex"], rows))
    else:
        lines.append("The chart was found and is sound; nothing else to read was named.")
    findings = [*read.findings, *_told(read)]
    if findings:
        lines += ["", *(f"  - {sentence(each.rstrip('.'))}" for each in findings)]
    if read.readings:
        lines += [
            "",
            WHAT_SD_MEANS,
        ]
    return "\n".join(lines)


def reading_cells(reading: PhotoReading) -> list[str]:
    """A reading in words, as under `READING_HEAD`."""
    return [
        reading.name, lab_words(reading.lab), *(f"{each:.1f}" for each in reading.total_sd),
        f"{reading.total_de00:.1f}", f"{reading.shared_de00:.1f}",
    ]  # fmt: skip


def _told(read: PhotoRead) -> list[str]:
    return [f"{each.name}: {note}" for each in read.readings for note in each.notes]


def photo_document(read: PhotoRead) -> dict[str, Any]:
    """The readings and what was found, as JSON-ready values."""
    made: dict[str, Any] = document(read)
    return made | {"light": D50.light, "observer": D50.observer}


def photo_csv(read: PhotoRead) -> str:
    """A file of readings that every reader of readings takes; what it adds is kept beside."""
    rows = [
        [
            each.name, *(round(float(v), 3) for v in each.lab), D50.light, D50.observer, PHOTO,
            round(each.sd_de00, 3), round(each.shared_de00, 3), read.picture.key,
            *(round(float(v), 3) for v in each.total_sd),
        ]
        for each in read.readings
    ]  # fmt: skip
    first = (
        f"# Read from picture '{read.picture.name}' by chart {read.chart.name}, not by instrument."
    )
    return csv_text(CSV_HEAD, rows, first=first)
