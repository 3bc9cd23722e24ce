"""Halftones: weights, Yule-Nielsen, dots and growth, against computed and published values."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, strategies as st

from inksim.common.errors import InputError
from inksim.optics.halftone import (
    FULL,
    compensated,
    demichel,
    dot_coverage,
    dot_radius,
    grown,
    mesh_ratio,
    nested,
    ruling_warning,
    yule_nielsen,
)
from tests.conftest import read_check_values

CHECKS = read_check_values()
shares = st.lists(st.floats(0, 1), min_size=1, max_size=6)


# -- weights


def test_demichel_of_three_inks(check_values: dict[str, Any]) -> None:
    """Three inks at 50, 30 and 20 %: computed by hand, see 'provenance' of the file."""
    wanted = check_values["demichel_c5_m3_y2"]
    order = ["W", "C", "M", "CM", "Y", "CY", "MY", "CMY"]  # bit i: ink i
    assert demichel([0.5, 0.3, 0.2]) == pytest.approx([wanted[k] for k in order], abs=1e-12)


@given(shares)
def test_weights_are_shares_of_the_area(coverages: list[float]) -> None:
    weights = demichel(coverages)
    assert weights.min() >= 0.0
    assert weights.sum() == pytest.approx(1.0)
    # each ink's own area is the sum of the overprints it is in
    for ink, coverage in enumerate(coverages):
        inside = [w for at, w in enumerate(weights) if at >> ink & 1]
        assert sum(inside) == pytest.approx(coverage, abs=1e-12)


@given(shares, st.floats(0, 1))
def test_a_base_lies_under_its_colors(coverages: list[float], base: float) -> None:
    weights = nested(coverages, base=base)
    cloth, on_base = np.split(weights, 2)
    assert weights.min() >= -1e-12
    assert cloth + on_base == pytest.approx(demichel(coverages), abs=1e-12)
    assert on_base.sum() == pytest.approx(base, abs=1e-12)
    # never both: bare base beside color on the cloth
    assert min(on_base[0], cloth[1:].sum()) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("coverages", "base", "cloth", "on_base"),
    [
        ([0.5], 0.0, [0.5, 0.5], [0.0, 0.0]),
        ([0.5], 0.5, [0.5, 0.0], [0.0, 0.5]),  # Demichel would leave half of the color bare
        ([0.5], 0.25, [0.5, 0.25], [0.0, 0.25]),
        ([0.5], 0.75, [0.25, 0.0], [0.25, 0.5]),
        ([0.0], 0.3, [0.7, 0.0], [0.3, 0.0]),
        ([1.0], 1.0, [0.0, 0.0], [0.0, 1.0]),
    ],
)
def test_nested_coverages_by_hand(coverages, base, cloth, on_base) -> None:
    assert nested(coverages, base=base) == pytest.approx([*cloth, *on_base], abs=1e-12)


# -- the mosaic's light


@pytest.mark.parametrize("n", ["1", "1.5", "2", "3", "10", "inf"])
def test_yule_nielsen_of_half_a_tint(n: str, check_values: dict[str, Any]) -> None:
    """50 % of R 0.05 on R 0.80, to the six places of the file."""
    wanted = check_values["yn_reflectance_a50_Rs05_Rp80"][n]
    found = yule_nielsen([0.5, 0.5], [[0.80], [0.05]], n=float(n))
    assert found[0] == pytest.approx(wanted, abs=6e-7)


def test_yule_nielsen_neugebauer_of_three_inks(check_values: dict[str, Any]) -> None:
    example = check_values["ynsn_example"]
    primaries = [[example["R"][k]] for k in ("W", "C", "M", "CM", "Y", "CY", "MY", "CMY")]
    weights = demichel(example["coverages"])
    assert yule_nielsen(weights, primaries, n=1)[0] == pytest.approx(example["n1"], abs=1e-9)
    assert yule_nielsen(weights, primaries, n=2)[0] == pytest.approx(example["n2"], abs=1e-8)


@given(shares, st.floats(1, 10))
def test_a_mosaic_lies_between_its_primaries_and_darkens_with_n(
    coverages: list[float], n: float
) -> None:
    weights = demichel(coverages)
    primaries = np.linspace(0.9, 0.02, weights.size)[:, None]
    plain = yule_nielsen(weights, primaries, n=1.0)[0]
    spread = yule_nielsen(weights, primaries, n=n)[0]
    assert 0.02 - 1e-12 <= spread <= plain + 1e-12 <= 0.9 + 1e-9


@pytest.mark.parametrize("densities", sorted(CHECKS["dot_area_Dt_Ds"]))
def test_the_densities_of_a_dot_area(densities: str, check_values: dict[str, Any]) -> None:
    # Yule & Nielsen 1951: (1 - 10^(-Dt/n)) / (1 - 10^(-Ds/n)). The areas are rounded to 5 digits.
    tint, solid = (float(d) for d in densities.split("/"))
    for each, area in check_values["dot_area_Dt_Ds"][densities].items():
        n = float(each)
        (R,) = yule_nielsen([1.0 - area, area], [[1.0], [10.0**-solid]], n=n)
        slope = n * (1.0 - 10.0 ** (-solid / n)) * 10.0 ** (tint / n) / np.log(10.0)
        assert -np.log10(R) == pytest.approx(tint, abs=6e-6 * slope)


# -- dots and their growth


def test_dots_by_geometry() -> None:
    """Touching circles take π/4; the area of overlapping ones is counted on a fine grid."""
    assert dot_coverage([0.0, 0.5, FULL]) == pytest.approx([0.0, np.pi / 4, 1.0])
    u = (np.arange(2000) + 0.5) / 2000 - 0.5
    nearest = np.hypot(u[:, None], u[None, :])  # in a cell the nearest of all centers is its own
    for radius in (0.3, 0.55, 0.65, 0.7):
        assert dot_coverage(radius) == pytest.approx((nearest < radius).mean(), abs=2e-4)


def test_the_radius_inverts_the_coverage() -> None:
    a = np.linspace(0.0, 1.0, 1001)
    assert dot_coverage(dot_radius(a)) == pytest.approx(a, abs=2e-6)


@pytest.mark.parametrize(("lines", "points"), [(45, 14), (55, 18), (65, 21)])
def test_growth_of_half_a_tint(lines: float, points: int) -> None:
    """30 µm of growth at 50 %, in whole points, computed beforehand from the round dot."""
    gain = 100 * (grown(0.5, growth_um=30.0, lines_per_inch=lines) - 0.5)
    assert round(float(gain)) == points


def test_no_growth_no_dot_and_a_solid_change_nothing() -> None:
    a = np.linspace(0.0, 1.0, 101)
    assert grown(a, growth_um=0.0, lines_per_inch=45.0) == pytest.approx(a, abs=2e-6)
    assert grown([0.0, 1.0], growth_um=80.0, lines_per_inch=65.0) == pytest.approx([0.0, 1.0])


@given(st.floats(0, 1), st.floats(0, 100), st.floats(20, 85))
def test_compensation_undoes_growth(a: float, growth: float, lines: float) -> None:
    plate = compensated(a, growth_um=growth, lines_per_inch=lines)
    assert 0.0 <= plate <= a + 1e-6
    assert grown(plate, growth_um=growth, lines_per_inch=lines) == pytest.approx(a, abs=5e-6)


def test_more_plate_is_never_less_print() -> None:
    a = np.linspace(0.0, 1.0, 2001)
    assert np.all(np.diff(grown(a, growth_um=60.0, lines_per_inch=65.0)) >= 0.0)
    assert np.all(np.diff(compensated(a, growth_um=60.0, lines_per_inch=65.0)) >= 0.0)


# -- line count and mesh


@pytest.mark.parametrize(
    ("threads", "lines", "words"),
    [
        (230, 45, None),
        (110, 45, "2.4 threads per line"),
        (157.4, 45, "3.5 threads per line"),
        (157.5, 45, None),  # 3.5 exactly is allowed
        (330, 65, "finer than the 55"),
    ],
)
def test_the_mesh_decides_the_line_count(threads: float, lines: float, words: str | None) -> None:
    """3.5 threads a line at least, 55 lines/inch at most: common practice, no source."""
    said = ruling_warning(threads, lines_per_inch=lines)
    assert said is None if words is None else words in str(said)
    assert mesh_ratio(threads, lines_per_inch=lines) == pytest.approx(threads / lines)


# -- refusals


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: demichel([0.2, 1.2]), "1.2"),
        (lambda: nested([0.2], base=-0.1), "the base's coverage"),
        (lambda: yule_nielsen([0.5, 0.5], [[1.0], [0.5]], n=0.5), "1 or more"),
        (lambda: yule_nielsen([0.5, 0.5], [[1.0], [0.5]], n=float("nan")), "1 or more"),
        (lambda: grown(0.5, growth_um=-1.0, lines_per_inch=45.0), "growth is 0 or more"),
        (lambda: compensated(0.5, growth_um=30.0, lines_per_inch=0.0), "line count above 0"),
        (lambda: dot_radius(float("nan")), "0 to 1"),
        (lambda: ruling_warning(230.0, lines_per_inch=0.0), "above 0"),
    ],
)
def test_nonsense_is_refused(call, words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()
