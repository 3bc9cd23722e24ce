"""Calibration: the equations against scipy's own, known truths, wrong readings, what is told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import minimize

from inksim.calibration.checks import check_possible, leave_one_out
from inksim.calibration.fit import (
    _FACTORS,
    _SDS,
    _learn,
    fit_press,
    reading_noise,
    solve,
)
from inksim.calibration.press_estimate import Calibration, calibrate, printed
from inksim.calibration.print_reading import READ_BY, PrintReading
from inksim.calibration.reading_model import reading_model
from inksim.colour.cielab import delta_e_2000, difference_metric
from inksim.common.errors import InputError
from inksim.optics.halftone import grown, yule_nielsen
from inksim.printing.build import Build
from inksim.printing.prediction import predict_nominal
from inksim.stock.press import MEANINGS, Parameter
from inksim.stock.provenance import INK_SD_FACTOR_PRIOR, MEAN_LENGTH, MODEL_SD_PRIOR
from inksim.stock.spectral_error import SpectralError
from tests.accuracy.calibration_study import study
from tests.press_worlds import (
    D50,
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


def some_readings(seed: int = 3, world: object = whole_prior) -> list[PrintReading]:
    rng = np.random.default_rng(seed)
    return read_prints(world(rng), six_prints(), rng)  # type: ignore[operator]


# -- The model of the readings


def test_the_model_at_its_prior_is_the_prediction() -> None:
    builds = list(six_prints())
    model = reading_model(some_readings(), study_shop().press)
    found = model.lab(np.zeros((1, model.unknowns.size)))[0]
    expected = [
        p.lab for p in predict_nominal(builds, press=study_shop().press.values, viewing=D50)
    ]
    np.testing.assert_allclose(found, expected, atol=1e-9)


def test_the_slope_is_the_difference_of_a_smaller_step() -> None:
    model = reading_model(some_readings(), study_shop().press)
    u = np.random.default_rng(0).normal(size=model.unknowns.size) * 0.3
    h = 1e-4
    both = [model.lab(u + sign * h * np.eye(u.size)) for sign in (1, -1)]
    np.testing.assert_allclose(
        model.jacobian(u), np.moveaxis((both[0] - both[1]) / (2 * h), 0, -1), atol=2e-3
    )


def test_a_halftone_is_the_one_of_the_halftone_module() -> None:
    build = build_of("Flour White", "Kiln Red", "straight")
    reading = PrintReading(
        name="tint", build=build, lab=np.array([60.0, 30.0, 20.0]), coverage=0.5, lines_per_inch=45
    )
    values = study_shop().press.values
    model = reading_model([reading], study_shop().press)
    solid = predict_nominal([build], press=values, viewing=D50)[0].reflectance
    area = grown(0.5, growth_um=float(values.dot_growth_um), lines_per_inch=45)
    R = yule_nielsen(
        np.array([1.0 - area, area]),
        np.stack([build.garment.reflectance, solid]),
        n=float(values.yule_nielsen_n),
    )
    found = model.reflectance(np.zeros((1, model.unknowns.size)))[0, 0]
    np.testing.assert_allclose(found, R, atol=1e-9)


# -- The fit, against the same thing said otherwise


def test_the_metric_is_the_formula_for_small_differences() -> None:
    rng = np.random.default_rng(1)
    lab = np.column_stack([rng.uniform(15, 90, 60), rng.uniform(-60, 60, (60, 2))])
    d = rng.normal(size=(60, 3)) * 0.15
    by_metric = np.sqrt(np.einsum("bi,bij,bj->b", d, difference_metric(lab), d))
    # second order in the difference, and in the 0.2 the metric is taken over
    np.testing.assert_allclose(by_metric, delta_e_2000(lab - d / 2, lab + d / 2), rtol=0.05)


def test_the_noise_has_the_mean_difference_it_should() -> None:
    model = reading_model(some_readings(), study_shop().press)
    rng = np.random.default_rng(2)
    for lab, noise in zip(model.read, reading_noise(model), strict=True):
        drawn = lab + rng.multivariate_normal(np.zeros(3), noise, 4000)
        # 4000 draws of a length with 42 % spread: 0.7 %; the metric is local: a few percent
        assert np.mean(delta_e_2000(lab, drawn)) == pytest.approx(
            READ_BY["instrument"].each, rel=0.06
        )
    assert pytest.approx(np.mean(stats.chi(3).rvs(10**6, random_state=1)), rel=2e-3) == MEAN_LENGTH


def test_the_evidence_is_that_of_a_multivariate_normal() -> None:
    # outside fact: scipy's multivariate normal density of the readings, u integrated out
    model = reading_model(some_readings(), study_shop().press)
    base = reading_noise(model)
    u = np.zeros(model.unknowns.size)
    jacobian = model.jacobian(u)
    offset = model.lab(u[None])[0] - model.read
    J, r = jacobian.reshape(-1, u.size), offset.ravel()
    evidence = np.empty((_FACTORS.size, _SDS.size))
    for a, factor in enumerate(_FACTORS):
        D = np.where(model.unknowns.of_ink, factor, 1.0)
        for b, sd in enumerate(_SDS):
            covariance = (J * D**2) @ J.T
            for at, each in enumerate(base + sd**2 * np.eye(3)):
                covariance[3 * at : 3 * at + 3, 3 * at : 3 * at + 3] += each
            evidence[a, b] = stats.multivariate_normal(np.zeros(r.size), covariance).logpdf(r)
    for grid, (median, width), axis in (
        (_FACTORS, INK_SD_FACTOR_PRIOR["measured"], 0),
        (_SDS, MODEL_SD_PRIOR["measured"], 1),
    ):
        prior = stats.norm(np.log(median), width).logpdf(np.log(grid))
        evidence += prior[:, None] if axis == 0 else prior
    chance = np.exp(evidence - evidence.max())
    chance /= chance.sum()
    every = np.ones(len(model.readings), dtype=bool)
    factor, sd = _learn(model, every, offset, jacobian, base=base)
    assert factor == pytest.approx(np.sqrt(chance.sum(1) @ _FACTORS**2), rel=1e-6)
    assert sd == pytest.approx(np.sqrt(chance.sum(0) @ _SDS**2), rel=1e-6)


def test_the_fit_is_the_most_probable_point() -> None:
    # another optimizer on the same density, from the prior
    found = fit_press(reading_model(some_readings(), study_shop().press))
    model = found.model
    precision = np.linalg.inv(found.noise)
    prior = np.where(model.unknowns.of_ink, found.ink_factor, 1.0) ** -2.0

    def cost(u: np.ndarray) -> float:
        off = model.lab(u[None])[0] - model.read
        return float(np.einsum("bi,bij,bj->", off, precision, off) + prior @ u**2) / 2.0

    bounds = list(zip(model.unknowns.least, model.unknowns.most, strict=True))
    other = minimize(cost, np.zeros(model.unknowns.size), method="L-BFGS-B", bounds=bounds,
                     options={"maxiter": 400, "maxfun": 40_000})  # fmt: skip
    assert cost(found.u) <= other.fun + 1e-3


def test_leaving_one_out_is_fitting_without_it() -> None:
    found = fit_press(reading_model(some_readings(), study_shop().press))
    quick = leave_one_out(found)
    for at in range(len(found.model.readings)):
        used = np.arange(len(found.model.readings)) != at
        slow = _refit(found, used)
        # one Newton step from the fit: what the model's curvature leaves
        assert delta_e_2000(slow, quick.lab[at]) < 0.35


def _refit(found: object, used: np.ndarray) -> np.ndarray:
    model = found.model  # type: ignore[attr-defined]
    u = solve(
        model, used, noise=found.noise, prior_sd=found.prior_sd,  # type: ignore[attr-defined]
        start=np.zeros(model.unknowns.size),
    )  # fmt: skip
    return np.asarray(model.lab(u[None])[0][~used][0])


# -- Known truth


# The full size, 120 presses, is `python -m tests.accuracy.calibration_study`, which asserts a third
# and a half as they stand. Here 24 presses know the ratio of `other_rules` to ±0.06 (bootstrap), so
# its half is asserted with two standard errors; that of `press_only` is far inside its third. The
# cover differs by 0.08 from press to press, so that 85-95 % is known to ±0.035; of 120 presses
# `press_only` has 98 %.
@pytest.mark.parametrize(
    ("world", "prints", "most", "known"),
    [
        (press_only, three_prints, 1 / 3, 0.035),
        (whole_prior, three_prints, None, 0.035),
        (other_rules, six_prints, 1 / 2 + 2 * 0.06, 0.035),
        (in_contact, six_prints, None, 0.035),
    ],
)
def test_readings_cut_the_error_of_all_other_builds(
    world: object, prints: object, most: float | None, known: float
) -> None:
    found = study(world, prints(), presses=24, seed=77, every=8)  # type: ignore[operator, arg-type]
    assert most is None or found.ratio <= most
    assert np.mean(found.after < found.before) > 0.9
    assert found.called_wrong == 0
    assert 0.85 - known <= found.cover.mean() <= 0.95 + known


def test_the_standard_errors_are_right() -> None:
    rng = np.random.default_rng(12)
    scores = []
    for _ in range(75):
        truth = whole_prior(rng)
        found = calibrate(read_prints(truth, six_prints(), rng), press=study_shop().press).press
        scores += [
            (getattr(found, name).value - getattr(truth.press, name)) / getattr(found, name).sd
            for name in FITTED
        ]
    # 525 standard normal values: their rms is 1 ± 0.031. Now and then the readings look as if the
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


# -- Wrong readings


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


@pytest.mark.parametrize("world", [press_only, whole_prior, other_rules])
def test_no_true_print_is_impossible(world: object) -> None:
    rng = np.random.default_rng(31)
    for _ in range(12):
        truth = world(rng)  # type: ignore[operator]
        some = [all_builds()[at] for at in rng.permutation(len(all_builds()))[:25]]
        for reading in read_prints(truth, some, rng):
            check_possible(reading_model([reading], study_shop().press))


@pytest.mark.parametrize("prints", [three_prints, six_prints])
def test_right_readings_of_an_unusual_press_are_used(prints: object) -> None:
    # three to seven sds from the generic press in release, soak and both unevennesses
    odd = {"release": 0.30, "soak": 0.60, "cv_cloth": 0.60, "cv_base": 0.60}
    for seed in range(5):
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


@pytest.mark.parametrize("pair", [(0, 1), (1, 3), (2, 4), (3, 5), (0, 5)])
@pytest.mark.parametrize("world", [whole_prior, other_rules])
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


# -- What the readings tell


def silent(found: Calibration) -> set[str]:
    """Parameters of which the readings said nothing."""
    return {each.name for each in found.parameters if not each.told}


def test_no_halftone_was_read_so_its_parameters_are_silent() -> None:
    found = calibrate(some_readings(), press=study_shop().press)
    assert {"dot_growth_um", "yule_nielsen_n"} <= silent(found)
    for name in ("dot_growth_um", "yule_nielsen_n"):
        before, after = getattr(study_shop().press, name), getattr(found.press, name)
        assert after == pytest.approx(before, rel=1e-6)


def test_halftones_tell_their_dots() -> None:
    readings = some_readings()
    truth = study_shop().press.values._replace(dot_growth_um=45.0)
    build = build_of("Flour White", "Hearth Black", "straight")
    solid = predict_nominal([build], press=truth, viewing=D50)[0].reflectance
    tints = []
    for coverage in (0.2, 0.5, 0.8):
        area = grown(coverage, growth_um=45.0, lines_per_inch=45)
        R = yule_nielsen(
            np.array([1 - area, area]), np.stack([build.garment.reflectance, solid]), n=1.8
        )
        tints.append(
            PrintReading(
                name=f"tint {coverage}", build=build, reflectance=R, coverage=coverage,
                lines_per_inch=45,
            )
        )  # fmt: skip
    found = calibrate([*readings, *tints], press=study_shop().press)
    assert "dot_growth_um" not in silent(found)
    value, sd = found.press.dot_growth_um
    assert abs(value - 45.0) < 2.5 * sd
    assert sd < 6.0


def test_release_and_an_inks_strength_are_told_together() -> None:
    # one straight print of one ink on white: more ink and a stronger ink look the same, where its
    # strength is all that is not known of it, and how the film touches the cloth is known
    touch = {
        n: getattr(study_shop().press, n)._replace(sd=0.0) for n in ("contact", "surface_haze")
    }
    press = replace(study_shop().press, **touch)
    build = build_of("Flour White", "Kiln Red", "straight", passes=1, screen="230")
    loose = replace(build.layers[0].ink, error=SpectralError(K=0.3, S=0.3, shapes=np.empty(0)))
    build = replace(build, layers=(replace(build.layers[0], ink=loose),))
    lab = predict_nominal([build], press=press.values, viewing=D50)[0].lab
    found = calibrate([PrintReading(name="one", build=build, lab=lab)], press=press)
    pairs = [{one, two} for one, two, _ in found.together]
    assert {"release", "K of Kiln Red"} in pairs


def test_a_mean_of_many_weighs_more() -> None:
    rng = np.random.default_rng(3)
    truth = whole_prior(rng)
    each = [read_prints(truth, six_prints(), rng) for _ in range(25)]
    mean = [
        replace(r[0], reflectance=np.mean([one.reflectance for one in r], axis=0), weight=25.0)
        for r in zip(*each, strict=True)
    ]
    light, sure = (calibrate(r, press=study_shop().press).press for r in (each[0], mean))
    assert sure.release.sd < light.release.sd


def test_parameters_stay_in_their_range() -> None:
    readings = some_readings()
    black = [replace(r, reflectance=np.full(31, 0.01)) for r in readings]
    found = calibrate(black, press=study_shop().press, keep_all=True).press
    for name, meaning in MEANINGS.items():
        assert meaning.least <= getattr(found, name).value <= meaning.most
    at_edge = replace(study_shop().press, cv_base=Parameter(0.0, 0.05))
    assert calibrate(readings, press=at_edge).press.cv_base.value >= 0.0


def test_calibrating_again_starts_from_the_same_prior() -> None:
    readings = some_readings()
    once = calibrate(readings, press=study_shop().press)
    twice = calibrate(readings, press=once.press)
    assert twice.press.values == once.press.values
    assert twice.press.before == study_shop().press


def test_the_report_is_what_the_new_press_predicts() -> None:
    readings = some_readings()
    found = calibrate(readings, press=study_shop().press)
    builds: list[Build] = [printed(r.build, press=found.press) for r in readings]
    labs = [p.lab for p in predict_nominal(builds, press=found.press.values, viewing=D50)]
    again = [float(delta_e_2000(lab, r.seen)) for lab, r in zip(labs, readings, strict=True)]
    # the report also has the cloths' lots in it, which are not kept
    assert [r.after for r in found.readings] == pytest.approx(again, abs=0.5)


@pytest.mark.parametrize("count", [1, 2])
def test_few_readings_do_and_none_is_called_wrong(count: int) -> None:
    found = calibrate(some_readings()[:count], press=study_shop().press)
    assert found.suspects == ()
    assert found.medians["after"] < found.medians["before"]


def test_bad_input() -> None:
    build = six_prints()[0]
    with pytest.raises(InputError, match="no reading to calibrate"):
        calibrate([], press=study_shop().press)
    twins = [PrintReading(name="a", build=build, lab=np.array([50.0, 0, 0]))] * 2
    with pytest.raises(InputError, match="two readings are named 'a'"):
        calibrate(twins, press=study_shop().press)
    with pytest.raises(InputError, match="spectrum or Lab, one of them"):
        PrintReading(name="a", build=build)
    with pytest.raises(InputError, match="lines per inch"):
        PrintReading(name="a", build=build, lab=np.array([50.0, 0, 0]), coverage=0.5)
    with pytest.raises(InputError, match="weight is 0"):
        PrintReading(name="a", build=build, lab=np.array([50.0, 0, 0]), weight=0.0)


def test_a_cloth_of_another_lot_moves_its_factor_and_is_rarely_sure() -> None:
    # Six presses, each twice with the same noise: one garment as filed, then with 1.1 times its
    # dye. The prior (3 %) holds the factor back: it moves the right way on every press, but by far
    # less than the truth, and nothing is called off where the cloth is as filed.
    more = [
        build_of("Kingcup Yellow", ink, "straight", passes=1, screen="230")
        for ink in ("Barley Yellow", "Oatcake Cream")
    ]
    moved = []
    for seed in range(5, 11):
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
