"""A screen: mesh geometry and theoretical ink volume from thread count and thread diameter."""

from __future__ import annotations

from dataclasses import dataclass

from inksim.common import CM_PER_INCH, InputError
from inksim.stock.ranges import Positive, ThreadUm

FABRIC_PER_THREAD = 1.55
"""Fabric thickness over thread diameter, plain weave under tension: 1.5–1.6 [weavers' tables]."""


@dataclass(frozen=True, kw_only=True)
class Screen:
    """One stretched mesh.

    Parameters
    ----------
    name : what the shop calls it.
    threads_per_cm, thread_um : the two numbers on the label; 4 to 200 threads/cm.
    opening_um, fabric_um, ink_volume_cm3_m2 : the weaver's own figures where known; each overrides
        the value worked out from the label (figures for one label differ by a quarter). In µm, µm
        and cm³/m².

    Raises
    ------
    InputError : a mesh that leaves no opening.
    """

    name: str
    threads_per_cm: float
    thread_um: ThreadUm
    opening_um: Positive | None = None
    fabric_um: Positive | None = None
    ink_volume_cm3_m2: Positive | None = None
    source: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse a mesh that leaves no opening."""
        if not 4 <= self.threads_per_cm <= 200:
            raise InputError(
                f"screen '{self.name}': threads_per_cm is {self.threads_per_cm:g}; "
                "meshes run from 4 to 200 threads/cm (10 to 508 threads/inch)."
            )
        pitch = 10_000.0 / self.threads_per_cm
        if not 0 < self.thread_um < pitch:
            raise InputError(
                f"screen '{self.name}': thread_um is {self.thread_um:g}, but at "
                f"{self.threads_per_cm:g} threads/cm a thread must be thinner than {pitch:.0f} µm."
            )
        for field in ("opening_um", "fabric_um", "ink_volume_cm3_m2"):
            value = getattr(self, field)
            if value is not None and value <= 0:
                raise InputError(f"screen '{self.name}': {field} is {value:g}; it must be above 0.")
        if self.opening_um is not None and self.opening_um >= pitch:
            raise InputError(
                f"screen '{self.name}': opening_um is {self.opening_um:g}; it must be less than "
                f"the {pitch:.0f} µm from thread to thread."
            )

    @property
    def threads_per_inch(self) -> float:
        """Thread count per inch, as the trade states it."""
        return self.threads_per_cm * CM_PER_INCH

    @property
    def words(self) -> str:
        """'230 threads/in (91/cm)'."""
        return f"{self.threads_per_inch:.0f} threads/in ({self.threads_per_cm:.0f}/cm)"

    @property
    def pitch_um(self) -> float:
        """Thread pitch, 10 000 / n."""
        return 10_000.0 / self.threads_per_cm

    @property
    def mesh_opening_um(self) -> float:
        """Width of an opening, w = pitch − d unless the weaver gives the relaxed width."""
        return self.opening_um if self.opening_um is not None else self.pitch_um - self.thread_um

    @property
    def open_area(self) -> float:
        """Share of the mesh that is open, (w / pitch)²."""
        return (self.mesh_opening_um / self.pitch_um) ** 2

    @property
    def thickness_um(self) -> float:
        """Fabric thickness D."""
        return self.fabric_um if self.fabric_um is not None else FABRIC_PER_THREAD * self.thread_um

    @property
    def volume_cm3_m2(self) -> float:
        """Theoretical ink volume, open area × fabric thickness (cm³/m² = µm)."""
        if self.ink_volume_cm3_m2 is not None:
            return self.ink_volume_cm3_m2
        return self.open_area * self.thickness_um
