"""Print how well three ways of recovering a reflectance from its XYZ find the real one.

Run ``python tools/compare_recovery.py`` (a minute) to see the numbers quoted in the docstring of
colour.recover_reflectance. Samples: ISO 17321-1 and CIE 2017 from colour-science, and the
33 textiles of Vrhel, Gershon & Iwan (1994) from reference_data/.
"""

from __future__ import annotations

import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from inksim.colour.cielab import delta_e_2000
from inksim.colour.grid import BANDS, WAVELENGTHS_NM, resample
from inksim.colour.lights import weights
from inksim.colour.recovery import recover_reflectance
from inksim.colour.viewing import Viewing, lab, xyz

TEXTILES = Path(__file__).resolve().parent.parent / "reference_data" / "textile_reflectances.csv"
SEEN, TEST = Viewing("D50", 2), Viewing("A", 2)


def samples(colour: Any) -> dict[str, np.ndarray]:
    """Measured reflectances (n, 31) by the name of their source."""
    from colour.quality.cfi2017 import load_TCS_CIE2017

    grid = colour.SpectralShape(400, 700, 10)
    patches = colour.SDS_COLOURCHECKERS["ISO 17321-1"].values()  # ISO 17321-1, 24 patches
    cie = load_TCS_CIE2017(colour.SpectralShape(380, 780, 5))
    rows = np.loadtxt(TEXTILES, delimiter=",", skiprows=1)
    return {
        "ISO 17321-1": np.array([patch.copy().align(grid).values for patch in patches]),
        "CIE 2017": cie.values[np.isin(cie.wavelengths, WAVELENGTHS_NM)].T,
        "textiles": np.array([resample(r, wavelengths_nm=rows[:, 0]).values for r in rows.T[1:]]),
    }


def methods(colour: Any) -> dict[str, Callable[[np.ndarray], np.ndarray]]:
    """Ours and colour-science's two, all run with our weights on our grid."""
    observer = colour.MultiSpectralDistributions(weights("D50", 2), WAVELENGTHS_NM)
    flat = colour.SpectralDistribution(np.ones(BANDS), WAVELENGTHS_NM)
    inside = {"bounds": [(1e-7, 1e-2)] * BANDS}  # it optimizes R / 100

    def meng(target: np.ndarray) -> np.ndarray:
        found = colour.recovery.XYZ_to_sd_Meng2015(
            target / 100.0, cmfs=observer, illuminant=flat, optimisation_kwargs=inside
        )
        return np.asarray(found.values)

    def jakob(target: np.ndarray) -> np.ndarray:
        found = colour.recovery.XYZ_to_sd_Jakob2019(target / 100.0, cmfs=observer, illuminant=flat)
        return np.asarray(found.values)

    return {"Burns 2020": recover_reflectance, "Meng 2015": meng, "Jakob 2019": jakob}


def main() -> None:
    """Print one line for each method and source."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

    print("method      samples        ms  rms R   roughness  dE00 D50  dE00 A  least R  most R")
    for method, recover in methods(colour).items():
        for source, true in samples(colour).items():
            start = time.perf_counter()
            found = np.array([recover(target) for target in xyz(true, SEEN)])
            milliseconds = 1000.0 * (time.perf_counter() - start) / len(true)
            rms = np.sqrt(((found - true) ** 2).mean(axis=1)).mean()
            rough = np.sqrt((np.diff(found, 2, axis=1) ** 2).mean(axis=1)).mean()
            back = delta_e_2000(lab(true, SEEN), lab(found, SEEN)).max()
            other = delta_e_2000(lab(true, TEST), lab(found, TEST)).mean()
            print(
                f"{method:11} {source:12} {milliseconds:5.1f}  {rms:.4f}  {rough:.4f}     "
                f"{back:.5f}   {other:.2f}    {found.min():.4f}   {found.max():.4f}"
            )


if __name__ == "__main__":
    main()
