"""Fixtures over reference_data/: published and computed check values, measured textiles."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest

REFERENCE_DATA = Path(__file__).resolve().parent.parent / "reference_data"


class Textiles(NamedTuple):
    """Measured textiles (Vrhel, Gershon & Iwan 1994) as they were read, at 2 nm."""

    names: tuple[str, ...]
    wavelengths_nm: np.ndarray  # (171,)
    reflectance: np.ndarray  # (33, 171), factor 0-1


def read_check_values() -> dict[str, Any]:
    """The check values; ``provenance`` inside says which are published, which computed."""
    values: dict[str, Any] = json.loads((REFERENCE_DATA / "check_values.json").read_text("utf-8"))
    return values


def read_textiles() -> Textiles:
    """The measured textiles, one row each."""
    path = REFERENCE_DATA / "textile_reflectances.csv"
    names = path.read_text("utf-8").partition("\n")[0].split(",")[1:]
    table = np.loadtxt(path, delimiter=",", skiprows=1)
    return Textiles(tuple(names), table[:, 0], table[:, 1:].T)


@pytest.fixture(scope="session")
def reference_data() -> Path:
    """The folder of published values and open data."""
    return REFERENCE_DATA


@pytest.fixture(scope="session")
def check_values() -> dict[str, Any]:
    """See read_check_values."""
    return read_check_values()


@pytest.fixture(scope="session")
def textiles() -> Textiles:
    """See read_textiles."""
    return read_textiles()
