"""Parse CSV readings: one sample a row, one wavelength a row, or one sample a column."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from inksim.colour import EARLIEST_END_NM, LATEST_START_NM, WIDEST_STEP_NM
from inksim.common import InputError, from_cell
from inksim.readings.record import (
    MOST_CELLS,
    MOST_SAMPLES,
    Parsed,
    Record,
    check_count,
    number,
    scale_stated,
    wavelength_nm,
)
from inksim.readings.table import Columns, Table, cell_fault, columns_of, record_of, records_of


def read_csv(text: str, *, file: str) -> Parsed:
    """Parse a CSV: one sample a row, or one wavelength a row.

    With one wavelength a row, the value of one sample stands beside it (sample, wavelength, value),
    or those of all samples, one a column (wavelength, red, blue).
    Comma, semicolon or tab; decimal comma with semicolon or tab, or in quotes. The first line that
    is neither blank nor starts with '#' names the columns. Columns of no known meaning are kept,
    numbers in ``device`` and words in ``labels``.
    """
    rows = list(_csv_rows(text, file=file))
    if not rows:
        raise InputError(f"{file} is empty; it needs a line of column names and one row a sample.")
    (header_line, header), *body = rows
    names = [cell.strip() for cell in header]
    while names and not names[-1]:
        names.pop()
    where = f"{file}, line {header_line}"
    columns = columns_of(names, where=where)
    long = not columns.bands and {"wavelength", "value"} <= columns.roles.keys()
    across = _is_across(columns)
    if not (columns.has_colour or long or across):
        raise InputError(f"{where}: {_no_colour(names)}")
    if not body:
        raise InputError(f"{file} has column names but no samples; add one row a sample.")
    kept, ragged = _fitted(body, names, file=file)
    if ragged:
        return Parsed(records=(), faults=tuple(ragged))
    table = Table(columns=columns, rows=tuple(kept), decimal_comma=True)
    if across:
        return _records_across(table, file=file)
    return _long_records(table, file=file) if long else records_of(table, file=file)


def _no_colour(names: Sequence[str]) -> str:
    """Say what is missing where no column holds a spectrum or a color."""
    found = sorted(nm for name in names if (nm := wavelength_nm(name)) is not None)
    if not found:
        return (
            "no column holds a spectrum or a color; name wavelength columns like 400 or R400, or "
            f"color columns L, a, b. The columns are: {', '.join(names)[:200]}."
        )
    several = len(found) > 1
    which = f"{len(found)} wavelength columns" if several else "1 wavelength column"
    reach = f"from {found[0]:g} to {found[-1]:g} nm" if several else f"at {found[0]:g} nm"
    least = 1 + math.ceil((EARLIEST_END_NM - LATEST_START_NM) / WIDEST_STEP_NM)
    return (
        f"only {which} found, {reach}; a spectrum needs at least {least}, from "
        f"{LATEST_START_NM:g} nm or below to {EARLIEST_END_NM:g} nm or above in steps of at most "
        f"{WIDEST_STEP_NM:g} nm: export all bands, or color columns L, a, b."
    )


def _is_across(columns: Columns) -> bool:
    """Whether samples stand in columns: one of wavelengths, and one per sample."""
    others = [i for i in columns.rest if columns.names[i]]
    return set(columns.roles) == {"wavelength"} and not columns.has_colour and bool(others)


def _records_across(table: Table, *, file: str) -> Parsed:
    """Make a record of each column beside the wavelengths."""
    check_count(len(table.columns.rest), MOST_SAMPLES, file=file, what="samples")
    at = table.columns.roles["wavelength"]
    records, faults = [], []
    for i in (i for i in table.columns.rest if table.columns.names[i]):
        name = table.columns.names[i]
        bands = []
        try:
            for line, cells in table.rows:
                where = f"{file}, line {line}, sample '{name}'"
                bands.append(_band(table.columns, cells, at, i, where=where))
        except InputError as fault:
            faults.append(str(fault))
            continue
        source = f"{file}, column {i + 1}"
        records.append(Record(name=name, source=source, bands=tuple(bands)))
    return Parsed(records=tuple(records), faults=tuple(faults))


def _csv_rows(text: str, *, file: str) -> Iterator[tuple[int, list[str]]]:
    lines = text.split("\n")
    skipped = 0
    while skipped < len(lines) and (
        not lines[skipped].strip() or lines[skipped].lstrip().startswith("#")
    ):
        skipped += 1
    if skipped == len(lines):
        return
    stated = re.fullmatch(r'"?sep=(.)"?\s*', lines[skipped], flags=re.IGNORECASE)
    if stated:  # a spreadsheet's first line, which names the separator
        skipped += 1
    header = re.sub(r'"[^"]*"', "", lines[skipped] if skipped < len(lines) else "")
    delimiter = stated[1] if stated else next((mark for mark in ";\t" if mark in header), ",")
    cells = 0
    reader = csv.reader(io.StringIO("\n".join(lines[skipped:])), delimiter=delimiter, strict=True)
    try:
        for row in reader:
            cells += len(row)
            check_count(cells, MOST_CELLS, file=file, what="cells")
            if any(cell.strip() for cell in row):
                yield reader.line_num + skipped, [from_cell(cell) for cell in row]
    except csv.Error as fault:
        raise InputError(
            f"{file}, line {reader.line_num + skipped}: the row cannot be read; check its "
            "quotation marks."
        ) from fault


def _fitted(
    body: Sequence[tuple[int, list[str]]], names: Sequence[str], *, file: str
) -> tuple[list[tuple[int, tuple[str, ...]]], list[str]]:
    """Cut rows to the number of columns; refuse other cells than empty ones beyond the last."""
    kept, faults = [], []
    for line, row in body:
        if len(row) < len(names) or any(cell.strip() for cell in row[len(names) :]):
            hint = ""
            if len(row) == 1 < len(names):
                hint = " Is it separated as the header is?"
            elif 2 * len(names) - 2 <= len(row) <= 2 * len(names):
                hint = " If the commas are decimal, separate the columns by semicolons."
            faults.append(
                f"{file}, line {line}: the row has {len(row)} cells where the header has "
                f"{len(names)} columns; add or remove cells so that they match.{hint}"
            )
        kept.append((line, tuple(row[: len(names)])))
    return kept, faults


def _long_records(table: Table, *, file: str) -> Parsed:
    columns = table.columns
    value, at = columns.roles["value"], columns.roles["wavelength"]
    key = columns.roles.get("name", columns.roles.get("id"))
    shared = [i for i in range(len(columns.names)) if i not in (value, at, key)]
    groups: dict[str, list[tuple[int, tuple[str, ...]]]] = {}
    for line, cells in table.rows:
        groups.setdefault("" if key is None else cells[key].strip(), []).append((line, cells))
    check_count(len(groups), MOST_SAMPLES, file=file, what="samples")
    stem = file.rsplit(".", 1)[0]
    roles = {role: i for role, i in columns.roles.items() if i not in (value, at)}
    one_row = replace(table, columns=replace(columns, roles=roles))
    records, faults = [], []
    for name, rows in groups.items():
        first_line, first = rows[0]
        source = f"{file}, lines {first_line}-{rows[-1][0]}"
        try:
            head = record_of(one_row, first, source=source, fallback=name or stem)
            bands = []
            for line, cells in rows:
                where = f"{file}, line {line}, sample '{head.name}'"
                for i in shared:
                    if cells[i].strip() != first[i].strip():
                        raise InputError(
                            f"{where}: '{columns.names[i]}' changes from '{first[i].strip()}' to "
                            f"'{cells[i].strip()}' within the sample; give each sample one name."
                        )
                bands.append(_band(columns, cells, at, value, where=where))
        except InputError as fault:
            faults.append(str(fault))
            continue
        scale = scale_stated(columns.names[value])
        records.append(replace(head, bands=tuple(bands), scale=scale))
    return Parsed(records=tuple(records), faults=tuple(faults))


def _band(
    columns: Columns, cells: Sequence[str], at: int, value: int, *, where: str
) -> tuple[float, float]:
    """Wavelength and value of a row, from these two of its cells."""
    pair = []
    for i in (at, value):
        found = number(cells[i], decimal_comma=True)
        if found is None:
            raise InputError(cell_fault(cells[i], columns.names[i], where=where))
        pair.append(found)
    return pair[0], pair[1]
