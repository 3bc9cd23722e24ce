"""CIE illuminants and observers: tristimulus weights at 10 nm and white points.

The weights are read from a table that tools/make_observer_tables.py makes of colour-science's data.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from inksim.common import DATA, FloatArray, InputError

#: CIE illuminants by their names in CIE 15:2018; the first six are the most used in print shops.
LIGHTS: tuple[str, ...] = (
    *("D50", "D65", "A", "F2", "F11", "LED-B3"),
    *("C", "D55", "D75", "F1", "F3", "F4", "F5", "F6", "F7", "F8", "F9", "F10", "F12"),
    *("LED-B1", "LED-B2", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2"),
)
OBSERVERS: tuple[int, ...] = (2, 10)

_TABLE = DATA / "observers.npz"


@cache
def _table() -> dict[str, FloatArray]:
    with np.load(_TABLE) as stored:
        names = [str(name) for name in stored["lights"]]
        table = dict(zip(names, stored["weights"], strict=True))
    for array in table.values():
        array.setflags(write=False)
    return table


def weights(light: str, observer: int) -> FloatArray:
    """Tristimulus weights (31, 3), read-only: XYZ = reflectance @ weights.

    ASTM E2022 at 10 nm, ends folded per ASTM E308; the perfect diffuser has Y = 100.
    Raises InputError for a light or observer that is not in LIGHTS, OBSERVERS.
    """
    if light not in LIGHTS:
        raise InputError(f"there is no light '{light}'; choose one of {', '.join(LIGHTS)}.")
    if observer not in OBSERVERS:
        raise InputError(f"the observer is {observer}; choose 2 (degrees, CIE 1931) or 10 (1964).")
    return np.asarray(_table()[light][OBSERVERS.index(observer)])


def white_xyz(light: str, observer: int) -> FloatArray:
    """XYZ (3,) of the perfect diffuser: the sum of the weights, so Y = 100."""
    return np.asarray(weights(light, observer).sum(axis=0))
