"""What an ink asks of a print room: what is mixed in, how long that keeps, how it cures.

Usual values are common practice, no source. What an ink's entry states, from the maker's data
sheet, goes before them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, NamedTuple

from inksim.stock.ink import Ink

Group = Literal["usual", "low cure", "discharge"]


class Usual(NamedTuple):
    """Additive by weight of the ink, pot life of the mixture, and cure of a kind of print.

    The cure is what the whole film has to reach, and to hold for at least these seconds.
    """

    additive: str
    additive_share: float
    pot_life_hours: float | None
    cure_celsius: float
    cure_seconds: float


USUAL: Mapping[Group, Usual] = MappingProxyType(
    {
        "usual": Usual("", 0.0, None, 160.0, 90.0),
        "low cure": Usual("low-cure additive", 0.03, 8.0, 130.0, 90.0),
        "discharge": Usual("discharge activator", 0.06, 8.0, 160.0, 120.0),
    }
)
"""Common practice, no source: a discharge needs its time to react and to dry; polyester a dryer
that is not hot enough to drive its dye out."""


LOW_CURE_WAIT_HOURS = 48.0
"""From a low cure to the first wash: the additive goes on reacting (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Handling:
    """What one ink asks. additive: '' where nothing is mixed in, its share then 0.

    additive_share: g for each g of the ink. additive_price_per_kg, pot_life_hours: None if not
    known. assumed: in words, what nobody stated.
    """

    ink: str
    additive: str
    additive_share: float
    additive_price_per_kg: float | None
    pot_life_hours: float | None
    cure_celsius: float
    cure_seconds: float
    assumed: tuple[str, ...]

    def parts_g(self, mixed_g: float) -> tuple[float, float]:
        """Ink and additive in an amount of their mixture, g."""
        ink = mixed_g / (1.0 + self.additive_share)
        return ink, mixed_g - ink


def handling_of(ink: Ink, *, low_cure: bool = False) -> Handling:
    """Say what an ink asks: as stated, else as usual for what it is.

    low_cure: whether it is printed on a cloth whose dye migrates in a hot dryer, so that it is
    cured low, with an additive. A discharge reacts in the heat and is not cured low.
    """
    group: Group = "low cure" if low_cure or ink.blocks_dye else "usual"
    if ink.kind == "discharge-base":
        group = "discharge"
    usual = USUAL[group]
    share = usual.additive_share if ink.additive_share is None else ink.additive_share
    pot_life = ink.pot_life_hours or (usual.pot_life_hours if share else None)
    cure, seconds = ink.cure_celsius or usual.cure_celsius, ink.cure_seconds or usual.cure_seconds
    low = group == "low cure" and not ink.blocks_dye
    if low:  # what a color's entry states is its cure without the additive
        cure, seconds = min(cure, usual.cure_celsius), usual.cure_seconds
    additive = (usual.additive or "additive") if share else ""
    assumed = []
    if additive and ink.additive_share is None:
        assumed.append(f"{share:.0%} of {additive} by weight")
    if pot_life is not None and ink.pot_life_hours is None:
        assumed.append(f"a pot life of {pot_life:g} h")
    if low or ink.cure_celsius is None or ink.cure_seconds is None:
        assumed.append(f"a cure at {cure:.0f} °C for {seconds:.0f} s")
    return Handling(
        ink=ink.name,
        additive=additive,
        additive_share=share,
        additive_price_per_kg=ink.additive_price_per_kg,
        pot_life_hours=pot_life,
        cure_celsius=cure,
        cure_seconds=seconds,
        assumed=tuple(f"{each} assumed" for each in assumed),
    )


def cure_of(inks: Iterable[Ink], *, low_cure: bool = False) -> tuple[float, float]:
    """Cure of a print in °C and s: the hottest and the longest that any of its inks asks for."""
    asked = [handling_of(ink, low_cure=low_cure) for ink in inks]
    return max(each.cure_celsius for each in asked), max(each.cure_seconds for each in asked)
