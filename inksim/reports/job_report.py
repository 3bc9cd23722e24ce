"""Job report: the decision as text and JSON."""

from __future__ import annotations

from typing import Any

from inksim.common import ROUTE_SHORT, ROUTE_WORDS, counted, counted_routes, sentence
from inksim.decision import SHAPES, WORK_OF_FLASH, WORK_OF_SCREEN, WORK_OF_STROKE
from inksim.job import (
    Alternative,
    Bill,
    ColourReasons,
    GarmentAnswer,
    JobAnswer,
    told,
    way_words,
)
from inksim.printing import Build, honest_words
from inksim.reports.cautions import CAUTIONS, MIGRATION
from inksim.reports.job_chart import cost_axis
from inksim.reports.json_documents import document
from inksim.reports.press_words import screen_lines
from inksim.reports.recipes_report import instead_words
from inksim.reports.text import table
from inksim.shop import Shop
from inksim.stock import LOW_CURE_WAIT_HOURS, USUAL, least_sure

ROUTE_LEGEND = (
    "Colors in order: B left bare, S straight, D over a discharge base, W over a white base."
)
MOST_NAMED = 6
"""Colors named one by one in a headline."""
NO_SUCH_BASE = "; this way has no such base"
Said = dict[str, tuple[ColourReasons, ...]]
"""Reasons by garment."""


def headline(found: GarmentAnswer) -> str:
    """The outcome on one garment, in a sentence."""
    best = found.best
    name = found.garment.name
    if best is None:
        return f"{name}: cannot be printed. {sentence(found.barrier)}"
    if not best.printed:
        return f"{name}: nothing is printed; the cloth itself is every color."
    return f"{name}, {_bases(best)}: {way_words(best)}."


def in_a_sentence(found: GarmentAnswer) -> str:
    """The outcome without numbers: 'Coal Black, over 'Chalk White Base': cannot promise.'"""
    best = found.best
    if best is None or not best.printed:
        return headline(found)
    return f"{found.garment.name}, {_bases(best)}: {best.verdict.word}."


def in_a_word(found: GarmentAnswer) -> str:
    """'◐ over a white base, should land', for a line about the job."""
    best = found.best
    if best is None:
        return "✕ cannot be printed"
    if not best.printed:
        return "✕ nothing is printed"
    way = counted_routes([plan.build.lies for plan in best.plans])
    return f"{SHAPES[best.verdict.word]} {way}, {best.verdict.word}"


def outcome(found: GarmentAnswer, number: int) -> str:
    """The outcome of any of its ways, by number from 1: the one decided, or one chosen by hand."""
    if not found.alternatives or number == found.chosen + 1:
        return headline(found)
    way = found.alternatives[number - 1]
    return f"{found.garment.name}, way {number}, chosen by hand: {way_words(way)}."


def _bases(way: Alternative) -> str:
    """Which colors go over which base, and which are left bare."""
    groups: dict[str, list[str]] = {}
    for plan in way.plans:
        top = plan.build.top
        named = plan.colour.name if top is not None and top.ink.is_base else plan.called
        groups.setdefault(_where(plan.build), []).append(named)
    if list(groups) == [ROUTE_SHORT["straight"]]:
        return ROUTE_WORDS["straight"]
    if len(groups) == 1:
        return next(iter(groups))
    most = len(way.plans) > MOST_NAMED
    return "; ".join(
        f"{counted(len(names), 'color') if most else ', '.join(names)} {where}"
        for where, names in groups.items()
    )


def _where(build: Build) -> str:
    """'over 'Chalk White Base''; of a base that is the color itself, that."""
    if build.lies == "in-white":
        return f"in the white of '{build.colour.ink.name}'"
    if build.lies == "discharged":
        return ROUTE_WORDS[build.lies]
    return f"over '{build.base.ink.name}'" if build.base else ROUTE_SHORT[build.route]


