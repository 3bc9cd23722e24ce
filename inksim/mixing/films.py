"""Films whose ink is open: what a build, or a drawdown, looks like with any mixture on top.

A film knows an ink by k and s times its thickness alone. So a mixture is handed over as k and s per
unit of *wet* ink, which are linear in the wet volume shares, and its solids, on which the contact
of a first film with the cloth depends.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.decision import BuildSpace
from inksim.printing import BuildTable, lower, mean_reflectance
from inksim.stock import PressValues

NODES, COARSE_NODES = 8, 2
"""Quadrature nodes of a print, as `printing.swatch` has them, and of a first look at many."""
COARSE_EVERY = 2
"""Of the 31 bands, of a first look."""


class Films(Protocol):
    """Films on which a mixture is looked for."""

    @property
    def every(self) -> int:
        """Step of the bands it works on: 1 for all, 2 for every second."""
        ...

    def reflectance(
        self, which: IndexArray, k: FloatArray, s: FloatArray, *, solids: FloatArray
    ) -> FloatArray:
        """External reflectance (P, bands) of P mixtures, each on one of the films.

        which (P,): films. k, s (P, bands): per unit of wet ink; solids (P,) by volume.
        """
        ...

    def by_solids(self, which: IndexArray) -> bool:
        """Whether solids show in some of these films beside k and s."""
        ...


@dataclass(frozen=True, kw_only=True, eq=False)
class PrintedFilms:
    """N builds on a press, their top film open. table: of the builds with any ink on top."""

    table: BuildTable
    press: PressValues
    nodes: int = NODES
    every: int = 1

    @property
    def based(self) -> BoolArray:
        """Mask (N,) of the builds with a film under the top one."""
        if self.table.solids.shape[1] == 1:
            return np.zeros(len(self.table.solids), dtype=np.bool_)
        return np.asarray(self.table.ink_volume_um[:, 1] > 0)

    def by_solids(self, which: IndexArray) -> bool:
        """True on bare cloth: a film that lies on others is known by k and s alone."""
        return not bool(self.based[which].all())

    def coarse(self) -> PrintedFilms:
        """The films for a first, rough search: every other band, few nodes."""
        cut = {f: getattr(self.table, f)[..., ::COARSE_EVERY]
               for f in ("K", "S", "cloth_ks", "discharged_ks")}  # fmt: skip
        return replace(
            self, table=replace(self.table, **cut), nodes=COARSE_NODES, every=COARSE_EVERY
        )

    def fewer(self, nodes: int) -> PrintedFilms:
        """The films with another number of quadrature nodes."""
        return replace(self, nodes=nodes)

    def reflectance(
        self, which: IndexArray, k: FloatArray, s: FloatArray, *, solids: FloatArray
    ) -> FloatArray:
        """External reflectance of mixtures on some of the builds: see `Films.reflectance`."""
        based = self.based[which]
        made = np.empty_like(k)
        for layers, mask in ((1, ~based), (2, based)):
            if not mask.any():
                continue
            part = self.table.take(which[mask])
            top = layers - 1
            cut = {f: np.array(getattr(part, f)[:, :layers])
                   for f in ("ink_volume_um", "passes", "solids", "flash", "K", "S")}  # fmt: skip
            cut["K"][:, top] = k[mask] / solids[mask, None]
            cut["S"][:, top] = s[mask] / solids[mask, None]
            cut["solids"][:, top] = solids[mask]
            slabs = lower(replace(part, **cut), self.press)
            made[mask] = mean_reflectance(slabs, nodes=self.nodes)
        return made


def printed_films(space: BuildSpace, *, press: PressValues) -> PrintedFilms:
    """The builds of a space, the ink on top open."""
    return PrintedFilms(table=space.table(), press=press)
