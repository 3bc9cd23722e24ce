"""Cautions, and limits of a proof, printed on every sheet."""

from __future__ import annotations

from inksim.common import STRIKE_OFF

CAUTIONS: tuple[str, ...] = (
    "Follow the ink maker's safety data sheet and local rules; they override this tool.",
    "Discharge activators give off formaldehyde and sulfur compounds: ventilate, wear gloves and "
    "eye protection, test-wash, and never use them for baby wear without testing.",
    "Dryers and flashes burn and can ignite cloth; vapor and smoke need extraction.",
    "Undercured prints wash out: wash-test before a run.",
    "Polyester dyes can migrate into a base hours or weeks later.",
    STRIKE_OFF,
)
"""Cautions of print rooms; common practice."""

CANNOT_SHOW: tuple[str, ...] = (
    "The exact color: a screen or an office printer has its own range and setting, and the room's "
    "light changes both.",
    "Hand, gloss and stretch of the print, and how it looks after washing.",
    "This lot of garments: dyes differ from lot to lot, and so does what a discharge leaves.",
    "Registration, pinholes and wear of the stencil.",
)
"""What a proof on a screen or on paper leaves out."""
