"""Fibers of a cloth: shares as people write them, and shares in words."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from inksim.common import InputError

COMMON_BLENDS = (
    "100 % cotton",
    "90/10 cotton polyester",
    "80/20 cotton polyester",
    "60/40 cotton polyester",
    "50/50 cotton polyester",
    "65/35 polyester cotton",
    "50/25/25 polyester cotton viscose",
    "95/5 cotton elastane",
    "100 % polyester",
)
"""What labels of shirts say most often (common practice, no source)."""
SAME = {"poly": "polyester", "spandex": "elastane", "rayon": "viscose", "polyamide": "nylon"}
"""Other words for a fiber."""
HOW = {"combed", "carded", "organic", "recycled", "ringspun", "ring", "spun", "and", "with"}
"""Words beside a fiber's name that are no fiber."""
_WORDS = re.compile(r"(\d+(?:[.,]\d+)?|[.]\d+)|([^\W\d_]+)|(%)")


def parse_fibres(words: Sequence[str]) -> dict[str, float]:
    """Read shares: '60% cotton 40% poly', '50/50 cotton polyester', 'cotton=0.5', 'cotton' (all).

    Numbers and fibers go together in their order, wherever the numbers stand.

    Raises
    ------
    InputError : not as many numbers as fibers. What the shares must be, `Garment` says.
    """
    text = ", ".join(words)
    numbers: list[tuple[float, bool]] = []
    names: list[str] = []
    for number, name, percent in _WORDS.findall(text.lower()):
        if number:
            numbers.append((float(number.replace(",", ".")), False))
        elif name and name not in HOW:
            names.append(SAME.get(name, name))
        elif percent and numbers:
            numbers[-1] = (numbers[-1][0], True)
    if len(names) == 1 and not numbers:
        numbers = [(1.0, False)]
    if not names or len(names) != len(numbers):
        raise InputError(
            f"'{text[:80]}' does not give every fiber its share; write '60 % cotton, 40 % "
            "polyester', '50/50 cotton polyester' or 'cotton=0.5,polyester=0.5'."
        )
    hundred = any(value > 1.0 for value, percent in numbers if not percent)
    shares: dict[str, float] = {}
    for name, (value, percent) in zip(names, numbers, strict=True):
        share = value / 100.0 if percent or hundred else value
        shares[name] = shares.get(name, 0.0) + share
    return shares


def fibre_words(shares: Mapping[str, float]) -> str:
    """'60 % cotton, 40 % polyester'; `parse_fibres` reads it."""
    return ", ".join(f"{100 * share:.4g} % {name}" for name, share in shares.items() if share)
