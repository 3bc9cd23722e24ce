"""How sure: the fast response against a Monte Carlo of the whole model; readings narrow it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from inksim.build import Build
from inksim.calibrate import calibrate, printed
from inksim.moves import ink_steps, left_of_strengths, placed, press_axes
from inksim.predict import usual_build
from inksim.press import Press
from inksim.shop import load_shop
from inksim.uncertainty import normal_points, spread, stock_sds
from tests.monte_carlo import sample_prints
from tests.press_worlds import D50, build_of, read_prints, six_prints, study_shop, whole_prior

SAMPLES = 20_000
NAMES = (
    ("Kingcup Yellow", "Cornflower Blue", "white-base"),
    ("Coal Black", "Barley Yellow", "straight"),
    ("Mist Gray", "Kiln Red", "straight"),
    ("Slate Gray", "Damson Purple", "discharge-base"),
    ("Flour White", "Weir Teal", "straight"),
    ("Coal Black", "Foxglove Pink", "white-base"),
)


@pytest.fixture(scope="module")
def calibrated() -> Press:
    rng = np.random.default_rng(4)
    readings = read_prints(whole_prior(rng), six_prints(), rng)
    return calibrate(readings, press=study_shop().press).press


def case(name: str, calibrated: Press) -> tuple[list[Build], Press]:
    if name == "invented":
        shop = load_shop()
        builds = [
            usual_build(shop, garment=shop.garment(g), ink=shop.ink(i), route=r)  # type: ignore[arg-type]
            for g, i, r in NAMES
        ]
        return builds, shop.press
    builds = [build_of(*names) for names in NAMES]
    if name == "measured":
        return builds, study_shop().press
    return [printed(build, press=calibrated) for build in builds], calibrated


# Where an end of the interval lies: a Monte Carlo of 20 000 knows a 5 % quantile to 0.015 of a
# standard deviation; the rest is what a response of second order along each axis leaves out
# (products of two moves, and third order), which grows with the square of how unsure the inks are.
@pytest.mark.parametrize(
    ("name", "most"), [("invented", 0.22), ("measured", 0.20), ("calibrated", 0.10)]
)
def test_the_response_is_the_monte_carlo_of_the_full_model(
    name: str, most: float, calibrated: Press
) -> None:
    builds, press = case(name, calibrated)
    drawn = sample_prints(builds, press, count=SAMPLES, rng=np.random.default_rng(11))
    low, high = np.quantile(drawn, [0.05, 0.95], axis=0)
    found = spread(builds, press=press, viewing=D50)
    half = (high - low) / 2.0
    assert np.max(np.abs(found.lab_low - low) / half) < most
    assert np.max(np.abs(found.lab_high - high) / half) < most
    # what matters: a 90 % interval holds 90 % of the full model, each within the 85-95 % promised
    inside = np.mean((drawn >= found.lab_low) & (drawn <= found.lab_high), axis=0)
    assert np.all((inside > 0.84) & (inside < 0.955))
    assert np.mean(inside) == pytest.approx(0.90, abs=0.02)


def test_the_same_question_has_the_same_answer() -> None:
    builds = [build_of(*names) for names in NAMES]
    normal_points.cache_clear()
    one = spread(builds, press=study_shop().press, viewing=D50)
    normal_points.cache_clear()
    two = spread(builds, press=study_shop().press, viewing=D50)
    for field in ("lab_low", "lab_high", "corners"):
        np.testing.assert_array_equal(getattr(one, field), getattr(two, field))


def test_readings_narrow_the_interval_visibly(calibrated: Press) -> None:
    builds = [build_of(*names) for names in NAMES]
    before = spread(builds, press=study_shop().press, viewing=D50)
    after = spread([printed(b, press=calibrated) for b in builds], press=calibrated, viewing=D50)
    width_before, width_after = (s.lab_high - s.lab_low for s in (before, after))
    assert np.all(width_after < width_before)
    assert np.median(width_after[:, 0] / width_before[:, 0]) < 0.5


def test_three_readings_narrow_the_interval_visibly() -> None:
    rng = np.random.default_rng(8)
    readings = read_prints(whole_prior(rng), six_prints()[:3], rng)
    press = calibrate(readings, press=study_shop().press).press
    builds = [build_of(*names) for names in NAMES]
    before = spread(builds, press=study_shop().press, viewing=D50)
    after = spread([printed(b, press=press) for b in builds], press=press, viewing=D50)
    ratio = (after.lab_high - after.lab_low) / (before.lab_high - before.lab_low)
    assert np.median(ratio) < 0.6


def test_axes_and_steps_add_up_to_the_joint_covariance(calibrated: Press) -> None:
    # Along the axes the strengths move by C_sp C_pp^-1; what is left must make up C_ss.
    moved = np.stack([axis.strengths.ravel() for axis in press_axes(calibrated)])
    size = 2 * len(calibrated.strengths)
    np.testing.assert_allclose(
        moved.T @ moved + left_of_strengths(calibrated),
        calibrated.covariance[-size:, -size:],
        atol=1e-9,
    )


def test_an_inks_steps_have_its_covariance(calibrated: Press) -> None:
    build = build_of("Kingcup Yellow", "Cornflower Blue", "white-base")
    other = build_of("Kingcup Yellow", "Weir Teal", "straight")  # an ink that was not read
    sds = stock_sds([build, other], layers=2)
    place = placed(calibrated, sds)
    assert (place[0] >= 0).all()
    assert place[1].tolist() == [-1, -1]
    steps = ink_steps(sds, place, press=calibrated)
    flat = steps[:, 0].reshape(len(steps), -1)
    at = [2 * p + part for p in place[0] for part in (0, 1)]
    np.testing.assert_allclose(
        flat.T @ flat, left_of_strengths(calibrated)[np.ix_(at, at)], atol=1e-9
    )
    plain = steps[:, 1].reshape(len(steps), -1)
    sd = np.array([sds.K[1, 0], sds.S[1, 0], 0.0, 0.0]) * calibrated.ink_sd_factor
    np.testing.assert_allclose(plain.T @ plain, np.diag(sd**2), atol=1e-12)


def test_a_surer_model_has_a_narrower_interval() -> None:
    build = [build_of("Mist Gray", "Kiln Red", "straight")]
    press = study_shop().press
    wide, narrow = (
        spread(build, press=replace(press, model_sd=sd), viewing=D50) for sd in (3.0, 0.1)
    )
    assert np.all(wide.lab_high - wide.lab_low > narrow.lab_high - narrow.lab_low)


def test_without_strengths_the_correlation_of_the_rest_stays(calibrated: Press) -> None:
    # leaving variables of a normal distribution out is dropping their rows and columns
    kept = calibrated.with_strengths(lambda s: s.ink != "Kiln Red")
    assert "Kiln Red" not in [s.ink for s in kept.strengths]
    gone = [s.ink for s in calibrated.strengths].index("Kiln Red")
    size = len(calibrated.values) + 2 * gone
    expected = np.delete(np.delete(calibrated.covariance, [size, size + 1], 0), [size, size + 1], 1)
    np.testing.assert_allclose(kept.covariance, expected, atol=1e-12)
