"""Write inksim/data/chart_iso17321.npy: spectra of the 24 patches of ISO 17321-1.

Run ``python tools/make_chart_table.py``. The spectra are colour-science's copy of the standard's
table (BSD-3-Clause), at 5 nm, of which every second wavelength of 400-700 nm is taken.
tests/photo/test_charts.py compares the table with colour-science.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

TARGET = Path(__file__).resolve().parent.parent / "inksim" / "data" / "chart_iso17321.npy"


def spectra() -> tuple[list[str], np.ndarray]:
    """Names of the patches, row by row, and their reflectance (24, 31), 400-700 nm at 10 nm."""
    import colour

    table = colour.SDS_COLOURCHECKERS["ISO 17321-1"]
    nm = np.arange(400, 701, 10)
    return list(table), np.array([each[nm] for each in table.values()])


if __name__ == "__main__":
    np.save(TARGET, spectra()[1])
