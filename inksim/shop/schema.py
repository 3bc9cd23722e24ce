"""Schema of a shop's text files: what each field may hold."""

from __future__ import annotations

from dataclasses import MISSING, fields
from typing import Annotated, Any, Literal, get_type_hints

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    create_model,
    model_validator,
)

from inksim.colour import BANDS
from inksim.common import FloatArray
from inksim.shop.migration import FORMAT
from inksim.shop.spelling import spelled
from inksim.shop.words import asked
from inksim.stock import (
    MOST_OFF_DE00,
    PHOTO,
    Garment,
    Grade,
    LabNoise,
    Mesh,
    Money,
    Passes,
    Positive,
    Provenance,
    Screen,
    Share,
    SpectralError,
    noise_fault,
)

NotNegative = Annotated[float, Field(ge=0)]
Minutes = Annotated[float, Field(ge=0, le=1440)]
Seconds = Annotated[float, Field(ge=0, le=3600)]
Bucket = Annotated[float, Field(ge=10, le=250_000)]
Reflectances = Annotated[
    list[Annotated[float, Field(ge=1e-4, le=1)]],
    Field(min_length=BANDS, max_length=BANDS),
]
Lab = Annotated[
    tuple[
        Annotated[float, Field(ge=0, le=100)],
        Annotated[float, Field(ge=-150, le=150)],
        Annotated[float, Field(ge=-150, le=150)],
    ],
    Field(strict=False),  # a TOML array is a list
]
OffDe00 = Annotated[float, Field(gt=0, le=MOST_OFF_DE00)]
Hex = Annotated[str, Field(pattern=r"^#?([0-9a-fA-F]{3}|[0-9a-fA-F]{6})$")]


def _plain_name(name: str) -> str:
    if name != name.strip() or not name.isprintable():
        raise ValueError("a name has no line breaks or control characters, nor spaces at its ends")
    return name


Name = Annotated[str, Field(min_length=1, max_length=60), AfterValidator(_plain_name)]


class Entry(BaseModel):
    """A table of a shop's file; an unknown field is a fault, never ignored.

    Neither is a value of another type taken for what it might mean: true is not 1, "0.3" not 0.3.
    """

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, allow_inf_nan=False, defer_build=True
    )


class NamedEntry(Entry):
    """Fields of every entry."""

    name: Name
    source: str = ""
    note: str = ""

    _spelled = model_validator(mode="before")(staticmethod(spelled))


def entry_of(noun: type, base: type[Entry] = NamedEntry) -> type[Entry]:
    """Derive an entry from a noun of the stock: its fields, types, ranges and defaults.

    Spectra are left out, for a file gives them in more than one way, which the entry states itself;
    and so is what is worked out.
    """
    hints = get_type_hints(noun, include_extras=True)
    shared: dict[str, Any] = {
        field.name: (hints[field.name], ... if field.default is MISSING else field.default)
        for field in fields(noun)
        if field.name not in base.model_fields
        and hints[field.name]
        not in (
            FloatArray,
            FloatArray | None,
            SpectralError | None,
            LabNoise | None,
            tuple[str, ...],
        )
    }
    return create_model(noun.__name__, __base__=base, **shared)


class ReadEntry(Entry):
    """What a Lab that was read by photo states of its noise, mean ΔE00: see `stock.LabNoise`."""

    lab: Lab | None = None
    sd_de00: OffDe00 | None = None
    shared_de00: OffDe00 | None = None
    picture: Annotated[str, Field(max_length=200)] = ""

    @property
    def noise(self) -> LabNoise | None:
        """The noise; None where the color states none."""
        if self.sd_de00 is None:
            return None
        return LabNoise(self.sd_de00, self.shared_de00 or 0.0, self.picture)

    @model_validator(mode="after")
    def _noise(self) -> ReadEntry:
        if fault := noise_fault(self.sd_de00, self.shared_de00, self.picture):
            raise ValueError(fault)
        if self.sd_de00 is not None and self.lab is None:
            raise ValueError("sd_de00 is the noise of a lab; give that, or take sd_de00 out")
        return self


