"""Numbers pasted from anywhere: a spectrum, or L, a, b."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise

from inksim.common import InputError
from inksim.readings.record import Record, number

PASTED = "pasted numbers"
MOST_CHARACTERS = 20_000
Bands = tuple[tuple[float, float], ...]

#: Usual exports, by number of values: start and step in nm.
USUAL_RANGES: Mapping[int, tuple[float, float]] = {
    16: (400, 20), 31: (400, 10), 36: (380, 10), 39: (360, 10), 40: (360, 10), 41: (380, 10),
    61: (400, 5), 71: (380, 5), 81: (380, 5), 301: (400, 1), 401: (380, 1),
}  # fmt: skip
_RANGE = re.compile(r"(?<!\d)(\d{3})\s*(?:nm)?\s*(?:-|–|to|\.{2,3})\s*(\d{3})\s*nm", re.IGNORECASE)
_START = re.compile(r"(?:start\w*|from)\s*[:=]?\s*(\d{3})(?!\d)\s*(?:nm)?", re.IGNORECASE)
_STEP = re.compile(r"(?:step|every|interval)\s*[:=]?\s*(\d{1,2})(?!\d)\s*(?:nm)?", re.IGNORECASE)
_LIGHT_AND_OBSERVER = re.compile(r"\b(D\d\d|[AC]|F\d+)\s*/\s*(2|10)\s*°?", re.IGNORECASE)
_LAB_WORDS = re.compile(r"\bcie\b|\bL\*?a\*?b\*?|(?<!\w)[Lab]\*?(?![a-z*])", re.IGNORECASE)


def pasted_record(
    text: str,
    *,
    name: str,
    start_nm: float | None = None,
    step_nm: float | None = None,
    scale: str | None = None,
) -> Record:
    """The record that pasted numbers are: see readings.parse_numbers."""
    rest = " ".join(text.split())
    if len(rest) > MOST_CHARACTERS:
        raise InputError(
            f"the pasted text has {len(rest)} characters; paste one spectrum, or read a file in."
        )
    stated: dict[str, float] = {}
    for key, pattern in (("range", _RANGE), ("start", _START), ("step", _STEP)):
        if found := pattern.search(rest):
            stated |= {f"{key}{i}": float(each) for i, each in enumerate(found.groups())}
            rest = rest[: found.start()] + " " + rest[found.end() :]
    viewed = _LIGHT_AND_OBSERVER.search(rest)
    if viewed:
        rest = rest[: viewed.start()] + " " + rest[viewed.end() :]
    values = _numbers(_LAB_WORDS.sub(" ", rest))
    if len(values) == 3:
        return Record(
            name=name,
            source=PASTED,
            lab=(values[0], values[1], values[2]),
            light=viewed[1].upper() if viewed else None,
            observer=viewed[2] if viewed else None,
        )
    bands, notes = _paired(values) or _placed(
        values,
        start_nm=start_nm or stated.get("start0") or stated.get("range0"),
        end_nm=stated.get("range1"),
        step_nm=step_nm or stated.get("step0"),
    )
    scale = scale or ("percent" if "%" in rest else None)
    return Record(name=name, source=PASTED, bands=bands, scale=scale, notes=notes)


def _numbers(text: str) -> list[float]:
    text = re.sub(r"[%()\[\]:=|]", " ", text)
    spaced = re.split(r"[\s;]+", text.strip())
    commas = [piece.count(",") for piece in spaced]
    within = [re.fullmatch(r"[+-]?\d+,\d+", piece) is not None for piece in spaced]
    decimal_comma = (
        "." not in text
        and len(spaced) > 1
        and max(commas) == 1
        and all(w or not c for w, c in zip(within, commas, strict=True))
    )
    pieces = spaced if decimal_comma else [p for p in re.split(r"[\s;,]+", text.strip()) if p]
    values = []
    for piece in filter(None, pieces):
        value = number(piece, decimal_comma=decimal_comma)
        if value is None:
            raise InputError(
                f"'{piece[:40]}' in the pasted text is not a number; paste the values of one "
                "spectrum, or L, a, b."
            )
        values.append(value)
    return values


def _paired(
    values: Sequence[float],
) -> tuple[Bands, tuple[str, ...]] | None:
    """Bands of alternating wavelengths and values, if the numbers are that."""
    wavelengths = values[::2]
    rising = all(1 <= b - a <= 20 for a, b in pairwise(wavelengths))
    if len(values) < 32 or len(values) % 2 or not rising or not 300 <= wavelengths[0] <= 430:
        return None
    return tuple(zip(wavelengths, values[1::2], strict=True)), ()


def _placed(
    values: Sequence[float], *, start_nm: float | None, end_nm: float | None, step_nm: float | None
) -> tuple[Bands, tuple[str, ...]]:
    """Bands from a stated or usual start and step."""
    count = len(values)
    notes: tuple[str, ...] = ()
    usual = USUAL_RANGES.get(count)
    if start_nm is None and usual is None:
        listed = ", ".join(str(n) for n in USUAL_RANGES)
        raise InputError(
            f"the pasted text holds {count} numbers; paste 3 (L, a, b), a usual number of bands "
            f"({listed}), or state the range, like '380-730 nm'."
        )
    if start_nm is not None and end_nm is not None and count > 1:
        even = (end_nm - start_nm) / (count - 1)
        if (step_nm or even) != even or even not in (1, 2, 3, 4, 5, 10, 20):
            raise InputError(
                f"the pasted text holds {count} numbers, which do not fill {start_nm:g}-{end_nm:g} "
                f"nm in even steps{f' of {step_nm:g} nm' if step_nm else ''}; values are missing "
                "or too many."
            )
        step_nm = even
    if start_nm is None and usual is not None:
        start_nm, step_nm = usual[0], step_nm or usual[1]
        last = start_nm + (count - 1) * step_nm
        notes = (f"{count} values: taken as {start_nm:g}-{last:g} nm every {step_nm:g} nm",)
    elif step_nm is None:
        step_nm = 10.0
        notes = ("the wavelength step is not stated: 10 nm assumed",)
    start, step = start_nm or 0.0, step_nm or 0.0
    return tuple((start + order * step, value) for order, value in enumerate(values)), notes
