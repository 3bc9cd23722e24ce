"""The columns of a reading's row beside its color: what was printed, on what, read by what."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from inksim.common import InputError, day_of
from inksim.printing import ROUTES, Build, Route
from inksim.readings import Reading, cells_of, number
from inksim.shop import Shop, check_allowed, usual_build

T = TypeVar("T")
_PROOF_FIRST = re.compile(r"proof (\w+)(?:; |$)")
LOTS = ("garment_lot", "ink_lot", "base_lot")
YES, NO = ("yes", "y", "true", "1", "flash"), ("no", "n", "false", "0", "none")


class RowWords:
    """The columns of a reading's row beside its color; read_by, sd_de00: where it has none."""

    def __init__(self, reading: Reading, *, read_by: str, sd_de00: float | None) -> None:
        self.reading = reading
        self.where = f"{reading.source}, sample '{reading.name}'"
        self.cells = cells_of(reading)
        self.read_by = reading.read_by or read_by
        self.weight = self.number("weight", default=1.0)
        # what is said of all rows is said of those that are read as all are
        of_all = sd_de00 if self.read_by == read_by else None
        self.sd_de00 = reading.noise.own if reading.noise else of_all

    def what(self, shop: Shop) -> object:
        """Key of what was printed and how it was read: equal for repeats."""
        build = self.build(shop)
        layers = [(at.ink.name, at.screen.name, at.passes, at.flash) for at in build.layers]
        lots = [self.text(lot) for lot in LOTS]
        return build.garment.name, build.route, layers, lots, self.read_by

    def text(self, column: str) -> str | None:
        return self.cells.get(column.replace("_", "")) or None

    def note(self) -> str:
        """The note; the proof's number before it, if there is one."""
        return note_of(self.text("proof") or "", self.text("note") or "")

    def scores_only(self) -> bool:
        """Whether it is kept to score proofs, and no press is fitted to it."""
        return (self.text("scores_only") or "").lower() in YES

    def number(self, column: str, *, default: float) -> float:
        text = self.text(column)
        if text is None:
            return default
        value = number(text.removesuffix("%"))
        if value is None or not value > 0:
            raise InputError(f"{self.where}: {column} is '{text}'; give a number above 0.")
        return value

    def day(self) -> str:
        """The day it was read, ISO; '' where none is said."""
        text = self.text("date")
        try:
            return day_of(text) if text else ""
        except InputError as error:
            raise InputError(f"{self.where}: date: {error}") from None

    def count(self, column: str) -> int | None:
        value = self.number(column, default=0.0)
        if value and (value != int(value) or value > 4):
            raise InputError(f"{self.where}: {column} is {value:g}; a screen prints 1 to 4 passes.")
        return int(value) or None

    def flash(self) -> bool | None:
        text = (self.text("flash") or "").lower()
        if text and text not in (*YES, *NO):
            raise InputError(f"{self.where}: flash is '{text}'; write yes or no.")
        return text in YES if text else None

    def coverage(self) -> float:
        """Share of the area, from a tone in percent."""
        tone = self.reading.tone_percent
        percent = self.number("coverage", default=100.0 if tone is None else tone)
        if percent > 100:
            raise InputError(f"{self.where}: coverage is {percent:g} %; at most 100.")
        return round(percent / 100.0, 6)

    def lines(self) -> float:
        lines = self.number("lines_per_inch", default=0.0) or self.number("lpi", default=0.0)
        if not lines:
            raise InputError(
                f"{self.where}: a halftone needs its lines per inch, in a column lines_per_inch."
            )
        return lines

    def route(self) -> Route:
        text = re.sub(r"[\s_]+", "-", (self.text("route") or "straight").lower())
        for route in ROUTES:
            if text in (route, route.removesuffix("-base")):
                return route
        raise InputError(f"{self.where}: route is '{text}'; it is one of {', '.join(ROUTES)}.")

    def named(self, column: str, look_up: Callable[[str], T]) -> T | None:
        """Look a name up in the shop; None if the column is empty."""
        text = self.text(column)
        if text is None:
            return None
        try:
            return look_up(text)
        except InputError as error:
            raise InputError(f"{self.where}: {error}") from None

    def needed(self, column: str, look_up: Callable[[str], T]) -> T:
        found = self.named(column, look_up)
        if found is None:
            raise InputError(f"{self.where}: which {column} was printed? Fill in that column.")
        return found

    def build(self, shop: Shop) -> Build:
        """The print's build: the shop's usual one, overridden by the row's columns."""
        filed = shop.before
        try:
            build = usual_build(
                filed,
                garment=self.needed("garment", filed.garment),
                ink=self.needed("ink", filed.ink),
                route=self.route(),
                screen=self.named("screen", filed.screen),
                passes=self.count("passes"),
                base_screen=self.named("base_screen", filed.screen),
                flash=self.flash(),
            )
            base, ink = build.base, self.named("base", filed.ink)
            if base is not None:
                under = replace(base, ink=ink or base.ink)
                under = replace(under, passes=self.count("base_passes") or under.passes)
                check_allowed(under.ink, under.screen)
                build = replace(build, layers=(under, build.layers[-1]))
        except InputError as error:
            said = str(error)
            raise InputError(
                said if said.startswith(self.where) else f"{self.where}: {said}"
            ) from None
        return build


def note_of(proof: str | int, note: str) -> str:
    """The note of a reading with the number of its proof first: 'proof 12; new squeegee'."""
    return "; ".join(filter(None, (f"proof {proof}" if proof else "", note)))


def proof_and_note(note: str) -> tuple[str, str]:
    """What `note_of` joined: ('12', 'new squeegee')."""
    found = _PROOF_FIRST.match(note)
    return (found[1], note[found.end() :]) if found else ("", note)
