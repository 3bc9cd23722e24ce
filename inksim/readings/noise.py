"""What a sample's columns say of how sure it is: read_by, sd_de00, shared_de00 and picture.

They are columns like any other, of any format: what is here is what they mean.
"""

from __future__ import annotations

import re

from inksim.common import InputError
from inksim.readings.record import Record, Sample, number
from inksim.stock import PHOTO, LabNoise, stated_noise

_OTHER_SIGNS = re.compile(r"[^a-z0-9]")


def cells_of(sample: Sample) -> dict[str, str]:
    """A sample's further columns by their names in lower-case letters and digits only."""
    named = {**sample.labels, **{key: f"{value:.10g}" for key, value in sample.device.items()}}
    return {_OTHER_SIGNS.sub("", key.lower()): value.strip() for key, value in named.items()}


def noise_said(record: Record) -> tuple[str, LabNoise | None]:
    """What a sample was read by, '' if it is not said, and the noise that it states.

    Raises
    ------
    InputError : a noise that no reading has, or a photo that does not say its own.
    """
    cells = cells_of(record)
    read_by, picture = cells.get("readby", "").lower(), cells.get("picture", "")
    own, shared = (_above_0(record, cells, column) for column in ("sd_de00", "shared_de00"))
    noise = stated_noise(own, shared, picture, where=record.where)
    if read_by == PHOTO and (noise is None or not noise.picture):
        raise InputError(
            f"{record.where}: it was read by photo; give sd_de00, shared_de00 and picture, as "
            "'inksim photo' writes them."
        )
    return read_by, noise


def _above_0(record: Record, cells: dict[str, str], column: str) -> float | None:
    text = cells.get(column.replace("_", ""))
    if not text:
        return None
    value = number(text.removesuffix("%"))
    if value is None or not value > 0:
        raise InputError(f"{record.where}: {column} is '{text[:40]}'; give a number above 0.")
    return value
