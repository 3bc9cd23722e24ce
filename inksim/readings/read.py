"""Read spectrophotometer files: checked, and resampled to 400-700 nm by 10 nm.

A reading is a reflectance (31,), a color, or both, with what is known of how it was measured.
Every fault is reported, with file, line and sample; nothing is repaired. What had to be assumed is
in the reading's notes.
"""

from __future__ import annotations

import codecs
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from inksim.colour import LIGHTS, OBSERVERS, Viewing, delta_e_2000, lab, lab_from_xyz
from inksim.common import FloatArray, InputError
from inksim.readings.checks import SCALES, check_xyz_scale, on_grid, record_fault, scales
from inksim.readings.conditions import (
    GEOMETRIES,
    M_CONDITIONS,
    geometry_from,
    light_from,
    m_condition_from,
    observer_from,
)
from inksim.readings.formats import FORMATS, ReadingFormat, format_names
from inksim.readings.noise import noise_said
from inksim.readings.record import Parsed, Record, Sample, raise_faults
from inksim.stock import LabNoise, noise_of_mean

MOST_BYTES = 5_000_000

#: Mean CIEDE2000 from the mean above which repeats should be measured again.
REPEATABLE = 0.5


@dataclass(frozen=True, kw_only=True, eq=False)
class Reading(Sample):
    """One measured sample: what `Sample` says, and its spectrum.

    ``reflectance`` (31,), read-only, external factor, or None. ``lab`` and ``xyz`` are for
    ``light`` and ``observer``. ``geometry`` is '45:0', 'd:8-sce', 'd:8-sci'; ``m_condition``
    'M0'..'M3' (ISO 13655); None where unknown. ``read_by`` is '' and ``noise`` None where the file
    does not say what it was read with, or how far off that is.
    """

    reflectance: FloatArray | None = None
    observer: int | None = None
    read_by: str = ""
    noise: LabNoise | None = None

    def __post_init__(self) -> None:
        if self.reflectance is not None:
            frozen = np.array(self.reflectance, dtype=float)
            frozen.setflags(write=False)
            object.__setattr__(self, "reflectance", frozen)


@dataclass(frozen=True, kw_only=True)
class _Stated:
    """Conditions stated by the caller; they override the file's, with a note."""

    geometry: str | None = None
    m_condition: str | None = None
    backing: str | None = None
    light: str | None = None
    observer: int | None = None
    thickness_um: float | None = None
    scale: str | None = None

    def __post_init__(self) -> None:
        for what, value, allowed in (
            ("geometry", self.geometry, GEOMETRIES),
            ("M condition", self.m_condition, M_CONDITIONS),
            ("light", self.light, LIGHTS),
            ("observer", self.observer, OBSERVERS),
            ("scale", self.scale, SCALES),
        ):
            if value is not None and value not in allowed:
                listed = ", ".join(str(each) for each in allowed)
                raise InputError(f"the {what} is '{value}'; choose one of {listed}.")
        if self.thickness_um is not None and not self.thickness_um > 0:
            raise InputError(f"the thickness is {self.thickness_um:g} µm; it must be above 0.")


def read_readings(
    source: str | os.PathLike[str] | bytes,
    *,
    name: str | None = None,
    geometry: str | None = None,
    m_condition: str | None = None,
    backing: str | None = None,
    light: str | None = None,
    observer: int | None = None,
    thickness_um: float | None = None,
    scale: str | None = None,
) -> tuple[Reading, ...]:
    """Read all samples of a file in any of `formats.FORMATS`, told apart by content.

    Reflectances come out as (31,) external factors, 400-700 nm at 10 nm.

    Parameters
    ----------
    source : a path, or the bytes themselves, then with a ``name`` for messages.
    geometry, m_condition, backing, light, observer, thickness_um : what the file leaves out, for
        all of its readings: '45:0', 'd:8-sce' or 'd:8-sci'; 'M0' to 'M3'; a word; a light and 2 or
        10 degrees, for listed colors; µm of dry film. Each wins where the file says otherwise, with
        a note.
    scale : 'percent' or 'factor', for a file whose values could be either.

    Raises
    ------
    InputError : every fault of the file at once, each with its line and sample.
    """
    stated = _Stated(
        geometry=geometry,
        m_condition=m_condition,
        backing=backing.lower() if backing else None,
        light=light,
        observer=observer,
        thickness_um=thickness_um,
        scale=scale,
    )
    parsed, notes, file = records_in(source, name)
    return _checked(parsed, file=file, stated=stated, notes=notes)


def records_in(
    source: str | os.PathLike[str] | bytes, name: str | None = None
) -> tuple[Parsed, tuple[str, ...], str]:
    """Records of a file as it states them, notes on how it was read, and its name for messages.

    Raises
    ------
    InputError : it cannot be read, or holds no such thing.
    """
    data, file = _load(source, name)
    return (*_parse(data, file=file), file)


