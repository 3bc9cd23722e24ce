"""The regatta's four flat colors and its line weights, in design pixels (300 to the inch)."""

from __future__ import annotations

import numpy as np

ORANGE, TEAL, YELLOW, CREAM = 1, 2, 3, 4
PALETTE = np.array(
    [(0xE8, 0x62, 0x2C), (0x0F, 0x5C, 0x63), (0xF2, 0xC2, 0x30), (0xEA, 0xD9, 0xB5)], np.uint8
)
FINE = 12.0  # 1 mm
EDGE = 15.0