def job_text(answer: JobAnswer, said: Said, *, shop: Shop) -> str:
    """Outcome, then each color of the way to take, what the run needs, and the other ways."""
    job = answer.job
    invented = " (invented)" if job.invented else ""
    lines = [
        f"{job.name}{invented}: {counted(job.quantity, 'print')}, "
        f"{counted(len(job.colours), 'color')}",
        "",
    ]
    if len(answer.garments) > 1:
        each = (f"{f.garment.name} {f.job.quantity}" for f in answer.garments)
        lines += [f"Prints by garment: {', '.join(each)}.", ""]
    lines += [headline(found) for found in answer.garments]
    for found in answer.garments:
        if found.best is not None:
            lines += ["", *_garment_lines(answer, found, said.get(found.garment.name, ()), shop)]
    if len(answer.garments) > 1 and answer.bill is not None and answer.bill.items:
        lines += [
            "",
            f"The whole job, screens shared by garments counted once: {bill_words(answer.bill)}",
        ]
    lines += ["", *(f"note: {note}" for note in (*job.notes, *_missing(answer)))]
    data = {f.best.data for f in answer.garments if f.best}
    if data:
        lines.append(honest_words(least_sure(*data), calibrated=answer.calibrated))
    if any(found.best and found.garment.polyester > 0 for found in answer.garments):
        lines.append(MIGRATION)
    lines.append(CAUTIONS[-1])
    return "\n".join(lines)


def _missing(answer: JobAnswer) -> list[str]:
    """Notes on unknown costs."""
    gone: dict[str, None] = {}
    for found in answer.garments:
        for way in found.alternatives:
            gone.update(dict.fromkeys(way.bill.missing))
    if not gone:
        return []
    if not answer.rates.known:
        return [
            f"no costs are known, so ways are ranked by work: screens, flashes, strokes (a screen "
            f"is {WORK_OF_SCREEN:g}, a flash {WORK_OF_FLASH:g}, a stroke {WORK_OF_STROKE:g}); give "
            f"costs in costs.toml or in the job: {', '.join(gone)}."
        ]
    return [f"costs leave out: {', '.join(gone)}."]


def _garment_lines(
    answer: JobAnswer, found: GarmentAnswer, said: tuple[ColourReasons, ...], shop: Shop
) -> list[str]:
    best = found.best
    assert best is not None
    lines = [f"── {found.garment.name} ──"]
    for plan, reasons in zip(best.plans, said, strict=False):
        lines.append(f"{plan.colour.name}: {plan.answer.words} ({plan.prediction.data} data)")
        lines.append(f"  {sentence(reasons.outcome)}")
        lines += [f"  - {reason}." for reason in reasons.reasons]
        if reasons.help:
            lines.append(f"  To bring it into reach: {reasons.help}")
        if reasons.recipe is not None:
            words = instead_words(reasons.recipe, currency=answer.rates.currency)
            own = {each.build.route for each in best.plans}
            base = reasons.recipe.build.base and reasons.recipe.route not in own
            lines.append(f"  {words}{NO_SUCH_BASE * bool(base)}.")
    lines += [f"Note: {each}" for each in told(found, best)]
    if any(plan.merged for plan in best.plans):
        lines.append(
            "Undo what is merged with keep_apart = [colors] or merge = false in the job's file."
        )
    if best.screens:
        lines += ["", "Screens in print order:", *screen_lines(found, best)]
    return [
        *lines,
        "",
        *takes_lines(found, best, shop=shop),
        "",
        _ways_table(answer, found),
        ROUTE_LEGEND,
    ]


def takes_lines(found: GarmentAnswer, way: Alternative, *, shop: Shop) -> list[str]:
    """Screens, ink, dryer load and cost of a way."""
    job, dryer = found.job, way.dryer
    if way.cure is None:
        return ["Nothing is printed: no screen, no ink."]
    inks = [
        f"{use.name} {use.print_g:.2f} g a print, {use.run_g / 1000:.2f} kg" for use in way.inks
    ]
    lines = [
        f"{way_counts(found, way)}. Dry film {way.film_g_m2:.1f} g/m².",
        f"Ink used up, wet, waste included: {'; '.join(inks)}.",
        f"Dryer: {dryer.water_g:.1f} g water a print ({dryer.ink_water_g:.1f} from ink, "
        f"{dryer.cloth_water_g:.1f} from the cloth), {dryer.total_kj:.0f} kJ; "
        f"{dryer.kwh(job.quantity, efficiency=job.costs.dryer_efficiency):.1f} kWh for a run at "
        f"{job.costs.dryer_efficiency:.0%} efficiency"
        + (
            f"; {dryer.kilowatts(prints_per_hour=job.prints_per_hour):.1f} kW into the shirts at "
            f"{job.prints_per_hour:.0f} prints an hour"
            if job.prints_per_hour
            else ""
        )
        + f". {cure_words(way.cure, low_cure=shop.dye_migrates(found.garment))}",
    ]
    if way.bill.items:
        lines.append(f"Cost: {bill_words(way.bill)}")
    return lines


