"""Builds as columns of numbers, and which of them keep each rule of `trade_rules`."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inksim.common import BoolArray, FloatArray, IndexArray
from inksim.printing import ROUTES
from inksim.shop import RulesEntry

STRAIGHT, DISCHARGE, WHITE = range(len(ROUTES))
NOTHING_KNOWN, READ = 0.0, 6.0
"""`discharge_grade` of a cloth without discharge data, and of one whose discharge was read."""
HALF_THREAD = 0.5
"""Threads/inch by which a screen may miss an ink's limits: labels are rounded."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Choices:
    """Builds as columns (N,), one entry per build; counts in threads/inch, NaN where there is none.

    route: index into ROUTES. ink_*, base_*: the limits of the color and of the base ink.
    ink_is_white: whether the color is a white base printed as one. ink_stands_discharge: whether
    the color stands an active discharge. blocks_dye: whether the ink that lies on the cloth does;
    has_plain_white: whether the shop has a white base that does not. lines_per_inch: of the
    artwork's halftone, 0 for solid areas. cellulose_share 0..1; discharge_grade 1..5, `READ` or
    `NOTHING_KNOWN`; dye_de00: ΔE00 of the bare cloth before and after a full discharge.
    polyester_share 0..1; de00_from_white: ΔE00 between cloth and white, see `Garment`.
    """

    route: IndexArray
    threads_per_inch: FloatArray
    passes: FloatArray
    ink_coarsest: FloatArray
    ink_finest: FloatArray
    ink_max_passes: FloatArray
    ink_is_white: BoolArray
    ink_stands_discharge: BoolArray
    base_threads_per_inch: FloatArray
    base_passes: FloatArray
    base_coarsest: FloatArray
    base_finest: FloatArray
    base_max_passes: FloatArray
    flash: BoolArray
    blocks_dye: BoolArray
    has_plain_white: bool
    lines_per_inch: float
    cellulose_share: FloatArray
    discharge_grade: FloatArray
    dye_de00: FloatArray
    polyester_share: FloatArray
    de00_from_white: FloatArray


def _inside(
    value: FloatArray, coarsest: FloatArray | float, finest: FloatArray | float
) -> BoolArray:
    """Whether coarsest ≤ value ≤ finest; True where there is no value."""
    return np.asarray(np.isnan(value) | ((value >= coarsest) & (value <= finest)))


def screen_suits_ink(c: Choices, _: RulesEntry) -> BoolArray:
    return _inside(
        c.threads_per_inch, c.ink_coarsest - HALF_THREAD, c.ink_finest + HALF_THREAD
    ) & _inside(c.base_threads_per_inch, c.base_coarsest - HALF_THREAD, c.base_finest + HALF_THREAD)


def passes_suit_ink(c: Choices, _: RulesEntry) -> BoolArray:
    return np.asarray(
        (c.passes <= c.ink_max_passes) & _inside(c.base_passes, 1.0, c.base_max_passes)
    )


def mesh_on_cloth(c: Choices, r: RulesEntry) -> BoolArray:
    low, high = r.coarsest_on_cloth_threads_per_inch, r.finest_on_cloth_threads_per_inch
    return np.asarray(
        (c.route != STRAIGHT) | c.ink_is_white | _inside(c.threads_per_inch, low, high)
    )


def mesh_of_white(c: Choices, r: RulesEntry) -> BoolArray:
    low, base = r.coarsest_base_threads_per_inch, r.finest_base_threads_per_inch
    high = np.where(c.route == STRAIGHT, base, r.finest_on_cloth_threads_per_inch)
    return np.asarray(~c.ink_is_white | _inside(c.threads_per_inch, low, high))


def passes_of_colour(c: Choices, r: RulesEntry) -> BoolArray:
    straight = np.where(c.ink_is_white, r.most_passes_white_base, r.most_passes_on_cloth)
    return np.asarray(c.passes <= np.where(c.route == STRAIGHT, straight, r.most_passes_over_base))


def mesh_of_base(c: Choices, r: RulesEntry) -> BoolArray:
    return _inside(
        c.base_threads_per_inch,
        r.coarsest_base_threads_per_inch,
        r.finest_base_threads_per_inch,
    )


def passes_of_base(c: Choices, r: RulesEntry) -> BoolArray:
    most = np.where(c.route == WHITE, r.most_passes_white_base, r.most_passes_discharge_base)
    return _inside(c.base_passes, 1.0, most.astype(np.float64))


def white_flashed(c: Choices, _: RulesEntry) -> BoolArray:
    return np.asarray((c.route != WHITE) | c.flash)


def discharge_wet_on_wet(c: Choices, _: RulesEntry) -> BoolArray:
    return np.asarray((c.route != DISCHARGE) | ~c.flash)


def threads_per_line(c: Choices, r: RulesEntry) -> BoolArray:
    if c.lines_per_inch <= 0:
        return np.ones(c.route.shape, dtype=np.bool_)
    return np.asarray(c.threads_per_inch / c.lines_per_inch >= r.least_threads_per_line)


def cellulose(c: Choices, r: RulesEntry) -> BoolArray:
    read = c.discharge_grade == READ
    return np.asarray(
        (c.route != DISCHARGE) | read | (c.cellulose_share >= r.least_cellulose_share)
    )


def discharge_known(c: Choices, _: RulesEntry) -> BoolArray:
    return np.asarray((c.route != DISCHARGE) | (c.discharge_grade > NOTHING_KNOWN))


def dye_discharges(c: Choices, r: RulesEntry) -> BoolArray:
    unknown = c.discharge_grade == NOTHING_KNOWN
    return np.asarray(
        (c.route != DISCHARGE) | unknown | (c.discharge_grade >= r.least_discharge_grade)
    )


def dye_to_take_out(c: Choices, r: RulesEntry) -> BoolArray:
    graded = (c.discharge_grade > NOTHING_KNOWN) & (c.discharge_grade < READ)
    return np.asarray((c.route != DISCHARGE) | ~graded | (c.dye_de00 >= r.least_dye_de00))


def something_to_cover(c: Choices, r: RulesEntry) -> BoolArray:
    return np.asarray((c.route != WHITE) | (c.de00_from_white >= r.least_to_cover_de00))


def _white_on_cloth(c: Choices) -> BoolArray:
    """Whether a white lies on the cloth, as a base or as a color."""
    return np.asarray((c.route == WHITE) | ((c.route == STRAIGHT) & c.ink_is_white))


def _migrates(c: Choices, r: RulesEntry) -> BoolArray:
    return np.asarray(
        r.dye_migrates(polyester_share=c.polyester_share, de00_from_white=c.de00_from_white)
    )


def dye_blocked(c: Choices, r: RulesEntry) -> BoolArray:
    return ~_white_on_cloth(c) | ~_migrates(c, r) | c.blocks_dye


def blocking_kept(c: Choices, r: RulesEntry) -> BoolArray:
    if not c.has_plain_white:
        return np.ones(c.route.shape, dtype=np.bool_)
    return ~_white_on_cloth(c) | _migrates(c, r) | ~c.blocks_dye


def stands_discharge(c: Choices, _: RulesEntry) -> BoolArray:
    return np.asarray((c.route != DISCHARGE) | c.ink_stands_discharge)


def every_build(c: Choices, _: RulesEntry) -> BoolArray:
    """All: a rule about the color asked for (`decision.answer`) or a mix (`mixing`) breaks none."""
    return np.ones(c.route.shape, dtype=np.bool_)
