"""A shop's entry is stated once, as a noun of the stock; its file follows."""

from __future__ import annotations

from dataclasses import MISSING, dataclass, fields
from typing import Annotated, Any, get_type_hints

import numpy as np
import pytest
from annotated_types import Interval
from pydantic import ValidationError

from inksim.shop.ink_schema import InkEntry
from inksim.shop.schema import GarmentEntry, ScreenEntry, StationsEntry, entry_of
from inksim.stock.garment import Garment
from inksim.stock.ink import Ink
from inksim.stock.screen import Screen

ANOTHER_WAY = {"K", "S", "reflectance", "undyed", "discharged", "threads_per_cm", "data", "name",
               "solids_by_volume"}  # fmt: skip
"""Fields that a file may give otherwise than the noun holds them."""
WORKED_OUT = {"assumed", "noise", "usual"}
"""Fields of a noun that no file gives."""


@pytest.mark.parametrize(
    ("noun", "entry"), [(Ink, InkEntry), (Garment, GarmentEntry), (Screen, ScreenEntry)]
)
def test_an_entry_takes_fields_ranges_and_defaults_from_its_noun(noun: Any, entry: Any) -> None:
    hints = get_type_hints(noun, include_extras=True)
    assert {field.name for field in fields(noun)} - WORKED_OUT <= set(entry.model_fields)
    assert not WORKED_OUT & set(entry.model_fields)
    for field in fields(noun):
        if field.name in ANOTHER_WAY | WORKED_OUT:
            continue
        asked = entry.model_fields[field.name]
        assert asked.is_required() == (field.default is MISSING)
        assert asked.is_required() or asked.default == field.default
        assert set(getattr(hints[field.name], "__metadata__", ())) <= set(asked.metadata)


def test_a_field_added_to_a_noun_is_a_field_of_its_file() -> None:
    @dataclass(frozen=True, kw_only=True)
    class Shelved(Ink):
        shelf: Annotated[int, Interval(ge=1, le=9)] = 3

    entry = entry_of(Shelved)
    said = {"name": "x", "kind": "color", "solids_by_volume": 0.3}
    assert entry.model_validate(said).model_dump()["shelf"] == 3
    with pytest.raises(ValidationError, match="less than or equal to 9"):
        entry.model_validate({**said, "shelf": 12})


def test_stations_are_counted_in_one_place() -> None:
    """Four screens and a flash take five stations, or four where it stands beside them."""
    own = StationsEntry(stations=4, flashes=1)
    beside = own.model_copy(update={"flash_takes_station": False})
    assert own.taken(screens=4, flashes=1) == 5
    assert beside.taken(screens=4, flashes=1) == 4
    assert not own.fits(screens=4, flashes=1)
    assert own.fits(screens=4, flashes=1, runs=2)
    assert beside.fits(screens=4, flashes=1)
    assert not beside.fits(screens=2, flashes=2), "one flash unit"
    many = own.fits(screens=np.array([1, 3, 4]), flashes=np.array([0, 1, 1]))
    assert many.tolist() == [True, True, False]
