"""Findings of a calibration in words: suspects, cloths, parameters left open."""

from __future__ import annotations

from collections.abc import Iterator
from math import floor, log10

from inksim.calibration.checks import CONTRADICTION_DE00, Suspect
from inksim.calibration.lots import LotResult
from inksim.calibration.press_estimate import Calibration, ClothResult, ParameterResult
from inksim.calibration.press_to_shop import ShopCalibration
from inksim.calibration.print_reading import READ_BY
from inksim.common import counted, lab_words
from inksim.stock import MEANINGS, Parameter, Press

FEW = 6
"""Readings below which the interval rests on assumptions as much as on them [assumption]."""
NOT_SHOWN = "these prints do not show it"
"""Of a parameter that the readings say nothing of."""
MOST_PAIRS = 3
"""Contradicting pairs listed one by one: n readings of one build have n·(n − 1)/2 of them."""


def plus_minus(parameter: Parameter) -> str:
    """Format a value with its standard deviation: '0.6 ± 0.12'."""
    return f"{_shown(parameter.value, parameter.sd)} ± {parameter.sd:.2g}"


def interval_words(found: ParameterResult) -> str:
    """Format an interval: '0.45 to 0.53'."""
    return f"{_shown(found.low, found.after.sd)} to {_shown(found.high, found.after.sd)}"


def _shown(value: float, sd: float) -> str:
    """Three figures, none of them below the second of the sd."""
    if sd > 0:
        value = round(value, 1 - floor(log10(sd))) + 0.0
    return f"{value:.3g}"


def told_strengths(press: Press) -> Iterator[tuple[str, str, Parameter]]:
    """Strengths more than one sd from their entry: ink, "K" or "S", factor."""
    for each in press.strengths:
        for name, value in (("K", each.K), ("S", each.S)):
            if abs(value.value - 1.0) > value.sd:
                yield each.ink, name, value


def lot_words(found: LotResult) -> str:
    """'0.93 times (0.88 to 0.99), moves a print by ΔE00 1.2'."""
    return (
        f"{found.strength:.2f} times ({found.low:.2f} to {found.high:.2f}), moves a print by ΔE00 "
        f"{found.moves_de00:.1f}"
    )


def suspect_words(suspect: Suspect) -> str:
    """Explain why a reading looks wrong, and what to do."""
    expected = (
        f"the others make it Lab {lab_words(suspect.expected)}, {suspect.delta_e:.1f} ΔE00 away"
    )
    if suspect.swapped_with is not None:
        return (
            f"'{suspect.name}' and '{suspect.swapped_with}' look as if their labels were swapped "
            f"({expected}); exchange them and calibrate again."
        )
    return (
        f"'{suspect.name}' cannot be that print, if the others are right: {expected}. Check "
        "garment, ink, screen and passes, or read the print again."
    )


def cloth_words(cloth: ClothResult) -> str:
    """Explain how a cloth seems off its entry, and what to do about it."""
    size = f"{cloth.factor:.2f} times (± {cloth.sd:.0%}) the dye"
    if cloth.discharged:
        return (
            f"The readings fit better if a discharge leaves {size} in '{cloth.name}' that its "
            "entry says. That is not kept; read the discharged cloth and put it into its entry."
        )
    return (
        f"The readings fit better if '{cloth.name}' holds {size} of its entry: another lot, or "
        "cloth that darkens under ink. That is not kept; read the cloth and put it into its entry."
    )


def calibration_findings(found: ShopCalibration) -> Iterator[str]:
    """Findings, one sentence each: what the readings left open, and which look wrong."""
    calibration = found.calibration
    press = calibration.press
    yield (
        f"The model itself leaves about {press.model_sd:.2f} in L*, and as much ΔE00 in a* and b*; "
        f"inks are {press.ink_sd_factor:.1f} times as far off as their entries let expect."
    )
    if len(calibration.used) < FEW:
        yield f"With fewer than {FEW} readings the first of these is mostly assumed."
    yield from _less_sure(calibration)
    yield from _shared(calibration)
    for one, two, correlation in calibration.together:
        pair = f"{_known(one)} and {_known(two)}"
        yield f"Known only together, not each by itself: {pair} ({correlation:+.2f})."
    yield from map(cloth_words, (each for each in calibration.cloths if each.off))
    told: set[str] = set()
    for suspect in calibration.suspects:
        if suspect.name not in told:
            out = any(r.name == suspect.name and r.left_out for r in calibration.readings)
            yield f"{'Left out' if out else 'Used all the same'}: {suspect_words(suspect)}"
        told |= {suspect.name, suspect.swapped_with or ""}
    worst = sorted(calibration.contradictions, key=lambda each: -each.delta_e)
    for each in worst[:MOST_PAIRS]:
        yield (
            f"'{each.names[0]}' and '{each.names[1]}' are of one build but {each.delta_e:.1f} ΔE00 "
            "apart: one is of another print, or the press moved between them; read both again."
        )
    if len(worst) > MOST_PAIRS:
        more = counted(len(worst) - MOST_PAIRS, "more pair")
        yield f"{more} of readings of one build lie more than {CONTRADICTION_DE00:g} ΔE00 apart."
    yield from (f"Not used: {words}" for words in found.unused)
    yield from found.notes


def _less_sure(calibration: Calibration) -> Iterator[str]:
    """Readings that count less, for what they were read with."""
    groups: dict[str, list[float]] = {}
    for reading in calibration.used:
        groups.setdefault(reading.read_by, []).append(reading.sd_de00)
    usual = READ_BY["instrument"].each
    for read_by, off in groups.items():
        worst = max(off)
        if worst > 2.0 * usual:
            count = counted(len(off), "reading")
            yield (
                f"{count} by {read_by} may be {worst:.1f} ΔE00 off, and so they count less than "
                f"those of an instrument, which is {usual:g} off."
            )


def _shared(calibration: Calibration) -> Iterator[str]:
    """Pictures that several readings share an error of."""
    pictures: dict[str, list[float]] = {}
    for reading in calibration.used:
        if reading.picture:
            pictures.setdefault(reading.picture, []).append(reading.shared_de00 or 0.0)
    for key, off in pictures.items():
        if len(off) > 1:
            yield (
                f"{counted(len(off), 'reading')} of picture {key} are off together by about "
                f"{max(off):.1f} ΔE00, which counts once: prints of a second picture would tell "
                "more."
            )


def _known(label: str) -> str:
    """A parameter with its meaning; 'K of Kiln Red' as it is."""
    return f"{label} ({MEANINGS[label].words})" if label in MEANINGS else label
