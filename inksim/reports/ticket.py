"""Press ticket: screens in print order, ink, checks, cautions, room for the first reading.

Here it is put together and said in plain text; `ticket_sheet` prints it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inksim.calibration import row_of_build, to_csv
from inksim.common import InputError, counted, lab_words, unknown
from inksim.job import Alternative, GarmentAnswer, Job, JobAnswer, Plan, ink_per_print_g, run_ink_g
from inksim.optics import mesh_ratio
from inksim.printing import Layer, honest_words
from inksim.reports.cautions import CAUTIONS
from inksim.reports.job_report import cure_words, headline, way_words
from inksim.reports.text import table
from inksim.shop import Shop
from inksim.stock import Garment, Ink, Screen


@dataclass(frozen=True, kw_only=True, eq=False)
class Ticket:
    """Contents of a ticket. way: its number among the alternatives, from 1."""

    shop: str
    invented: bool
    job: Job
    answer: JobAnswer
    found: GarmentAnswer
    way: int
    chosen: Alternative
    checks: tuple[str, ...]
    made: date

    @property
    def title(self) -> str:
        """'Harvest regatta on Coal Black'; the garment once, if the job is named after it."""
        return on_garment(self.job.name, self.found.garment.name)

    @property
    def screens(self) -> tuple[PressScreen, ...]:
        """Every screen of the way, in print order."""
        return self.chosen.screens

    @property
    def names(self) -> list[str]:
        """The job's colors, in order, as screens count them."""
        return [colour.name for colour in self.job.colours]

    @property
    def outcome(self) -> str:
        """Expected outcome, in a sentence."""
        if self.way == self.found.chosen + 1:
            return headline(self.found)
        return f"Way {self.way}, chosen by hand: {way_words(self.chosen)}."

    @property
    def data_words(self) -> str:
        """Provenance of the data, and what it is good for."""
        return honest_words(self.chosen.data, calibrated=self.answer.calibrated)


