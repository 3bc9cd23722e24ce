"""Charts of known patches that lie in a picture: their layout and colors.

Known by a word are the 24 patches of ISO 17321-1 and single gray and white cards; any other chart
comes from a file of readings, as an instrument wrote it.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from inksim.colour import BANDS, D50, lab as lab_of, reflectance_from_lab, xyz_from_lab
from inksim.common import DATA, BoolArray, FloatArray, InputError
from inksim.readings import Reading, listed_colour, read_readings, specular_excluded

NEUTRAL_CHROMA = 6.0
"""A patch with no more chroma (C*ab, D50/2°) counts as a gray [assumption]."""
CARDS: Mapping[str, float] = {"gray": 0.18, "white": 0.90}
"""Reflectance of a card, the same in all bands: gray by common practice (18 %, no source); white
[assumption]: unprinted white plastic or a photographer's white card."""
_ISO_17321 = (
    *("dark skin", "light skin", "blue sky", "foliage", "blue flower", "bluish green"),
    *("orange", "purplish blue", "moderate red", "purple", "yellow green", "orange yellow"),
    *("blue", "green", "red", "yellow", "magenta", "cyan"),
    *("white 9.5", "neutral 8", "neutral 6.5", "neutral 5", "neutral 3.5", "black 2"),
)
LEAST_LIGHTEST, LEAST_APART = 20.0, 5.0
"""L* of the lightest patch, and how far apart the patches have to lie in L*, a* or b*: below it a
picture of them tells nothing [assumption]."""
_CELL = re.compile(r"([A-Z]{1,2})[\s_-]*0*([1-9]\d?)", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True, eq=False)
class Chart:
    """Patches of known color, row by row as the chart lies upright.

    Parameters
    ----------
    rows, columns : rows * columns is the number of patches.
    names : of the patches, each once.
    lab : (N, 3) CIELAB, D50/2°.
    reflectance : (N, 31) external factors, or None where only colors are known.

    Raises
    ------
    InputError : numbers that do not go together, or a name that stands twice.
    """

    name: str
    rows: int
    columns: int
    names: tuple[str, ...]
    lab: FloatArray
    reflectance: FloatArray | None = None
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Check that all fits together, and freeze it."""
        count = len(self.names)
        if min(self.rows, self.columns) < 1 or self.rows * self.columns != count:
            raise InputError(
                f"chart '{self.name}' has {count} patches, which do not fill {self.rows} rows of "
                f"{self.columns}; state rows and columns so that they do."
            )
        twice = {each for each in self.names if self.names.count(each) > 1}
        if twice:
            raise InputError(
                f"chart '{self.name}' has more than one patch '{min(twice)}'; give each its own "
                "name."
            )
        shapes = {"lab": (count, 3), "reflectance": (count, BANDS)}
        for each, shape in shapes.items():
            given = getattr(self, each)
            if given is not None:
                values = np.array(given, dtype=np.float64)
                if values.shape != shape or not np.isfinite(values).all():
                    raise InputError(f"chart '{self.name}': {each} needs {shape} finite numbers.")
                values.flags.writeable = False
                object.__setattr__(self, each, values)

    @property
    def xyz(self) -> FloatArray:
        """XYZ (N, 3), D50/2°, Y = 100 for the perfect diffuser."""
        return xyz_from_lab(self.lab, D50)

    @property
    def neutral(self) -> BoolArray:
        """Which patches (N,) are grays: `NEUTRAL_CHROMA` and less."""
        return np.asarray(np.hypot(self.lab[:, 1], self.lab[:, 2]) <= NEUTRAL_CHROMA)


@cache
def _iso17321() -> Chart:
    spectra = np.load(DATA / "chart_iso17321.npy")
    return Chart(
        name="iso17321",
        rows=4,
        columns=6,
        names=_ISO_17321,
        lab=lab_of(spectra, D50),
        reflectance=spectra,
        notes=("patches as ISO 17321-1 lists them: a chart made since may differ by 1 to 3 ΔE00",),
    )


def _card(word: str) -> Chart:
    spectrum = np.full((1, BANDS), CARDS[word])
    note = f"{word} card taken as {CARDS[word]:.0%} reflectance and neutral"
    return Chart(
        name=word,
        rows=1,
        columns=1,
        names=(word,),
        lab=lab_of(spectrum, D50),
        reflectance=spectrum,
        notes=(note,),
    )


WORDS = ("iso17321", *CARDS)
"""Charts that are known by a word."""


def chart_of(
    source: str | os.PathLike[str], *, rows: int | None = None, columns: int | None = None
) -> Chart:
    """The chart of a word (`WORDS`), or of a file of readings with a spectrum or color per patch.

    rows, columns : of a file's patches, row by row from the upper left as the chart lies upright;
        one is enough. Else found in names such as A1 to D6 (letters are rows), or in columns of the
        file called row and column; where these agree, they tell the order too.

    Raises
    ------
    InputError : an unknown word, one with rows or columns, a file that is none, a layout that is
        not found, or patches that are all dark or of one color.
    """
    if isinstance(source, str) and source.strip().lower() in WORDS:
        word = source.strip().lower()
        if rows is not None or columns is not None:
            raise InputError(f"chart '{word}' has its own rows and columns; state none of them.")
        return _iso17321() if word == "iso17321" else _card(word)
    path = Path(source)
    if not path.suffix and (path.is_dir() or not path.exists()):
        raise InputError(
            f"there is no chart '{source}'; choose one of {', '.join(WORDS)}, or give a file of "
            "readings of its patches."
        )
    readings = read_readings(path)
    places = _places(readings)
    named = None if places is None else _filled(places)
    if named is not None and rows in (None, named[0]) and columns in (None, named[1]):
        assert places is not None
        order = sorted(range(len(readings)), key=places.__getitem__)
        readings = tuple(readings[at] for at in order)
        rows, columns = named
    elif rows is None and columns is None and places is not None:
        raise InputError(_gap(path.name, readings, places))
    rows, columns = _layout(len(readings), rows, columns, where=path.name)
    notes: dict[str, None] = {}
    spectra, labs = [], []
    for reading in readings:
        spectrum, lab, note = _colour(reading)
        spectra.append(spectrum)
        labs.append(lab)
        notes |= dict.fromkeys((*reading.notes, *note))
    known = [each for each in spectra if each is not None]
    _check_tells(np.array(labs), where=path.name)
    return Chart(
        name=path.name,
        rows=rows,
        columns=columns,
        names=tuple(reading.name for reading in readings),
        lab=np.array(labs),
        reflectance=np.array(known) if len(known) == len(spectra) else None,
        notes=tuple(notes),
    )


def _colour(reading: Reading) -> tuple[FloatArray | None, FloatArray, tuple[str, ...]]:
    """Spectrum (31,) if there is one, Lab (3,) D50/2°, and notes."""
    if reading.reflectance is not None:
        spectrum, notes = specular_excluded(reading)
        return spectrum, lab_of(spectrum, D50), notes
    lab, viewing = listed_colour(reading)
    if viewing == D50:
        return None, lab, ()
    where = f"{reading.source}, sample '{reading.name}'"
    spectrum = reflectance_from_lab(lab, viewing, where=where)
    return None, lab_of(spectrum, D50), (f"colors listed for {viewing} are taken to {D50}",)


def _check_tells(lab: FloatArray, *, where: str) -> None:
    """Refuse patches (N, 3) from which no camera can be told."""
    lightest = float(lab[:, 0].max())
    if lightest < LEAST_LIGHTEST:
        raise InputError(
            f"{where}: its lightest patch has L* {lightest:.1f}, and a chart needs one of "
            f"{LEAST_LIGHTEST:.0f} and more; write L on the scale from 0 to 100."
        )
    if len(lab) > 1 and float(np.ptp(lab, axis=0).max()) < LEAST_APART:
        raise InputError(
            f"{where}: its {len(lab)} patches are all of one color; give the readings of the "
            "chart's own patches."
        )


def _places(readings: Sequence[Reading]) -> list[tuple[int, int]] | None:
    """Row and column of each reading, from columns or names; None if one does not tell.

    Raises
    ------
    InputError : a row or column that is no whole number.
    """
    found = []
    for reading in readings:
        stated = {key.lower(): value for key, value in reading.device.items()}
        cell = _CELL.fullmatch(reading.name.strip())
        if "row" in stated and "column" in stated:
            place = stated["row"], stated["column"]
            if not all(each.is_integer() for each in place):
                raise InputError(
                    f"{reading.source}, sample '{reading.name}': row {place[0]:g}, column "
                    f"{place[1]:g} is no place; count both in whole numbers."
                )
            found.append((int(place[0]), int(place[1])))
        elif cell is not None:
            letters = cell[1].upper()
            found.append(
                (sum(26**i * (ord(c) - 64) for i, c in enumerate(letters[::-1])), int(cell[2]))
            )
        else:
            return None
    return found


def _filled(places: Sequence[tuple[int, int]]) -> tuple[int, int] | None:
    """Rows and columns that the places fill, each once; None if they do not."""
    rows, columns = (len({each[axis] for each in places}) for axis in (0, 1))
    return (rows, columns) if len(set(places)) == len(places) == rows * columns else None


def _gap(where: str, readings: Sequence[Reading], places: Sequence[tuple[int, int]]) -> str:
    """What keeps places from filling rows and columns: one that stands twice, or is missing."""
    twice = next((at for at, each in enumerate(places) if each in places[:at]), None)
    if twice is not None:
        first = readings[places.index(places[twice])].name
        return (
            f"{where}: '{first}' and '{readings[twice].name}' are at one place of the chart; give "
            "each patch once, by its own name."
        )
    rows, columns = (sorted({each[axis] for each in places}) for axis in (0, 1))
    row, column = next((r, c) for r in rows for c in columns if (r, c) not in places)
    return (
        f"{where}: its {len(places)} patches leave a gap in {len(rows)} rows of {len(columns)}, in "
        f"row {row}, column {column}; add what is missing, or state rows and columns."
    )


def _layout(count: int, rows: int | None, columns: int | None, *, where: str) -> tuple[int, int]:
    """Rows and columns of so many patches, one of them perhaps None."""
    if rows is None and columns is None:
        if count == 1:
            return 1, 1
        raise InputError(
            f"{where}: how its {count} patches lie is not known; state rows and columns, or name "
            "the patches A1, A2, … with a letter for the row."
        )
    given = rows or columns or 1
    if given < 1 or count % given:
        raise InputError(f"{where}: {count} patches do not fill {given} rows or columns evenly.")
    return rows or count // given, columns or count // given
