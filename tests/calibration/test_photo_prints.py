"""Prints read from pictures: what one picture's readings have in common is unknown once, not often.

The outside check is generalized least squares with the full covariance of all readings, written out
in numpy: an error common to some readings is, by the law of total covariance, a block of it.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.linalg import block_diag

from inksim.calibration.checks import contradictions
from inksim.calibration.fit import fit_press, reading_noise
from inksim.calibration.history import add_rows, rows_kept, to_csv
from inksim.calibration.press_estimate import calibrate
from inksim.calibration.press_to_shop import ShopCalibration
from inksim.calibration.print_reading import PrintReading
from inksim.calibration.print_rows import PrintRow, read_print_rows, reading_of
from inksim.calibration.reading_model import reading_model
from inksim.calibration.wording import calibration_findings
from inksim.colour.cielab import delta_e_2000
from inksim.common.errors import InputError
from inksim.shop.fresh import new_shop
from inksim.shop.load import load_shop
from inksim.stock.lab_noise import lab_root
from inksim.stock.provenance import MEAN_LENGTH
from tests.press_worlds import build_of, some_readings, study_shop

SHOP = load_shop()
HEAD = "name,garment,ink,route,L,a,b,read_by,sd_de00,shared_de00,picture"
PRINT = "Flour White,Kiln Red,straight"
OWN, SHARED = 1.2, 1.0


def by_photo(pictures: str = "ppqqqq", seed: int = 3) -> list[PrintReading]:
    """The six prints as read in pictures of these keys, each off by its own and its picture's."""
    rng = np.random.default_rng(seed)
    common = {key: rng.normal(size=3) for key in sorted(set(pictures))}
    made = []
    for each, key in zip(some_readings(seed), pictures, strict=True):
        true = each.seen
        read = true + lab_root(true, OWN) @ rng.normal(size=3)
        read += lab_root(true, SHARED) @ common[key]
        made.append(
            replace(each, reflectance=None, lab=read, read_by="photo", sd_de00=OWN,
                    shared_de00=SHARED, picture=key)
        )  # fmt: skip
    return made


def test_the_nuisance_is_generalized_least_squares() -> None:
    readings = by_photo()
    found = fit_press(reading_model(readings, study_shop().press))
    unknowns, model = found.model.unknowns, found.model
    press = slice(0, unknowns.of_pictures.start)
    # the covariance of all readings in full: by itself, the model's, and what pictures share
    whole = block_diag(*(reading_noise(model) + found.model_sd**2 * np.eye(3)))
    for key in "pq":
        common = np.concatenate([lab_root(r.seen, SHARED) * (r.picture == key) for r in readings])
        whole += common @ common.T
    J = found.jacobian[..., press].reshape(whole.shape[0], -1)
    precision = np.diag(found.prior_sd[press] ** -2.0) + J.T @ np.linalg.solve(whole, J)
    covariance = np.linalg.inv(precision)
    np.testing.assert_allclose(found.covariance[press, press], covariance, rtol=1e-6, atol=1e-9)
    # and the estimate: nothing pulls at it where no unknown is at its bound
    off = (model.lab(np.concatenate([found.u[press], np.zeros(6)])[None])[0] - model.read).ravel()
    pull = J.T @ np.linalg.solve(whole, off) + found.u[press] / found.prior_sd[press] ** 2
    inside = (found.u > unknowns.least) & (found.u < unknowns.most)
    assert np.abs(pull[inside[press]]).max() < 1e-3