def photo_fault(entry: ReadEntry, data: str | None) -> str | None:
    """What is wrong with data and noise of an entry with a Lab, in a clause; None if nothing is."""
    if (data == PHOTO) != (entry.sd_de00 is not None):
        return "data = 'photo' and sd_de00 belong together, with a lab that was read by photo"
    return None


class ColourEntry(ReadEntry, NamedEntry):
    """Something with a color, known as a spectrum, as Lab (D50/2°) or as hex: exactly one."""

    reflectance: Reflectances | None = None
    hex: Hex | None = None
    data: Provenance | None = None

    @model_validator(mode="after")
    def _one_colour(self) -> ColourEntry:
        given = [f for f in ("reflectance", "lab", "hex") if getattr(self, f) is not None]
        if len(given) != 1:
            found = " and ".join(given) if given else "none"
            raise ValueError(f"give exactly one of reflectance, lab or hex; it has {found}")
        if fault := photo_fault(self, self.data):
            raise ValueError(fault)
        return self


class TargetEntry(ColourEntry):
    """A color a client asks for."""


class ClothEntry(ColourEntry):
    """An undyed or discharged cloth that garments refer to by name."""


class GarmentEntry(entry_of(Garment, ColourEntry)):  # type: ignore[misc]
    """A garment of the stock; undyed and discharged are names of cloths."""

    undyed: Name | None = None
    discharged: Name | None = None


class ScreenEntry(entry_of(Screen)):  # type: ignore[misc]
    """A screen; thread count in either unit."""

    threads_per_inch: Mesh | None = None
    threads_per_cm: Positive | None = None

    @model_validator(mode="after")
    def _one_count(self) -> ScreenEntry:
        if (self.threads_per_inch is None) == (self.threads_per_cm is None):
            raise ValueError("give threads_per_inch or threads_per_cm, one of them")
        return self


class HabitsEntry(Entry):
    """What this shop usually does; each is common practice, no source."""

    straight_threads_per_inch: Positive = asked(160, "Mesh straight on the cloth", "threads/in")
    straight_passes: Passes = asked(2, "Passes straight on the cloth")
    over_base_threads_per_inch: Positive = asked(230, "Mesh of a color over a base", "threads/in")
    over_base_passes: Passes = asked(1, "Passes of a color over a base")
    white_base_threads_per_inch: Positive = asked(110, "Mesh of a white base", "threads/in")
    white_base_passes: Passes = asked(1, "Passes of a white base")
    white_base_flash: bool = asked(True, "A white base is flashed")
    discharge_base_threads_per_inch: Positive = asked(125, "Mesh of a discharge base", "threads/in")
    discharge_base_passes: Passes = asked(1, "Passes of a discharge base")
    discharge_base_flash: bool = asked(False, "A discharge base is flashed")
    tolerance_de00: Positive = asked(3.0, "A color lands within", "ΔE00")
    source: str = ""


class StationsEntry(Entry):
    """How many screens and flashes fit on the press; a usual manual press if not stated.

    flash_takes_station: whether a flash unit stands on a station that then prints nothing.
    """

    stations: Annotated[int, Field(ge=1, le=24)] = asked(6, "Stations for screens and flashes")
    flashes: Annotated[int, Field(ge=0, le=8)] = asked(1, "Flash units")
    flash_takes_station: bool = asked(True, "A flash unit takes a station of its own")
    source: str = ""

    def taken(self, *, screens: Any, flashes: Any) -> Any:
        """Stations that screens and flash units take together: numbers or arrays (N,)."""
        return screens + flashes * int(self.flash_takes_station)

    def fits(self, *, screens: Any, flashes: Any, runs: int = 1) -> Any:
        """Whether there are stations and flash units enough in so many runs, likewise."""
        taken = self.taken(screens=screens, flashes=flashes)
        return (taken <= self.stations * runs) & (flashes <= self.flashes * runs)


