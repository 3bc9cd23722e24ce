"""Read the spectrum of a lamp from an instrument's file."""

from __future__ import annotations

import os
from pathlib import Path

from inksim.colour import Lamp
from inksim.common import InputError
from inksim.readings.read import records_in
from inksim.readings.record import raise_faults


def read_lamp(source: str | os.PathLike[str] | bytes, *, name: str | None = None) -> Lamp:
    """A lamp of a file with a wavelength and its spectral power a row, or any format of readings.

    Parameters
    ----------
    source : a path, or the bytes themselves.
    name : of the lamp; the file's without its ending if not given.

    Raises
    ------
    InputError : not one spectrum, or one that is no lamp's (see `Lamp`).
    """
    parsed, _, file = records_in(source, name)
    raise_faults(parsed.faults, file=file)
    spectra = [record for record in parsed.records if record.bands]
    if len(spectra) != 1:
        raise InputError(
            f"{file} has {len(spectra)} spectra; a lamp's file has one, as two columns: "
            "wavelength, power."
        )
    nm, power = zip(*spectra[0].bands, strict=True)
    try:
        return Lamp(name=name or Path(file).stem, wavelengths_nm=nm, power=power)
    except InputError as fault:
        raise InputError(f"{file}: {fault}") from None
