"""Press ticket of a decided job: whose it is, which way is printed, what to check before the run.

`ticket_words` says it, `ticket_sheet` prints it. What is printed is the way's screens, no others.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inksim.common import InputError, Uint8Array, on_garment, unknown
from inksim.job import Alternative, GarmentAnswer, Job, JobAnswer, Plan, PressScreen, told
from inksim.optics import mesh_ratio
from inksim.printing import honest_words
from inksim.reports.cautions import cautions_for
from inksim.reports.job_report import outcome
from inksim.shop import Shop
from inksim.stock import Garment


@dataclass(frozen=True, kw_only=True, eq=False)
class Placed:
    """The print as it sits on the garment: uint8 (h, w, 3), and its size in mm."""

    picture: Uint8Array
    width_mm: float
    height_mm: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Ticket:
    """Contents of a ticket. way: its number among the alternatives, from 1.

    low_cure: the cloth's dye migrates, so every ink is cured low. placed: see `placed_print`; None
    for a job without an artwork.
    """

    shop: str
    invented: bool
    job: Job
    answer: JobAnswer
    found: GarmentAnswer
    way: int
    chosen: Alternative
    checks: tuple[str, ...]
    cautions: tuple[str, ...]
    low_cure: bool
    made: date
    placed: Placed | None = None

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
        return outcome(self.found, self.way)

    @property
    def told(self) -> list[str]:
        """What else has to be known: colors left bare or merged, a second run."""
        return told(self.found, self.chosen)

    @property
    def printed(self) -> tuple[Plan, ...]:
        """The colors to read on the first print."""
        return self.chosen.printed

    @property
    def data_words(self) -> str:
        """Provenance of the data, and what it is good for."""
        return honest_words(self.chosen.data, calibrated=self.answer.calibrated)


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
        checks=_checks(shop, found, chosen),
        cautions=cautions_for([found.garment], inks.values(), low_cure=low_cure),
        low_cure=low_cure,
        made=made,
    )


def _checks(shop: Shop, found: GarmentAnswer, way: Alternative) -> tuple[str, ...]:
    """What to check before the run; common practice, no source."""
    kinds = {s.ink.kind for s in way.screens}
    said = [
        "Garments are the lot that was predicted or read; count and sizes are right.",
        "Every mesh is the one written here; stencils are water-resistant and hardened.",
        "Screens stay flooded between prints; ink is at room temperature and stirred.",
    ]
    if any(s.flash for s in way.screens):
        said.append(
            "A flashed film is dry to the touch, no more, and has cooled before the next screen."
        )
    if "discharge-base" in kinds:
        said.append(
            "The activator is mixed in today, by the data sheet's share; what is left over is not "
            "kept. The base goes wet on wet. A swatch of this lot has been discharged."
        )
    if found.garment.polyester > 0:
        said.append(
            "Polyester: a print of this lot has rested for a day and the dye has not come through."
        )
    if way.way.runs > 1:
        said.append("Every shirt of the first run is cured, cool and flat before the second.")
    said += _tight_meshes(shop, found.job, way)
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


def _tight_meshes(shop: Shop, job: Job, way: Alternative) -> list[str]:
    """Warn of meshes with few threads for a halftone's lines."""
    if job.lines_per_inch <= 0:
        return []
    comfortable = shop.rules.comfortable_threads_per_line
    ratios = {
        s.ink.name: mesh_ratio(s.screen.threads_per_inch, lines_per_inch=job.lines_per_inch)
        for s in way.screens
        if not s.base
    }
    tight = [f"{name} {ratio:.1f}" for name, ratio in ratios.items() if ratio < comfortable]
    if not tight:
        return []
    return [
        f"Threads per halftone line are below {comfortable:g} ({', '.join(tight)}): look for "
        "moiré on the first print."
    ]
