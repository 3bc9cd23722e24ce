"""The grid, resampling, the table of lights and observers, and recovery of reflectance."""

from __future__ import annotations

from typing import Any

import colour
import numpy as np
import pytest
from colour.colorimetry import (
    adjust_tristimulus_weighting_factors_ASTME308,
    tristimulus_weighting_factors_ASTME2022,
)
from colour.quality.cfi2017 import load_TCS_CIE2017
from hypothesis import example, given, settings, strategies as st
from scipy.interpolate import PchipInterpolator
from scipy.optimize import minimize

from inksim.colour import lights
from inksim.colour.cielab import cielab_from_xyz, delta_e_2000, xyz_from_cielab
from inksim.colour.grid import BANDS, WAVELENGTHS_NM, resample
from inksim.colour.lights import LIGHTS, OBSERVERS, weights, white_xyz
from inksim.colour.recovery import recover_reflectance
from inksim.colour.viewing import Viewing
from inksim.common.errors import InputError
from tests.conftest import Textiles

OBSERVER_NAMES = {
    2: "CIE 1931 2 Degree Standard Observer",
    10: "CIE 1964 10 Degree Standard Observer",
}
GRID = colour.SpectralShape(400, 700, 10)


def colour_science_name(light: str) -> str:
    return light.replace("F", "FL", 1) if light.startswith("F") else light


# Lights and observers


def test_grid_is_400_to_700_nm_in_31_bands() -> None:
    assert np.array_equal(WAVELENGTHS_NM, np.arange(400.0, 701.0, 10.0))
    assert WAVELENGTHS_NM.size == BANDS == 31


@pytest.mark.parametrize("observer", OBSERVERS)
@pytest.mark.parametrize("light", LIGHTS)
def test_weights_are_colour_sciences(light: str, observer: int) -> None:
    """ASTM E2022 weights and E308 folding as colour-science computes them, to 1e-12."""
    fine, wide = colour.SpectralShape(360, 830, 1), colour.SpectralShape(360, 830, 10)
    if light == "A":
        power = colour.sd_CIE_standard_illuminant_A(fine)
    else:
        table = colour.SDS_ILLUMINANTS[colour_science_name(light)]
        at_1nm = np.interp(fine.wavelengths, table.wavelengths, table.values)
        power = colour.SpectralDistribution(at_1nm, fine.wavelengths)
    matching = colour.MSDS_CMFS[OBSERVER_NAMES[observer]].copy().align(fine)
    expected = adjust_tristimulus_weighting_factors_ASTME308(
        tristimulus_weighting_factors_ASTME2022(matching, power, wide), wide, GRID
    )
    np.testing.assert_allclose(weights(light, observer), expected, rtol=0, atol=1e-12)


@pytest.mark.parametrize(("light", "observer"), [("D65", 10), ("D50", 2)])
def test_weights_agree_with_the_check_values(
    check_values: dict[str, Any], light: str, observer: int
) -> None:
    """Weights computed elsewhere from the same standard, printed to 6 decimals."""
    expected = np.array(check_values["metamer"][f"weights_{light}_{observer}"])
    np.testing.assert_allclose(weights(light, observer), expected, rtol=0, atol=6e-7)


