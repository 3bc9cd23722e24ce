"""A job: colors with areas, garments, quantities, press, costs."""

from __future__ import annotations

from dataclasses import dataclass, replace

from inksim.job.schema import Preference
from inksim.printing import Route
from inksim.shop import CostsEntry, StationsEntry
from inksim.stock import Garment, Ink, Target

MM2_PER_CM2 = 100.0


@dataclass(frozen=True, kw_only=True, eq=False)
class JobColour:
    """One color to print: target, printed area on one print, tolerance (ΔE00).

    ink, route: by hand; None where the decision chooses.
    """

    name: str
    target: Target
    ink: Ink | None
    area_cm2: float
    tolerance: float
    route: Route | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class Job:
    """A job, checked against its shop.

    lines_per_inch: of a halftone, 0 for solid areas. cloth_m2: cloth of one garment, for the dryer.
    base_choke_mm: choke of a base under its colors. press, costs: the shop's, or the job's own.
    quantities: prints on each garment. prefer: criterion among ways of about the same chance.
    merge, keep_apart, client, reference: see `JobEntry`. notes: assumptions on the artwork.
    halftone_inks: by hand, of tonal artwork, in print order; none where they are chosen for it.
    """

    name: str
    invented: bool
    note: str
    garments: tuple[Garment, ...]
    quantities: tuple[int, ...]
    colours: tuple[JobColour, ...]
    press: StationsEntry
    lines_per_inch: float
    cloth_m2: float
    base_choke_mm: float
    prints_per_hour: float | None
    costs: CostsEntry
    prefer: Preference
    merge: bool = True
    keep_apart: tuple[str, ...] = ()
    client: str = ""
    reference: str = ""
    notes: tuple[str, ...] = ()
    halftone_inks: tuple[Ink, ...] = ()

    @property
    def quantity(self) -> int:
        """Prints in all."""
        return sum(self.quantities)

    def on(self, garment: Garment) -> Job:
        """The part of the job on one of its garments."""
        at = next(n for n, each in enumerate(self.garments) if each.name == garment.name)
        return replace(self, garments=(garment,), quantities=(self.quantities[at],))

    @property
    def area_cm2(self) -> float:
        """Printed area of one print."""
        return sum(colour.area_cm2 for colour in self.colours)
