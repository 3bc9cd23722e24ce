"""What a shop may start with before anybody has measured or typed more: assumed, and marked so."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from inksim.shop.edit import Draft, open_draft, save

ASSUMED = "assumed: common practice, no source"
SCREENS: Mapping[str, tuple[float, float]] = {
    "110": (110, 80),
    "125": (125, 70),
    "160": (160, 60),
    "230": (230, 44),
}
"""Threads/inch and thread in µm of what a shop has for whites, discharge, bare cloth and colors
over a base [assumption]: the meshes of `HabitsEntry` with everyday threads (common practice)."""
WHITE: Mapping[str, Any] = {"name": "Usual white, assumed", "kind": "white-base", "hex": "#f4f4f0"}
"""A white base of which nothing is known: opacity and solids are those of its kind."""


class StartPress(NamedTuple):
    """A press as it is usually set up [assumption]."""

    words: str
    stations: int
    flashes: int
    flash_takes_station: bool = True

    @property
    def table(self) -> dict[str, Any]:
        """Fields of press.toml that it sets, by dotted name."""
        return {
            "name": self.words,
            "stations.stations": self.stations,
            "stations.flashes": self.flashes,
            "stations.flash_takes_station": self.flash_takes_station,
            "stations.source": _assumed(),
        }


PRESSES = (
    StartPress("Manual press, 4 stations", 4, 1),
    StartPress("Manual press, 6 stations", 6, 1),
    StartPress("Automatic press, 8 stations", 8, 2),
    StartPress("Automatic press, 12 stations", 12, 2),
)
USUAL_PRESS = PRESSES[1]


def _assumed() -> str:
    return f"{ASSUMED}; {date.today().isoformat()}"


def save_start_press(folder: Path, press: StartPress) -> None:
    """Save a press and the usual screens that the shop has none of, as one change.

    Raises
    ------
    InputError : see `edit.save`; names of screens that are there already.
    """
    screens = open_draft(folder, "screen")
    for name, (threads_per_inch, thread_um) in SCREENS.items():
        screens = screens.add(
            "screen",
            {
                "name": name,
                "threads_per_inch": threads_per_inch,
                "thread_um": thread_um,
                "source": _assumed(),
            },
        )
    save(open_draft(folder, "press.toml").set(press.table), screens)


def with_usual_white(inks: Draft) -> Draft:
    """Add the usual white base to a draft of the inks."""
    return inks.add("ink", {**WHITE, "source": _assumed()})
