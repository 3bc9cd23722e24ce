"""Check that records can be measurements, find their scale, resample them to the grid.

Every fault is one sentence that names file, line and sample; nothing is repaired.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from inksim.colour import is_plausible_lab, resample
from inksim.common import FloatArray, InputError
from inksim.readings.record import Record, raise_faults, wavelength_fault

SCALES = ("percent", "factor")
#: A reflectance factor above 2 is no reading, not even of a fluorescent sample.
HIGHEST_FACTOR = 2.0
#: So far below 0 an instrument may read a near-black; more is a wrong calibration.
NOISE_BELOW_0 = 0.001
#: No sample reads so little in percent, black velvet neither [memory]: such values are factors.
LEAST_PERCENT = 0.2
#: No sample reads so much as a factor, but for fluorescent ones: such values are percent.
MOST_FACTOR = 1.5
#: XYZ that stay below this have Y = 1 for white.
SURELY_FACTOR = 1.2
#: From one band to the next no print changes so much; it is the step from percent to factor.
STEEPEST_RATIO = 25.0


def record_fault(record: Record) -> str | None:
    """First fault of a record that no scale explains, in one sentence; None if there is none."""
    fault = _band_fault(record) or _colour_fault(record) or _number_fault(record)
    return f"{record.where}: {fault}" if fault else None


def _band_fault(record: Record) -> str | None:
    if fault := wavelength_fault([nm for nm, _ in record.bands]):
        return f"{fault}."
    for nm, value in record.bands:
        if not np.isfinite(value):
            return f"the value at {nm:g} nm is not a number; measure it again."
        if value < -100.0 * NOISE_BELOW_0:  # too low in percent, let alone as a factor
            return _too_low(value, nm)
    zero = [nm for nm, value in record.bands if value == 0]
    if not zero:
        return None
    place = f"{zero[0]:g} nm" if len(zero) == 1 else f"{len(zero)} bands from {zero[0]:g} nm"
    return (
        f"reads exactly 0 at {place}, as no surface does; bands that were not measured are filled "
        "with zeros: delete them or measure again."
    )


def _too_low(value: float, nm: float) -> str:
    return (
        f"reads {value:g} at {nm:g} nm, but a reflectance is never negative; calibrate the "
        "instrument and measure it again."
    )


def _colour_fault(record: Record) -> str | None:
    for word, triple in (("Lab", record.lab), ("XYZ", record.xyz)):
        if triple is not None and not np.isfinite(triple).all():
            return f"its {word} is not all numbers; measure it again."
    if record.lab is not None and not is_plausible_lab(record.lab):
        listed = ", ".join(f"{value:g}" for value in record.lab)
        return f"Lab {listed} is out of range; L is 0 to 100, a and b are -150 to 150."
    if record.xyz is not None and min(record.xyz) < 0:
        listed = ", ".join(f"{value:g}" for value in record.xyz)
        return f"XYZ {listed} has a negative value; measure it again."
    return None


def _number_fault(record: Record) -> str | None:
    if record.thickness_um is not None and not record.thickness_um > 0:
        return f"the thickness is {record.thickness_um:g} µm; it must be above 0."
    if record.tone_percent is not None and not 0 <= record.tone_percent <= 100:
        return f"the tone is {record.tone_percent:g} %; it must be from 0 to 100."
    return None


def scales(
    records: Sequence[Record], *, file: str, stated: str | None
) -> dict[int, tuple[str, tuple[str, ...]]]:
    """Scale of each record with a spectrum, by its id, and a note where it was inferred.

    Stated scales stand. The rest of a file has one scale: percent if any value is above
    `MOST_FACTOR`, factor if any is above 0 and below `LEAST_PERCENT`; else both are possible (a
    white as a factor, a near-black in percent), and the answer is asked for.
    """
    found: dict[int, tuple[str, tuple[str, ...]]] = {}
    open_records = []
    for record in records:
        if scale := stated or record.scale:
            other = record.scale not in (None, scale)
            note = f"scale {scale} as stated; the file says {record.scale}"
            found[id(record)] = (scale, (note,) if other and record.bands else ())
        elif record.bands:
            open_records.append(record)
    if not open_records:
        return found
    tops = [max(value for _, value in record.bands) for record in open_records]
    top = max(tops)
    brightest = open_records[tops.index(top)]
    low_value = min(value for record in open_records for _, value in record.bands)
    if low_value >= LEAST_PERCENT and top <= MOST_FACTOR:
        raise InputError(
            f"{file}: the values are {low_value:g} to {top:g}, which may be factors of light "
            "samples or percent of near-black ones; state which: scale 'factor' or scale 'percent' "
            "(--scale, or the field of the form), or write it into the columns' names, such as "
            "'400 %' or 'factor 400'."
        )
    scale = "percent" if top > MOST_FACTOR else "factor"
    if scale == "percent":
        low = [r for r, each in zip(open_records, tops, strict=True) if each <= 1.0]
        raise_faults(
            [
                f"{record.where}: stays below 1 where sample '{brightest.name}' reaches {top:g}: "
                "factors and percent seem mixed; write all in one scale, or state scale 'percent' "
                "if this sample is that dark."
                for record in low
            ],
            file=file,
        )
    note = f"values up to {top:g}: read as {scale}"
    found.update({id(record): (scale, (note,)) for record in open_records})
    return found


def check_xyz_scale(records: Sequence[Record], *, file: str) -> None:
    """Refuse XYZ on the scale where white has Y = 1."""
    values = [value for record in records for value in record.xyz or ()]
    if values and max(values) <= SURELY_FACTOR:
        raise InputError(
            f"{file}: XYZ stays below {SURELY_FACTOR:g} in all samples; write it on the scale "
            "where white has Y = 100."
        )


def on_grid(record: Record, *, scale: str) -> tuple[FloatArray, tuple[str, ...]]:
    """Factors (31,) of a record on the grid, with notes.

    Raises
    ------
    InputError : a value below or above what can be measured, or bands the grid cannot be made of.
    """
    wavelengths_nm = [nm for nm, _ in record.bands]
    factor = [value / (100.0 if scale == "percent" else 1.0) for _, value in record.bands]
    for (nm, value), each in zip(record.bands, factor, strict=True):
        if each < -NOISE_BELOW_0:
            raise InputError(f"{record.where}: {_too_low(value, nm)}")
        if each > HIGHEST_FACTOR:
            raise InputError(
                f"{record.where}: reads {value:g} at {nm:g} nm, too much for a {scale} "
                f"(highest {HIGHEST_FACTOR * (100 if scale == 'percent' else 1):g}); correct the "
                "value, or state the other scale if the whole file is in it."
            )
    for (nm, before), (_, after) in pairwise(record.bands):
        low, high = sorted((before, after))
        if scale == "percent" and low < 1.0 and high > max(2.0, STEEPEST_RATIO * low):
            raise InputError(
                f"{record.where}: jumps from {before:g} to {after:g} after {nm:g} nm, as if factor "
                "and percent were mixed; correct the values or measure again."
            )
    try:
        resampled = resample(factor, wavelengths_nm=wavelengths_nm)
    except InputError as fault:
        raise InputError(f"{record.where}: {fault}") from fault
    below = [nm for (nm, _), each in zip(record.bands, factor, strict=True) if each < 0]
    if not below:
        return resampled.values, resampled.notes
    more = f" and {len(below) - 1} more bands" if len(below) > 1 else ""
    note = f"reads a trifle below 0 at {below[0]:g} nm{more}, as a near-black may: kept as it is"
    return resampled.values, (*resampled.notes, note)
