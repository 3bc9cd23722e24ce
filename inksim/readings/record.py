"""A sample as its file states it, before checks and resampling.

With it stand the rules that all formats share: what counts as a number, which column names are
wavelengths, and in which order they may come.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from inksim.common import InputError

Triple = tuple[float, float, float]

#: A number in a column name is a wavelength if it lies in here (nm) and only such words stand by.
SHORTEST_NM, LONGEST_NM = 300.0, 1100.0
_WORDS_BESIDE_A_WAVELENGTH = (
    "spectral|spectrum|spec|reflectance|reflection|refl|rfl|percent|pct|dec|factor|"
    "wavelength|lambda|nm|wl|λ|r|%"
)
_WAVELENGTH = re.compile(
    rf"(?:(?:{_WORDS_BESIDE_A_WAVELENGTH})[\s_.:\-\[(]*)*"
    r"(?P<nm>\d{3,4}(?:[.,]\d+)?)"
    r"(?:[\s_.:\-\])(]*(?:nm|%|percent|pct))*[\s\])]*",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?")
#: Native-resolution exports are uneven by a few percent; a missing band doubles a step.
MOST_UNEVEN = 1.5
_LISTED_FAULTS = 20
#: A file holds at most so much; a chart that characterizes a press has 1 617 patches (ISO 12642-2).
MOST_SAMPLES = 10_000
MOST_CELLS = 1_000_000


@dataclass(frozen=True, kw_only=True, eq=False)
class Sample:
    """What a record and a reading of a sample both say.

    ``lab`` and ``xyz`` (Y of the perfect diffuser = 100) are as listed in the file, or None.
    ``device`` holds the sample's other numbers (CMYK, recipe amounts), ``labels`` its other words.
    ``source`` names file and line.
    """

    name: str
    source: str
    lab: Triple | None = None
    xyz: Triple | None = None
    light: str | None = None
    geometry: str | None = None
    m_condition: str | None = None
    backing: str | None = None
    thickness_um: float | None = None
    tone_percent: float | None = None
    device: Mapping[str, float] = field(default_factory=dict)
    labels: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Record(Sample):
    """One sample as its file writes it; nothing is converted but numbers from text.

    A name is held to one line: line breaks and what is not printed become spaces.

    ``bands`` holds (wavelength in nm, value) in the file's order; ``scale`` is what the file
    itself states of the values, 'percent' or 'factor', or None. ``observer`` is in its words.
    """

    bands: tuple[tuple[float, float], ...] = ()
    scale: str | None = None
    observer: str | None = None

    def __post_init__(self) -> None:
        """Make the name one line."""
        object.__setattr__(self, "name", one_line(self.name))

    @property
    def where(self) -> str:
        """File, line and sample, for an error."""
        return f"{self.source}, sample '{self.name}'"


@dataclass(frozen=True, kw_only=True)
class Parsed:
    """All records of a file and every fault found while reading them."""

    records: tuple[Record, ...]
    faults: tuple[str, ...] = ()


def one_line(name: str) -> str:
    """Strip line breaks, control characters and bidirectional marks from a name."""
    return " ".join("".join(c if c.isprintable() else " " for c in name).split())


def raise_faults(faults: Sequence[str], *, file: str) -> None:
    """Raise all faults of a file in one InputError, one sentence each; do nothing for none."""
    if not faults:
        return
    if len(faults) == 1:
        raise InputError(faults[0])
    rest = len(faults) - _LISTED_FAULTS
    more = [f"  and {rest} more."] if rest > 0 else []
    lines = [f"  {fault}" for fault in faults[:_LISTED_FAULTS]]
    raise InputError("\n".join([f"{file} has {len(faults)} faults:", *lines, *more]))


def check_count(count: int, most: int, *, file: str, what: str) -> None:
    """Refuse a file that holds too much before any more is made of it.

    Raises
    ------
    InputError : more than `most` of what `what` says.
    """
    if count > most:
        raise InputError(
            f"{file} holds more {what} than are read at once, which are {most:,}; split the file "
            "or export fewer."
        )


def number(text: str, *, decimal_comma: bool = False) -> float | None:
    """Parse the finite number of a cell, or None; '1,234.5', '12 %' and 'NaN' are no numbers."""
    text = text.strip()
    if decimal_comma and "." not in text:
        text = text.replace(",", ".", 1)
    if not _NUMBER.fullmatch(text):
        return None
    value = float(text)
    return value if abs(value) < float("inf") else None


def wavelength_nm(column: str) -> float | None:
    """Parse the wavelength in a column name, in any common spelling, or None.

    400, 400.0, 400nm, '400 nm', nm400, R400, R_400, SPEC_400, SPECTRAL_NM_400, SPECTRAL_PCT400.
    """
    match = _WAVELENGTH.fullmatch(column.strip())
    if match is None:
        return None
    value = float(match["nm"].replace(",", "."))
    return value if SHORTEST_NM <= value <= LONGEST_NM else None


def scale_stated(column: str) -> str | None:
    """Parse the scale in a column name: 'percent', 'factor' or None."""
    lowered = column.lower()
    if "%" in lowered or "percent" in lowered or "pct" in lowered:
        return "percent"
    words = re.findall(r"[a-z]+", lowered)
    return "factor" if "factor" in words or "dec" in words else None


def wavelength_fault(wavelengths_nm: Sequence[float]) -> str | None:
    """Say what is wrong with a row of wavelengths, or None: they must rise in even steps."""
    seen: set[float] = set()
    for nm in wavelengths_nm:
        if nm in seen:
            return f"the wavelength {nm:g} nm appears twice; keep one of the two"
        seen.add(nm)
    steps = [b - a for a, b in pairwise(wavelengths_nm)]
    if steps and all(step < 0 for step in steps):
        return (
            f"the wavelengths run backwards, from {wavelengths_nm[0]:g} down to "
            f"{wavelengths_nm[-1]:g} nm; put them in rising order together with their values"
        )
    for nm, step in zip(wavelengths_nm, steps, strict=False):
        if step < 0:
            return (
                f"the wavelengths must rise, but {nm + step:g} nm follows {nm:g} nm; "
                "put them in rising order together with their values"
            )
    least = min(steps, default=0.0)
    for nm, step in zip(wavelengths_nm, steps, strict=False):
        if step > MOST_UNEVEN * least:
            return (
                f"bands are missing: {nm + step:g} nm follows {nm:g} nm where other steps are "
                f"{least:g} nm; export all bands of the instrument"
            )
    return None