# White points of ASTM E308, Table 5, at 10 nm; from memory of the standard, checked against
# public quotations of the table. E308 sums the fluorescent and C tables at 5 nm where E2022
# interpolates to 1 nm: up to 0.08 apart, which is below 0.05 CIEDE2000.
E308_WHITES = [
    ("D50", 2, (96.422, 100.0, 82.521), 0.01),
    ("D50", 10, (96.720, 100.0, 81.427), 0.015),
    ("D65", 2, (95.047, 100.0, 108.883), 0.002),
    ("D65", 10, (94.811, 100.0, 107.304), 0.002),
    ("D55", 2, (95.682, 100.0, 92.149), 0.015),
    ("D55", 10, (95.799, 100.0, 90.926), 0.02),
    ("D75", 2, (94.972, 100.0, 122.638), 0.02),
    ("D75", 10, (94.416, 100.0, 120.641), 0.03),
    ("A", 2, (109.850, 100.0, 35.585), 0.002),
    ("A", 10, (111.144, 100.0, 35.200), 0.002),
    ("C", 2, (98.074, 100.0, 118.232), 0.08),
    ("F2", 2, (99.186, 100.0, 67.393), 0.08),
    ("F2", 10, (103.279, 100.0, 69.027), 0.08),
    ("F7", 2, (95.041, 100.0, 108.747), 0.12),
    ("F7", 10, (95.792, 100.0, 107.686), 0.08),
    ("F11", 2, (100.962, 100.0, 64.350), 0.09),
    ("F11", 10, (103.863, 100.0, 65.607), 0.08),
]


@pytest.mark.parametrize(("light", "observer", "expected", "tolerance"), E308_WHITES)
def test_white_points_are_those_of_astm_e308(
    light: str, observer: int, expected: tuple[float, float, float], tolerance: float
) -> None:
    np.testing.assert_allclose(white_xyz(light, observer), expected, rtol=0, atol=tolerance)


@pytest.mark.parametrize("observer", OBSERVERS)
@pytest.mark.parametrize("light", LIGHTS)
def test_white_chromaticities_are_those_of_cie_15(light: str, observer: int) -> None:
    """CIE 15 chromaticities as colour-science lists them, to 3e-4: CIE sums at 5 nm."""
    listed = colour.CCS_ILLUMINANTS[OBSERVER_NAMES[observer]][colour_science_name(light)]
    white = white_xyz(light, observer)
    np.testing.assert_allclose(white[:2] / white.sum(), listed, rtol=0, atol=3e-4)
    assert white[1] == pytest.approx(100.0, abs=1e-12)


@pytest.mark.filterwarnings("ignore::colour.utilities.ColourRuntimeWarning")  # its ends are folded
def test_xyz_of_textiles_agrees_with_colour_sciences_own_e308(textiles: Textiles) -> None:
    """colour-science's whole ASTM E308 route: 360-780 nm and D65 by Sprague, at most 0.03 apart."""
    fine = colour.SpectralShape(360, 780, 1)
    matching = colour.MSDS_CMFS[OBSERVER_NAMES[10]].copy().align(fine)
    d65 = colour.SDS_ILLUMINANTS["D65"].copy().align(fine)
    for spectrum in textiles.reflectance[::8]:
        on_grid = resample(spectrum, wavelengths_nm=textiles.wavelengths_nm).values
        sd = colour.SpectralDistribution(on_grid, WAVELENGTHS_NM)
        expected = colour.colorimetry.sd_to_XYZ_tristimulus_weighting_factors_ASTME308(
            sd, matching, d65
        )
        np.testing.assert_allclose(on_grid @ weights("D65", 10), expected, rtol=0, atol=0.03)


def test_table_is_read_only_and_says_where_it_comes_from() -> None:
    assert not weights("D50", 2).flags.writeable
    with np.load(lights._TABLE) as stored:
        provenance = str(stored["provenance"])
        assert tuple(stored["lights"]) == LIGHTS
    for word in ("E2022", "E308", "CIE 15", "colour-science", "BSD-3-Clause"):
        assert word in provenance


def test_unknown_light_or_observer_is_refused_with_the_choices() -> None:
    with pytest.raises(InputError, match="no light 'D51'; choose one of D50, D65"):
        weights("D51", 2)
    with pytest.raises(InputError, match="observer is 5; choose 2"):
        weights("D50", 5)


# Resampling


def test_readings_on_the_grid_pass_through_unchanged() -> None:
    values = np.random.default_rng(1).uniform(0, 1, BANDS)
    done = resample(values, wavelengths_nm=WAVELENGTHS_NM)
    assert np.array_equal(done.values, values)
    assert done.notes == ()
    wider = resample(np.r_[0.3, values, 0.4], wavelengths_nm=np.arange(390, 711, 10))
    assert np.array_equal(wider.values, values)


