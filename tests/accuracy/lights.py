"""Lights and observers

The tristimulus weights and white points, and printed spectra with the Lab that another program
listed beside them. The weights are compared with colour-science's under every light. ASTM E308
sums fluorescent lamps at 5 nm where E2022 goes through 1 nm: their white points differ by up to
0.1 in X or Z for that reason, which is below 0.1 ΔE00. Readings finer than 10 nm are averaged as
an instrument of 10 nm would, which the weights do not undo: about 0.05 of the 0.08 ΔE00 below.
"""

from __future__ import annotations

from importlib import resources

import colour
import numpy as np
from colour.colorimetry import (
    adjust_tristimulus_weighting_factors_ASTME308,
    tristimulus_weighting_factors_ASTME2022,
)

from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import resample
from inksim.colour.lights import LIGHTS, OBSERVERS, weights, white_xyz
from inksim.colour.viewing import Viewing, lab, lab_from_xyz
from inksim.readings.read import read_readings
from tests.accuracy import Row, row
from tests.conftest import read_textiles

ORDER = 20
OBSERVER_NAMES = {
    2: "CIE 1931 2 Degree Standard Observer",
    10: "CIE 1964 10 Degree Standard Observer",
}
FINE, WIDE = colour.SpectralShape(360, 830, 1), colour.SpectralShape(360, 830, 10)
GRID = colour.SpectralShape(400, 700, 10)

# ASTM E308, Table 5, white points for 10 nm; from memory of the standard, checked against public
# quotations of the table. The lamps apart, see above.
WHITES = {
    "daylights and A": (
        0.03,
        [
            ("D50", 2, (96.422, 100.0, 82.521)),
            ("D50", 10, (96.720, 100.0, 81.427)),
            ("D55", 2, (95.682, 100.0, 92.149)),
            ("D55", 10, (95.799, 100.0, 90.926)),
            ("D65", 2, (95.047, 100.0, 108.883)),
            ("D65", 10, (94.811, 100.0, 107.304)),
            ("D75", 2, (94.972, 100.0, 122.638)),
            ("D75", 10, (94.416, 100.0, 120.641)),
            ("A", 2, (109.850, 100.0, 35.585)),
            ("A", 10, (111.144, 100.0, 35.200)),
        ],
    ),
    "C and fluorescent lamps": (
        0.12,
        [
            ("C", 2, (98.074, 100.0, 118.232)),
            ("F2", 2, (99.186, 100.0, 67.393)),
            ("F2", 10, (103.279, 100.0, 69.027)),
            ("F7", 2, (95.041, 100.0, 108.747)),
            ("F7", 10, (95.792, 100.0, 107.686)),
            ("F11", 2, (100.962, 100.0, 64.350)),
            ("F11", 10, (103.863, 100.0, 65.607)),
        ],
    ),
}


def rows() -> list[Row]:
    """White points, weights, and Lab of printed spectra."""
    return [*_white_points(), _weights(), _by_nanometer(), _listed_lab()]


def _white_points() -> list[Row]:
    return [
        row(
            f"White points, {kind}",
            "ASTM E308, Table 5 (from memory)",
            [white_xyz(light, observer) - np.array(xyz) for light, observer, xyz in whites],
            unit="X, Y, Z",
            limits={"worst": most},
        )
        for kind, (most, whites) in WHITES.items()
    ]


def _weights() -> Row:
    errors = []
    for light in LIGHTS:
        if light == "A":
            power = colour.sd_CIE_standard_illuminant_A(FINE)
        else:
            listed = colour.SDS_ILLUMINANTS[
                light.replace("F", "FL", 1) if light[0] == "F" else light
            ]
            at_1nm = np.interp(FINE.wavelengths, listed.wavelengths, listed.values)
            power = colour.SpectralDistribution(at_1nm, FINE.wavelengths)
        for observer in OBSERVERS:
            matching = colour.MSDS_CMFS[OBSERVER_NAMES[observer]].copy().align(FINE)
            expected = adjust_tristimulus_weighting_factors_ASTME308(
                tristimulus_weighting_factors_ASTME2022(matching, power, WIDE), WIDE, GRID
            )
            errors.append(weights(light, observer) - expected)
    return row(
        f"Weights of {len(LIGHTS)} lights, 2° and 10°",
        "ASTM E2022 and E308 in colour-science, which our table is made with",
        errors,
        unit="weight",
        limits={"worst": 1e-12},
    )


def _by_nanometer() -> Row:
    """XYZ of textiles by our weights and by colour-science's sum over every nanometer."""
    cloths, fine = read_textiles(), colour.SpectralShape(390, 730, 1)
    power, matching = (
        colour.SDS_ILLUMINANTS["D65"].copy().align(fine),
        colour.MSDS_CMFS[OBSERVER_NAMES[10]].copy().align(fine),
    )
    viewing = Viewing("D65", 10)
    ours, theirs = [], []
    for reading in cloths.reflectance:
        ours.append(lab(resample(reading, wavelengths_nm=cloths.wavelengths_nm).values, viewing))
        cloth = colour.SpectralDistribution(reading, cloths.wavelengths_nm).align(fine)
        summed = colour.sd_to_XYZ(cloth, matching, power, method="Integration")
        theirs.append(lab_from_xyz(summed, viewing))
    return row(
        "Textiles read at 2 nm: our 31 bands against a sum over 341, D65/10°",
        "colour-science's sd_to_XYZ, 390-730 nm at 1 nm; Vrhel et al. 1994",
        delta_e_2000(theirs, ours),
        limits={"worst": 0.3},  # as asked of the printed spectra below
    )


def _listed_lab() -> Row:
    sample = resources.files("colour_cxf") / "tests" / "resources" / "sample.cxf"
    readings = read_readings(sample.read_bytes(), name="sample.cxf")
    found = lab(np.array([r.reflectance for r in readings]), Viewing("D50", 2))
    return row(
        "Printed spectra against their listed Lab",
        "sample.cxf of colour-cxf (BSD-3), D50/2°, 380-680 nm",
        delta_e_2000([r.lab for r in readings], found),
        limits={"median": 0.07, "worst": 0.3},
    )
