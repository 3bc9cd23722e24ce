"""Palette report: which colors may be promised on which garments, as text and JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from inksim.common import counted, patch
from inksim.decision import SHAPES, Answer, Gamut, serves
from inksim.printing import honest_words
from inksim.reports.json_documents import COLOUR_OF_PALETTE, document, keyed
from inksim.reports.recipes_report import instead_words
from inksim.reports.text import table
from inksim.stock import least_sure

if TYPE_CHECKING:
    from inksim.mixing import Instead

BY_ITSELF = (
    "Each color is printed by itself here; a job of several decides them together, under the "
    "stations of the press."
)
CellsByGarment = Sequence[Sequence[Answer]]
"""Answers by garment, the garments that serve the palette best first."""


def best_first(columns: CellsByGarment) -> list[Sequence[Answer]]:
    """Sort garments by the colors that land or should, then the nominal ones, then all chances.

    Of as many colors those count first that need no base.
    """

    def rank(column: Sequence[Answer]) -> tuple[float, ...]:
        served = serves(column)
        return (
            -served.promised,
            -served.promised_straight,
            -served.nominal,
            -served.nominal_straight,
            -served.expected,
        )

    return sorted(columns, key=rank)


def palette_text(
    columns: CellsByGarment,
    *,
    tolerance: float,
    calibrated: bool,
    gamuts: Mapping[str, Gamut] | None = None,
    mixed: Sequence[Instead] = (),
    currency: str = "",
) -> str:
    """Say which garment serves most, then every color on every garment, then who survives where.

    mixed: of `palette_instead`, for the recipes.
    """
    lines = [
        palette_headline(columns, tolerance=tolerance, mixed=mixed),
        "",
        _map(columns),
        "",
        " · ".join(f"{shape} {word}" for word, shape in SHAPES.items())
        + ", with the ΔE00 to expect, the chance of landing, and:",
        "B left bare (the cloth is the color), S straight, D over a discharge base, W over a white "
        "base; i invented, r recovered, m measured, the least sure of cloth, base and ink.",
        BY_ITSELF,
        "",
        _serving(columns),
        "",
        *_surviving(columns, mixed),
        *_mixed_lines(mixed, currency=currency),
    ]
    if gamuts:
        lines += ["", _gamut_table(columns, gamuts)]
    return "\n".join([*lines, "", _honest(columns, calibrated=calibrated)])


def palette_headline(
    columns: CellsByGarment, *, tolerance: float, mixed: Sequence[Instead] | None = None
) -> str:
    """Which garment serves the palette best, and how well.

    mixed: of `palette_instead`; None where no recipe was looked for.
    """
    count, name, best = len(columns[0]), columns[0][0].garment.name, serves(columns[0])
    if best.promised:
        verb = "lands" if best.promised == 1 else "land"
        return (
            f"{name} serves the palette best: {best.promised} of {counted(count, 'color')} {verb} "
            f"or should land within ΔE00 {tolerance:g}, {best.promised_straight} of them without a "
            "base."
        )
    if best.nominal:
        are = "is" if best.nominal == 1 else "are"
        return (
            f"No color can be promised within ΔE00 {tolerance:g} on any of these garments. On "
            f"{name} {best.nominal} of {count} {are} nominally inside it, and about "
            f"{best.expected:.0f} may be expected to land."
        )
    where, by_mix = f"within ΔE00 {tolerance:g} on {_any(columns)}", 0
    if mixed is not None:
        by_mix = sum(each.mix_reaches for each in mixed)
        if not by_mix:
            return f"No color of the palette is in reach {where}."
    also = f"; mixed, {by_mix} of {count} are in reach" if by_mix else ""
    return f"No stock ink reaches a color of the palette {where}{also}."


def _any(columns: CellsByGarment) -> str:
    return "any of these garments" if len(columns) > 1 else columns[0][0].garment.name


def _honest(columns: CellsByGarment, *, calibrated: bool) -> str:
    data = least_sure(*(cell.data for column in columns for cell in column))
    return honest_words(data, calibrated=calibrated)


def _map(columns: CellsByGarment) -> str:
    head = ["color", *(column[0].garment.name for column in columns)]
    rows = []
    for at, first in enumerate(columns[0]):
        words = [_cell_words(column[at]) for column in columns]
        rows.append([patch(first.target.hex_d50) + first.target.name, *words])
    return table(head, rows)


def _cell_words(cell: Answer) -> str:
    """'◐ 2.8 58% S i'; of a color left to the cloth nothing is promised: 'left bare 1.2 B i'."""
    said = cell.verdict
    chance = "left bare" if cell.build.bare else SHAPES[said.word]
    percent = "" if cell.build.bare else f" {said.percent}"
    return f"{chance} {said.median_de00:.1f}{percent} {cell.route[0].upper()} {cell.data[0]}"


def _serving(columns: CellsByGarment) -> str:
    rows = []
    for column in columns:
        served = serves(column)
        rows.append(
            [
                column[0].garment.name,
                str(served.promised),
                str(served.promised_straight),
                str(served.nominal),
                f"{served.expected:.1f}",
            ]
        )
    head = ["garment", "land or should", "without a base", "nominal", "expected to land"]
    return table(head, rows)


def _surviving(columns: CellsByGarment, mixed: Sequence[Instead]) -> list[str]:
    """Which colors may be promised on all garments; which no ink and no mix reaches on any."""
    from inksim.mixing import out_of_reach

    everywhere = [
        row[0].target.name
        for row in zip(*columns, strict=True)
        if all(cell.verdict.promised for cell in row)
    ]
    nowhere = [name for name in out_of_reach(columns, mixed) if name not in everywhere]
    return [
        f"Land or should land on every garment: {', '.join(everywhere) or 'none'}.",
        f"In reach on none: {', '.join(nowhere) or 'none'}.",
    ]


def _mixed_lines(mixed: Sequence[Instead], *, currency: str) -> list[str]:
    """A recipe for each color that is promised on no garment, where one does better."""
    return [
        f"{each.answer.target.name} on {each.answer.garment.name}: "
        f"{instead_words(each.best, currency=currency)}."
        for each in mixed
        if each.best is not None
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
    head = ["reachable", "1000 Lab³", "outside prints, tints and two mixed, by Lab units"]
    return table(head, rows, left=1, left_last=True)


def palette_document(
    columns: CellsByGarment,
    *,
    tolerance: float,
    calibrated: bool,
    gamuts: Mapping[str, Gamut] | None = None,
    mixed: Sequence[Instead] = (),
) -> dict[str, Any]:
    """The palette on the stock, for `emit_json`."""
    return {
        "answers": [cell for column in columns for cell in column],
        "mixed": mixed,
        "by_itself": BY_ITSELF,
        "tolerance": tolerance,
        "serves_most": columns[0][0].garment.name,
        "data_words": _honest(columns, calibrated=calibrated),
        "garments": [
            {
                "garment": column[0].garment,
                "promised": serves(column).promised,
                "promised_without_base": serves(column).promised_straight,
                "nominal": serves(column).nominal,
                "expected_to_land": round(serves(column).expected, 2),
                "colors": [document(cell) | keyed(cell, COLOUR_OF_PALETTE) for cell in column],
                **_gamut_document(column, (gamuts or {}).get(column[0].garment.name)),
            }
            for column in columns
        ],
    }


def _gamut_document(column: Sequence[Answer], found: Gamut | None) -> dict[str, Any]:
    if found is None:
        return {}
    beyond = {cell.target.name: found.outside(cell.target.lab(found.viewing)) for cell in column}
    return {"gamut": {"volume_lab3": round(found.volume), "outside_lab": document(beyond, "3")}}
