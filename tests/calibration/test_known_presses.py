"""Calibration of presses whose truth is known: the press is found, as surely as it says."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from inksim.calibration.press_estimate import calibrate
from tests.accuracy.calibration_study import study
from tests.press_worlds import (
    FITTED,
    NODES,
    all_builds,
    build_of,
    in_contact,
    lognormal,
    other_rules,
    press_only,
    read_prints,
    six_prints,
    study_shop,
    three_prints,
    whole_prior,
)


# The full size, 120 presses, is `python -m tests.accuracy.calibration_study`, which asserts a third
# and a half as they stand. 24 presses know the ratio of `other_rules` to ±0.06 (bootstrap), so its
# half is asserted with two standard errors; that of `press_only` is far inside its third. The cover
# differs by 0.08 from press to press, so that 85-95 % is known to ±0.035; of 120 presses
# `press_only` has 96 %. The other worlds are held to the same with 12.
@pytest.mark.parametrize(
    ("world", "prints", "presses", "most", "known"),
    [
        (press_only, three_prints, 24, 1 / 3, 0.035),
        (whole_prior, three_prints, 12, None, 0.035),
        (other_rules, six_prints, 12, 1 / 2 + 2 * 0.06, 0.035),
        (in_contact, six_prints, 12, None, 0.035),
    ],
)
def test_readings_cut_the_error_of_all_other_builds(
    world: object, prints: object, presses: int, most: float | None, known: float
) -> None:
    found = study(world, prints(), presses=presses, seed=77, every=8)  # type: ignore[operator, arg-type]
    assert most is None or found.ratio <= most
    assert np.mean(found.after < found.before) > 0.9
    assert found.called_wrong == 0
    assert 0.85 - known <= found.cover.mean() <= 0.95 + known


def test_the_standard_errors_are_right() -> None:
    rng = np.random.default_rng(12)
    scores = []
    for _ in range(20):
        truth = whole_prior(rng)
        found = calibrate(read_prints(truth, six_prints(), rng), press=study_shop().press).press
        scores += [
            (getattr(found, name).value - getattr(truth.press, name)) / getattr(found, name).sd
            for name in FITTED
        ]
    # 180 standard normal values: their rms is 1 ± 0.053. Now and then the readings look as if the
    # inks were exact while they are not, which makes some sds small
    assert 0.85 < np.sqrt(np.mean(np.square(scores))) < 1.15
    assert abs(np.mean(scores)) < 0.2


def test_many_readings_find_the_press() -> None:
    rng = np.random.default_rng(5)
    truth = press_only(rng)
    some = [all_builds()[at] for at in rng.permutation(len(all_builds()))[:40]]
    found = calibrate(read_prints(truth, some, rng), press=study_shop().press)
    for name in ("release", "pass_gain", "cv_cloth", "soak"):
        value, sd = getattr(found.press, name)
        assert abs(value - getattr(truth.press, name)) < 3.0 * sd
        assert sd < 0.6 * getattr(study_shop().press, name).sd
    assert found.press.model_sd < 0.3
    assert found.press.ink_sd_factor < 1.0  # the inks are as filed, and that shows
    assert found.suspects == ()


def test_the_other_world_is_another_model_by_its_own_limits() -> None:
    # std/mean of its thickness is cv, its mean 1; no ink leaves the bare cloth
    for cv in (0.1, 0.4, 0.7):
        factor, weight = lognormal(cv, nodes=15)
        assert weight @ factor == pytest.approx(1.0, abs=1e-6)
        assert np.sqrt(weight @ factor**2 - 1.0) == pytest.approx(cv, rel=2e-3)
    world = replace(other_rules(np.random.default_rng(1)), contact=0.0)
    even = replace(
        world,
        press=world.press._replace(cv_cloth=1e-6, cv_base=1e-6, contact=0.0, surface_haze=0.0),
    )
    builds = list(six_prints())
    plain = super(type(even), even).prints(builds)
    np.testing.assert_allclose(even.prints(builds), plain, rtol=1e-4)
    assert NODES == 7


def test_a_cloth_of_another_lot_moves_its_factor_and_is_rarely_sure() -> None:
    # Four presses, each twice with the same noise: one garment as filed, then with 1.1 times its
    # dye. The prior (3 %) holds the factor back: it moves the right way on every press, but by far
    # less than the truth, and nothing is called off where the cloth is as filed.
    more = [
        build_of("Kingcup Yellow", ink, "straight", passes=1, screen="230")
        for ink in ("Barley Yellow", "Oatcake Cream")
    ]
    moved = []
    for seed in range(5, 9):
        world = press_only(np.random.default_rng(seed))
        factors = []
        for truth in (1.0, 1.1):
            here = replace(world, cloths={**world.cloths, "Kingcup Yellow": truth})
            noise = np.random.default_rng(seed + 100)
            readings = read_prints(here, [*six_prints(), *more], noise)
            found = calibrate(readings, press=study_shop().press)
            told = {c.name: c for c in found.cloths if not c.discharged}
            assert told["Kingcup Yellow"].sd < told["Kingcup Yellow"].sd_before
            assert truth > 1.0 or not any(c.off for c in found.cloths)
            factors.append(told["Kingcup Yellow"].factor)
        moved.append(factors[1] - factors[0])
    assert all(0.0 < each < 0.1 for each in moved)