def _load(source: str | os.PathLike[str] | bytes, name: str | None) -> tuple[bytes, str]:
    if isinstance(source, bytes):
        data, file = source, name or "the data"
        size = len(data)
    else:
        path = Path(source)
        # Bytes of a name that are no UTF-8 cannot stand in a shop's file as the source.
        file = name or path.name.encode("utf-8", "replace").decode("utf-8")
        try:
            size = path.stat().st_size
            with path.open("rb") as opened:  # a device has no size and no end
                data = opened.read(MOST_BYTES + 1) if size <= MOST_BYTES else b""
            size = max(size, len(data))
        except OSError as fault:
            raise InputError(
                f"{path} cannot be read ({fault.strerror}); check the path."
            ) from fault
    if size > MOST_BYTES:
        raise InputError(
            f"{file} has {size / 1e6:.0f} MB; a file of readings may have at most "
            f"{MOST_BYTES / 1e6:.0f} MB."
        )
    if not data.strip(b"\xef\xbb\xbf \t\r\n"):
        raise InputError(f"{file} is empty; it needs readings in {format_names()}.")
    return data, file


def _parse(data: bytes, *, file: str) -> tuple[Parsed, tuple[str, ...]]:
    """Parse the file in its format; the last row of `FORMATS` that knows it wins."""

    @cache
    def decoded() -> tuple[str, tuple[str, ...]]:
        return _decode(data, file=file)

    def content(form: ReadingFormat) -> tuple[Any, tuple[str, ...]]:
        return (data, ()) if form.is_binary else decoded()

    form = next(each for each in reversed(FORMATS) if each.known_by.search(content(each)[0]))
    held, notes = content(form)
    return form.read(held, file=file), notes


def _decode(data: bytes, *, file: str) -> tuple[str, tuple[str, ...]]:
    """Decode UTF-8, UTF-16 by its mark, else Windows-1252 / Latin-1 with a note; line ends \\n."""
    notes: tuple[str, ...] = ()
    if data.startswith(b"PK\x03\x04"):
        raise InputError(f"{file} is a workbook or zip archive; save the sheet as CSV.")
    try:
        if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            text = data.decode("utf-16")
        else:
            text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        try:
            text = data.decode("cp1252")
        except UnicodeDecodeError:
            text = data.decode("latin-1")
        notes = ("the file is not UTF-8: read as Latin-1, so check names with accents",)
    odd = re.search(r"[\x00-\x08\x0e-\x1f]", text)
    if odd:
        line = text.count("\n", 0, odd.start()) + 1
        raise InputError(
            f"{file}, line {line}: the file is not text (it holds the control character "
            f"{ord(odd[0])}); export readings as {format_names()}."
        )
    return text.replace("\r\n", "\n").replace("\r", "\n"), notes


def _checked(
    parsed: Parsed, *, file: str, stated: _Stated, notes: tuple[str, ...] = ()
) -> tuple[Reading, ...]:
    """Check records and turn them into readings; raise all faults of the file at once."""
    faults = list(parsed.faults)
    faults += [fault for record in parsed.records if (fault := record_fault(record))]
    raise_faults(faults, file=file)
    scale_of = scales(parsed.records, file=file, stated=stated.scale)
    check_xyz_scale(parsed.records, file=file)
    readings = []
    for record in parsed.records:
        try:
            scale, note = scale_of.get(id(record), ("factor", ()))
            readings.append(_reading(record, scale=scale, stated=stated, notes=(*notes, *note)))
        except InputError as fault:
            faults.append(str(fault))
    raise_faults(faults, file=file)
    return tuple(readings)


def _reading(record: Record, *, scale: str, stated: _Stated, notes: tuple[str, ...]) -> Reading:
    reflectance: FloatArray | None = None
    spectral_notes: tuple[str, ...] = ()
    if record.bands:
        reflectance, spectral_notes = on_grid(record, scale=scale)
    conditions, word_notes = _conditions(record, stated)
    read_by, noise = noise_said(record)
    conditions |= {"read_by": read_by, "noise": noise}
    if record.lab is None and record.xyz is None:
        conditions |= {"light": None, "observer": None}
    same = {each.name: getattr(record, each.name) for each in fields(Sample)}
    notes = (*notes, *record.notes, *spectral_notes, *word_notes)
    return Reading(**{**same, **conditions, "reflectance": reflectance, "notes": notes})


