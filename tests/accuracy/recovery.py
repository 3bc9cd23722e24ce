"""Color without a spectrum

A garment or target known only by its Lab gets a plausible spectrum. Under the light its Lab is
stated for it must look exactly as stated. Under another light the true sample and the recovered
one part: that is the honest size of not having a spectrum, and the reason why `recovered` data
widen every interval.
"""

from __future__ import annotations

from functools import cache

import colour
import numpy as np
from colour.quality.cfi2017 import load_TCS_CIE2017

from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import WAVELENGTHS_NM, resample
from inksim.colour.recovery import reflectance_from_lab
from inksim.colour.viewing import Viewing, lab
from tests.accuracy import Detail, Row, row
from tests.conftest import read_textiles

ORDER = 50
STATED = Viewing("D50", 2)
OTHERS = (
    Viewing("D65", 2),
    Viewing("D65", 10),
    Viewing("A", 2),
    Viewing("F2", 2),
    Viewing("F11", 2),
    Viewing("LED-B3", 2),
)
SOURCES = {
    "ISO 17321-1": "the 24 patches of ISO 17321-1 as in colour-science",
    "CIE 2017": "CIE 224:2017 test samples (CFI-2017) as in colour-science",
    "textiles": "Vrhel, Gershon & Iwan, Color Res. Appl. 19 (1994) 4-9",
}


@cache
def samples() -> dict[str, np.ndarray]:
    """Measured reflectances (n, 31) of real surfaces, from three sources."""
    grid = colour.SpectralShape(400, 700, 10)
    patches = colour.SDS_COLOURCHECKERS["ISO 17321-1"].values()  # ISO 17321-1, 24 patches
    cie = load_TCS_CIE2017(colour.SpectralShape(380, 780, 5))
    cloths = read_textiles()
    return {
        "ISO 17321-1": np.array([patch.copy().align(grid).values for patch in patches]),
        "CIE 2017": np.asarray(cie.values[np.isin(cie.wavelengths, WAVELENGTHS_NM)].T),
        "textiles": np.array(
            [resample(r, wavelengths_nm=cloths.wavelengths_nm).values for r in cloths.reflectance]
        ),
    }


@cache
def _recovered(name: str) -> np.ndarray:
    stated = lab(samples()[name], STATED)
    return np.array([reflectance_from_lab(value, STATED) for value in stated])


def _apart(name: str, viewing: Viewing) -> np.ndarray:
    return delta_e_2000(lab(samples()[name], viewing), lab(_recovered(name), viewing))


def rows() -> list[Row]:
    """Round trips under the stated light, and what other lights make of them."""
    same = [
        row(
            f"{name}: Lab to spectrum to Lab, {STATED}",
            source,
            _apart(name, STATED),
            limits={"worst": 0.1},
        )
        for name, source in SOURCES.items()
    ]
    other = [
        row(
            f"All three, recovered under {STATED}, seen under {viewing}",
            "their true spectra",
            np.concatenate([_apart(name, viewing) for name in SOURCES]),
        )
        for viewing in OTHERS
    ]
    return [*same, *other]


def details() -> list[Detail]:
    """The change under other lights, by set."""
    cells = []
    for name in SOURCES:
        for viewing in OTHERS:
            apart = _apart(name, viewing)
            cells.append(
                [
                    name,
                    str(len(apart)),
                    str(viewing),
                    f"{apart.mean():.2f}",
                    f"{np.percentile(apart, 95):.2f}",
                    f"{apart.max():.2f}",
                ]
            )
    return [
        Detail(
            title="What a missing spectrum costs under another light",
            text=f"ΔE00 between the true sample and the one recovered from its Lab ({STATED}).",
            head=["samples", "n", "seen under", "mean", "95 %", "worst"],
            cells=cells,
        )
    ]
