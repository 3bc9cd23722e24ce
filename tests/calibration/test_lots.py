"""Lots of an ink: a stronger one is told to be stronger, the newest is marked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from inksim.calibration.press_estimate import calibrate
from inksim.colour.cielab import delta_e_2000
from inksim.colour.viewing import lab
from tests.press_worlds import D50, build_of, press_only, read_prints, six_prints, study_shop

INK = "Kiln Red"
BUILDS = [
    build_of(garment, INK, "straight", passes=1, screen=screen)
    for garment in ("Flour White", "Oat Natural", "Mist Gray")
    for screen in ("160", "230")
]


def test_a_stronger_lot_is_told_with_what_it_moves_a_print_by_and_is_the_newest() -> None:
    # the truth is set: the second lot absorbs and scatters 10 % more than the first
    rng = np.random.default_rng(5)
    world = press_only(rng)
    strong = replace(world, inks={**world.inks, INK: (1.1, 1.1)})
    readings = [
        replace(each, name=f"{lot}, {each.name}", ink_lot=lot, date=day)
        for lot, day, here in (("B7", "2026-02-01", world), ("A9", "2026-03-01", strong))
        for each in read_prints(here, BUILDS, rng)
    ]
    others = read_prints(world, six_prints(), rng)
    found = calibrate([*others, *readings], press=study_shop().press).lots
    first, second = found
    assert [(each.of, each.lot, each.newest) for each in found] == [
        (INK, "B7", False), (INK, "A9", True),
    ]  # fmt: skip
    assert first.readings == second.readings == len(BUILDS)
    assert 1.02 < second.strength / first.strength < 1.15  # the prior holds some of 1.1 back
    assert all(each.low < each.strength < each.high for each in found)
    apart = np.mean(delta_e_2000(*(lab(w.prints(BUILDS), D50) for w in (world, strong))))
    # each lot is about half of the way from the ink between them
    assert 0.0 < first.moves_de00 < apart
    assert 0.0 < second.moves_de00 < apart


def test_without_days_no_lot_is_called_the_newest_and_without_lots_there_are_none() -> None:
    rng = np.random.default_rng(6)
    readings = read_prints(press_only(rng), BUILDS[:4], rng)
    assert calibrate(readings, press=study_shop().press).lots == ()
    named = [replace(each, ink_lot="B7") for each in readings]
    (only,) = calibrate(named, press=study_shop().press).lots
    assert not only.newest
