"""Schema of inks.toml: an ink by its K and S or by its look, how it covers, and its solids."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from inksim.colour import BANDS
from inksim.shop.schema import (
    Entry,
    Hex,
    NamedEntry,
    ReadEntry,
    Reflectances,
    entry_of,
    photo_fault,
)
from inksim.stock import Covers, Density, Ink, Provenance, Solids

FilmUm = Annotated[float, Field(ge=0.05, le=5000)]
Coefficients = Annotated[
    list[Annotated[float, Field(ge=0, le=1e5)]],
    Field(min_length=BANDS, max_length=BANDS),
]
FAINTEST = 1e-9
"""Per µm: an ink whose K and S stay below it in all bands is not there."""
LOOKS = ("reflectance", "lab", "hex")
NOISE = ("sd_de00", "shared_de00", "picture")
OPACITIES = ("over_black", "contrast_ratio", "covers")
SOLIDS = ("solids_by_volume", "solids_by_weight")
"""Fields of an ink that say one thing: at most one of each is given."""


LogSd = Annotated[float, Field(ge=0, le=5)]
_Pattern = Annotated[
    list[Annotated[float, Field(ge=-5, le=5)]], Field(min_length=BANDS, max_length=BANDS)
]


class SpectralErrorEntry(Entry):
    """How far an ink's K and S may be off: see `stock.SpectralError`.

    K, S: sd of ln K and ln S common to all bands; shapes: pairs of 31 steps of ln K and of ln S.
    """

    K: LogSd
    S: LogSd
    shapes: list[Annotated[list[_Pattern], Field(min_length=2, max_length=2)]] = []  # noqa: RUF012


class LookEntry(ReadEntry):
    """How a film looks: exactly one of a spectrum, Lab (D50/2°, with its noise, or not) and hex."""

    reflectance: Reflectances | None = None
    hex: Hex | None = None

    @model_validator(mode="after")
    def _one_look(self) -> LookEntry:
        if sum(getattr(self, look) is not None for look in LOOKS) != 1:
            raise ValueError("give exactly one of reflectance, lab or hex")
        return self


class _InkEntry(ReadEntry, NamedEntry):
    """Fields of every ink."""


class InkEntry(entry_of(Ink, _InkEntry)):  # type: ignore[misc]
    """An ink: K and S per µm, or the look of a film of it over white, and how it covers.

    The look is one of `LOOKS`, a Lab with its noise where data is 'photo'; the opacity at most one
    of `OPACITIES`, and the solids of `SOLIDS`: what is not given is assumed by kind, which widens
    what is predicted of it.
    contrast_film_um: dry film that has the contrast ratio, if not film_um, which has the look.
    dry_density_g_cm3, volatile_density_g_cm3: of the dry film, or of what evaporates (water if
    neither is given), to make solids by weight and density_g_cm3 solids by volume.
    """

    K: Coefficients | None = None
    S: Coefficients | None = None
    reflectance: Reflectances | None = None
    hex: Hex | None = None
    film_um: FilmUm | None = None
    over_black: LookEntry | None = None
    contrast_ratio: Annotated[float, Field(gt=0, lt=1)] | None = None
    contrast_film_um: FilmUm | None = None
    covers: Covers | None = None
    solids_by_volume: Solids | None = None
    solids_by_weight: Solids | None = None
    dry_density_g_cm3: Density | None = None
    volatile_density_g_cm3: Density | None = None
    data: Provenance | None = None
    error: SpectralErrorEntry | None = None

    @model_validator(mode="after")
    def _one_description(self) -> InkEntry:
        spectra = self.K is not None and self.S is not None
        looks = sum(getattr(self, look) is not None for look in LOOKS)
        if (self.K is None) != (self.S is None):
            raise ValueError("K and S belong together; give both")
        if spectra + looks != 1:
            raise ValueError("give K and S, or one of reflectance, lab or hex")
        if self.K is not None and self.S is not None and max(*self.K, *self.S) < FAINTEST:
            raise ValueError("K and S are 0 in all bands, so that it would print nothing")
        if self.K is None and (fault := photo_fault(self, self.data)):
            raise ValueError(fault)
        if self.error is not None and self.K is None:
            raise ValueError("error belongs to K and S; a color has its own by its kind")
        return self

    @model_validator(mode="after")
    def _one_opacity(self) -> InkEntry:
        given = [f for f in OPACITIES if getattr(self, f) is not None]
        if given and self.K is not None:
            raise ValueError(f"K and S say how it covers; take out {given[0]}")
        if len(given) > 1:
            raise ValueError(f"give its opacity once; it has {' and '.join(given)}")
        if self.contrast_film_um is not None and self.contrast_ratio is None:
            raise ValueError("contrast_film_um is the film of a contrast_ratio; give that too")
        if self.solids_by_volume is not None and self.solids_by_weight is not None:
            raise ValueError("give solids_by_volume or solids_by_weight, one of them")
        return self

    @model_validator(mode="after")
    def _stored(self) -> InkEntry:
        if self.left_g is not None and self.parts is None:
            raise ValueError("left_g is what is left of a mix; give its parts too")
        if self.parts is not None and (len(self.parts) < 2 or not all(self.parts.values())):
            raise ValueError("parts are the inks of a mix, two or more, each with its grams")
        if self.parts is not None and self.K is None:
            raise ValueError("a mix with parts has K and S; store it with 'inksim mix --store'")
        return self

    @model_validator(mode="after")
    def _blocking(self) -> InkEntry:
        if self.blocks_dye and self.kind != "white-base":
            raise ValueError("blocks_dye is said of a white base, kind = 'white-base'")
        return self

    @model_validator(mode="after")
    def _meshes(self) -> InkEntry:
        if self.coarsest_threads_per_inch > self.finest_threads_per_inch:
            raise ValueError(
                f"coarsest_threads_per_inch is {self.coarsest_threads_per_inch:g}, above the "
                f"finest, {self.finest_threads_per_inch:g}"
            )
        return self


class InkFile(Entry):
    """inks.toml."""

    ink: list[InkEntry] = []  # noqa: RUF012
