"""Press ticket of a picture in halftones: its plates, and everything a ticket of flat art has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inksim.colour import Viewing, lab_from_hex
from inksim.common import ROUTE_WORDS, InputError, counted, on_garment
from inksim.job import DryerLoad, InkUse, PressScreen
from inksim.preview import AreaColour, PreparedArtwork, TonalReach
from inksim.printing import honest_words
from inksim.reports.cautions import cautions_for
from inksim.reports.ticket import BaseTicket, Placed, ToRead
from inksim.reports.ticket_checks import checks_for
from inksim.separation import PlateRun
from inksim.shop import Shop


@dataclass(frozen=True, kw_only=True, eq=False)
class PictureTicket(BaseTicket):
    """The ticket of a set of tonal plates.

    name: of the artwork. areas: typical colors of it and what they print as; tolerance: of those.
    """

    name: str
    run: PlateRun
    reach: TonalReach
    areas: Sequence[AreaColour]
    tolerance: float
    calibrated: bool

    @property
    def title(self) -> str:
        """'river-morning on Coal Black'."""
        return on_garment(self.name, self.run.plates.garment.name)

    @property
    def outcome(self) -> str:
        """How near the print comes to the picture."""
        route = self.run.plates.route
        where = f" {ROUTE_WORDS[route]}" if route else ""
        return (
            f"{self.run.plates.garment.name}, halftones{where}: {1 - self.reach.out_of_reach:.0%} "
            f"of the picture can come within ΔE00 {self.reach.tolerance:g}, the mean is "
            f"{self.reach.mean:.1f}."
        )

    @property
    def told(self) -> list[str]:
        """Warnings of the plates and of the print."""
        return list(dict.fromkeys((*self.reach.warnings, *self.run.plates.warnings)))

    @property
    def data_words(self) -> str:
        """Provenance of the data, and what it is good for."""
        return honest_words(self.reach.data, calibrated=self.calibrated)

    @property
    def quantity(self) -> int:
        """Prints."""
        return self.run.quantity

    @property
    def area_cm2(self) -> float:
        """Sum of what the plates of the colors print, each dot by itself."""
        return sum(plate.area_cm2 for plate in self.run.plates.plates if not plate.is_base)

    @property
    def screens(self) -> tuple[PressScreen, ...]:
        """Every plate in print order."""
        return self.run.screens

    @property
    def names(self) -> list[str]:
        """The plates' inks: a screen is the color of its ink."""
        return [plate.ink.name for plate in self.run.plates.plates]

    @property
    def inks(self) -> tuple[InkUse, ...]:
        """Every ink in print order."""
        return self.run.inks

    @property
    def cure(self) -> tuple[float, float]:
        """°C and s that the whole film has to hold."""
        return self.run.cure

    @property
    def dryer(self) -> DryerLoad:
        """Load of the dryer."""
        return self.run.dryer

    @property
    def counts(self) -> str:
        """Screens, strokes, flashes and stations."""
        strokes = sum(screen.strokes for screen in self.screens)
        flashes = sum(bool(screen.flash) for screen in self.screens)
        return (
            f"{counted(len(self.screens), 'screen')}, {counted(strokes, 'stroke')} and "
            f"{counted(flashes, 'flash')} a print, {self.run.stations} of "
            f"{counted(self.run.press.stations, 'station')}"
        )

    @property
    def lines_per_inch(self) -> float:
        """Of its halftones."""
        return self.run.plates.lines_per_inch

    @property
    def to_read(self) -> list[ToRead]:
        """Typical colors of the picture: means of areas, to be judged rather than calibrated by."""
        return [
            ToRead(
                name=f"{area.share:.0%} of the print",
                hex_asked=area.asked,
                hex_printed=area.printed,
                lab_asked=lab_from_hex(area.asked, self.viewing),
                lab_printed=lab_from_hex(area.printed, self.viewing),
                expected=f"about {area.delta_e_2000:.1f}",
                tolerance=self.tolerance,
            )
            for area in self.areas
        ]


def make_picture_ticket(
    run: PlateRun,
    *,
    ready: PreparedArtwork,
    reach: TonalReach,
    areas: Sequence[AreaColour],
    placed: Placed,
    shop: Shop,
    viewing: Viewing,
    made: date,
) -> PictureTicket:
    """Write the press ticket of a picture in halftones.

    Parameters
    ----------
    run : of its plates. reach: how near they come to the picture. areas: see `area_colours`.
    placed : the print in place. made: the day on the ticket.

    Raises
    ------
    InputError : plates that the press cannot print.
    """
    garment = run.plates.garment
    if run.barrier:
        raise InputError(f"no ticket for '{garment.name}': {run.barrier}.")
    low_cure = shop.dye_migrates(garment)
    return PictureTicket(
        shop=shop.name,
        invented=shop.invented,
        checks=checks_for(
            run.screens,
            shop=shop,
            garment=garment,
            lines_per_inch=run.plates.lines_per_inch,
            promised=reach.nominal,
        ),
        cautions=cautions_for(
            [garment], (screen.ink for screen in run.screens), low_cure=low_cure
        ),
        low_cure=low_cure,
        made=made,
        viewing=viewing,
        costs=shop.costs,
        placed=placed,
        name=ready.name,
        run=run,
        reach=reach,
        areas=areas,
        tolerance=reach.tolerance,
        calibrated=shop.press.calibrated,
    )
