"""Charts, with true swatches: colors are passed as they are (`scale=None`)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from inksim.spectra import WAVELENGTHS_NM

DASHES = ([1, 0], [6, 3], [2, 2], [8, 3, 2, 3], [12, 4])


def spectrum_chart(spectra: Mapping[str, tuple[npt.NDArray[np.float64], str]]) -> Any:
    """Reflectance by wavelength, one line each: name → (reflectance (31,), hex of the line)."""
    import altair as alt
    import pandas as pd

    rows = pd.DataFrame(
        [
            {"nm": float(nm), "Reflectance, %": 100.0 * float(value), "line": name, "hex": code}
            for name, (values, code) in spectra.items()
            for nm, value in zip(WAVELENGTHS_NM, values, strict=True)
        ]
    )
    names = list(spectra)
    base = alt.Chart(rows).encode(
        x=alt.X("nm:Q", title="Wavelength, nm", scale=alt.Scale(domain=[400, 700], nice=False)),
        y=alt.Y("Reflectance, %:Q", scale=alt.Scale(domainMin=0)),
        strokeDash=alt.StrokeDash(
            "line:N",
            sort=names,
            scale=alt.Scale(domain=names, range=list(DASHES[: len(names)])),
            legend=alt.Legend(title=None, orient="top", labelLimit=260, symbolSize=400),
        ),
    )
    under = base.mark_line(strokeWidth=5, color="#1a1a1a")
    over = base.mark_line(strokeWidth=3).encode(
        color=alt.Color("hex:N", scale=None),
        tooltip=["line:N", "nm:Q", alt.Tooltip("Reflectance, %:Q", format=".1f")],
    )
    return (
        (under + over)
        .properties(height=320)
        .configure(background="transparent")
        .configure_axis(labelColor="#1a1a1a", titleColor="#1a1a1a", gridColor="#a9a9a9")
        .configure_legend(labelColor="#1a1a1a", symbolStrokeColor="#1a1a1a")
    )
