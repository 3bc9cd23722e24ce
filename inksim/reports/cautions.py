"""Cautions, and limits of a proof, printed on every sheet."""

from __future__ import annotations

from collections.abc import Iterable

from inksim.common import STRIKE_OFF
from inksim.stock import Garment, Handling, Ink, handling_of

POLYESTER = "Polyester dyes can migrate into a base hours to weeks later."
DISCHARGE = (
    "Discharge activators give off formaldehyde and sulfur compounds: ventilate, wear gloves and "
    "eye protection, test-wash, and never use them for baby wear without testing."
)
CAUTIONS: tuple[str, ...] = (
    "Follow the ink maker's safety data sheet and local rules; they override this tool.",
    DISCHARGE,
    "Dryers and flashes burn and can ignite cloth; vapor and smoke need extraction.",
    "Undercured prints wash out: wash-test before a run.",
    POLYESTER,
    STRIKE_OFF,
)
"""Cautions of print rooms; common practice."""

SWATCH_RESTS = "some days"
MIGRATION = (
    "Polyester: heat turns its dye into vapor, which tints the print, in the dryer or days to "
    f"weeks later. Print a swatch of this lot and leave it warm for {SWATCH_RESTS} before the run. "
    "Print on a base that blocks dye, cure as low as the inks allow, with a low-cure additive as "
    "the ink's maker says, and let shirts cool before they are stacked. Additives are chemicals: "
    "the safety data sheets come first."
)
"""Caution wherever polyester is chosen; common practice, no source."""


def cautions_for(
    garments: Iterable[Garment], inks: Iterable[Ink] = (), *, low_cure: bool = False
) -> tuple[str, ...]:
    """Cautions of one print: of its cloth, of what is mixed into its inks, then those of any print.

    garments: chosen for it. inks: of all its layers, bases too; none are known before a decision.
    low_cure: see `handling_of`.
    """
    polyester = any(garment.polyester > 0 for garment in garments)
    general = [each for each in CAUTIONS if not (polyester and each == POLYESTER)]
    mixed = [handling_of(ink, low_cure=low_cure) for ink in inks]
    alike: dict[str, dict[str, None]] = {}
    for each in mixed:
        if each.additive:
            alike.setdefault(_mixed_words(each), {})[each.ink] = None
    words = (f"{', '.join(names)}: {said}" for said, names in alike.items())
    return (*[MIGRATION] * polyester, *words, *general)


def _mixed_words(asked: Handling) -> str:
    """What is mixed into an ink, how long that keeps, and how it cures; without its name."""
    keeps = f"; the mixture keeps about {asked.pot_life_hours:g} h" if asked.pot_life_hours else ""
    assumed = f" ({', '.join(asked.assumed)}; the maker's data sheet goes first)"
    fahrenheit = 32.0 + 1.8 * asked.cure_celsius
    return (
        f"{asked.additive}, {asked.additive_share:.0%} by weight{keeps}. The whole "
        f"film reaches {asked.cure_celsius:.0f} °C ({fahrenheit:.0f} °F) for "
        f"{asked.cure_seconds:.0f} s{assumed if asked.assumed else ''}."
    )


CANNOT_SHOW: tuple[str, ...] = (
    "The exact color: a screen or an office printer has its own range and setting, and the room's "
    "light changes both.",
    "Hand, gloss and stretch of the print, and how it looks after washing.",
    "This lot of garments: dyes differ from lot to lot, and so does what a discharge leaves.",
    "Registration, pinholes and wear of the stencil.",
)
"""What a proof on a screen or on paper leaves out."""
