"""The verdict: what a client may be promised of a color on a garment, in one object.

Every command, page, proof and ticket prints a `Verdict`; none makes its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from inksim.printing import Interval

Word = Literal["lands", "should land", "cannot promise"]
WORDS: tuple[Word, ...] = get_args(Word)
"""From the surest to the least sure."""

LANDS, SHOULD_LAND = 0.80, 0.50
"""Least chance of landing for the first two words."""


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What may be promised.

    word : by the chance alone: 'lands' from 80 %, 'should land' from 50 %, else 'cannot promise'.
    chance : of a ΔE00 within the tolerance, 0..1; of a job: of all its colors together.
    median_de00 : the ΔE00 in the middle of what is expected; low, high: 9 in 10 are between.
    would_help : the one thing that would raise the chance most, and to what; '' if nothing would.
    """

    word: Word
    chance: float
    median_de00: float
    low: float
    high: float
    would_help: str


def word_for(chance: float) -> Word:
    """The word that a chance of landing (0..1) earns."""
    return "lands" if chance >= LANDS else "should land" if chance >= SHOULD_LAND else WORDS[-1]


def verdict_of(interval: Interval, *, would_help: str = "") -> Verdict:
    """The verdict on a prediction that was held against a target.

    Raises
    ------
    ValueError : an interval without a target.
    """
    if interval.within is None or interval.de_median is None:
        raise ValueError("a verdict needs a target")
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