def test_the_press_is_as_sure_as_six_prints_of_one_picture_make_it() -> None:
    """Presses and errors drawn, the linear fit solved with and without the nuisance: of 90 %
    intervals of release nine in ten hold, and too few where the picture counts as six readings."""
    found = fit_press(reading_model(by_photo("pppppp"), study_shop().press))
    model, rng, draws = found.model, np.random.default_rng(7), 4000
    of_pictures = model.unknowns.of_pictures
    press, size = slice(0, of_pictures.start), model.unknowns.size
    noise = block_diag(*reading_noise(model))
    J = found.jacobian.reshape(noise.shape[0], size)
    u = rng.normal(size=(draws, size))
    read = u @ J.T + rng.multivariate_normal(np.zeros(len(noise)), noise, draws)
    held = []
    for columns in (slice(0, size), press):
        slopes = J[:, columns]
        told = slopes.T @ np.linalg.inv(noise)
        covariance = np.linalg.inv(np.eye(slopes.shape[1]) + told @ slopes)
        release = (read @ told.T @ covariance)[:, 0]
        off = np.abs(release - u[:, 0]) / np.sqrt(covariance[0, 0])
        held.append(float(np.mean(off < 1.6449)))
    assert held[0] == pytest.approx(0.90, abs=0.02)
    assert held[1] < 0.86


def test_no_number_of_prints_tells_a_picture_better_than_its_own_error() -> None:
    """The mean over very many readings of one picture is off by what the picture is off."""
    base = by_photo("pppppp")[0]
    many = [replace(base, name=f"print {at}") for at in range(60)]
    model = reading_model(many, study_shop().press)
    unknowns = model.unknowns
    J = np.zeros((len(many), 3, unknowns.size))
    J[..., unknowns.of_pictures] = unknowns.offsets
    spread = J.reshape(-1, unknowns.size) @ J.reshape(-1, unknowns.size).T
    mean = np.kron(np.ones((1, len(many))), np.eye(3)) / len(many)
    left = mean @ spread @ mean.T
    expected = lab_root(base.seen, SHARED) @ lab_root(base.seen, SHARED).T
    np.testing.assert_allclose(left, expected, rtol=1e-9)
    # which is SHARED on average, by numbers drawn
    drawn = np.random.default_rng(0).multivariate_normal(np.zeros(3), 0.01 * left, 4000)
    off = delta_e_2000(base.seen, base.seen + drawn).mean() / 0.1
    assert off == pytest.approx(SHARED, rel=0.03)
    assert np.sqrt(8.0 / np.pi) == pytest.approx(MEAN_LENGTH)


def test_the_result_says_what_was_read_how() -> None:
    found = calibrate(by_photo(), press=study_shop().press)
    first = found.readings[0]
    assert (first.read_by, first.sd_de00, first.shared_de00, first.picture) == (
        "photo", OWN, SHARED, "p",
    )  # fmt: skip
    said = list(calibration_findings(ShopCalibration(calibration=found, fresh=6, old=0, unused=())))
    assert any("2 readings of picture p are off together by about 1.0" in each for each in said)
    assert any("4 readings of picture q" in each for each in said)


def test_what_one_picture_shares_excuses_no_contradiction_in_it() -> None:
    one = PrintReading(
        name="a", build=build_of("Flour White", "Kiln Red", "straight"),
        lab=np.array([45.0, 55.0, 35.0]), read_by="photo",
        sd_de00=0.5, shared_de00=4.0, picture="p",
    )  # fmt: skip
    other = replace(one, name="b", lab=np.array([49.5, 55.0, 35.0]))
    assert len(contradictions((one, other))) == 1
    assert contradictions((one, replace(other, picture="q"))) == ()


# -- In a file, and kept


def read(text: str) -> tuple[PrintRow, ...]:
    return read_print_rows(text.encode(), shop=SHOP, name="prints.csv").rows


def test_columns_say_what_a_picture_shares() -> None:
    (row,) = read(f"{HEAD}\na,{PRINT},45,55,35,photo,1.2,0.9,p1\n")
    assert (row.read_by, row.sd_de00, row.shared_de00, row.picture) == ("photo", 1.2, 0.9, "p1")
    noise = reading_of(row, shop=SHOP).noise
    assert (noise.own, noise.shared, noise.picture) == (1.2, 0.9, "p1")


