"""Parse a table of named columns, as CSV and CGATS files hold it, into records.

Columns of no known meaning are kept, numbers in ``device`` and words in ``labels``. All that is
checked here is whether a cell holds what its column promises.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from inksim.common import InputError
from inksim.readings.record import (
    MOST_SAMPLES,
    Parsed,
    Record,
    Triple,
    check_count,
    number,
    one_line,
    scale_stated,
    wavelength_fault,
    wavelength_nm,
)

#: What a column is for, by its name in lower-case letters and digits only.
_ROLES: Mapping[str, tuple[str, ...]] = {
    "name": ("samplename", "name", "sample", "colorname", "patch", "patchname"),
    "id": ("sampleid", "id", "sampleno", "no"),
    "backing": ("backing", "samplebacking", "background", "over"),
    "geometry": ("geometry", "measurementgeometry"),
    "m_condition": ("mcondition", "measurementcondition", "mmode"),
    "light": ("light", "illuminant"),
    "observer": ("observer", "observerangle"),
    "thickness_um": ("thicknessum", "filmthicknessum", "drythicknessum"),
    "tone_percent": ("tone", "tonevalue", "tint"),
    "wavelength": ("wavelength", "wavelengthnm", "nm", "wl", "lambda", "lambdanm"),
    "value": ("value", "reflectance", "reflectancefactor", "refl", "r"),
}
_ROLE_OF = {spelling: role for role, spellings in _ROLES.items() for spelling in spellings}
_LAB = (("labl", "laba", "labb"), ("ciel", "ciea", "cieb"), ("l", "a", "b"))
_XYZ = (("xyzx", "xyzy", "xyzz"), ("ciex", "ciey", "ciez"), ("x", "y", "z"))
_WORDS = ("light", "observer", "geometry", "m_condition", "backing")
_NUMBERS = ("thickness_um", "tone_percent")
_LEAST_BANDS = 3  # fewer names that look like a wavelength are some other column


@dataclass(frozen=True, kw_only=True)
class Columns:
    """The role of each column of a table, by index.

    ``bands`` holds (index of the value, wavelength); a wavelength of None stands in the cell
    before the value, as in the CGATS fields SPECTRAL_NM SPECTRAL_PCT.
    """

    names: tuple[str, ...]
    bands: tuple[tuple[int, float | None], ...]
    roles: Mapping[str, int]
    lab: tuple[int, ...] | None
    xyz: tuple[int, ...] | None
    rest: tuple[int, ...]
    scale: str | None

    @property
    def has_colour(self) -> bool:
        """Whether a spectrum or a color is among them."""
        return bool(self.bands or self.lab or self.xyz)


@dataclass(frozen=True, kw_only=True)
class Table:
    """Columns, rows of cells with their line numbers, and conditions that hold for all rows."""

    columns: Columns
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    words: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    decimal_comma: bool = False


def _plain(name: str) -> str:
    lowered = name.lower().replace("µ", "u").replace("μ", "u").replace("λ", "lambda")
    return re.sub(r"[^a-z0-9]", "", lowered.replace("%", "percent"))


def columns_of(names: Sequence[str], *, where: str) -> Columns:
    """Tell the columns by their names."""
    plain = [_plain(name) for name in names]
    bands = _paired_bands(plain) or _named_bands(names)
    in_bands = {index for index, _ in bands}
    if bands and bands[0][1] is None:
        in_bands |= {index - 1 for index in in_bands}
    place: dict[str, int] = {}
    for index, each in enumerate(plain):
        if index in in_bands or not names[index]:
            continue
        if each in place:
            raise InputError(
                f"{where}: the column '{names[index]}' appears twice; rename or delete one."
            )
        place[each] = index
    if fault := wavelength_fault([nm for _, nm in bands if nm is not None]):
        raise InputError(f"{where}: {fault}.")
    lab, xyz = _family(place, _LAB), _family(place, _XYZ)
    roles: dict[str, int] = {}
    for each, index in place.items():
        role = _ROLE_OF.get(each) or _ROLE_OF.get(each.removesuffix("percent"))
        if role is not None and index not in (*(lab or ()), *(xyz or ())):
            roles.setdefault(role, index)
    used = {*in_bands, *(lab or ()), *(xyz or ()), *roles.values()}
    scales = {scale_stated(names[index]) for index in in_bands} - {None}
    if len(scales) > 1:
        raise InputError(f"{where}: some columns say percent and some say factor; use one scale.")
    return Columns(
        names=tuple(names),
        bands=bands,
        roles=roles,
        lab=lab,
        xyz=xyz,
        rest=tuple(i for i in range(len(names)) if i not in used),
        scale=next(iter(scales), None),
    )


def _named_bands(names: Sequence[str]) -> tuple[tuple[int, float | None], ...]:
    found = [(i, nm) for i, name in enumerate(names) if (nm := wavelength_nm(name)) is not None]
    return tuple(found) if len(found) >= _LEAST_BANDS else ()


def _paired_bands(plain: Sequence[str]) -> tuple[tuple[int, float | None], ...]:
    values = ("spectralpct", "spectraldec", "spectralpercent")
    return tuple(
        (i, None)
        for i in range(1, len(plain))
        if plain[i] in values and plain[i - 1] == "spectralnm"
    )


def _family(
    place: Mapping[str, int], spellings: Sequence[tuple[str, ...]]
) -> tuple[int, ...] | None:
    for names in spellings:
        if all(name in place for name in names):
            return tuple(place[name] for name in names)
    return None


def records_of(table: Table, *, file: str) -> Parsed:
    """A record for each row; rows with a fault are told together."""
    check_count(len(table.rows), MOST_SAMPLES, file=file, what="samples")
    records, faults = [], []
    for order, (line, cells) in enumerate(table.rows, start=1):
        fallback = f"sample {order}"
        try:
            records.append(
                record_of(table, cells, source=f"{file}, line {line}", fallback=fallback)
            )
        except InputError as fault:
            faults.append(str(fault))
    return Parsed(records=tuple(records), faults=tuple(faults))


def record_of(table: Table, cells: Sequence[str], *, source: str, fallback: str) -> Record:
    """One row as a record; fallback: its name where the row has none."""
    columns, comma = table.columns, table.decimal_comma
    own = {role: cells[index].strip() for role, index in columns.roles.items()}
    name = one_line(own.get("name") or own.get("id") or "") or fallback
    where = f"{source}, sample '{name}'"

    def read(index: int) -> float:
        value = number(cells[index], decimal_comma=comma)
        if value is None:
            raise InputError(cell_fault(cells[index], columns.names[index], where=where))
        return value

    def triple(indices: tuple[int, ...] | None) -> Triple | None:
        if indices is None or not any(cells[i].strip() for i in indices):
            return None
        first, second, third = (read(i) for i in indices)
        return first, second, third

    lab, xyz = triple(columns.lab), triple(columns.xyz)
    blank = columns.bands and not any(cells[i].strip() for i, _ in columns.bands)
    bands = (
        ()
        if blank and (lab or xyz)
        else tuple((read(i - 1) if nm is None else nm, read(i)) for i, nm in columns.bands)
    )
    rest = [(columns.names[i] or f"column {i + 1}", cells[i].strip()) for i in columns.rest]
    if "id" in own and "name" in own:
        rest.append((columns.names[columns.roles["id"]], own["id"]))
    for role in ("wavelength", "value"):  # words of their own only in long tables
        if role in own:
            rest.append((columns.names[columns.roles[role]], own[role]))
    device = {k: v for k, text in rest if (v := number(text, decimal_comma=comma)) is not None}
    beside: dict[str, Any] = {key: own.get(key) or table.words.get(key) for key in _WORDS}
    beside |= {key: read(columns.roles[key]) for key in _NUMBERS if own.get(key)}
    return Record(
        name=name,
        source=source,
        bands=bands,
        scale=columns.scale or table.words.get("scale"),
        lab=lab,
        xyz=xyz,
        device=device,
        labels={k: text for k, text in rest if text and k not in device},
        notes=(*table.notes, *(("no spectrum in this row, only its color",) if blank else ())),
        **beside,
    )


def cell_fault(text: str, column: str, *, where: str) -> str:
    """The fault of a cell that is empty or no number."""
    nm = wavelength_nm(column)
    at = f"at {nm:g} nm" if nm is not None else f"in column '{column}'"
    if not text.strip():
        return f"{where}: there is no value {at}; fill it in or delete the row."
    return f"{where}: '{text.strip()[:40]}' {at} is not a number; write it like 0.123 or 12.3."
