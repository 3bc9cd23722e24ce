"""Press ticket of a picture in halftones: its plates, and everything a ticket of flat art has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inksim.colour import Viewing, lab_from_hex
from inksim.common import ROUTE_WORDS, InputError, on_garment, sentence
from inksim.job import DryerLoad, InkUse, PressScreen
from inksim.preview import (
    AreaColour,
    PreparedArtwork,
    TonalReach,
    TonalResult,
    area_colours,
    build_look,
)
from inksim.printing import honest_words
from inksim.reports.cautions import cautions_for
from inksim.reports.job_report import bill_words, counts_words
from inksim.reports.ticket import BaseTicket, ToRead
from inksim.reports.ticket_checks import checks_for
from inksim.reports.ticket_picture import placed_on
from inksim.separation import PlateRun
from inksim.shop import Shop
from inksim.stock import Place


@dataclass(frozen=True, kw_only=True, eq=False)
class PictureTicket(BaseTicket):
    """The ticket of a set of tonal plates.

    name: on the ticket. areas: typical colors of it and what they print as.
    """

    name: str
    run: PlateRun
    reach: TonalReach
    areas: Sequence[AreaColour]
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
            f"{self.run.plates.garment.name}, halftones{where}: "
            f"{'' if self.reach.nominal else 'not all of this picture is in reach: '}"
            f"{1 - self.reach.out_of_reach:.0%} "
            f"of the picture can come within ΔE00 {self.reach.tolerance:g}, the mean is "
            f"{self.reach.mean:.1f}."
        )

    @property
    def told(self) -> list[str]:
        """What it costs, and warnings of the plates and of the print."""
        cost = [f"Cost: {bill_words(self.run.bill)}"] if self.run.bill.items else []
        said = (*self.reach.warnings, *self.run.plates.warnings)
        return [*cost, *dict.fromkeys(sentence(each.rstrip(".")) for each in said)]

    @property
    def data_words(self) -> str:
        """Provenance of the data, and what it is good for."""
        return honest_words(self.reach.data, calibrated=self.calibrated)

    @property
    def quantity(self) -> int:
        """Number of prints."""
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
        return counts_words(
            screens=len(self.screens),
            strokes=sum(screen.strokes for screen in self.screens),
            flashes=sum(bool(screen.flash) for screen in self.screens),
            stations=self.run.stations,
            own=self.run.press.stations,
        )

    @property
    def lines_per_inch(self) -> float:
        """Lines per inch of its halftones."""
        return self.run.plates.lines_per_inch

    @property
    def reading_words(self) -> str:
        """How the first print is read."""
        return (
            "Judge the first print dry and cured beside the picture. The colors are means of areas "
            "in halftones: no reading of them calibrates the press."
        )

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
                tolerance=self.reach.tolerance,
            )
            for area in self.areas
        ]


def make_picture_ticket(
    run: PlateRun,
    *,
    name: str,
    ready: PreparedArtwork,
    shown: TonalResult,
    shop: Shop,
    viewing: Viewing,
    made: date,
    place: Place = "front",
    top_mm: float | None = None,
) -> PictureTicket:
    """Write the press ticket of a tonal artwork, of the way that is proposed.

    Parameters
    ----------
    run : what that takes, see `tonal_run`. name: on the ticket. made: the day on it. place, top_mm:
        see `JobArtworkEntry`.

    Raises
    ------
    InputError : plates that the press cannot print.
    """
    garment, reach = shown.garment, shown.best.reach
    if run.barrier:
        raise InputError(f"no ticket for '{garment.name}': {run.barrier}.")
    low_cure = shop.dye_migrates(garment)
    cloth = build_look([], garment=garment, press=shop.press.values, viewing=viewing)
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
        cautions=cautions_for([garment], (s.ink for s in run.screens), low_cure=low_cure),
        low_cure=low_cure,
        made=made,
        viewing=viewing,
        costs=shop.costs,
        placed=placed_on(ready, shown.best.picture, cloth, place=place, top_mm=top_mm),
        name=name,
        run=run,
        reach=reach,
        areas=area_colours(ready, shown, shown.best, viewing),
        calibrated=shop.press.calibrated,
    )
