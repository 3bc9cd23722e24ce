"""The verdict: what a client may be promised of a color on a garment, in one object.

Every command, page, proof and ticket prints a `Verdict`, in these words; none makes its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np

from inksim.common import ROUTE_TITLES, FloatArray, InputError
from inksim.decision.joint_chance import joint_chance
from inksim.decision.what_helps import what_helps
from inksim.printing import Build, Interval, Response, Route, summarize
from inksim.stock import Press

Word = Literal["lands", "should land", "cannot promise"]
WORDS: tuple[Word, ...] = get_args(Word)
"""From the surest to the least sure."""
SHAPES: dict[Word, str] = {"lands": "●", "should land": "◐", "cannot promise": "✕"}
"""Each word has a shape, never a color alone."""

LANDS, SHOULD_LAND = 0.80, 0.50
"""Least chance of landing for the first two words."""


def whole_percent(chance: float | FloatArray) -> FloatArray:
    """Chances of 0..1 in percent, rounded down as every text and table says them."""
    return np.asarray(np.floor(100.0 * np.asarray(chance) + 1e-9))


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What may be promised.

    Parameters
    ----------
    word : by the chance alone: 'lands' from 80 %, 'should land' from 50 %, else 'cannot promise'.
    chance : of a ΔE00 within the tolerance, 0..1; of several colors: of all of them together.
    median_de00 : the ΔE00 in the middle of what is expected; low, high: 9 in 10 are between. Of
        several colors: of the one least likely to land.
    would_help : the one thing that would raise the chance most, and to what; '' if nothing would,
        or where it was not asked.
    """

    word: Word
    chance: float
    median_de00: float
    low: float
    high: float
    would_help: str

    @property
    def promised(self) -> bool:
        """Whether it lands or should land."""
        return self.word != WORDS[-1]

    @property
    def mark(self) -> str:
        """'◐ should land'."""
        return f"{SHAPES[self.word]} {self.word}"

    @property
    def percent(self) -> str:
        """'79%': the chance rounded down, so that it never says more than the word."""
        return f"{whole_percent(self.chance):.0f}%"

    @property
    def expected(self) -> str:
        """'ΔE00 2.1 (0.8 to 4.9)'."""
        return f"ΔE00 {self.median_de00:.1f} ({self.low:.1f} to {self.high:.1f})"

    @property
    def short(self) -> str:
        """A row's words: 'should land, ΔE00 2.1 (0.8 to 4.9), 66%'."""
        return f"{self.word}, {self.expected}, {self.percent}"

    def said(self, tolerance: float) -> str:
        """The verdict in whole words, without a full stop at the end.

        'should land — expect about ΔE00 2.1 (0.8 to 4.9), 66% chance within 3. Reading …'.
        """
        words = (
            f"{self.word} — expect about {self.expected}, {self.percent} chance within "
            f"{tolerance:g}"
        )
        return f"{words}. {self.would_help}" if self.would_help else words

    def said_of_all(self, colours: int, *, weakest: str, tolerance: float | None) -> str:
        """Whole words on several colors together; weakest: the one least likely to land.

        tolerance: None where each color has its own.
        """
        if colours == 1 and tolerance is not None:
            return self.said(tolerance)
        all_of = "both colors" if colours == 2 else f"all {colours} colors"
        within = "their tolerances" if tolerance is None else f"ΔE00 {tolerance:g}"
        words = (
            f"{self.word} — {self.percent} chance that {all_of} come within {within}; the "
            f"weakest is {weakest}, expect about {self.expected}"
        )
        return f"{words}. {self.would_help}" if self.would_help else words


def word_for(chance: float) -> Word:
    """The word that a chance of landing (0..1) earns."""
    return "lands" if chance >= LANDS else "should land" if chance >= SHOULD_LAND else WORDS[-1]


def verdict_of(interval: Interval, *, would_help: str = "") -> Verdict:
    """The verdict on a prediction that was held against a target.

    Parameters
    ----------
    interval : of the prediction, with its ΔE00.
    would_help : what would raise the chance most, in words; see `what_helps`.

    Raises
    ------
    InputError : an interval without a target.
    """
    if interval.within is None or interval.de_median is None:
        raise InputError("there is no verdict without a target: give one to the prediction.")
    assert interval.de_low is not None
    assert interval.de_high is not None
    return Verdict(
        word=word_for(interval.within),
        chance=interval.within,
        median_de00=interval.de_median,
        low=interval.de_low,
        high=interval.de_high,
        would_help=would_help,
    )


def verdict_on_all(
    intervals: Sequence[Interval],
    *,
    response: Response,
    builds: Sequence[Build],
    standards: FloatArray,
    press: Press,
    help_too: bool = True,
) -> Verdict:
    """The verdict on colors that are printed together, or on one.

    The chance is that all land: never above that of the weakest, for the two come from different
    samples, and nobody may read 31 % and 33 % for one thing.

    Parameters
    ----------
    intervals, builds : of the C colors, each held against its target.
    response : of the builds, in order. standards (C, 3): Lab of the targets.
    help_too : whether to work out what would help: some ten times the work.
    """
    tolerances = np.array([each.tolerance for each in intervals])
    worst = verdict_of(intervals[weakest(intervals)])

    def chance(known: Response) -> float:
        if len(builds) > 1:
            return joint_chance(known, standards=standards, tolerances=tolerances)
        return float(summarize(known, standard=standards[0], tolerance=tolerances[0]).within[0])

    together = worst.chance
    if len(builds) > 1 and together > 0.0:
        together = min(together, chance(response))
    helps = what_helps(response, builds, press=press, chance=chance) if help_too else ""
    return replace(worst, word=word_for(together), chance=together, would_help=helps)


def weakest(intervals: Sequence[Interval]) -> int:
    """Index of the color least likely to land, of those alike the farthest off."""
    return min(
        range(len(intervals)),
        key=lambda at: (intervals[at].within or 0.0, -(intervals[at].de_median or 0.0)),
    )


def route_headline(route: Route, verdict: Verdict, *, tolerance: float) -> str:
    """'Over a white base: should land — expect about …' and what would help, as sentences."""
    return f"{ROUTE_TITLES[route]}: {verdict.said(tolerance)}."
