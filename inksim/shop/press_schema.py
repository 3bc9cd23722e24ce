"""Schema of press.toml: parameters, and what a calibration found."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, field_validator

from inksim.shop.schema import Entry, HabitsEntry, Name, NotNegative, StationsEntry
from inksim.stock import MODEL_LAB_SD

PRESS_FORMAT = 2
"""Of press.toml: raised when an older inksim could not read the file rightly."""


class ParameterEntry(Entry):
    """A press parameter and its standard deviation."""

    value: float
    sd: NotNegative


class StrengthEntry(Entry):
    """Strength of an ink as calibrated: factors on its K and S, with the sd of their logarithms.

    shapes: pairs of its place along each shape of its error, and the sd of that.
    """

    name: Name
    mark: str = ""
    K: ParameterEntry
    S: ParameterEntry
    shapes: list[Annotated[tuple[float, NotNegative], Field(strict=False)]] = Field(default=[])


class CalibrationEntry(Entry):
    """Written by `inksim calibrate` beside the parameters; not for editing by hand.

    prior: the parameters before; one that is not among them was not there yet, nor in correlation.
    """

    version: Annotated[int, Field(ge=1)] = 1
    date: str = ""
    readings: Annotated[int, Field(ge=0)] = 0
    model_sd: NotNegative = MODEL_LAB_SD
    ink_sd_factor: NotNegative = 1.0
    correlation: Annotated[
        tuple[Annotated[tuple[float, ...], Field(strict=False)], ...] | None, Field(strict=False)
    ] = None
    ink: list[StrengthEntry] = Field(default=[])
    prior: dict[str, ParameterEntry] = Field(default={})


class PressEntry(Entry):
    """press.toml."""

    format: int = 1
    name: Name
    calibrated: bool = False
    source: str = ""
    parameters: dict[str, ParameterEntry] = Field(default={})
    calibration: CalibrationEntry | None = None
    habits: HabitsEntry = HabitsEntry()
    stations: StationsEntry = StationsEntry()

    @field_validator("format")
    @classmethod
    def _known_format(cls, value: int) -> int:
        if not 1 <= value <= PRESS_FORMAT:
            raise ValueError(
                f"the file is of format {value}, and this inksim reads formats up to "
                f"{PRESS_FORMAT}; use the inksim that wrote it, or 'inksim press --back' for the "
                "version before it"
            )
        return value
