"""Halftones

Multi-ink halftones of two published characterization sets, predicted from the solids, their
overprints and the single-ink ramps alone. n is found on the single-ink ramps only: the n with which
their patches lie nearest to a mix of stock and solid. The ramps also give the dot curve of each ink
(its coverage for every stated percentage); the multi-ink patches then are Demichel's weights and
the Yule-Nielsen equation, with nothing fitted to them. The sets list XYZ, so the three of it stand
in for the bands of a spectrum. Patches of solids alone are left out: they are what is put in.

Limits: the medians reported for these sets when the print model was set down, 1.1 and 0.9 ΔE00,
rounded up.
"""

from __future__ import annotations

import gzip
from functools import cache
from itertools import product
from typing import NamedTuple

import numpy as np
from scipy.optimize import minimize_scalar

from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import Viewing, lab_from_xyz
from inksim.optics.halftone import demichel, yule_nielsen
from inksim.readings.read import read_readings
from tests.accuracy import Detail, Row, row
from tests.conftest import REFERENCE_DATA

ORDER = 35
D50 = Viewing()
INKS = "CMYK"
SETS = {
    "TR002": ("ANSI CGATS/SNAP TR 002-2007, coldset on newsprint, 928 patches", 1.15),
    "TR005": ("ANSI CGATS/SWOP TR 005-2007, web offset on grade 5 paper, 1617 patches", 0.95),
}


class Chart(NamedTuple):
    """Patches: percentages (P, 4) as 0..1, XYZ (P, 3)."""

    tone: np.ndarray
    xyz: np.ndarray

    def patch(self, tone: tuple[float, ...]) -> np.ndarray:
        """Mean XYZ of the patches of these percentages."""
        same = (self.tone == tone).all(axis=1)
        if not same.any():
            raise ValueError(f"the set has no patch {tone}")
        return self.xyz[same].mean(axis=0)

    def ramp(self, ink: int) -> tuple[np.ndarray, np.ndarray]:
        """Percentages (L,) and XYZ (L, 3) of one ink alone."""
        alone = (np.delete(self.tone, ink, axis=1) == 0).all(axis=1)
        levels = np.unique(self.tone[alone, ink])
        return levels, np.array([self.patch(tuple(np.eye(4)[ink] * v)) for v in levels])

    @property
    def primaries(self) -> np.ndarray:
        """XYZ (16, 3) of the stock, the solids and their overprints; bit i: ink i."""
        return np.array([self.patch(tuple(p[::-1])) for p in product((0.0, 1.0), repeat=4)])


@cache
def chart(name: str) -> Chart:
    """One of the published sets."""
    data = gzip.decompress((REFERENCE_DATA / f"{name}.ti3.gz").read_bytes())
    readings = read_readings(data, name=name)
    tone = [[r.device[f"CMYK_{ink}"] / 100 for ink in INKS] for r in readings]
    return Chart(np.array(tone), np.array([r.xyz for r in readings]))


def difference(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """ΔE00 of XYZ."""
    return delta_e_2000(lab_from_xyz(one, D50), lab_from_xyz(two, D50))


def curve(levels: np.ndarray, seen: np.ndarray, *, n: float) -> tuple[np.ndarray, np.ndarray]:
    """Coverages (L,) that come nearest to the patches of a ramp, and how far they stay (L,)."""
    ends = seen[[0, -1]]
    coverages, left = np.zeros(len(levels)), np.zeros(len(levels))
    coverages[-1] = 1.0
    for at in range(1, len(levels) - 1):

        def miss(a: float, at: int = at) -> float:
            return float(difference(seen[at], yule_nielsen([1.0 - a, a], ends, n=n)))

        found = minimize_scalar(miss, bounds=(0.0, 1.0), method="bounded", options={"xatol": 1e-5})
        coverages[at], left[at] = found.x, found.fun
    return coverages, left


@cache
def ramps_n(name: str) -> float:
    """n, 1 to 10, with which the single-ink ramps lie nearest to mixes of stock and solid."""
    ramps = [chart(name).ramp(ink) for ink in range(4)]

    def miss(n: float) -> float:
        return float(np.mean(np.concatenate([curve(*ramp, n=n)[1][1:-1] for ramp in ramps])))

    found = minimize_scalar(miss, bounds=(1.0, 10.0), method="bounded", options={"xatol": 0.01})
    return float(found.x)


def multi_ink_errors(name: str, *, n: float) -> np.ndarray:
    """ΔE00 of every patch of two inks or more that is not made of solids alone."""
    patches = chart(name)
    coverages = np.empty_like(patches.tone)
    for ink in range(4):
        levels, seen = patches.ramp(ink)
        coverages[:, ink] = np.interp(patches.tone[:, ink], levels, curve(levels, seen, n=n)[0])
    predicted = yule_nielsen(demichel(coverages), patches.primaries, n=n)
    inks = (patches.tone > 0).sum(axis=1)
    solid = ((patches.tone == 0) | (patches.tone == 1)).all(axis=1)
    several = (inks >= 2) & ~solid
    return difference(patches.xyz[several], predicted[several])


def rows() -> list[Row]:
    """Multi-ink halftones from solids and single-ink ramps."""
    return [
        row(
            f"Multi-ink halftones of {name} from solids and ramps",
            source,
            multi_ink_errors(name, n=ramps_n(name)),
            limits={"median": most},
            note=f"n = {ramps_n(name):.2f} from the ramps",
        )
        for name, (source, most) in SETS.items()
    ]


def details() -> list[Detail]:
    """How much n matters."""
    counts = (1.0, 1.3, 1.6, 2.0, 3.0, 5.0, 10.0)
    return [
        Detail(
            title="Multi-ink halftones by n, median ΔE00",
            text="n = 1 is Neugebauer's plain sum of light. On newsprint single-ink ramps hardly "
            "tell one n above 3 from another: theirs runs to the end of the range, 10, where the "
            "multi-ink patches are no worse than at 2.",
            head=["set", *(f"n = {n:g}" for n in counts)],
            cells=[
                [name, *(f"{np.median(multi_ink_errors(name, n=n)):.2f}" for n in counts)]
                for name in SETS
            ],
        )
    ]
