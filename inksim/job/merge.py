"""Colors that share a screen because the press has too few: which are merged, by least damage.

The damage of printing one color as another is the ΔE00 between the two targets times the smaller of
the two areas, the one that comes out wrong [assumption: harm grows with difference and area].
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from inksim.colour import delta_e_2000
from inksim.common import FloatArray

Groups = tuple[tuple[int, ...], ...]
"""Colors by index; of each group the first is the one that the others are printed as."""


def mergings(
    standards: FloatArray, areas: Sequence[float], *, apart: Sequence[int]
) -> Iterator[Groups]:
    """Groups of colors, at each step one fewer, merged by least damage; first those of one each.

    Parameters
    ----------
    standards (C, 3) : Lab of the targets. areas (C,): of each on the print.
    apart : colors that are never merged.
    """
    groups: list[tuple[int, ...]] = [(at,) for at in range(len(areas))]
    off = np.stack([delta_e_2000(standard, standards) for standard in standards])
    off = (off + off.T) / 2.0
    kept = set(apart)
    while True:
        yield tuple(sorted(groups))
        best: tuple[float, int, int] | None = None
        for i, one in enumerate(groups):
            for j, two in enumerate(groups):
                if i == j or kept & {*one, *two}:
                    continue
                # the larger area keeps its color
                if sum(areas[c] for c in one) < sum(areas[c] for c in two):
                    continue
                damage = sum(off[one[0], c] * areas[c] for c in two)
                if best is None or damage < best[0]:
                    best = (damage, i, j)
        if best is None:
            return
        _, i, j = best
        joined = (*groups[i], *groups[j])
        groups = [g for at, g in enumerate(groups) if at not in (i, j)] + [joined]
