"""Write inksim/data/spread.npz: what a prediction needs of SciPy, worked out beforehand.

Run ``python tools/make_spread_tables.py``; it takes a second and always writes the same file. To
import SciPy's functions takes longer than a prediction. In it:

- ``normal`` (512, 64): the fixed points at which a spread of color differences is sampled,
  scrambled Sobol points from SciPy (direction numbers of Joe & Kuo, SIAM J. Sci. Comput. 30 (2008)
  2635; scrambling of Matousek 1998) as whole 65536ths, through the inverse normal distribution;
- ``quantile_weights`` (3, 512): weights of Harrell & Davis, Biometrika 69 (1982) 635, of the low,
  middle and high percentile of 512 samples in ascending order;
- ``thickness_n`` (32, n): Chebyshev coefficients over cv in 0..1 of the film thickness at n nodes
  of a quadrature, or n levels of a tile: the gamma quantile with mean 1 (`optics.unevenness`).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.polynomial import chebyshev
from scipy.special import betainc, ndtri
from scipy.stats import qmc

from inksim.optics.unevenness import TABLED, tabled_quantiles, thickness_factor
from inksim.printing.uncertainty import HIGH, LOW, MIDDLE, SAMPLES

TARGET = Path(__file__).resolve().parent.parent / "inksim" / "data" / "spread.npz"
DIMENSIONS, LOG2_POINTS, SEED, TERMS = 64, 9, 2026, 32


def main() -> None:
    """Write the file."""
    points = qmc.Sobol(DIMENSIONS, bits=16, rng=np.random.default_rng(SEED)).random_base2(
        LOG2_POINTS
    )
    whole = np.floor(points * 65536.0)
    ends = np.linspace(0.0, 1.0, SAMPLES + 1)
    ranks = [(SAMPLES + 1) * share for share in (LOW, MIDDLE, HIGH)]
    weights = [np.diff(betainc(rank, SAMPLES + 1 - rank, ends)) for rank in ranks]
    x = np.cos(np.pi * (np.arange(TERMS) + 0.5) / TERMS)
    factors = {
        f"thickness_{n}": chebyshev.chebfit(
            x, thickness_factor(tabled_quantiles(n), cv=(x[:, None] + 1.0) / 2.0), TERMS - 1
        )
        for n in TABLED
    }
    np.savez(
        TARGET,
        normal=ndtri((whole + 0.5) / 65536.0),
        quantile_weights=np.array(weights),
        **factors,
    )
    print(f"{TARGET.name}: {whole.shape[0]} points in {whole.shape[1]} dimensions")


if __name__ == "__main__":
    main()
