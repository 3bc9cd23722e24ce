"""Write inksim/data/sobol.npy: the fixed points at which a spread of color differences is sampled.

Run ``python tools/make_normal_points.py``; it takes a second and always writes the same file.
512 scrambled Sobol points in 64 dimensions from SciPy (direction numbers of Joe & Kuo, SIAM J. Sci.
Comput. 30 (2008) 2635; scrambling of Matousek 1998), as whole 65536ths. They are kept in a file
because to import SciPy's generator takes longer than a decision.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from scipy.stats import qmc

TARGET = Path(__file__).resolve().parent.parent / "inksim" / "data" / "sobol.npy"
DIMENSIONS, LOG2_POINTS, SEED = 64, 9, 2026


def main() -> None:
    """Write the file."""
    points = qmc.Sobol(DIMENSIONS, bits=16, rng=np.random.default_rng(SEED)).random_base2(
        LOG2_POINTS
    )
    np.save(TARGET, np.floor(points * 65536.0).astype(np.uint16))
    print(f"{TARGET.name}: {points.shape[0]} points in {points.shape[1]} dimensions")


if __name__ == "__main__":
    main()
