"""Readings that are wrong: refused, left out and pointed out; and those that are right are not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from inksim.calibration.checks import check_possible
from inksim.calibration.press_estimate import calibrate
from inksim.calibration.print_reading import PrintReading
from inksim.calibration.reading_model import reading_model
from inksim.common.errors import InputError
from tests.press_worlds import (
    all_builds,
    known_by,
    of_other_shapes,
    other_rules,
    press_only,
    read_prints,
    six_prints,
    some_readings,
    study_shop,
    three_prints,
    whole_prior,
)


def black(reading: PrintReading) -> PrintReading:
    """As if the instrument had read nothing."""
    return replace(reading, reflectance=np.full_like(reading.reflectance, 1e-3))


def test_one_reading_that_no_press_prints_is_refused() -> None:
    reading = some_readings()[4]  # Lantern Orange on Flour White
    with pytest.raises(InputError, match="no press prints so far from") as told:
        calibrate([black(reading)], press=study_shop().press)
    assert f"'{reading.name}'" in str(told.value)
    kept = calibrate([black(reading)], press=study_shop().press, keep_all=True)
    assert len(kept.used) == 1


def test_readings_all_on_a_wrong_scale_are_refused_and_one_of_many_is_left_out() -> None:
    readings = some_readings()
    with pytest.raises(InputError, match="no press prints so far from"):
        calibrate([black(each) for each in readings], press=study_shop().press)
    found = calibrate([black(readings[4]), *readings[:4], readings[5]], press=study_shop().press)
    assert [suspect.name for suspect in found.suspects] == [readings[4].name]


def made_up(seed: int) -> list[PrintReading]:
    """Six colors that nobody read, of inks that nobody measured: nearly any color is possible."""
    rng = np.random.default_rng(seed)
    return [
        PrintReading(name=f"print {at}", build=build, lab=rng.uniform([35, -25, -25], [65, 25, 25]))
        for at, build in enumerate(known_by("invented", six_prints()))
    ]


@pytest.mark.parametrize("seed", range(3))
def test_readings_that_fit_nothing_are_refused(seed: int) -> None:
    with pytest.raises(InputError, match=r"do not fit .*, nor each other: .* more than \d\d ΔE00"):
        calibrate(made_up(seed), press=study_shop().press)


def test_readings_of_unsure_inks_that_are_far_off_are_used() -> None:
    # the same inks, and prints of them as they may truly be
    builds = known_by("invented", six_prints())
    for seed in range(3):
        rng = np.random.default_rng(seed)
        world, _ = of_other_shapes(rng, builds)
        found = calibrate(read_prints(world, builds, rng), press=study_shop().press)
        assert found.medians["before"] > 2.0
        assert found.medians["by_the_others"] < 10.0
        assert len(found.used) == 6


def test_readings_that_are_all_swapped_are_refused() -> None:
    rng = np.random.default_rng(72)
    readings = read_prints(whole_prior(rng), known_by("invented", six_prints()), rng)
    for pair in ((0, 3), (1, 4), (2, 5)):
        readings = swapped(readings, *pair)
    with pytest.raises(InputError, match="do not fit together: every one looks wrong"):
        calibrate(readings, press=study_shop().press)


@pytest.mark.parametrize("world", [press_only, whole_prior, other_rules])
def test_no_true_print_is_impossible(world: object) -> None:
    rng = np.random.default_rng(31)
    for _ in range(4):
        truth = world(rng)  # type: ignore[operator]
        some = [all_builds()[at] for at in rng.permutation(len(all_builds()))[:25]]
        for reading in read_prints(truth, some, rng):
            check_possible(reading_model([reading], study_shop().press))


@pytest.mark.parametrize("prints", [three_prints, six_prints])
def test_right_readings_of_an_unusual_press_are_used(prints: object) -> None:
    # three to seven sds from the generic press in release, soak and both unevennesses
    odd = {"release": 0.30, "soak": 0.60, "cv_cloth": 0.60, "cv_base": 0.60}
    for seed in range(3):
        rng = np.random.default_rng(seed)
        truth = whole_prior(rng)
        truth = replace(truth, press=truth.press._replace(**odd))
        readings = read_prints(truth, prints(), rng)  # type: ignore[operator]
        found = calibrate(readings, press=study_shop().press)
        assert found.suspects == ()
        assert found.medians["after"] < 0.3 * found.medians["before"]
        assert found.press.release.value < 0.45
        for reading in readings:  # nor is any of them by itself
            check_possible(reading_model([reading], study_shop().press))


def swapped(readings: list[PrintReading], i: int, j: int) -> list[PrintReading]:
    made = list(readings)
    made[i] = replace(readings[i], reflectance=readings[j].reflectance)
    made[j] = replace(readings[j], reflectance=readings[i].reflectance)
    return made


@pytest.mark.parametrize(
    ("world", "pair"),
    [
        (whole_prior, (0, 1)), (whole_prior, (2, 4)), (whole_prior, (0, 5)),
        (other_rules, (1, 3)), (other_rules, (3, 5)), (other_rules, (0, 5)),
    ],
)  # fmt: skip
def test_swapped_labels_are_pointed_out(pair: tuple[int, int], world: object) -> None:
    readings = swapped(some_readings(21, world), *pair)
    found = calibrate(readings, press=study_shop().press)
    names = {readings[at].name for at in pair}
    assert {s.name for s in found.suspects} == names
    for suspect in found.suspects:
        assert suspect.swapped_with in names - {suspect.name}
    assert {r.name for r in found.readings if r.left_out} == names
    # and the fit is that of the readings that are right
    clean = calibrate([r for r in readings if r.name not in names], press=study_shop().press)
    assert found.press.values == pytest.approx(clean.press.values, rel=0.02, abs=0.02)


def test_a_print_on_another_garment_is_pointed_out() -> None:
    rng = np.random.default_rng(9)
    truth = whole_prior(rng)
    builds = list(six_prints())
    printed_on = builds[3]
    meant = replace(printed_on, garment=study_shop().garment("Flour White"))
    readings = read_prints(truth, builds, rng)
    readings[3] = replace(readings[3], build=meant)
    found = calibrate(readings, press=study_shop().press)
    assert [s.name for s in found.suspects] == [readings[3].name]
    assert found.suspects[0].swapped_with is None
    assert found.suspects[0].delta_e > 3.0


def test_a_wrong_reading_may_be_kept_on_demand() -> None:
    readings = swapped(some_readings(21), 1, 3)
    found = calibrate(readings, press=study_shop().press, keep_all=True)
    assert len(found.suspects) == 2
    assert not any(r.left_out for r in found.readings)


def test_two_readings_of_one_build_that_differ_are_told() -> None:
    readings = some_readings()
    again = replace(readings[0], name="again", reflectance=readings[0].reflectance * 0.75)
    found = calibrate([*readings, again], press=study_shop().press)
    assert [c.names for c in found.contradictions] == [(readings[0].name, "again")]
    assert found.contradictions[0].delta_e > 3.0
    assert calibrate(readings, press=study_shop().press).contradictions == ()
