"""What looks alike under two lights: the one rule for a color that has no spectrum.

A code of a screen, or L, a, b alone, does not say what a lamp makes of it. It is taken to look
alike under every light: its XYZ is adapted from white to white (Bradford). Codes, targets and
artwork all go this way, so a color known only so keeps its code under every lamp; what was read as
a spectrum moves.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from inksim.colour.viewing import Viewing, lab_from_xyz, xyz_from_lab
from inksim.common import FloatArray

#: Bradford cone responses (Lam 1985; as in ICC.1:2022, Annex E).
BRADFORD: FloatArray = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)


def adapting(white: ArrayLike, to: ArrayLike) -> FloatArray:
    """Matrix (3, 3) that takes XYZ seen against one white (3,) to what looks alike against another.

    Linear Bradford with complete adaptation (ICC.1:2022, Annex E); white itself becomes white.
    """
    gain = (BRADFORD @ np.asarray(to, dtype=float)) / (BRADFORD @ np.asarray(white, dtype=float))
    return np.asarray(np.linalg.solve(BRADFORD, gain[:, None] * BRADFORD))


def lab_alike(lab: ArrayLike, *, stated: Viewing, seen: Viewing) -> FloatArray:
    """CIELAB (..., 3) under one viewing of what looks like ``lab`` does under another."""
    if stated == seen:
        return np.asarray(lab, dtype=float)
    xyz = xyz_from_lab(lab, stated) @ adapting(stated.white, seen.white).T
    return lab_from_xyz(xyz, seen)
