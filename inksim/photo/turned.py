"""Which way a chart lies between its four corners: of all turns, the one whose colors fit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from inksim.colour import D50, delta_e_2000, lab_from_xyz
from inksim.common import FloatArray
from inksim.photo.charts import Chart
from inksim.photo.geometry import Grid, Region
from inksim.photo.picture import Picture
from inksim.photo.sampling import Patch, sampled

MOST_MISFIT_DE00 = 15.0
"""Mean ΔE00 of a chart's patches by a plain 3 × 3 camera. Pictures of the right chart, shading and
a phone's tone curve in them, stay below 9; another chart's are above 19 [assumption]."""
NEAR = 1.25
"""Another way to lie that fits as well within this factor, and 1 ΔE00, is as likely."""
ENOUGH = 9
"""Patches from which a 3 × 3 camera can be fitted to tell ways apart; of fewer, lightness tells."""
_AS_GIVEN, _TURNED = (0, 1, 2, 3), (1, 2, 3, 0)
"""Which given corner is the chart's first, second, …: its rows along the one side or the other."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Placed:
    """A chart found in a picture: its grid, and its patches in the chart's order.

    as_given : whether its corners are in the order in which they were given.
    """

    grid: Grid
    patches: tuple[Patch, ...]
    as_given: bool
    misfit_de00: float

    @property
    def lies(self) -> str:
        """How it lies in the picture, in words."""
        corners = self.grid.corners
        along, down = corners[1] - corners[0], corners[3] - corners[0]
        mirrored = along[0] * down[1] - along[1] * down[0] < 0
        if abs(down[0]) > abs(down[1]):
            turn = "turned by a quarter"
        else:
            turn = "upside down" if down[1] < 0 else ""
        words = " and ".join(filter(None, ["mirrored" if mirrored else "", turn]))
        return words or "upright"


def place_chart(picture: Picture, chart: Chart, corners: FloatArray) -> Placed:
    """Sample a chart's patches between corners (4, 2), in whichever of eight ways it lies there.

    Raises
    ------
    InputError : in none of them it looks like the chart, or it does in two.
    """
    tried = list(_ways(picture, chart, corners))
    best = min(tried, key=lambda each: each.misfit_de00)
    if best.misfit_de00 > MOST_MISFIT_DE00:
        raise picture.fault(
            f"does not show chart '{chart.name}' between the four corners: at best its patches are "
            f"{best.misfit_de00:.0f} ΔE00 off; give the outer corners of its four corner patches, "
            "or name another chart."
        )
    near = [e for e in tried if e.misfit_de00 <= max(NEAR * best.misfit_de00, best.misfit_de00 + 1)]
    if tried[0] in near:
        return tried[0]
    other = next((each for each in near if not _same(each, best)), None)
    if other is not None:
        raise picture.fault(
            f"shows a chart that may be {best.lies} or {other.lies}: both fit the colors of "
            f"'{chart.name}'; give its corners from the first patch's corner on, along the first "
            "row."
        )
    return best


def _same(one: Placed, other: Placed) -> bool:
    """Whether two ways put every patch on the same place, as a mirrored single row does."""
    return all(
        np.allclose((a.seen.x, a.seen.y), (b.seen.x, b.seen.y), atol=0.002)
        for a, b in zip(one.patches, other.patches, strict=True)
    )


def _ways(picture: Picture, chart: Chart, corners: FloatArray) -> Iterator[Placed]:
    """The chart in each of eight ways, as given first; one patch alone has no way to lie."""
    for first in (_AS_GIVEN, _TURNED):
        grid = Grid(corners=corners[list(first)], rows=chart.rows, columns=chart.columns)
        cells = np.empty((chart.rows, chart.columns), dtype=object)
        for row, column in np.ndindex(cells.shape):
            region = Region(name=chart.name, outline=grid.patch(row, column))
            cells[row, column] = sampled(picture, region)
        for flipped in ((), (1,), (0,), (0, 1)):
            order = np.arange(4).reshape(2, 2)
            order[1] = order[1, ::-1]  # corners go round: as a grid, the last two are swapped
            order = np.flip(order, flipped)
            way = grid.corners[[order[0, 0], order[0, 1], order[1, 1], order[1, 0]]]
            patches = tuple(
                replace(each, seen=replace(each.seen, name=name))
                for name, each in zip(chart.names, np.flip(cells, flipped).flat, strict=True)
            )
            yield Placed(
                grid=replace(grid, corners=way),
                patches=patches,
                as_given=first == _AS_GIVEN and not flipped,
                misfit_de00=misfit_de00(np.array([each.seen.rgb for each in patches]), chart),
            )
            if len(chart.names) == 1:
                return


def misfit_de00(rgb: FloatArray, chart: Chart) -> float:
    """Mean ΔE00 between a chart and light (N, 3) through the best plain camera; 0 for one patch."""
    if len(rgb) < 2:
        return 0.0
    xyz = chart.xyz
    weight = 1.0 / np.maximum(xyz[:, 1:2], 2.0)
    if len(rgb) >= ENOUGH:
        matrix = np.linalg.lstsq(rgb * weight, xyz * weight, rcond=None)[0]
        return float(np.mean(delta_e_2000(chart.lab, _lab(rgb @ matrix))))
    green = rgb[:, 1]
    gain = float((green * weight[:, 0]) @ (xyz[:, 1] * weight[:, 0])) / max(
        float(np.sum((green * weight[:, 0]) ** 2)), 1e-12
    )
    greys = np.outer(green * gain / 100.0, D50.white)
    return float(np.mean(np.abs(chart.lab[:, 0] - _lab(greys)[:, 0])))


def _lab(xyz: FloatArray) -> FloatArray:
    return lab_from_xyz(np.maximum(xyz, 0.0), D50)