RuleName = Literal[
    "screen suits ink",
    "passes suit ink",
    "mesh on bare cloth",
    "passes of the color",
    "mesh of the base",
    "passes of the base",
    "mesh of a white",
    "white base is flashed",
    "discharge is printed wet on wet",
    "threads per halftone line",
    "discharge needs cellulose",
    "dye discharges",
    "there is dye to take out",
    "the cloth is a color too",
    "a dark color needs no base",
    "a hue is not printed in white",
    "a base has something to cover",
    "polyester needs a base that blocks its dye",
    "a base that blocks dye is kept for polyester",
    "an ink stands the discharge",
    "few inks in a mix",
    "a part can be weighed",
    "pigment keeps its binder",
]


class RulesEntry(Entry):
    """rules.toml: the numbers in the trade's rules, and which rules this shop does not keep.

    What each rule asks, and why, stands in `inksim.decision.trade_rules`.
    """

    not_kept: list[RuleName] = []
    coarsest_on_cloth_threads_per_inch: Positive = asked(
        155, "Coarsest mesh on bare cloth", "threads/in"
    )
    finest_on_cloth_threads_per_inch: Positive = asked(
        332, "Finest mesh on bare cloth", "threads/in"
    )
    most_passes_on_cloth: Passes = asked(2, "Most passes of a color on bare cloth")
    most_passes_over_base: Passes = asked(1, "Most passes of a color over a base")
    coarsest_base_threads_per_inch: Positive = asked(105, "Coarsest mesh of a base", "threads/in")
    finest_base_threads_per_inch: Positive = asked(165, "Finest mesh of a base", "threads/in")
    most_passes_white_base: Passes = asked(2, "Most passes of a white base")
    most_passes_discharge_base: Passes = asked(1, "Most passes of a discharge base")
    least_cellulose_share: Share = asked(
        0.5, "Least cotton and other cellulose for a discharge", "%"
    )
    least_discharge_grade: Grade = asked(3, "Least discharge grade, of 5")
    least_dye_de00: NotNegative = asked(
        3.0, "Least change of the cloth that a discharge is worth", "ΔE00"
    )
    least_to_cover_de00: NotNegative = asked(
        8.0, "Least distance of the cloth from white that a white base is worth", "ΔE00"
    )
    hue_chroma: NotNegative = asked(20.0, "Chroma C* from which a color gets no white ink")
    dark_color_lightness: Annotated[float, Field(ge=0, le=100)] = asked(
        30.0, "Lightness L* up to which a color darker than the cloth needs no base"
    )
    polyester_share_for_blocking: Share = asked(
        0.5, "Polyester in dyed cloth from which a base has to block its dye", "%"
    )
    light_before_dark: bool = asked(True, "Light colors are printed before dark ones")
    least_line_on_knit_mm: Annotated[float, Field(ge=0, le=5)] = asked(
        0.3, "Narrowest line that holds on knit cloth, through any mesh", "mm"
    )
    least_threads_per_line: NotNegative = asked(3.5, "Least threads for a line of a halftone")
    comfortable_threads_per_line: NotNegative = asked(
        4.5, "Comfortable threads for a line of a halftone"
    )
    most_lines_per_inch: Positive = asked(55, "Most lines of a halftone", "lines/in")
    most_total_coverage: Annotated[float, Field(ge=1, le=6)] = asked(
        3.0, "Most ink of a halftone, in solids of its colors on each other"
    )
    most_inks_in_mix: Annotated[int, Field(ge=1, le=6)] = asked(4, "Most inks in a mix")
    least_part_g: Annotated[float, Field(ge=0.001, le=1000)] = asked(
        1.0, "Least part of a mix", "g"
    )
    scale_step_g: Annotated[float, Field(ge=0.001, le=100)] = asked(
        0.1, "Step of the scale that inks are weighed on", "g"
    )
    least_chance_gain: Share = asked(0.15, "Least chance of landing a costlier way adds", "%")
    source: str = ""

    def dye_migrates(self, *, polyester_share: Any, de00_from_white: Any) -> Any:
        """Whether a cloth's dye is one that migrates into a print: numbers or arrays (N,)."""
        dyed = de00_from_white >= self.least_to_cover_de00
        return dyed & (polyester_share >= self.polyester_share_for_blocking)

    @model_validator(mode="after")
    def _ranges(self) -> RulesEntry:
        for where in ("on_cloth", "base"):
            low = getattr(self, f"coarsest_{where}_threads_per_inch")
            high = getattr(self, f"finest_{where}_threads_per_inch")
            if low > high:
                raise ValueError(
                    f"coarsest_{where}_threads_per_inch is {low:g}, above the finest, {high:g}"
                )
        return self


