"""Parse CGATS.17 / ISO 28178 text files, with one table or several."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from inksim.common import InputError
from inksim.readings.conditions import m_condition_from
from inksim.readings.record import (
    MOST_CELLS,
    MOST_SAMPLES,
    Parsed,
    Record,
    check_count,
    number,
    wavelength_nm,
)
from inksim.readings.table import Table, columns_of, records_of

#: Keywords that state each condition, the first present one wins. ISO 28178 and CGATS.17 names,
#: [memory]; ILLUMINANT, OBSERVER as in the TR files of Debian's icc-profiles-free.
_KEYWORDS: Mapping[str, tuple[str, ...]] = {
    "light": ("ILLUMINANT", "ILLUMINATION_NAME", "WEIGHTING_FUNCTION"),
    "observer": ("OBSERVER", "OBSERVER_ANGLE", "WEIGHTING_FUNCTION"),
    "geometry": ("MEASUREMENT_GEOMETRY", "GEOMETRY"),
    "backing": ("SAMPLE_BACKING", "BACKING"),
}
_M_KEYWORDS = ("MEASUREMENT_CONDITION", "FILTER", "MEASUREMENT_FILTER", "MEASUREMENT_SOURCE")
MOST_TABLES, MOST_KEYWORDS = 100, 1_000
#: One vendor's habit: MEASUREMENT_SOURCE "Illumination=D50 ObserverAngle=2 ..."
_IN_SOURCE = {
    "light": re.compile(r"Illumination\s*=\s*([^\s;,]+)", re.IGNORECASE),
    "observer": re.compile(r"ObserverAngle\s*=\s*([^\s;,]+)", re.IGNORECASE),
}
_TOKEN = re.compile(r'"(?:[^"]|"")*"|[^\s"]\S*|"')


@dataclass
class _Block:
    """One table of a CGATS file while it is being collected."""

    format_line: int = 0
    names: list[str] = field(default_factory=list)
    data: list[tuple[int, str]] = field(default_factory=list)
    fields: int | None = None
    sets: int | None = None
    keywords: dict[str, str] = field(default_factory=dict)


def read_cgats(text: str, *, file: str) -> Parsed:
    """Parse all tables of a CGATS.17 / ISO 28178 text file.

    Spectral columns are known by name in any vendor's spelling, by pairs SPECTRAL_NM SPECTRAL_PCT
    (or _DEC), or by number with the keywords SPECTRAL_BANDS, SPECTRAL_START_NM, SPECTRAL_END_NM.
    NUMBER_OF_FIELDS and NUMBER_OF_SETS must match the data. Keywords hold until stated anew.
    """
    records: list[Record] = []
    faults: list[str] = []
    left_out = []
    for count, block in enumerate(_blocks(text, file=file), start=1):
        check_count(count, MOST_TABLES, file=file, what="tables")
        table = _cgats_table(block, file=file)
        if not table.columns.has_colour:
            left_out.append(f"table {count} of the file holds no spectrum or color: left out")
            continue
        parsed = records_of(table, file=file)
        records += parsed.records
        check_count(len(records), MOST_SAMPLES, file=file, what="samples")
        faults += parsed.faults
    if not records and not faults:
        raise InputError(
            f"{file} holds no table with spectral, LAB or XYZ columns; export one of those."
        )
    noted = tuple(replace(record, notes=(*record.notes, *left_out)) for record in records)
    return Parsed(records=noted, faults=tuple(faults))


def _blocks(text: str, *, file: str) -> Iterator[_Block]:
    block, inherited = _Block(), dict[str, str]()
    state, opened, keywords = "", 0, 0
    for line, raw in enumerate(text.split("\n"), start=1):
        content = raw.strip()
        word = content.split(maxsplit=1)[0].upper() if content else ""
        if not content or (content.startswith("#") and state != "DATA"):
            continue
        if word in ("BEGIN_DATA_FORMAT", "BEGIN_DATA"):
            if state:
                raise InputError(f"{file}, line {line}: {word} stands before END_{state}.")
            state, opened = word.removeprefix("BEGIN_"), line
            if state == "DATA_FORMAT":
                block.format_line = line
                content = content[len(word) :]
            else:
                continue
        if state == "DATA_FORMAT":
            body, end, _ = content.partition("END_DATA_FORMAT")
            block.names += [_unquoted(token) for token in _TOKEN.findall(body)]
            state = "" if end else state
        elif state == "DATA" and word == "END_DATA":
            block.keywords = {**inherited, **block.keywords}
            inherited = block.keywords
            yield block
            block, state = _Block(), ""
        elif state == "DATA":
            block.data.append((line, raw))
        else:
            keywords += 1
            check_count(keywords, MOST_KEYWORDS, file=file, what="keywords")
            _keyword(block, content, where=f"{file}, line {line}")
    if state:
        raise InputError(
            f"{file}: BEGIN_{state} at line {opened} has no END_{state}; the file is cut short."
        )
    if block.names:
        raise InputError(f"{file}: a data format is given but no data; the file is cut short.")


def _keyword(block: _Block, content: str, *, where: str) -> None:
    key, *rest = (_unquoted(token) for token in _TOKEN.findall(content))
    key, value = key.upper(), " ".join(rest)
    if key in ("NUMBER_OF_FIELDS", "NUMBER_OF_SETS"):
        count = value.split()[0] if value.split() else ""
        if not (count.isdecimal() and len(count) < 10):
            raise InputError(f"{where}: {key} is '{value[:40]}'; it must be a whole number.")
        if key == "NUMBER_OF_FIELDS":
            block.fields = int(count)
        else:
            block.sets = int(count)
    elif key != "KEYWORD":
        block.keywords[key] = f"{block.keywords[key]}; {value}" if key in block.keywords else value


def _unquoted(token: str) -> str:
    quoted = len(token) > 1 and token[0] == token[-1] == '"'
    return token[1:-1].replace('""', '"') if quoted else token


def _cgats_table(block: _Block, *, file: str) -> Table:
    where = f"{file}, line {block.format_line}"
    if not block.names:
        raise InputError(f"{file}: data begin without BEGIN_DATA_FORMAT; name the columns first.")
    if block.fields is not None and block.fields != len(block.names):
        raise InputError(
            f"{where}: NUMBER_OF_FIELDS is {block.fields} but the data format names "
            f"{len(block.names)} columns; correct one of the two."
        )
    rows = _cgats_rows(block, file=file)
    if block.sets is not None and block.sets != len(rows):
        raise InputError(
            f"{file}: NUMBER_OF_SETS is {block.sets} but the table holds {len(rows)} rows of data; "
            "rows are missing or the number is wrong."
        )
    if not rows:
        raise InputError(f"{file}: a table has no rows of data; export the samples too.")
    unstated = [
        f"{key} is not stated, so the count was not checked"
        for key, count in (("NUMBER_OF_FIELDS", block.fields), ("NUMBER_OF_SETS", block.sets))
        if count is None
    ]
    names = _numbered_bands(block, where=where)
    columns = columns_of(names, where=where)
    return Table(
        columns=columns, rows=rows, words=_cgats_words(block.keywords), notes=tuple(unstated)
    )


def _cgats_rows(block: _Block, *, file: str) -> tuple[tuple[int, tuple[str, ...]], ...]:
    """Cells of each set; a set may run over several lines, but the next begins on a new one."""
    width = len(block.names)
    rows: list[tuple[int, tuple[str, ...]]] = []
    cells: list[str] = []
    first_line = first_count = 0
    check_count(len(block.data), MOST_CELLS, file=file, what="lines of data")
    for line, raw in block.data:
        tokens = [_unquoted(token) for token in _TOKEN.findall(raw)]
        if not cells:
            if len(tokens) != width and raw.count("\t") == width - 1:
                tokens = [_unquoted(cell.strip()) for cell in raw.split("\t")]  # unquoted names
            first_line, first_count = line, len(tokens)
        cells += tokens
        if len(cells) > width:
            break
        if len(cells) == width:
            rows.append((first_line, tuple(cells)))
            check_count(len(rows) * width, MOST_CELLS, file=file, what="cells")
            cells = []
    if cells:
        raise InputError(
            f"{file}, line {first_line}: the row has {first_count} values where the data format "
            f"names {width} columns; values are missing or too many."
        )
    return tuple(rows)


def _numbered_bands(block: _Block, *, where: str) -> list[str]:
    """Column names, with wavelengths from the SPECTRAL_ keywords checked or filled in."""
    stated: dict[str, float | None] = {
        key: number(block.keywords[key].split(";")[-1])
        for key in ("SPECTRAL_BANDS", "SPECTRAL_START_NM", "SPECTRAL_END_NM")
        if key in block.keywords
    }
    count, first, last = (stated.get(f"SPECTRAL_{key}") for key in ("BANDS", "START_NM", "END_NM"))
    if count is None or first is None or last is None:
        return block.names
    named = [nm for name in block.names if (nm := wavelength_nm(name)) is not None]
    expected = f"SPECTRAL_BANDS, START_NM and END_NM state {count:g} bands {first:g}-{last:g} nm"
    if named:
        if len(named) != count or min(named) != first or max(named) != last:
            raise InputError(
                f"{where}: {expected}, but the columns are {len(named)} bands "
                f"{min(named):g}-{max(named):g} nm; correct one of the two."
            )
        return block.names
    pattern = re.compile(r"(?:SPEC|SPECTRAL|BAND)_?\d+", re.IGNORECASE)
    places = [i for i, name in enumerate(block.names) if pattern.fullmatch(name)]
    if not places and "SPECTRAL_NM" in (name.upper() for name in block.names):
        return block.names
    if len(places) != count or count < 2:
        raise InputError(
            f"{where}: {expected}, but {len(places)} spectral columns are named; correct one."
        )
    step = (last - first) / (count - 1)
    names = list(block.names)
    for order, place in enumerate(places):
        names[place] = f"nm {first + order * step:.6g}"
    return names


def _cgats_words(keywords: Mapping[str, str]) -> dict[str, str]:
    words = {
        role: keywords[key]
        for role, keys in _KEYWORDS.items()
        for key in reversed(keys)
        if keywords.get(key)
    }
    source = keywords.get("MEASUREMENT_SOURCE", "")
    for role, pattern in _IN_SOURCE.items():
        found = pattern.search(source)
        if found and role not in words:
            words[role] = found[1]
    named = [m for key in _M_KEYWORDS if (m := m_condition_from(keywords.get(key, "")))]
    if named:
        words["m_condition"] = named[0]
    norm = number(keywords.get("SPECTRAL_NORM", ""))
    if norm in (1.0, 100.0):
        words["scale"] = "percent" if norm == 100.0 else "factor"
    return words