@pytest.mark.parametrize(
    ("pictures", "shared", "key"),
    [
        ("pppp", 0.9, "p"),  # one picture: no mean takes it away
        ("pqrs", 0.45, "p + q + r + s"),  # four: half
        ("pppq", 0.9 * np.sqrt(10.0) / 4.0, "p + q"),  # (3² + 1²) / 4²
    ],
)
def test_a_mean_is_surer_by_itself_and_not_with_its_picture(
    pictures: str, shared: float, key: str
) -> None:
    lines = "".join(f"a,{PRINT},45,55,35,photo,1.2,0.9,{p}\n" for p in pictures)
    (row,) = read(f"{HEAD}\n{lines}")
    assert row.sd_de00 == pytest.approx(0.6)
    assert row.shared_de00 == pytest.approx(shared, abs=1e-4)
    assert row.picture == key


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ("photo,-1.2,0.9,p1", "sd_de00 is '-1.2'; give a number above 0"),
        ("photo,1.2,0,p1", "shared_de00 is '0'; give a number above 0"),
        ("photo,1.2,nan,p1", "shared_de00 is 'nan'; give a number above 0"),
        ("photo,1.2,0.9,", "it has shared_de00 and no picture"),
        ("photo,1.2,,p1", "it has picture and no shared_de00"),
        ("photo,,0.9,p1", "it has shared_de00 and no sd_de00"),
        ("photo,1.2,,", "read by photo; give sd_de00, shared_de00 and picture"),
        ("photo,,,", "read by photo; give sd_de00, shared_de00 and picture"),
        ("photo,31,0.9,p1", "sd_de00 is 31; .* at most 30"),
        ("photo,1.2,99,p1", "shared_de00 is 99; .* at most 30"),
    ],
)
def test_a_noise_that_no_reading_has_is_refused(cells: str, said: str) -> None:
    with pytest.raises(InputError, match=f"sample 'a': .*{said}|sample 'a': {said}") as told:
        read(f"{HEAD}\na,{PRINT},45,55,35,{cells}\n")
    assert len(str(told.value)) <= 300


def test_a_photo_is_not_averaged_with_what_is_none() -> None:
    both = f"{HEAD}\na,{PRINT},45,55,35,photo,1.2,0.9,p1\na,{PRINT},45,55,35,photo,1.2,0.9,p1\n"
    assert len(read(both)) == 1
    with pytest.raises(InputError, match=r"different prints|averaged"):
        read(f"{both}a,{PRINT},45,55,35,eye,,,\n")


def test_marks_of_before_hold_and_pictures_are_sealed() -> None:
    row = PrintRow(
        name="print", garment="Mist Gray", route="white-base", ink="Kiln Red", screen="230",
        passes=1, base=("Chalk White Base", "110", 1, True), lab=(41.25, 0.5, -7.5),
        read_by="camera", sd_de00=2.0, date="2026-03-04",
    )  # fmt: skip
    assert row.mark == "1c233895f0d45e54"  # as the version before this field made it
    shown = replace(row, shared_de00=1.0, picture="p1")
    marks = {row.mark, shown.mark, replace(shown, picture="p2").mark,
             replace(shown, shared_de00=1.5).mark}  # fmt: skip
    assert len(marks) == 4


def test_pictures_are_kept_and_written_out(tmp_path: Path) -> None:
    shop = new_shop(tmp_path / "shop")
    rows = read(f"{HEAD}\na,{PRINT},45,55,35,photo,1.2,0.9,p1\nb,{PRINT},46,55,35,,,,\n")
    add_rows(shop, rows, date="2026-03-04")
    kept = [each.row for each in rows_kept(shop)]
    assert [(r.shared_de00, r.picture) for r in kept] == [(0.9, "p1"), (None, "")]
    assert all(not each.fault for each in rows_kept(shop))
    back = read(to_csv(kept))
    assert [r.mark for r in back] == [r.mark for r in kept]
