"""What a press ticket says: rows of its tables, dryer, readings, and the whole as plain text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from inksim.calibration import note_of, row_of_build, to_csv
from inksim.colour import D50, Lamp
from inksim.common import MM_PER_INCH, PROGRAM, counted, lab_words
from inksim.job import PressScreen
from inksim.reports.job_report import cure_words
from inksim.reports.press_words import for_words, goes_words, then_words
from inksim.reports.text import table
from inksim.reports.ticket import BaseTicket, Ticket, ToRead
from inksim.separation import ANGLES

SCREEN_HEAD = ("no", "ink", "mesh", "strokes", "then", "a print", "choke", "for")
INK_HEAD = ("ink", "a print", "used up", "to have ready", "mixed in", "keeps")


def screen_rows(ticket: BaseTicket) -> list[tuple[str, list[list[str]]]]:
    """Of each run its title and its rows under `SCREEN_HEAD`, in print order."""
    runs = ticket.runs
    title = "Screens, in print order"
    return [
        (
            title if runs == 1 else f"{title}: run {run} of {runs}",
            [_screen_row(s, ticket.names) for s in ticket.screens if s.run == run],
        )
        for run in sorted({s.run for s in ticket.screens})
    ]


def _screen_row(s: PressScreen, names: Sequence[str]) -> list[str]:
    return [
        str(s.number),
        s.ink.name,
        f"{s.screen.threads_per_inch:.0f} /in ({s.screen.threads_per_cm:.0f} /cm)",
        goes_words(s),
        then_words(s),
        f"{s.print_g:.2f} g",
        "" if s.choke_mm is None else f"{s.choke_mm:g} mm",
        for_words(s, names),
    ]


def ink_rows(ticket: BaseTicket) -> list[list[str]]:
    """Rows under `INK_HEAD`, an ink each.

    Used up is what is printed, wasted, and lost in the screens; to have ready is that and what
    keeps every screen of it flooded, most of which goes back into the bucket.
    """
    rows = []
    for use in ticket.inks:
        asked = use.handling
        rows.append(
            [
                use.name,
                f"{use.print_g:.2f} g",
                f"{use.run_g / 1000:.2f} kg",
                f"{use.ready_g / 1000:.2f} kg",
                f"{use.additive_g:.0f} g {asked.additive}" if asked.additive else "",
                f"{asked.pot_life_hours:g} h" if asked.additive and asked.pot_life_hours else "",
            ]
        )
    return rows


def flood_words(ticket: BaseTicket) -> str:
    """How much of what to have ready is the flood."""
    costs = ticket.costs
    return (
        f"Used up: printed on {counted(ticket.quantity, 'garment')}, {costs.waste_share:.0%} "
        f"spoiled or wiped off, and {costs.ink_left_g_per_screen:.0f} g lost in each screen. To "
        f"have ready: that, and the rest of {costs.flood_g_per_screen:.0f} g that keep a screen "
        "flooded and go back into the bucket. What is mixed in is part of it."
    )


def stored_words(ticket: BaseTicket) -> list[str]:
    """What is in each stored mix, and what to weigh in where too little of it is left.

    'Moss is a stored mix: 185.4 g Orchard Green, …; 120 g of it are noted as left, 166 g less than
    to have ready: weigh in …'.
    """
    mixes = {screen.ink.name: screen.ink for screen in ticket.screens if screen.ink.parts}
    said = []
    for use in ticket.inks:
        if use.name not in mixes:
            continue
        mix = mixes[use.name]
        parts = dict(mix.parts or {})
        ready = use.handling.parts_g(use.ready_g)[0]
        words = f"{use.name} is a stored mix: {_weighed(parts)}"
        if mix.left_g is None:
            said.append(f"{words}. What is left of it is not noted.")
            continue
        words += f"; {mix.left_g:g} g of it are noted as left"
        lacking = ready - mix.left_g
        if lacking > 0:
            more = {name: g * lacking / sum(parts.values()) for name, g in parts.items()}
            words += f", {lacking:.0f} g less than to have ready: weigh in {_weighed(more)}"
        said.append(f"{words}.")
    return said


def _weighed(parts: Mapping[str, float]) -> str:
    return ", ".join(f"{grams:.1f} g {name}" for name, grams in parts.items())


def size_words(ticket: BaseTicket) -> str:
    """'11.0 × 6.2 in (280 × 157 mm), on the back, …'; without an artwork the printed area alone."""
    if ticket.placed is None:
        return f"printed area {ticket.area_cm2:.0f} cm²"
    placed = ticket.placed
    wide, high = placed.width_mm, placed.height_mm
    unfit = f". Drawn without a shirt: {placed.unfit}" if placed.unfit else ""
    return (
        f"{wide / MM_PER_INCH:.1f} × {high / MM_PER_INCH:.1f} in ({wide:.0f} × {high:.0f} mm), "
        f"{placed.lies}, printed area {ticket.area_cm2:.0f} cm²{unfit}"
    )


def press_words(ticket: BaseTicket) -> str:
    """Screens, strokes, flashes and stations; choke of a base; lines and angles of halftones."""
    chokes = {s.choke_mm for s in ticket.screens if s.choke_mm is not None}
    choke = f" Base choked by {chokes.pop():g} mm under its colors." if chokes else ""
    return f"{ticket.counts}.{choke}{_halftone_words(ticket)}"


def _halftone_words(ticket: BaseTicket) -> str:
    if ticket.lines_per_inch <= 0:
        return ""
    lines = f" Halftones of {ticket.lines_per_inch:g} lines/in"
    if len(ticket.screens) > len(ANGLES):
        return f"{lines}; it has more plates than usual angles ({len(ANGLES)}): set them by hand."
    pairs = zip(ticket.screens, ANGLES, strict=False)
    turned = ", ".join(f"{screen.number}: {angle:g}°" for screen, angle in pairs)
    return f"{lines}, at {turned}, if the plates were not screened at others."


class Reading(NamedTuple):
    """Words of one color to read: target Lab, predicted Lab, what to expect, and what passes."""

    target: str
    predicted: str
    expected: str
    passes: str


def reading_of(each: ToRead) -> Reading:
    """The words of one color's row."""
    return Reading(
        target=lab_words(each.lab_asked),
        predicted=lab_words(each.lab_printed),
        expected=each.expected,
        passes=f"≤ {each.tolerance:g}",
    )