def way_counts(found: GarmentAnswer, way: Alternative) -> str:
    """`counts_words` of a way."""
    return counts_words(
        screens=way.way.screens,
        strokes=way.way.strokes,
        flashes=way.way.flashes,
        stations=way.stations,
        own=found.job.press.stations,
        runs=way.way.runs,
    )


def counts_words(
    *, screens: int, strokes: int, flashes: int, stations: int, own: int, runs: int = 1
) -> str:
    """'3 screens, 4 strokes and 1 flash a print, 5 of 6 stations', of all runs together.

    own: stations of the press.
    """
    taken = (
        f"{stations} stations in {runs} runs on a press of {own}"
        if runs > 1
        else f"{stations} of {counted(own, 'station')}"
    )
    return (
        f"{counted(screens, 'screen')}, {counted(strokes, 'stroke')} and "
        f"{counted(flashes, 'flash')} a print, {taken}"
    )


def bill_words(bill: Bill) -> str:
    """Total, a print, and each item."""
    items = ", ".join(
        f"{i.name} {i.amount:.2f}{f' ({i.how})' if i.how else ''}" for i in bill.items
    )
    return f"{bill.total:.2f} {bill.currency}, {bill.per_print:.2f} a print: {items}."


def cure_words(cure: tuple[float, float], *, low_cure: bool) -> str:
    """What the whole film has to hold, °C and s; low_cure: see `handling_of`."""
    celsius, seconds = cure
    low = ""
    if low_cure and celsius <= USUAL["low cure"].cure_celsius:
        low = (
            f", with a low-cure additive; then wait {LOW_CURE_WAIT_HOURS:g} h before the first wash"
        )
    elif low_cure:
        low = ", because one of its inks asks for it; so hot, the dye of this cloth comes through"
    return (
        f"Cure: the whole film at {32.0 + 1.8 * celsius:.0f} °F ({celsius:.0f} °C) for "
        f"{seconds:.0f} s{low} (as the inks state, else common practice; the ink's data sheet goes "
        "first)."
    )


def _ways_table(answer: JobAnswer, found: GarmentAnswer) -> str:
    priced = answer.rates.known or any(way.bill.total > 0 for way in found.alternatives)
    cost = [f"{answer.rates.currency}/print"] if priced else []
    head = [
        "way",
        "verdict",
        "chance",
        "nominal",
        "work",
        *cost,
        "dry g/m²",
        "stations",
        "colors on",
        "data",
        "",
    ]
    rows = [
        [
            f"{at + 1}{' ◀' if at == found.chosen else ''}",
            way.verdict.word,
            f"{way.verdict.percent}",
            f"{way.nominal}/{len(way.plans)}",
            f"{way.way.work:.1f}",
            *([f"{cost_axis(answer, way):.2f}"] if priced else []),
            f"{way.film_g_m2:.1f}",
            str(way.stations),
            _routes(way),
            way.data,
            ", ".join([*way.marks, *_reservations(way)]),
        ]
        for at, way in enumerate(found.alternatives)
    ]
    return table(head, rows, left=2, left_last=True)


def _reservations(way: Alternative) -> list[str]:
    """What a way does that another does not: colors it merges, loads of every shirt."""
    merged = [f"{p.colour.name} printed as {p.merged}" for p in way.plans if p.merged]
    return [*merged, *([f"in {way.way.runs} runs"] if way.way.runs > 1 else [])]


def _routes(way: Alternative) -> str:
    return "".join(plan.build.route[0].upper() for plan in way.plans)


def job_document(answer: JobAnswer, said: Said) -> dict[str, Any]:
    """The decided job as JSON-ready values."""
    made: dict[str, Any] = document(answer)
    made["notes"] += _missing(answer)
    for garment in made["garments"]:
        garment["chosen"] = garment["chosen"] if garment["ways"] else None
        garment["reasons"] = document(said.get(garment["garment"], ()))
    return made