def make_ticket(
    answer: JobAnswer, *, shop: Shop, garment: Garment, made: date, way: int | None = None
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
    InputError : a garment that is not in the job or cannot be printed, or no such way.
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
    return Ticket(
        shop=shop.name,
        invented=shop.invented or answer.job.invented,
        job=found.job,
        answer=answer,
        found=found,
        way=number,
        chosen=chosen,
        checks=_checks(shop, found, chosen),
        made=made,
    )


def _checks(
    shop: Shop,
    job: Job,
    found: GarmentAnswer,
    way: Alternative,
    screens: Sequence[TicketScreen],
) -> tuple[str, ...]:
    """What to check before the run; common practice, no source."""
    kinds = {s.ink.kind for s in screens}
    fibres = found.garment.fibres
    said = [
        "Garments are the lot that was predicted or read; count and sizes are right.",
        "Every mesh is the one written here; stencils are water-resistant and hardened.",
        "Screens stay flooded between prints; ink is at room temperature and stirred.",
    ]
    if "white-base" in kinds:
        said.append("White is dry to the touch after the flash, no more; the color goes on top.")
    if "discharge-base" in kinds:
        said.append(
            "The activator is mixed in today, by the data sheet's share; what is left over is not "
            "kept. The base goes wet on wet. A swatch of this lot has been discharged."
        )
    if fibres.get("polyester", 0.0) > 0:
        said.append(
            "Polyester: a print of this lot has rested for a day and the dye has not come through."
        )
    said += _tight_meshes(shop, job, screens)
    if not way.verdict.promised:
        said.append(
            "Not every color can be promised: the client has agreed to what is expected, or to a "
            "strike-off."
        )
    said += [
        "The first print on this very garment is read and written below before the run goes on.",
        "A cured print has been wash-tested.",
    ]
    return tuple(said)


def _tight_meshes(shop: Shop, job: Job, screens: Sequence[TicketScreen]) -> list[str]:
    """Warn of meshes with few threads for a halftone's lines."""
    if job.lines_per_inch <= 0:
        return []
    comfortable = shop.rules.comfortable_threads_per_line
    ratios = {
        s.ink.name: mesh_ratio(s.screen.threads_per_inch, lines_per_inch=job.lines_per_inch)
        for s in screens
        if s.choke_mm is None
    }
    tight = [f"{name} {ratio:.1f}" for name, ratio in ratios.items() if ratio < comfortable]
    if not tight:
        return []
    return [
        f"Threads per halftone line are below {comfortable:g} ({', '.join(tight)}): look for "
        "moiré on the first print."
    ]


def screen_rows(ticket: Ticket) -> list[list[str]]:
    """Rows of the screen table: number, ink, mesh, passes, then, amounts, choke, colors."""
    every = len(ticket.chosen.plans)
    return [
        [
            str(s.number),
            s.ink.name,
            f"{s.screen.threads_per_inch:.0f} /in ({s.screen.threads_per_cm:.0f} /cm)",
            f"×{s.passes}",
            "" if s.flash is None else "flash" if s.flash else "wet on wet",
            f"{s.print_g:.2f} g, {s.run_g / 1000:.2f} kg",
            "" if s.choke_mm is None else f"{s.choke_mm:g} mm",
            "all colors" if len(s.prints) == every > 1 else ", ".join(s.prints),
        ]
        for s in ticket.screens
    ]


def target_words(ticket: Ticket, plan: Plan) -> tuple[str, str, str]:
    """Target Lab, predicted Lab, and the verdict: its word, the ΔE00 to expect, its range."""
    said = plan.verdict
    target = plan.colour.target.lab(ticket.answer.viewing)
    expected = f"{said.word}, {said.median_de00:.1f} ({said.low:.1f}–{said.high:.1f})"
    return lab_words(target), lab_words(plan.prediction.lab), expected


def dryer_words(ticket: Ticket) -> str:
    """Cure window and water load of the dryer."""
    dryer = ticket.chosen.dryer
    return (
        f"{cure_words()}. More ink takes longer. {dryer.water_g:.1f} g of water leave each print, "
        f"{dryer.ink_water_g:.1f} g of it from the ink: moving air and extraction. With a low-cure "
        "additive wait 48 h before the first wash."
    )


def stations_words(ticket: Ticket) -> str:
    """Screens, flashes, stations and strokes."""
    way = ticket.chosen
    return (
        f"{counted(len(ticket.screens), 'screen')}, {counted(way.way.flashes, 'flash')}, "
        f"{way.stations} of {counted(ticket.job.press.stations, 'station')}; "
        f"{counted(way.way.strokes, 'stroke')} a print"
    )


READING_WORDS = (
    "Read the first print dry and cured, at three places. Type it into the table of readings that "
    "comes with this ticket, a row a place, and give that to 'inksim calibrate': three prints "
    "narrow every later prediction."
)
PLACES = 3
"""Places of a print to read [common practice, no source]."""


def readings_table(ticket: Ticket) -> str:
    """CSV for the first prints' readings: what is printed stands there, L, a, b are empty.

    A row a place, so that what was not read stays empty; `inksim calibrate` takes the mean.
    """
    viewing = ticket.answer.viewing
    rows = [
        row_of_build(
            plan.build,
            name=f"{plan.colour.name} on {plan.build.garment.name}",
            light=viewing.light,
            observer=viewing.observer,
            note=ticket.job.name,
        )
        for plan in ticket.chosen.plans
    ]
    return to_csv([row for row in rows for _ in range(PLACES)])


def ticket_text(ticket: Ticket) -> str:
    """The ticket as plain text."""
    job = ticket.job
    head = ["no", "ink", "mesh", "passes", "then", "a print, to have ready", "choke", "for"]
    readings = [
        [plan.colour.name, *target_words(ticket, plan), "______", "______", "______"]
        for plan in ticket.chosen.plans
    ]
    reading_head = ["first print", "target Lab", "predicted Lab", "expect ΔE00", "L*", "a*", "b*"]
    invented = " (INVENTED DATA)" if ticket.invented else ""
    lines = [
        f"PRESS TICKET{invented}",
        ticket.title,
        f"{ticket.shop}, {ticket.made.isoformat()}; {counted(job.quantity, 'print')}",
        "",
        ticket.outcome,
        ticket.data_words,
        "",
        table(head, screen_rows(ticket), left=3, left_last=True),
        stations_words(ticket) + ".",
        "",
        dryer_words(ticket),
        "",
        "Before the run (common practice):",
        *(f"  [ ] {check}" for check in ticket.checks),
        "",
        table(reading_head, readings),
        READING_WORDS,
        "Date ____________  Read by ____________  Garment lot ____________",
        "",
        "Cautions:",
        *(f"  - {caution}" for caution in CAUTIONS),
    ]
    return "\n".join(lines) + "\n"
