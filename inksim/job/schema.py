"""Schema of a job's text file: fields, units and limits."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, TypeAdapter, field_validator, model_validator

from inksim.artwork import KEEP
from inksim.printing import Route
from inksim.shop import CostsEntry, Entry, Hex, Lab, Name, NotNegative, StationsEntry
from inksim.stock import Place

Preference = Literal["work", "cost", "softness", "chance"]
# Wider than anything that is printed: beyond these a number is in another unit or has a typo.
AreaCm2 = Annotated[float, Field(ge=0.01, le=40_000)]
WidthMm = Annotated[float, Field(ge=1, le=5000)]
ClothM2 = Annotated[float, Field(ge=0.01, le=20)]
ChokeMm = Annotated[float, Field(ge=0, le=20)]
PrintsPerHour = Annotated[float, Field(ge=1, le=20_000)]
Tolerance = Annotated[float, Field(gt=0, le=100)]
Count = Annotated[int, Field(ge=1, le=1_000_000)]
_COUNT: TypeAdapter[int] = TypeAdapter(Count, config={"strict": True})
CLOTH_M2 = 0.9
"""Usual cloth of one shirt."""
BASE_CHOKE_MM = 0.4
"""Usual choke of a base under its colors, 0.3 to 0.5 (common practice, no source)."""


class JobColourEntry(Entry):
    """A color of the job: what it should be, printed area and ink.

    Exactly one of target (a target of the shop, #rrggbb, or L,a,b under D50), and, as in a palette,
    hex or lab (D50/2°). ink, route: chosen if not given.
    """

    target: Annotated[str, Field(min_length=1)] | None = None
    hex: Hex | None = None
    lab: Lab | None = None
    name: Name | None = None
    ink: Name | None = None
    route: Route | None = None
    area_cm2: AreaCm2
    tolerance_de00: Tolerance | None = None

    @model_validator(mode="after")
    def _one_colour(self) -> JobColourEntry:
        given = [f for f in ("target", "hex", "lab") if getattr(self, f) is not None]
        if len(given) != 1:
            found = " and ".join(given) if given else "none"
            raise ValueError(f"give exactly one of target, hex or lab; it has {found}")
        return self


class JobArtworkEntry(Entry):
    """An artwork instead of a list of colors; the path is relative to the job's file.

    width_mm: of the print; from the file's resolution if not given. place: on the shirt; top_mm:
    below the collar, or above the hem of the sleeve, the usual if not given. background: 'keep',
    'auto' or '#rrggbb', see `artwork.without_background`. By hex code of a flat: inks, an ink's
    name or 'none', which leaves it unprinted (an ink is chosen for each flat not named); routes;
    tolerances, ΔE00. halftone_inks: of tonal artwork, in print order; chosen for it if not given.
    """

    file: Annotated[str, Field(min_length=1)]
    width_mm: WidthMm | None = None
    place: Place = "front"
    top_mm: Annotated[float, Field(ge=0, le=1000)] | None = None
    background: Annotated[str, Field(max_length=40)] = KEEP
    inks: dict[str, str] = Field(default_factory=dict)
    routes: dict[str, Route] = Field(default_factory=dict)
    tolerances: dict[str, Tolerance] = Field(default_factory=dict)
    halftone_inks: list[Name] = Field(default_factory=list)


class JobEntry(Entry):
    """JOB.toml.

    client, reference: free text. again_of: the kept job that it is a reorder of.
    base_choke_mm: choke of a base under its colors.
    press, costs: what this job has otherwise than the shop; a field left out is the shop's.
    quantity: of each garment, or a table of them by name. prefer: criterion among ways of about
    the same chance: least work (screens, flashes, strokes), as for a color by itself, least cost,
    the softest hand (least dry film), or the best chance alone. merge: whether colors that the
    press has no screens for may be printed as their neighbors; else the job takes two runs.
    keep_apart: colors that are not merged in any case.
    """

    name: Name
    client: Annotated[str, Field(max_length=200)] = ""
    reference: Annotated[str, Field(max_length=200)] = ""
    again_of: str = ""
    invented: bool = False
    note: str = ""
    garments: Annotated[list[Name], Field(min_length=1)]
    quantity: Count | dict[Name, Count]
    tolerance_de00: Tolerance | None = None
    lines_per_inch: NotNegative = 0.0
    cloth_m2_per_garment: ClothM2 = CLOTH_M2
    base_choke_mm: ChokeMm = BASE_CHOKE_MM
    prints_per_hour: PrintsPerHour | None = None
    press: StationsEntry | None = None
    color: list[JobColourEntry] = Field(default_factory=list)
    artwork: JobArtworkEntry | None = None
    costs: CostsEntry | None = None
    prefer: Preference = "work"
    merge: bool = True
    keep_apart: list[Name] = Field(default_factory=list)

    @property
    def whose(self) -> str:
        """'Weir Mill, PO 12': client and reference; '' where neither is said."""
        return ", ".join(each for each in (self.client, self.reference) if each)

    @field_validator("quantity", mode="before")
    @classmethod
    def _plain_quantity(cls, value: Any) -> Any:
        """A table is checked as one, anything else as a number: one fault, not both."""
        if isinstance(value, dict):
            return {name: _COUNT.validate_python(each) for name, each in value.items()}
        return _COUNT.validate_python(value)

    @model_validator(mode="after")
    def _one_picture(self) -> JobEntry:
        if bool(self.color) == (self.artwork is not None):
            found = "both" if self.color else "neither"
            raise ValueError(
                f"give a list of [[color]] or an [artwork], one of them; it has {found}"
            )
        return self
