"""Palette report: which colors land on which garments, as text and JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from inksim.decision import MARKS, Cell, Gamut, serves
from inksim.printing import honest_words
from inksim.reports.json_documents import document
from inksim.reports.palette_files import MARK_SHAPES
from inksim.reports.text import patch, table
from inksim.stock import least_sure

CellsByGarment = Sequence[Sequence[Cell]]
"""Cells by garment, the garments that serve the palette best first."""


def best_first(columns: CellsByGarment) -> list[Sequence[Cell]]:
    """Sort garments by the colors that land, then by those that land without a base."""
    return sorted(columns, key=lambda column: tuple(-n for n in reversed(serves(column))))


def palette_text(
    columns: CellsByGarment,
    *,
    tolerance: float,
    calibrated: bool,
    gamuts: Mapping[str, Gamut] | None = None,
) -> str:
    """Say which garment serves most, then every color on every garment, then who survives where."""
    count, best = len(columns[0]), columns[0]
    straight, any_way = serves(best)
    lines = [
        f"{best[0].garment.name} serves the palette best: {any_way} of {count} colors land within "
        f"ΔE00 {tolerance:g}, {straight} of them without a base."
        if any_way
        else f"No color of the palette lands within ΔE00 {tolerance:g} on any of these garments.",
        "",
        _map(columns),
        "",
        " · ".join(f"{MARK_SHAPES[mark]} {mark}" for mark in MARKS)
        + ", with the ΔE00 reached and the chance of landing.",
        "",
        _serving(columns),
        "",
        *_surviving(columns),
    ]
    if gamuts:
        lines += ["", _gamut_table(columns, gamuts)]
    return "\n".join([*lines, "", _honest(columns, calibrated=calibrated)])


def _honest(columns: CellsByGarment, *, calibrated: bool) -> str:
    data = least_sure(*(cell.data for column in columns for cell in column))
    return honest_words(data, calibrated=calibrated)


def _map(columns: CellsByGarment) -> str:
    head = ["color", *(column[0].garment.name for column in columns)]
    rows = []
    for at, first in enumerate(columns[0]):
        words = [
            f"{MARK_SHAPES[c.mark]} {c.delta_e_2000:.1f} {c.interval.within or 0.0:.0%}"
            for c in (column[at] for column in columns)
        ]
        rows.append([patch(first.target.hex_d50) + first.target.name, *words])
    return table(head, rows)


def _serving(columns: CellsByGarment) -> str:
    rows = [
        [column[0].garment.name, str(serves(column)[1]), str(serves(column)[0])]
        for column in columns
    ]
    return table(["garment", "land", "without a base"], rows)


def _surviving(columns: CellsByGarment) -> list[str]:
    """Which colors survive on all garments, and which on none."""
    everywhere, nowhere = [], []
    for at, first in enumerate(columns[0]):
        landing = [column[at].mark != "out of reach" for column in columns]
        if all(landing):
            everywhere.append(first.target.name)
        elif not any(landing):
            nowhere.append(first.target.name)
    return [
        f"On every garment: {', '.join(everywhere) or 'none'}.",
        f"On none: {', '.join(nowhere) or 'none'}.",
    ]


def _gamut_table(columns: CellsByGarment, gamuts: Mapping[str, Gamut]) -> str:
    """Gamut volume of each garment, and the colors outside it."""
    rows = []
    for column in columns:
        found = gamuts[column[0].garment.name]
        beyond = [
            f"{cell.target.name} ({out:.0f})"
            for cell in column
            if (out := float(found.outside(cell.target.lab(found.viewing)))) > 0
        ]
        rows.append([found.garment.name, f"{found.volume / 1000:.0f}", ", ".join(beyond) or "none"])
    head = ["reachable", "1000 Lab³", "outside, by Lab units: no mixture of these inks reaches it"]
    return table(head, rows, left=1, left_last=True)


def palette_document(
    columns: CellsByGarment,
    *,
    tolerance: float,
    calibrated: bool,
    gamuts: Mapping[str, Gamut] | None = None,
) -> dict[str, Any]:
    """The palette on the stock, for `emit_json`."""
    return {
        "tolerance": tolerance,
        "serves_most": columns[0][0].garment.name,
        "data_words": _honest(columns, calibrated=calibrated),
        "garments": [
            {
                "garment": column[0].garment,
                "land": serves(column)[1],
                "land_without_base": serves(column)[0],
                "colors": column,
                **_gamut_document(column, (gamuts or {}).get(column[0].garment.name)),
            }
            for column in columns
        ],
    }


def _gamut_document(column: Sequence[Cell], found: Gamut | None) -> dict[str, Any]:
    if found is None:
        return {}
    beyond = {cell.target.name: found.outside(cell.target.lab(found.viewing)) for cell in column}
    return {"gamut": {"volume_lab3": round(found.volume), "outside_lab": document(beyond, "3")}}
