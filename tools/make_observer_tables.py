"""Write inksim/data/observers.npz: tristimulus weights for every light and both observers.

Run ``python -m tools.make_observer_tables`` after a change of colour-science or of the lights.
The weights are those of ASTM E2022 at 10 nm over 360-830 nm, with the weights that lie outside
400-700 nm folded onto the end bands as ASTM E308 says. The color-matching functions and the
illuminants are colour-science's copies of the CIE tables:

- illuminant A from its defining equation (Planck, c2 = 1.435e-2 m K), the others linearly
  interpolated to 1 nm (CIE 15 gives daylight, fluorescent and LED tables at 5 nm);
- tables that stop at 380 or 780 nm keep their end value beyond it (CIE 15, extrapolation).

The same two parts of which the weights are made are kept for lamps that a shop measured: the
observers' functions at 1 nm, and E2022's interpolation of 10 nm readings to every nm, folded.

tests/color/test_spectra.py derives the weights again from colour-science and compares to 1e-12.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

TARGET = Path(__file__).resolve().parent.parent / "inksim" / "data" / "observers.npz"
OBSERVER_NAMES = {
    2: "CIE 1931 2 Degree Standard Observer",
    10: "CIE 1964 10 Degree Standard Observer",
}


def colour_science_name(light: str) -> str:
    """colour-science's key for one of our lights: it writes the fluorescent F2 as FL2."""
    return f"FL{light[1:]}" if light[0] == "F" else light


def illuminant_1nm(light: str, shape: Any) -> Any:
    """Relative spectral power of a light at 1 nm over ``shape``, as colour-science's object."""
    import colour

    if light == "A":
        return colour.sd_CIE_standard_illuminant_A(shape)
    table = colour.SDS_ILLUMINANTS[colour_science_name(light)]
    nm = shape.wavelengths
    return colour.SpectralDistribution(np.interp(nm, table.wavelengths, table.values), nm)


def weights_e2022(light: str, observer: int) -> np.ndarray:
    """ASTM E2022 weights at 10 nm, E308 end folding to 400-700 nm: (31, 3), sum of Y = 100."""
    import colour
    from colour.colorimetry import (
        adjust_tristimulus_weighting_factors_ASTME308,
        tristimulus_weighting_factors_ASTME2022,
    )

    fine = colour.SpectralShape(360, 830, 1)
    wide = colour.SpectralShape(360, 830, 10)
    grid = colour.SpectralShape(400, 700, 10)
    cmfs = colour.MSDS_CMFS[OBSERVER_NAMES[observer]].copy().align(fine)
    table = tristimulus_weighting_factors_ASTME2022(cmfs, illuminant_1nm(light, fine), wide)
    folded: np.ndarray = adjust_tristimulus_weighting_factors_ASTME308(table, wide, grid)
    return folded


def interpolation() -> np.ndarray:
    """What a nanometer of 360-830 adds to each band, per E2022 and folded per E308: (31, 471).

    Read off the weights of a light of one nanometer, for an observer who sees all alike.
    """
    import colour
    from colour.colorimetry import (
        adjust_tristimulus_weighting_factors_ASTME308,
        tristimulus_weighting_factors_ASTME2022,
    )

    fine = colour.SpectralShape(360, 830, 1)
    wide = colour.SpectralShape(360, 830, 10)
    alike = colour.MultiSpectralDistributions(np.ones((471, 3)), fine.wavelengths)
    columns = []
    for line in np.eye(471):
        light = colour.SpectralDistribution(line, fine.wavelengths)
        table = tristimulus_weighting_factors_ASTME2022(alike, light, wide)
        folded = adjust_tristimulus_weighting_factors_ASTME308(
            table, wide, colour.SpectralShape(400, 700, 10)
        )
        columns.append(folded[:, 1] / 100.0)
    return np.array(columns).T


def provenance() -> str:
    """What is inside the table and where it comes from, as stored in it."""
    import colour

    return (
        "Tristimulus weights per ASTM E2022 at 10 nm, 360-830 nm, folded to 400-700 nm per ASTM "
        "E308; perfect diffuser Y = 100. Axes of 'weights': light, observer, band, XYZ. "
        "Illuminants and colour-matching functions: CIE 15 tables as carried by colour-science "
        f"{colour.__version__} (BSD-3-Clause, Copyright 2013 Colour Developers); illuminant A "
        "from its equation, others interpolated linearly from 5 nm, end values kept beyond the "
        "table. 'cmfs': the observers' functions at 1 nm; 'interpolation': of 10 nm readings to "
        "1 nm per E2022, folded. Made by tools/make_observer_tables.py."
    )


def main() -> None:
    """Write the table."""
    import colour

    from inksim.colour.grid import WAVELENGTHS_NM
    from inksim.colour.lights import LIGHTS, OBSERVERS

    fine = colour.SpectralShape(360, 830, 1)
    cmfs = [colour.MSDS_CMFS[OBSERVER_NAMES[obs]].copy().align(fine).values for obs in OBSERVERS]
    weights = np.array([[weights_e2022(light, obs) for obs in OBSERVERS] for light in LIGHTS])
    TARGET.parent.mkdir(exist_ok=True)
    np.savez_compressed(
        TARGET,
        weights=weights,
        lights=np.array(LIGHTS),
        observers=np.array(OBSERVERS),
        cmfs=np.array(cmfs),
        interpolation=interpolation(),
        wavelengths_nm=WAVELENGTHS_NM,
        provenance=np.array(provenance()),
    )


if __name__ == "__main__":
    main()