class CostsEntry(Entry):
    """costs.toml: what things cost here. What is missing is left out of the sum, and said.

    Money is in `currency`. Ink prices stand with the inks. waste_share: prints spoiled and ink
    wiped off, as a share of what is needed. flood_g_per_screen: to have ready besides what is laid
    down, and mostly scooped back; ink_left_g_per_screen: what is not. dryer_efficiency: share of
    the dryer's energy that heats shirts and drives off water. bucket_g: sizes that ink is bought
    in, one to four of them; 1 and 5 kg if not given (common practice, no source).
    """

    currency: Annotated[str, Field(min_length=1, max_length=8)] = asked("USD", "Currency")
    screen_making: Money | None = asked(
        None, "Making a screen: film, emulsion, exposing, reclaiming", "money"
    )
    setup_minutes_per_screen: Minutes | None = asked(
        None, "Setting a screen up and cleaning it", "min"
    )
    labor_per_hour: Money | None = asked(None, "Labor", "money/h")
    seconds_per_garment: Seconds | None = asked(None, "Loading and unloading a garment", "s")
    seconds_per_pass: Seconds | None = asked(None, "A pass", "s")
    seconds_per_flash: Seconds | None = asked(None, "A flash", "s")
    energy_per_kwh: Money | None = asked(None, "Energy", "money/kWh")
    dryer_efficiency: Annotated[float, Field(ge=0.01, le=1)] = asked(
        0.3, "Share of the dryer's energy that reaches the shirts", "%"
    )
    waste_share: Annotated[float, Field(ge=0, le=0.9)] = asked(
        0.05, "Spoiled prints and ink wiped off", "%"
    )
    flood_g_per_screen: Annotated[float, Field(ge=0, le=10_000)] = asked(
        200.0, "Ink in a screen that keeps it flooded, 150 to 300", "g"
    )
    ink_left_g_per_screen: Annotated[float, Field(ge=0, le=10_000)] = asked(
        80.0, "Of that, ink lost in the screen and on its tools", "g"
    )
    bucket_g: Annotated[list[Bucket], Field(min_length=1, max_length=4)] = [1000.0, 5000.0]
    source: str = ""

    @property
    def kept_in_screen_g(self) -> float:
        """Ink to have ready for one screen besides what is laid down: flooded, or lost, the more.

        What is lost in the screen and on its tools is part of what keeps it flooded.
        """
        return max(self.flood_g_per_screen, self.ink_left_g_per_screen)


class AboutEntry(Entry):
    """shop.toml."""

    name: Name
    scenario: str = ""
    invented: bool = False
    format: Annotated[int, Field(ge=1, le=FORMAT)] = 1


class GarmentFile(Entry):
    """garments.toml."""

    cloth: list[ClothEntry] = []
    garment: list[GarmentEntry] = []


class ScreenFile(Entry):
    """screens.toml."""

    screen: list[ScreenEntry] = []


class TargetFile(Entry):
    """targets.toml and palette.toml."""

    target: list[TargetEntry] = []