@pytest.mark.parametrize("step_nm", [1, 2, 5])
def test_fine_readings_are_averaged_under_a_10_nm_triangle(step_nm: int) -> None:
    """ASTM E308: the bandpass is a triangle as wide at half height as the step, here 10 nm."""
    nm = np.arange(380.0, 731.0, step_nm)
    values = np.random.default_rng(2).uniform(0, 1, nm.size)
    triangle = 1.0 - np.abs(np.arange(-10 + step_nm, 10, step_nm)) / 10.0
    averaged = np.convolve(values, triangle / triangle.sum(), mode="same")
    expected = averaged[np.isin(nm, WAVELENGTHS_NM)]
    done = resample(values, wavelengths_nm=nm)
    np.testing.assert_allclose(done.values, expected, rtol=0, atol=1e-12)


@given(
    steps=st.lists(st.floats(0.5, 20.0), min_size=20, max_size=120),
    start=st.floats(380.0, 430.0),
    level=st.floats(0.0, 1.0),
    slope=st.floats(-0.002, 0.002),
)
@example(steps=[20.0] * 20, start=380.0, level=0.0, slope=1e-308)
@example(steps=[0.5] * 120, start=380.0, level=0.0, slope=5e-324)
def test_straight_spectra_stay_straight_at_any_steps(
    steps: list[float], start: float, level: float, slope: float
) -> None:
    nm = start + np.cumsum([0.0, *steps])
    if nm[-1] < 670.0:
        nm = np.r_[nm, np.arange(nm[-1] + 9.0, 745.0, 9.0)]
    done = resample(level + slope * (nm - 550.0), wavelengths_nm=nm)
    held = np.clip(WAVELENGTHS_NM, nm[0], nm[-1])
    np.testing.assert_allclose(done.values, level + slope * (held - 550.0), rtol=0, atol=1e-9)


@given(values=st.lists(st.sampled_from(np.linspace(0.0, 1.0, 101)), min_size=19, max_size=19))
@settings(max_examples=40)
def test_coarse_readings_are_passed_through_without_new_peaks(values: list[float]) -> None:
    nm = np.arange(380.0, 741.0, 20.0)
    done = resample(values, wavelengths_nm=nm).values
    assert np.allclose(done[::2], np.array(values)[1:17], atol=1e-12)
    low = np.minimum(done[:-2:2], done[2::2])
    high = np.maximum(done[:-2:2], done[2::2])
    assert np.all((done[1::2] >= low - 1e-12) & (done[1::2] <= high + 1e-12))


def test_off_grid_10_nm_readings_use_the_same_cubic_as_scipy() -> None:
    nm = np.arange(395.0, 706.0, 10.0)
    values = 0.3 + 0.2 * np.sin(nm / 40.0)
    expected = PchipInterpolator(nm, values)(WAVELENGTHS_NM)
    np.testing.assert_allclose(resample(values, wavelengths_nm=nm).values, expected, atol=1e-14)


def test_short_ends_are_extended_by_the_end_value_and_said() -> None:
    nm = np.arange(420.0, 681.0, 10.0)
    values = np.linspace(0.2, 0.6, nm.size)
    done = resample(values, wavelengths_nm=nm)
    assert np.array_equal(done.values[:3], [0.2, 0.2, 0.2])
    assert np.array_equal(done.values[-3:], [0.6, 0.6, 0.6])
    assert done.notes == (
        "readings start at 420 nm: from 400 nm the first one is used",
        "readings end at 680 nm: up to 700 nm the last one is used",
    )
    fine = resample(np.linspace(0.2, 0.6, 131), wavelengths_nm=np.linspace(420, 680, 131))
    np.testing.assert_allclose(fine.values, done.values, atol=1e-12)


