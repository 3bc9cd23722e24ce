"""Pick a sample's reading from a file, as ``FILE`` or ``FILE#sample``; repeats are averaged.

What is written to a shop is a 45:0 or specular-excluded reflectance: a reading with the specular
part included is freed of it here, the only place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from inksim.colour import D50, Viewing, lab_from_xyz, reflectance_from_lab
from inksim.common import FloatArray, InputError, unknown
from inksim.optics import external_from_internal, internal_from_external
from inksim.readings.formats import split_reference
from inksim.readings.read import REPEATABLE, Reading, average, read_readings
from inksim.stock import Provenance, Target, target_from_lab, target_from_reflectance

NAMED = 12  # sample names listed in a message


@dataclass(frozen=True, kw_only=True)
class Picked:
    """A reading, the mean of its repeats; repeatability: their ΔE00 from it.

    sources: file and line of each, as `Reading.source` says it.
    """

    reading: Reading
    sources: tuple[str, ...]
    repeatability: float | None = None

    @property
    def repeats(self) -> int:
        """Number of readings averaged; 1 for a single one."""
        return len(self.sources)

    @property
    def source(self) -> str:
        """File and lines: 'sheet.csv, line 3, line 4'."""
        words: list[str] = []
        for each in self.sources:
            words += [part for part in each.split(", ") if part not in words]
        return ", ".join(words)

    @property
    def warning(self) -> str | None:
        """Warning where repeats differ too much, else None."""
        if self.repeatability is None or self.repeatability <= REPEATABLE:
            return None
        return (
            f"the {self.repeats} readings of '{self.reading.name}' lie {self.repeatability:.2f} "
            f"ΔE00 from their mean; above {REPEATABLE:g}, measure again on more places."
        )


def pick_readings(reference: str, **stated: Any) -> tuple[Reading, ...]:
    """Read the repeats of one sample: the one named, or the file's only one.

    ``sample`` is a name, whatever its capitals, or else the sample's place in the file from 1 on.
    Readings of one name are repeats. ``stated``: see `read_readings`.

    Raises
    ------
    InputError : no such file or sample, or no sample named where the file has several.
    """
    file, sample = split_reference(reference)
    readings = read_readings(file, **stated)
    names = list(dict.fromkeys(reading.name for reading in readings))
    if sample is None:
        if len(names) > 1:
            listed = ", ".join(names[:NAMED]) + (" …" if len(names) > NAMED else "")
            raise InputError(
                f"{file} has {len(names)} samples; name one, as '{file}#{names[0]}'. "
                f"They are: {listed}."
            )
        return readings
    found = tuple(reading for reading in readings if reading.name.lower() == sample.lower())
    if found:
        return found
    by_number = {str(number): each for number, each in enumerate(readings, start=1)}
    if sample in by_number:
        return (by_number[sample],)
    raise unknown(sample, names, what="sample", where=f"in {file}")


def pick(references: Sequence[str], **stated: Any) -> Picked:
    """Pick one reading by its references: the mean, if they are several.

    Raises
    ------
    InputError : see `pick_readings` and `average`.
    """
    readings = [reading for each in references for reading in pick_readings(each, **stated)]
    if len(readings) == 1:
        return Picked(reading=readings[0], sources=(readings[0].source,))
    mean, repeatability = average(readings)
    sources = tuple(reading.source for reading in readings)
    return Picked(reading=mean, sources=sources, repeatability=repeatability)


def specular_excluded(reading: Reading) -> tuple[FloatArray, tuple[str, ...]]:
    """Reflectance (31,) without the specular part, as 45:0 sees it, and notes on what was done.

    d:8 with the specular part included is freed of it by Saunderson's k1 (`inksim.optics.SURFACE`).

    Raises
    ------
    InputError : no spectrum, or a reading at or below the surface's own reflection.
    """
    if reading.reflectance is None:
        raise InputError(f"{reading.source}, sample '{reading.name}': it has no spectrum.")
    if reading.geometry == "d:8-sci":
        try:
            inside = internal_from_external(reading.reflectance, specular_included=True)
        except InputError as error:
            raise InputError(f"{reading.source}, sample '{reading.name}': {error}") from None
        return external_from_internal(inside), ("the reflection of the surface was taken off",)
    if reading.geometry is None:
        return reading.reflectance, ("geometry not stated: taken as 45:0 or specular excluded",)
    return reading.reflectance, ()


def listed_colour(reading: Reading) -> tuple[FloatArray, Viewing]:
    """Lab (3,) and viewing of a reading that lists a color; a light not stated is D50/2°.

    Raises
    ------
    InputError : it lists no color.
    """
    viewing = Viewing(reading.light or "D50", reading.observer or 2)
    if reading.lab is not None:
        return np.array(reading.lab), viewing
    if reading.xyz is not None:
        return lab_from_xyz(reading.xyz, viewing), viewing
    raise InputError(
        f"{reading.source}, sample '{reading.name}': it has neither a spectrum nor a color."
    )


def target_from_reading(picked: Picked) -> Target:
    """Make a target of a reading: its spectrum, or else its listed color.

    A color listed for another light than D50/2° becomes a recovered spectrum with that color.
    """
    reading = picked.reading
    note = f"from {picked.source}"
    if reading.reflectance is not None:
        spectrum, _ = specular_excluded(reading)
        return target_from_reflectance(spectrum, name=reading.name, note=note)
    lab, viewing = listed_colour(reading)
    if viewing == D50:
        return target_from_lab(lab, name=reading.name, note=note)
    where = f"{reading.source}, sample '{reading.name}'"
    data: Provenance = "recovered"
    spectrum = reflectance_from_lab(lab, viewing, where=where)
    return target_from_reflectance(spectrum, name=reading.name, data=data, note=note)
