"""How sure: the fast response against a Monte Carlo of the whole model; readings narrow it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats.mstats import hdquantiles

from inksim.calibration.press_estimate import calibrate, printed
from inksim.colour.viewing import lab
from inksim.common.errors import InputError
from inksim.common.files import DATA
from inksim.printing import uncertainty
from inksim.printing.build import ROUTES, lower, tabulate
from inksim.printing.sensitivity import (
    ink_kinds,
    ink_steps,
    left_of_strengths,
    press_axes,
    strength_rows,
)
from inksim.printing.swatches import mean_reflectance
from inksim.printing.uncertainty import errors_of_builds, lab_ends, normal_points, respond, spread
from inksim.shop.load import load_shop
from inksim.shop.usual_builds import usual_build
from inksim.stock.press import MEANINGS, Parameter, Press, PressValues, Strength
from tests.accuracy.intervals import LIMITS, NAMES, calibrated_press, compared
from tests.monte_carlo import sample_prints
from tests.press_worlds import D50, build_of, read_prints, six_prints, study_shop, whole_prior


@pytest.fixture(scope="module")
def calibrated() -> Press:
    return calibrated_press()


# Where an end of the interval lies, in half-widths: a Monte Carlo of 20 000 knows it to 0.02; the
# rest is what a response of second order along each axis leaves out (products of two moves, and
# third order), which grows with the square of how unsure the inks are; and for ΔE, which has no
# cumulants, what 512 samples know of a quantile.
@pytest.mark.parametrize("data", LIMITS)
def test_the_intervals_are_those_of_a_monte_carlo_of_the_full_model(data: str) -> None:
    lab, worst, rms, chance = LIMITS[data]
    found = compared(data)
    assert np.max(np.abs(found.lab)) < lab
    assert np.max(np.abs(found.delta_e)) < worst
    assert np.sqrt(np.mean(found.delta_e**2)) < rms
    assert np.max(np.abs(found.chance)) < chance
    # what matters: a 90 % interval holds 90 % of the full model, each within the 85-95 % promised
    assert np.all((found.inside > 0.84) & (found.inside < 0.955))
    assert np.mean(found.inside) == pytest.approx(0.90, abs=0.02)


def test_the_fixed_points_are_a_digital_net() -> None:
    # Sobol 1967: of 2^m points one lies in each of the 2^m intervals of every dimension, and for
    # the first two dimensions in each of the boxes 2^-k x 2^-(m-k). Scrambling keeps that.
    with np.load(DATA / "spread.npz") as stored:
        places = 65536.0 * ndtr(stored["normal"]) - 0.5
    whole = np.rint(places).astype(int)
    assert whole.shape == (512, 64)
    np.testing.assert_allclose(places, whole, atol=1e-9)
    for m in (6, 7, 8, 9):
        some = whole[: 2**m]
        for column in some.T:
            assert len(np.unique(column >> (16 - m))) == 2**m
        for k in range(m + 1):
            box = (some[:, 0] >> (16 - k), some[:, 1] >> (16 - (m - k)))
            assert len({*zip(*(b.tolist() for b in box), strict=True)}) == 2**m


def test_percentiles_are_harrell_and_davis_of_scipy() -> None:
    """scipy.stats.mstats.hdquantiles, another implementation, of any 512 samples."""
    some = np.sort(np.random.default_rng(4).gamma(2.0, size=512))
    with np.load(DATA / "spread.npz") as stored:
        found = stored["quantile_weights"] @ some
    np.testing.assert_allclose(found, hdquantiles(some, [0.05, 0.5, 0.95]), rtol=1e-9)


def test_fixed_points_are_standard_normal_and_independent() -> None:
    points = normal_points(512, 20)
    np.testing.assert_allclose(points.mean(axis=0), 0.0, atol=1e-12)
    np.testing.assert_allclose(points.T @ points / 512, np.eye(20), atol=1e-12)
    # the shape stays that of a normal distribution: P(|z| < 1.645) = 0.9, z^4 has mean 3
    np.testing.assert_allclose(np.mean(np.abs(points) < 1.6449, axis=0), 0.90, atol=0.012)
    np.testing.assert_allclose(np.mean(points**4, axis=0), 3.0, atol=0.2)
    with pytest.raises(ValueError, match="512 points in 64 dimensions"):
        normal_points(513, 2)


def test_moving_prints_at_fewer_points_of_the_cloth_changes_no_interval() -> None:
    builds = [build_of(*names) for names in NAMES]
    table, press = tabulate(builds), study_shop().press
    errors = errors_of_builds(builds, layers=table.K.shape[-2])
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(uncertainty, "MOVED_NODES", 24)
        fine = respond(table, errors, press=press, viewing=D50)
    quick = respond(table, errors, press=press, viewing=D50)
    widths = [high - low for low, high in map(lab_ends, (fine, quick))]
    np.testing.assert_allclose(widths[1], widths[0], rtol=0.015)
    np.testing.assert_array_equal(quick.centre, fine.centre)


def test_the_same_question_has_the_same_answer() -> None:
    builds = [build_of(*names) for names in NAMES]
    normal_points.cache_clear()
    one = spread(builds, press=study_shop().press, viewing=D50)
    normal_points.cache_clear()
    two = spread(builds, press=study_shop().press, viewing=D50)
    for field in ("lab_low", "lab_high", "corners"):
        np.testing.assert_array_equal(getattr(one, field), getattr(two, field))


def test_a_build_is_as_sure_alone_as_among_others() -> None:
    shop = load_shop()
    target = shop.target("Regatta Orange")
    builds = [
        usual_build(
            shop, garment=shop.garment("Coal Black"), ink=shop.ink("Lantern Orange"), route=route
        )
        for route in ROUTES
    ]
    together = spread(builds, press=shop.press, viewing=D50, target=target)
    for at, build in enumerate(builds):
        alone = spread([build], press=shop.press, viewing=D50, target=target)
        for field in ("lab_low", "lab_high", "de_low", "de_high", "within", "corners"):
            np.testing.assert_allclose(
                getattr(alone, field)[0], getattr(together, field)[at], rtol=1e-9, err_msg=field
            )


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
    size = sum(len(rows) for rows in calibrated.strength_rows)
    np.testing.assert_allclose(
        moved.T @ moved + left_of_strengths(calibrated),
        calibrated.covariance[-size:, -size:],
        atol=1e-9,
    )


def test_what_is_known_for_certain_changes_nothing() -> None:
    builds = [build_of(*names) for names in NAMES[:2]]
    press = study_shop().press
    target = load_shop().target("Oven Red")
    certain = Strength("an ink not printed here", Parameter(1.0, 0.0), Parameter(1.0, 0.0))
    more = replace(press, strengths=(certain,))
    drawn = [
        sample_prints(builds, p, count=20, rng=np.random.default_rng(2)) for p in (press, more)
    ]
    np.testing.assert_array_equal(*drawn)
    one, two = (spread(builds, press=p, viewing=D50, target=target) for p in (press, more))
    for field in ("lab_low", "lab_high", "de_low", "de_high", "within", "corners"):
        np.testing.assert_array_equal(getattr(one, field), getattr(two, field))
    # the axes come in the order that they have without the parameters of standard deviation 0
    fields = PressValues._fields
    unsure = [at for at, name in enumerate(fields) if getattr(press, name).sd > 0]
    assert len(unsure) < len(fields)
    _, alone = np.linalg.eigh(press.covariance[np.ix_(unsure, unsure)])
    moved = np.array([axis.up for axis in press_axes(press)]) - np.array(press.values)
    expected = [unsure[at] for at in np.argmax(np.abs(alone), axis=0)]
    assert np.argmax(np.abs(moved), axis=1).tolist() == expected


def test_an_inks_steps_have_its_covariance(calibrated: Press) -> None:
    build = build_of("Kingcup Yellow", "Cornflower Blue", "white-base")
    other = build_of("Kingcup Yellow", "Weir Teal", "straight")  # an ink that was not read
    errors = errors_of_builds([build, other], layers=2)
    rows, kinds = strength_rows(calibrated, errors), ink_kinds(errors)
    (read, new) = kinds.kind
    assert (rows[errors.ink[0]] >= 0).all()
    assert (rows[errors.ink[1, 0]] == -1).all()
    steps = ink_steps(errors, rows, kinds, press=calibrated)
    flat = steps[:, read].reshape(len(steps), -1)
    at = rows[errors.ink[0]].ravel()
    np.testing.assert_allclose(
        flat.T @ flat, left_of_strengths(calibrated)[np.ix_(at, at)], atol=1e-9
    )
    # a direction of the upper film leaves the one below alone
    assert not steps[2:, read, 0].any()
    plain = steps[:, new].reshape(len(steps), -1)
    sd = np.append(errors.sds[errors.ink[1, 0]], [0.0, 0.0]) * calibrated.ink_sd_factor
    np.testing.assert_allclose(plain.T @ plain, np.diag(sd**2), atol=1e-12)


# values at a bound, near it (one move is shortened), and so unsure that both moves are
AT_A_BOUND = [
    ("soak", MEANINGS["soak"].least, 0.1),
    ("soak", 0.06, 0.1),
    ("soak", 0.45, 0.9),
    ("release", MEANINGS["release"].most, 0.12),
    ("release", MEANINGS["release"].most - 0.05, 0.12),
    ("yule_nielsen_n", 1.0, 0.2),
]


@pytest.mark.parametrize(("name", "value", "sd"), AT_A_BOUND)
def test_moves_stay_in_range_and_are_never_cut_off(name: str, value: float, sd: float) -> None:
    press = replace(study_shop().press, **{name: Parameter(value, sd)})
    axes = press_axes(press)
    at = PressValues._fields.index(name)
    (own,) = [a for a in axes if a.up[at] != value or a.down[at] != value]
    for place, found in zip(own.at, (own.up, own.down), strict=True):
        assert 0.0 < abs(place) <= 1.0
        assert abs(found[at] - value) == pytest.approx(abs(place) * sd)
        assert MEANINGS[name].least <= found[at] <= MEANINGS[name].most
    assert all(a.at == (1.0, -1.0) for a in axes if a is not own)


@pytest.mark.parametrize(("name", "value", "sd"), [AT_A_BOUND[n] for n in (0, 1, 3, 4)])
def test_the_response_at_a_bound_is_the_derivative_there(
    name: str, value: float, sd: float
) -> None:
    # Against finite differences of the model itself, on the side where it holds: steps of 0.002.
    # On white, what soaks in bends L* too sharply for the parabola of a whole standard deviation.
    builds = [build_of(*names) for names in NAMES if names[0] != "Flour White"]
    table = tabulate(builds)
    errors = errors_of_builds(builds, layers=table.K.shape[-2])
    nothing = {n: Parameter(v, 0.0) for n, v in study_shop().press.values._asdict().items()}
    press = replace(study_shop().press, **(nothing | {name: Parameter(value, sd)}))
    found = respond(table, errors, press=press, viewing=D50)
    inward = -1.0 if value > MEANINGS[name].most / 2.0 else 1.0

    def seen(steps: int) -> np.ndarray:
        moved = press.values._replace(**{name: value + inward * 0.002 * steps})
        return lab(mean_reflectance(lower(table, moved), nodes=uncertainty.MOVED_NODES), D50)

    still, one, two, three = (seen(n) for n in range(4))
    first = inward * sd / 0.002 * (-1.5 * still + 2.0 * one - 0.5 * two)
    second = (sd / 0.002) ** 2 * (2.0 * still - 5.0 * one + 4.0 * two - three)
    np.testing.assert_allclose(np.abs(found.slope[0]), np.abs(first), rtol=0.05, atol=0.05)
    np.testing.assert_allclose(found.curve[0], second / 2.0, rtol=0.2, atol=0.1)


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


# -- A correlation that a hand has spoiled


def _spoiled(size: int) -> dict[str, tuple[tuple[float, ...], ...]]:
    whole = np.eye(size)
    impossible = whole.copy()  # a with b, a with c, but b against c
    for i, j, r in ((0, 1, 0.99), (0, 2, 0.99), (1, 2, -0.99)):
        impossible[i, j] = impossible[j, i] = r
    big, skew, holes = 2.0 * whole, whole.copy(), whole.copy()
    skew[0, 1] = 0.5
    holes[1, 1] = np.nan
    rows = [tuple(map(float, row)) for row in whole]
    return {
        "too small": ((1.0, 0.2), (0.2, 1.0)),
        "ragged": (*rows[:-1], rows[-1][:-1]),
        **{
            name: tuple(tuple(map(float, row)) for row in table)
            for name, table in (
                ("not definite", impossible), ("diagonal of 2", big), ("skew", skew),
                ("not a number", holes),
            )
        },
    }  # fmt: skip


@pytest.mark.parametrize("name", list(_spoiled(11)))
def test_a_spoiled_correlation_is_refused_in_one_sentence(name: str) -> None:
    press = load_shop().press
    size = len(press.covariance)
    assert replace(press, correlation=tuple(map(tuple, np.eye(size).tolist()))).correlation
    with pytest.raises(InputError, match=f"symmetric {size} × {size} table"):
        replace(press, correlation=_spoiled(size)[name])


def test_an_sd_wider_than_its_range_is_refused() -> None:
    press = load_shop().press
    with pytest.raises(InputError, match=r"the sd of release is 1e\+09; give 0 to 1.1"):
        replace(press, release=press.release._replace(sd=1e9))