@pytest.mark.parametrize(
    ("nm", "values", "message"),
    [
        (np.arange(440, 701, 10), None, "covers 440-700 nm; it must start at 430 nm or below"),
        (np.arange(400, 661, 10), None, "covers 400-660 nm; .* end at 670 nm or above"),
        (np.arange(400, 701, 25), None, "gap of 25 nm above 400 nm"),
        (np.r_[400:500:10, 560:701:10], None, "gap of 70 nm above 490 nm"),
        (np.r_[400:550:10, 540:701:10], None, "540 nm is doubled or out of order"),
        (np.arange(700, 399, -10), None, "690 nm is doubled or out of order"),
        (np.arange(400, 701, 10), np.r_[np.ones(30), np.nan], "missing value at 700 nm"),
        (np.arange(400, 701, 10), np.ones(30), "30 values for 31 wavelengths"),
        (np.array([400.0]), np.ones(1), "1 values for 1 wavelengths"),
    ],
)
def test_what_cannot_be_resampled_is_refused(
    nm: np.ndarray, values: np.ndarray | None, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        resample(np.ones(nm.size) if values is None else values, wavelengths_nm=nm)


# Recovery of a reflectance from a color


def samples(name: str, textiles: Textiles) -> np.ndarray:
    """Measured reflectances on the grid: real surfaces from three independent sources."""
    if name == "textiles":
        nm = textiles.wavelengths_nm
        return np.array([resample(r, wavelengths_nm=nm).values for r in textiles.reflectance])
    if name == "ISO 17321-1":
        patches = colour.SDS_COLOURCHECKERS["ISO 17321-1"].values()  # ISO 17321-1, 24 patches
        return np.array([patch.copy().align(GRID).values for patch in patches])
    table = load_TCS_CIE2017(colour.SpectralShape(380, 780, 5))
    return np.asarray(table.values[np.isin(table.wavelengths, WAVELENGTHS_NM)].T)


@pytest.mark.parametrize(("light", "observer"), [("D50", 2), ("D65", 10)])
@pytest.mark.parametrize(
    ("name", "count"), [("ISO 17321-1", 24), ("CIE 2017", 99), ("textiles", 33)]
)
def test_recovery_gives_the_color_back(
    textiles: Textiles, name: str, count: int, light: str, observer: int
) -> None:
    table, white = weights(light, observer), white_xyz(light, observer)
    measured = samples(name, textiles)
    assert len(measured) == count
    for xyz in measured @ table:
        found = recover_reflectance(xyz, viewing=Viewing(light, observer))
        assert 0.0 < found.min() <= found.max() < 1.0
        off = delta_e_2000(
            cielab_from_xyz(xyz, white=white), cielab_from_xyz(found @ table, white=white)
        )
        assert off < 1e-6


@pytest.mark.parametrize("patch", [0, 6, 12, 13, 14, 15, 22])
def test_recovery_is_the_smoothest_logit_there_is(textiles: Textiles, patch: int) -> None:
    """Burns 2020 states the problem; SciPy's SLSQP, another method, finds the same minimum."""
    table = weights("D50", 2)
    xyz = samples("ISO 17321-1", textiles)[patch] @ table
    limits = {"type": "eq", "fun": lambda u: ((1.0 / (1.0 + np.exp(-u))) @ table - xyz) / 10.0}
    best = minimize(
        lambda u: np.sum(np.diff(u) ** 2),
        np.full(BANDS, np.log(xyz[1] / (100.0 - xyz[1]))),
        jac=lambda u: 2.0 * np.convolve(np.diff(u), [-1.0, 1.0]),
        constraints=[limits],
        method="SLSQP",
        options={"maxiter": 500, "ftol": 1e-13},
    )
    assert best.success
    np.testing.assert_allclose(
        recover_reflectance(xyz), 1.0 / (1.0 + np.exp(-best.x)), rtol=0, atol=2e-3
    )


def test_recovery_is_nearer_to_real_patches_than_colour_sciences_methods(
    textiles: Textiles,
) -> None:
    """The reason for the choice, on every sixth patch of ISO 17321-1: rms error in reflectance.

    tools/compare_recovery.py prints the whole comparison, on 156 samples.
    """
    table = weights("D50", 2)
    measured = samples("ISO 17321-1", textiles)[2::6]
    observer = colour.MultiSpectralDistributions(table, WAVELENGTHS_NM)
    flat = colour.SpectralDistribution(np.ones(BANDS), WAVELENGTHS_NM)

    def error(recover: Any) -> float:
        found = np.array([recover(xyz) for xyz in measured @ table])
        return float(np.sqrt(((found - measured) ** 2).mean(axis=1)).mean())

    ours = error(recover_reflectance)
    for method in (colour.recovery.XYZ_to_sd_Meng2015, colour.recovery.XYZ_to_sd_Jakob2019):
        assert ours < 0.9 * error(
            lambda xyz, method=method: method(xyz / 100.0, cmfs=observer, illuminant=flat).values
        )


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_black_and_white_themselves_are_met_within_a_hundredth(share: float) -> None:
    white = white_xyz("D50", 2)
    found = recover_reflectance(share * white)
    assert 0.0 < found.min() <= found.max() < 1.0
    off = cielab_from_xyz(found @ weights("D50", 2), white=white) - [100.0 * share, 0.0, 0.0]
    assert np.abs(off).max() < 0.01


@pytest.mark.parametrize(
    ("lab", "possible"),
    [
        ((50, 110, 0), False),
        ((90, 0, -60), False),
        ((30, 0, -100), False),
        ((5, 60, 0), False),
        ((99, 60, 0), False),
        ((50, -150, 60), False),
        ((70, -60, -60), False),
        ((50, -120, 60), True),
        ((50, -130, 0), True),
        ((50, 70, 30), True),
        ((90, -10, 80), True),
    ],
)
def test_what_surfaces_can_have_ends_at_macadams_limits(
    lab: tuple[float, float, float], possible: bool
) -> None:
    """MacAdam 1935, as colour-science's table for D65/2 degrees has them."""
    xyz = xyz_from_cielab(lab, white=white_xyz("D65", 2))
    limits = colour.is_within_macadam_limits(colour.XYZ_to_xyY(xyz / 100.0), "D65", 1e-3)
    assert bool(limits) is possible
    if possible:
        found = recover_reflectance(xyz, viewing=Viewing("D65"))
        np.testing.assert_allclose(found @ weights("D65", 2), xyz, rtol=0, atol=1e-6)
    else:
        with pytest.raises(InputError, match=r"no surface can have Lab .* nearest a surface can"):
            recover_reflectance(xyz, viewing=Viewing("D65"))


def test_recovery_is_remembered_and_refuses_what_is_not_a_color() -> None:
    assert recover_reflectance([20.0, 30.0, 10.0]) is recover_reflectance((20.0, 30.0, 10.0))
    assert not recover_reflectance([20.0, 30.0, 10.0]).flags.writeable
    with pytest.raises(InputError, match="three finite numbers"):
        recover_reflectance([20.0, np.nan, 10.0])
    with pytest.raises(InputError, match="three finite numbers"):
        recover_reflectance([20.0, 10.0])


@given(
    left=st.integers(0, 30),
    right=st.integers(0, 30),
    low=st.floats(0.001, 0.5),
    high=st.floats(0.5, 0.999),
)
def test_any_step_shaped_reflectance_has_its_color_recovered(
    left: int, right: int, low: float, high: float
) -> None:
    """Steps are the most saturated colors there are (Schrodinger 1920): the hardest cases."""
    steps = np.where((np.arange(BANDS) >= left) & (np.arange(BANDS) <= right), high, low)
    table = weights("D65", 10)
    xyz = steps @ table
    found = recover_reflectance(xyz, viewing=Viewing("D65", 10))
    np.testing.assert_allclose(found @ table, xyz, rtol=0, atol=1e-6)
