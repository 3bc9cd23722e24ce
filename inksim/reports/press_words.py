"""What a way to print a job asks of the press, in words: its screens, and where the print lies."""

from __future__ import annotations

from collections.abc import Sequence

from inksim.job import Alternative, GarmentAnswer, PressScreen
from inksim.stock import USUAL_TOP_MM, Place


def lies_words(place: Place, *, top_mm: float | None) -> str:
    """Say where the print lies: 'on the back, the usual 75 mm below the collar'."""
    distance = f"the usual {USUAL_TOP_MM[place]:g}" if top_mm is None else f"{top_mm:g}"
    edge = "above its hem" if place == "sleeve" else "below the collar"
    return f"on the {place}, {distance} mm {edge}"


def goes_words(screen: PressScreen) -> str:
    """Strokes of a screen: '×2'; '×1, flash, ×1' where it is flashed and printed again."""
    return ", flash, ".join(f"×{strokes}" for strokes in screen.goes)


def then_words(screen: PressScreen) -> str:
    """What comes after a screen: 'flash', 'wet on wet', or ''."""
    if screen.flash is None or len(screen.goes) > 1:
        return ""
    return "flash" if screen.flash else "wet on wet"


def for_words(screen: PressScreen, names: Sequence[str]) -> str:
    """What a screen is for: 'base of navy; color #ffffff'. names: of the colors, in order."""
    under, own = ([names[at] for at in each] for each in (screen.over, screen.shows))
    if not under:
        return ", ".join(own)
    base = f"base of {'all colors' if len(under) == len(names) > 1 else ', '.join(under)}"
    return f"{base}; color {', '.join(own)}" if own else base


def screen_words(screen: PressScreen, names: Sequence[str]) -> str:
    """A screen's line: '1. Chalk White Base: 110 threads/in (43/cm), ×1, flash (base of …)'."""
    then = f", {said}" if (said := then_words(screen)) else ""
    return (
        f"{screen.number}. {screen.ink.name}: {screen.screen.words}, {goes_words(screen)}{then} "
        f"({for_words(screen, names)})"
    )


def screen_lines(found: GarmentAnswer, way: Alternative) -> list[str]:
    """The screens of a way in print order, a line each, those of a second run marked."""
    names = [colour.name for colour in found.job.colours]
    runs = f"run {{}} of {way.way.runs}, " if way.way.runs > 1 else ""
    return [f"{runs.format(s.run)}{screen_words(s, names)}" for s in way.screens]