def dryer_words(ticket: BaseTicket) -> str:
    """What the whole film has to reach, and the water load of the dryer."""
    dryer = ticket.dryer
    return (
        f"{cure_words(ticket.cure, low_cure=ticket.low_cure)} More ink takes longer. "
        f"{dryer.water_g:.1f} g of water leave each print, {dryer.ink_water_g:.1f} g of it from "
        "the ink: moving air and extraction."
    )


PLACES = 3
"""Places of a print to read [common practice, no source]."""


def readings_table(ticket: Ticket, *, proof: int | None = None) -> str:
    """CSV for the first prints' readings: what is printed stands there, L, a, b are empty.

    proof: number of the proof that promised these prints, which the readings score.

    A row a place, so that what was not read stays empty; `inksim calibrate` takes the mean. That of
    invented data says so in its first line, which is passed over when it is read.
    """
    viewing = ticket.answer.viewing
    # An instrument knows no lamp of a shop's: what it lists is for the booth's standard light.
    stated = D50 if isinstance(viewing.light, Lamp) else viewing
    rows = [
        row_of_build(
            plan.build,
            name=f"{plan.called} on {plan.build.garment.name}",
            light=stated.light,
            observer=stated.observer,
            note=note_of(proof or "", ticket.job.name),
        )
        for plan in ticket.chosen.printed
    ]
    table = to_csv([row for row in rows for _ in range(PLACES)])
    if ticket.invented:
        table = f"# INVENTED: the data of {ticket.shop} are made up; prints are not.\n{table}"
    return table


def ticket_text(ticket: BaseTicket) -> str:
    """The ticket as plain text."""
    reading_head = [
        "first print", "target Lab", "predicted Lab", "expect ΔE00", "L*", "a*", "b*", "ΔE00",
        "pass", "fail",
    ]  # fmt: skip
    readings = []
    for each in ticket.to_read:
        words = reading_of(each)
        readings.append(
            [each.name, *words[:3], *["______"] * 3, f"____ {words.passes}", "[ ]", "[ ]"]
        )
    invented = " (INVENTED DATA)" if ticket.invented else ""
    lines = [
        f"PRESS TICKET{invented}",
        ticket.title,
        f"{ticket.shop}, {ticket.made.isoformat()}; {counted(ticket.quantity, 'print')}, "
        f"{size_words(ticket)}",
        "",
        ticket.outcome,
        *ticket.told,
        ticket.data_words,
        "",
        "Cautions:",
        *(f"  - {caution}" for caution in ticket.cautions),
        "",
        *(
            f"{title}:\n{table(SCREEN_HEAD, rows, left=3, left_last=True)}\n"
            for title, rows in screen_rows(ticket)
        ),
        press_words(ticket),
        "",
        table(INK_HEAD, ink_rows(ticket)),
        flood_words(ticket),
        *stored_words(ticket),
        "",
        dryer_words(ticket),
        "",
        "Before the run (common practice):",
        *(f"  [ ] {check}" for check in ticket.checks),
        "",
        table(reading_head, readings),
        ticket.reading_words,
        "Date ____________  Read by ____________  Garment lot ____________",
        f"{PROGRAM}.",
    ]
    return "\n".join(lines) + "\n"