def _conditions(record: Record, stated: _Stated) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Measurement conditions in inksim's words, and a note for each unclear or overridden."""
    notes = []
    read = {
        "geometry": (record.geometry, geometry_from(record.geometry or "")),
        "m_condition": (record.m_condition, m_condition_from(record.m_condition or "")),
        "light": (record.light, light_from(record.light or "")),
        "observer": (record.observer, observer_from(record.observer or "")),
        "backing": (record.backing, (record.backing or "").lower() or None),
        "thickness_um": (record.thickness_um, record.thickness_um),
    }
    found: dict[str, Any] = {}
    for key, (written, understood) in read.items():
        wanted = getattr(stated, key)
        word = key.replace("_um", "").replace("m_condition", "M condition")
        found[key] = understood if wanted is None else wanted
        if wanted is not None and understood not in (None, wanted):
            notes.append(f"{word} {wanted} as stated; the file says {written}")
        elif wanted is None and written is not None and understood is None:
            notes.append(f"{word} '{written}' is not understood: taken as unknown")
    if record.lab or record.xyz:
        usual = {"light": "D50", "observer": "2°"}  # as `listed_colour` takes it
        unstated = [key for key in usual if found[key] is None]
        if unstated:
            which, verb = " and ".join(unstated), "is" if len(unstated) == 1 else "are"
            taken = "/".join(usual[key] for key in unstated)
            notes.append(f"the {which} of the listed color {verb} not stated: {taken} assumed")
    return found, tuple(notes)


def average(readings: Sequence[Reading], *, viewing: Viewing = Viewing()) -> tuple[Reading, float]:
    """Average repeated readings; return the mean and their repeatability.

    Reflectances are averaged, or Lab where no reading has a spectrum. Repeatability is the mean
    CIEDE2000 of the readings from their mean, under ``viewing`` (D50/2°); above 0.5 a note says so.

    Of the noise that they state their own part is less in the mean; what one picture's readings
    have in common is not (`noise_of_mean`).

    Raises InputError for fewer than two readings, and for readings that are not alike in kind,
    geometry, M condition, backing, thickness, tone, or the light of a listed color, or of which
    some are of a picture and some not.
    """
    if len(readings) < 2:
        raise InputError(f"an average needs two readings or more, but there is {len(readings)}.")
    first = readings[0]
    spectral = first.reflectance is not None
    noises = [reading.noise for reading in readings if reading.noise is not None]
    if any(each.picture for each in noises) and (
        len(noises) < len(readings) or not all(each.picture for each in noises)
    ):
        raise InputError(
            f"'{first.name}' cannot be averaged: some of its readings are of a picture and some "
            "are not; give them names of their own."
        )
    alike = ["geometry", "m_condition", "backing", "thickness_um", "tone_percent"]
    alike += [] if spectral else ["light", "observer"]
    for other in readings[1:]:
        if (other.reflectance is None) == spectral:
            raise InputError(
                f"'{first.name}' and '{other.name}' cannot be averaged: one has a spectrum and one "
                "only a color."
            )
        for key in alike:
            if getattr(other, key) != getattr(first, key):
                raise InputError(
                    f"'{first.name}' and '{other.name}' cannot be averaged: {key} is "
                    f"'{getattr(first, key)}' and '{getattr(other, key)}'."
                )
    if spectral:
        stack = np.array([reading.reflectance for reading in readings])
        colourless = replace(first, lab=None, xyz=None, light=None, observer=None)
        mean = replace(colourless, reflectance=stack.mean(axis=0))
        each, centre = lab(stack, viewing), lab(stack.mean(axis=0), viewing)
    else:
        each = np.array([_listed_lab(reading) for reading in readings])
        centre = each.mean(axis=0)
        mean = replace(first, lab=(float(centre[0]), float(centre[1]), float(centre[2])), xyz=None)
    repeatability = float(np.mean(delta_e_2000(centre, each)))
    notes = [f"mean of {len(readings)} readings, {repeatability:.2f} ΔE00 from their mean"]
    if repeatability > REPEATABLE:
        notes.append(
            f"the repeats differ by more than {REPEATABLE:g} ΔE00: measure again on more places"
        )
    known = dict.fromkeys(note for reading in readings for note in reading.notes)
    sources = ", ".join(dict.fromkeys(reading.source for reading in readings))
    noise = noise_of_mean(noises) if len(noises) == len(readings) else None
    mean = replace(mean, source=sources, notes=(*known, *notes), noise=noise)
    return mean, repeatability


def _listed_lab(reading: Reading) -> FloatArray:
    if reading.lab is not None:
        return np.array(reading.lab)
    if reading.xyz is None or reading.light is None or reading.observer is None:
        raise InputError(
            f"'{reading.name}' cannot be averaged: it has no spectrum and no Lab, and its XYZ has "
            "no stated light and observer."
        )
    return lab_from_xyz(reading.xyz, Viewing(reading.light, reading.observer))
