"""Press ticket of a decided job: whose it is, which way is printed, what to check before the run.

`ticket_words` says it, `ticket_sheet` prints it. What is printed is the way's screens, no others.
"""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import dataclass
from datetime import date

from inksim.colour import Viewing
from inksim.common import FloatArray, InputError, Uint8Array, on_garment, unknown
from inksim.decision import Verdict
from inksim.job import (
    Alternative,
    DryerLoad,
    GarmentAnswer,
    InkUse,
    Job,
    JobAnswer,
    PressScreen,
    told,
)
from inksim.printing import honest_words
from inksim.reports.cautions import cautions_for
from inksim.reports.job_report import outcome, way_counts
from inksim.reports.pdf import not_spelled
from inksim.reports.ticket_checks import checks_for
from inksim.shop import CostsEntry, Shop
from inksim.stock import Garment

READING_WORDS = (
    "Read the first print dry and cured, at three places. Type it into the table of readings that "
    "comes with this ticket, a row a place, and give that to 'inksim calibrate': three prints "
    "narrow every later prediction."
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Placed:
    """The print as it sits on the garment: uint8 (h, w, 3), its size in mm, and where.

    lies: 'on the back, 90 mm below the collar'. unfit: why it is drawn without a shirt, or ''.
    """

    picture: Uint8Array
    width_mm: float
    height_mm: float
    lies: str
    unfit: str = ""


@dataclass(frozen=True, kw_only=True, eq=False)
class ToRead:
    """One color to read on the first print, and the ΔE00 within which it passes.

    lab_asked, lab_printed (3,): target and prediction. expected: the verdict on it in words.
    """

    name: str
    hex_asked: str
    hex_printed: str
    lab_asked: FloatArray
    lab_printed: FloatArray
    expected: str
    tolerance: float


@dataclass(frozen=True, kw_only=True, eq=False)
class BaseTicket:
    """What every ticket says. checks: before the run. placed: None where there is no artwork.

    low_cure: the cloth's dye migrates, so every ink is cured low.
    """

    shop: str
    invented: bool
    checks: tuple[str, ...]
    cautions: tuple[str, ...]
    low_cure: bool
    made: date
    viewing: Viewing
    costs: CostsEntry
    placed: Placed | None = None

    @property
    @abstractmethod
    def title(self) -> str:
        """What is printed on what."""

    @property
    @abstractmethod
    def outcome(self) -> str:
        """Expected outcome, in a sentence."""

    @property
    @abstractmethod
    def told(self) -> list[str]:
        """What else has to be known."""

    @property
    @abstractmethod
    def data_words(self) -> str:
        """Provenance of the data, and what it is good for."""

    @property
    @abstractmethod
    def quantity(self) -> int:
        """Number of prints."""

    @property
    @abstractmethod
    def area_cm2(self) -> float:
        """Printed area of one print."""

    @property
    @abstractmethod
    def screens(self) -> tuple[PressScreen, ...]:
        """Every screen in print order."""

    @property
    @abstractmethod
    def names(self) -> list[str]:
        """The colors, as screens count them."""

    @property
    @abstractmethod
    def inks(self) -> tuple[InkUse, ...]:
        """Every ink in print order."""

    @property
    @abstractmethod
    def cure(self) -> tuple[float, float]:
        """°C and s that the whole film has to hold."""

    @property
    @abstractmethod
    def dryer(self) -> DryerLoad:
        """Load of the dryer."""

    @property
    @abstractmethod
    def counts(self) -> str:
        """Screens, strokes, flashes and stations."""

    @property
    @abstractmethod
    def lines_per_inch(self) -> float:
        """Lines per inch of halftones; 0 where all is solid."""

    @property
    @abstractmethod
    def to_read(self) -> list[ToRead]:
        """The colors to read on the first print."""

    @property
    @abstractmethod
    def reading_words(self) -> str:
        """How the first print's colors are read."""

    @property
    def not_spelled(self) -> str:
        """What of its names the sheet's font cannot write, in a sentence; '' where it has all."""
        inks = (use.name for use in self.inks)
        return not_spelled([self.title, self.shop, *self.names, *inks])

    @property
    def runs(self) -> int:
        """Times that a shirt is loaded."""
        return max(screen.run for screen in self.screens)


@dataclass(frozen=True, kw_only=True, eq=False)
class Ticket(BaseTicket):
    """The ticket of a job. way: its number among the alternatives, from 1."""

    job: Job
    answer: JobAnswer
    found: GarmentAnswer
    way: int
    chosen: Alternative

    @property
    def title(self) -> str:
        """'Harvest regatta on Coal Black'; the garment once, if the job is named after it."""
        return on_garment(self.job.name, self.found.garment.name)

    @property
    def outcome(self) -> str:
        """Expected outcome, in a sentence."""
        return outcome(self.found, self.way)

    @property
    def told(self) -> list[str]:
        """Colors left bare or merged, a second run."""
        return told(self.found, self.chosen)

    @property
    def data_words(self) -> str:
        """Provenance of the data, and what it is good for."""
        return honest_words(self.chosen.data, calibrated=self.answer.calibrated)

    @property
    def quantity(self) -> int:
        """Prints on this garment."""
        return self.job.quantity

    @property
    def area_cm2(self) -> float:
        """Printed area of one print."""
        return sum(plan.colour.area_cm2 for plan in self.chosen.printed)

    @property
    def screens(self) -> tuple[PressScreen, ...]:
        """Every screen of the way, in print order."""
        return self.chosen.screens

    @property
    def names(self) -> list[str]:
        """The job's colors."""
        return [colour.name for colour in self.job.colours]

    @property
    def inks(self) -> tuple[InkUse, ...]:
        """Every ink of the way."""
        return self.chosen.inks

    @property
    def cure(self) -> tuple[float, float]:
        """°C and s that the whole film has to hold."""
        assert self.chosen.cure is not None  # something is printed
        return self.chosen.cure

    @property
    def dryer(self) -> DryerLoad:
        """Load of the dryer."""
        return self.chosen.dryer

    @property
    def counts(self) -> str:
        """Screens, strokes, flashes and stations of the way."""
        return way_counts(self.found, self.chosen)

    @property
    def lines_per_inch(self) -> float:
        """Lines per inch of the job's halftones."""
        return self.job.lines_per_inch

    @property
    def reading_words(self) -> str:
        """How the first print is read."""
        return READING_WORDS

    @property
    def to_read(self) -> list[ToRead]:
        """The printed colors."""
        return [
            ToRead(
                name=plan.called,
                hex_asked=plan.colour.target.hex(self.viewing)[0],
                hex_printed=plan.prediction.hex,
                lab_asked=plan.colour.target.lab(self.viewing),
                lab_printed=plan.prediction.lab,
                expected=_expected(plan.verdict),
                tolerance=plan.colour.tolerance,
            )
            for plan in self.chosen.printed
        ]


def _expected(said: Verdict) -> str:
    return f"{said.word}, {said.median_de00:.1f} ({said.low:.1f}–{said.high:.1f})"


def make_ticket(
    answer: JobAnswer,
    *,
    shop: Shop,
    garment: Garment,
    made: date,
    way: int | None = None,
) -> Ticket:
    """Write the press ticket of a decided job, for one of its garments.

    Parameters
    ----------
    answer : what `decide_job` gave.
    shop : the shop that it was decided for.
    garment : one of the job's.
    made : the day on the ticket.
    way : number of the way to print, from 1; the one decided for if not given.

    Raises
    ------
    InputError : a garment that is not in the job or cannot be printed, nothing to print on it, or
        no such way.
    """
    found = next((each for each in answer.garments if each.garment.name == garment.name), None)
    if found is None:
        raise unknown(
            garment.name,
            [each.garment.name for each in answer.garments],
            what="garment",
            where="in the job",
        )
    if found.best is None:
        raise InputError(f"no ticket for '{found.garment.name}': {found.barrier}.")
    number = found.chosen + 1 if way is None else way
    if not 1 <= number <= len(found.alternatives):
        raise InputError(
            f"there is no way {number} on '{found.garment.name}'; it has 1 to "
            f"{len(found.alternatives)}, see 'inksim advise'."
        )
    chosen = found.alternatives[number - 1]
    if not chosen.screens:
        raise InputError(
            f"no ticket for '{found.garment.name}': nothing is printed, the cloth itself is every "
            "color."
        )
    low_cure = shop.dye_migrates(found.garment)
    inks = {each.ink.name: each.ink for each in chosen.screens}
    return Ticket(
        shop=shop.name,
        invented=shop.invented or answer.job.invented,
        job=found.job,
        answer=answer,
        found=found,
        way=number,
        chosen=chosen,
        checks=checks_for(
            chosen.screens,
            shop=shop,
            garment=found.garment,
            lines_per_inch=found.job.lines_per_inch,
            promised=chosen.verdict.promised,
        ),
        cautions=cautions_for([found.garment], inks.values(), low_cure=low_cure),
        low_cure=low_cure,
        made=made,
        viewing=answer.viewing,
        costs=found.job.costs,
    )
